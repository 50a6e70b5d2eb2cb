//! Which green a photo belongs to.
//!
//! Takes a photo's name and the course; gives a [`Place`] or a [`Reason`]. Knows
//! nothing of pixels and touches no file.
//!
//! Every kind of evidence that the course file allows is asked, and all of them must agree: a photo whose
//! folder names one green and whose file name another is set aside, never guessed.

mod date;
mod ids;
mod slate;

use serde::{Deserialize, Serialize};

use crate::course::{Course, Evidence, GreenId, StationId};
use crate::photo::{PhotoName, Reason};

pub use date::{Calendar, check_date};
use ids::{IdBook, Named};
pub use slate::{Slate, SlateError};

/// Where on the course a photo belongs, and what told it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    /// The green.
    pub green: GreenId,
    /// The station, where known.
    pub station: Option<StationId>,
    /// The strongest evidence for it; `None` where the course has one green only and nothing says otherwise.
    pub evidence: Option<Evidence>,
}

/// Gives photos to the greens of one course.
#[derive(Debug)]
pub struct Assigner<'a> {
    course: &'a Course,
    book: IdBook,
}

impl<'a> Assigner<'a> {
    /// Prepares the ids of `course` for look-up.
    pub fn new(course: &'a Course) -> Assigner<'a> {
        Assigner {
            course,
            book: IdBook::new(course),
        }
    }

    /// The place of the photo called `photo`.
    ///
    /// # Errors
    ///
    /// [`Reason::NoGreen`] where nothing tells, [`Reason::UnknownGreen`] where it looks like a green that the
    /// course file does not have, [`Reason::TwoGreens`] where two kinds of evidence disagree.
    pub fn place(&self, photo: &PhotoName) -> Result<Place, Reason> {
        let mut found: Option<(Evidence, Named)> = None;
        for &evidence in &self.course.photos.assign {
            let Some(named) = self.ask(evidence, photo) else {
                continue;
            };
            match &found {
                None => found = Some((evidence, named)),
                Some((first_evidence, first)) => {
                    let merged = first
                        .agree(&named)
                        .ok_or_else(|| two_greens(*first_evidence, first, evidence, &named))?;
                    found = Some((*first_evidence, merged));
                }
            }
        }
        match found {
            Some((evidence, Named::Green { green, station })) => Ok(Place {
                green,
                station,
                evidence: Some(evidence),
            }),
            Some((evidence, Named::Several { first, second })) => Err(Reason::TwoGreens {
                first: first.to_string(),
                first_evidence: word(evidence).to_owned(),
                second: second.to_string(),
                second_evidence: word(evidence).to_owned(),
            }),
            Some((_, Named::Unknown { named })) => Err(Reason::UnknownGreen { named }),
            None => match self.course.greens.as_slice() {
                [only] => Ok(Place {
                    green: only.id.clone(),
                    station: None,
                    evidence: None,
                }),
                _ => Err(Reason::NoGreen),
            },
        }
    }

    fn ask(&self, evidence: Evidence, photo: &PhotoName) -> Option<Named> {
        match evidence {
            Evidence::Folder => self.book.in_folders(folders_of(photo)),
            Evidence::Name => self.book.in_text(stem_of(photo)),
            // Neither cards nor positions are read yet; both are silent rather than wrong.
            Evidence::Slate | Evidence::Place => None,
        }
    }
}

fn folders_of(photo: &PhotoName) -> Vec<&str> {
    let mut parts: Vec<&str> = photo.0.split('/').collect();
    parts.pop();
    parts
}

fn stem_of(photo: &PhotoName) -> &str {
    let file = photo.0.rsplit('/').next().unwrap_or(&photo.0);
    match file.rfind('.') {
        Some(dot) if dot > 0 => &file[..dot],
        _ => file,
    }
}

fn two_greens(
    first_evidence: Evidence,
    first: &Named,
    evidence: Evidence,
    named: &Named,
) -> Reason {
    Reason::TwoGreens {
        first: first.label(),
        first_evidence: word(first_evidence).to_owned(),
        second: named.label(),
        second_evidence: word(evidence).to_owned(),
    }
}

fn word(evidence: Evidence) -> &'static str {
    match evidence {
        Evidence::Slate => "slate",
        Evidence::Folder => "folder",
        Evidence::Name => "file name",
        Evidence::Place => "position",
    }
}

#[cfg(test)]
mod tests;
