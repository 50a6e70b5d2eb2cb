//! Which green a photo belongs to.
//!
//! Takes a photo's name, what the photos of a season tell about each other ([`Clues`]) and the course; gives a
//! [`Place`] or a [`Reason`], and [`Remark`]s on whole walks. Knows nothing of pixels and touches no file: the text
//! of a slate comes in as what its photo says of itself.
//!
//! Every kind of evidence that the course file allows is asked, and all of them must agree: a photo whose
//! folder names one green and whose file name another is set aside, never guessed.

mod cards;
mod clocks;
mod clues;
mod date;
mod gauss;
mod ground;
mod ids;
mod missed;
mod name_dates;
mod remark;
mod rolls;
mod slate;
mod stops;
#[cfg(test)]
mod testing;
mod twins;

use serde::{Deserialize, Serialize};

use crate::course::{Course, Evidence, GreenId, Owner, StationId, composed};
use crate::photo::{Far, PhotoName, Reason};

pub use clues::{Clues, Seen, Whereabouts, whereabouts};
pub use date::{Calendar, check_date, is_later};
pub use ground::{Beside, Ground, USUAL_ERROR_M};
use ids::{IdBook, Named};
pub use name_dates::{TwoDates, disagree, name_date_remarks};
pub use remark::{CountsBy, Remark, Span};
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
    clues: Clues,
}

impl<'a> Assigner<'a> {
    /// Prepares the ids of `course` for look-up.
    pub fn new(course: &'a Course) -> Assigner<'a> {
        Assigner {
            course,
            book: IdBook::new(course),
            clues: Clues::default(),
        }
    }

    /// The same with what the photos of the season tell about each other.
    #[must_use]
    pub fn with_clues(self, clues: Clues) -> Assigner<'a> {
        Assigner { clues, ..self }
    }

    /// What the photos of the season tell about each other.
    pub fn clues(&self) -> &Clues {
        &self.clues
    }

    /// The place of the photo called `photo`.
    ///
    /// # Errors
    ///
    /// [`Reason::LeftOut`] where the course file says so, [`Reason::Slate`] for a card itself, [`Reason::NoGreen`] where nothing tells, [`Reason::UnknownGreen`] where it looks like a green that the
    /// course file does not have, [`Reason::TwoGreens`] where two kinds of evidence disagree; for positions
    /// [`Reason::PlaceDisagrees`], [`Reason::PlaceFarOff`], [`Reason::BetweenGreens`], [`Reason::BesideGreens`] and
    /// [`Reason::OtherTurf`]; for photos that follow
    /// the card of one green and may be of another, [`Reason::CardForgotten`] and [`Reason::CardTwice`].
    pub fn place(&self, photo: &PhotoName) -> Result<Place, Reason> {
        if is_left_out(self.course, photo) {
            return Err(Reason::LeftOut);
        }
        if let Some(card) = self.clues.card(photo) {
            return Err(card.clone());
        }
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
            Some((evidence, Named::Green { green, station })) => {
                let whereabouts = self.clues.sure_whereabouts(photo);
                if let Some(other) = self.contradiction(&green, whereabouts) {
                    return Err(Reason::PlaceDisagrees {
                        green: green.to_string(),
                        evidence: word(evidence).to_owned(),
                        other: other.label().to_owned(),
                    });
                }
                if let Some(far) = self.too_far(&green, whereabouts) {
                    return Err(Reason::PlaceFarOff {
                        green: green.to_string(),
                        evidence: word(evidence).to_owned(),
                        far,
                    });
                }
                Ok(Place {
                    green,
                    station,
                    evidence: Some(evidence),
                })
            }
            Some((evidence, Named::Several { first, second })) => Err(Reason::TwoGreens {
                first: first.to_string(),
                first_evidence: word(evidence).to_owned(),
                second: second.to_string(),
                second_evidence: word(evidence).to_owned(),
            }),
            Some((_, Named::Unknown { named })) => Err(Reason::UnknownGreen { named }),
            None => self.by_surroundings(photo),
        }
    }

    /// The place of a photo that neither card, folder nor name tells.
    fn by_surroundings(&self, photo: &PhotoName) -> Result<Place, Reason> {
        if let Some(green) = self.clues.placed(photo) {
            return Ok(by_place(green));
        }
        if let Some(doubted) = self.clues.doubted(photo) {
            return Err(doubted.clone());
        }
        match self.clues.whereabouts(photo) {
            Some(whereabouts) => by_position(whereabouts),
            None => self.only_green(),
        }
    }

    /// The outline that speaks against a green which has an outline itself.
    fn contradiction<'w>(
        &self,
        green: &GreenId,
        whereabouts: Option<&'w Whereabouts>,
    ) -> Option<&'w Owner> {
        self.course.outlines.of(green)?;
        whereabouts?.against(green)
    }

    /// How far from a green a photo was taken, where that is plainly not on it.
    fn too_far(&self, green: &GreenId, whereabouts: Option<&Whereabouts>) -> Option<Far> {
        let far_m = whereabouts?.beside()?.too_far_from(green)?;
        Some(Far::of(far_m))
    }

    fn only_green(&self) -> Result<Place, Reason> {
        match self.course.greens.as_slice() {
            [only] => Ok(Place {
                green: only.id.clone(),
                station: None,
                evidence: None,
            }),
            _ => Err(Reason::NoGreen),
        }
    }

    fn ask(&self, evidence: Evidence, photo: &PhotoName) -> Option<Named> {
        match evidence {
            Evidence::Slate => self.clues.told_by_card(photo).cloned(),
            _ => by_name(&self.book, evidence, photo),
        }
    }
}

/// Whether the course file says that a photo, or a folder that it lies in, does not count.
fn is_left_out(course: &Course, photo: &PhotoName) -> bool {
    is_among(photo, &course.photos.leave_out)
}

/// Whether these paths of the course file name a photo or a folder that it lies in.
pub fn is_among(photo: &PhotoName, paths: &[String]) -> bool {
    if paths.is_empty() {
        return false;
    }
    let name = composed(&photo.0);
    paths.iter().any(|path| {
        let below = name.strip_prefix(composed(path).as_ref());
        below.is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
    })
}

/// What folder or name tell.
fn by_name(book: &IdBook, evidence: Evidence, photo: &PhotoName) -> Option<Named> {
    match evidence {
        Evidence::Folder => {
            let mut folders: Vec<&str> = photo.folders().collect();
            folders.reverse();
            book.in_folders(folders)
        }
        Evidence::Name => book.in_text(stem_of(photo)),
        // Positions are asked once the others have answered: they may leave several greens open.
        Evidence::Slate | Evidence::Place => None,
    }
}

fn by_place(green: &GreenId) -> Place {
    Place {
        green: green.clone(),
        station: None,
        evidence: Some(Evidence::Place),
    }
}

fn by_position(whereabouts: &Whereabouts) -> Result<Place, Reason> {
    match (whereabouts.clear(), whereabouts.two()) {
        (Some((Owner::Green(green), _)), _) => Ok(by_place(green)),
        (Some((Owner::Other(name), _)), _) => Err(Reason::OtherTurf { name: name.clone() }),
        (None, Some(both)) => {
            // In one order, so that photos between the same two are told together.
            let [first, second] = [both[0].min(both[1]), both[0].max(both[1])];
            Err(Reason::BetweenGreens {
                first: first.label().to_owned(),
                second: second.label().to_owned(),
            })
        }
        (None, None) => {
            let nearest = whereabouts.beside().and_then(Beside::nearest);
            Err(
                nearest.map_or(Reason::NoGreen, |(owner, far_m)| Reason::BesideGreens {
                    nearest: owner.label().to_owned(),
                    far: Far::of(far_m),
                }),
            )
        }
    }
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
mod clock_tests;
#[cfg(test)]
mod missed_tests;
#[cfg(test)]
mod place_tests;
#[cfg(test)]
mod position_tests;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod walk_tests;
