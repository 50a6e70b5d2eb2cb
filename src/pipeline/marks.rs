//! Places that a person marked: as a file of marks has them, or as the judged points of audits.

use std::collections::BTreeSet;

use super::AuditError;
use super::audit::audit_of;
use crate::cover::audit::{Answer, Answers};
use crate::cover::tune::{Mark, Marking};
use crate::ledger::Ledger;

/// What a rule is fitted to beside the photos themselves.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Marked {
    /// The places.
    pub marks: Vec<Mark>,
    /// The audits that some of them are points of: none is independent of a rule that was fitted to it.
    pub audits: BTreeSet<String>,
}

impl Marked {
    /// Adds the judged points of an audit; those that nobody could tell mark nothing.
    ///
    /// # Errors
    /// [`AuditError`] where the answers belong to no audit of this season, or answer no point of it, or are all unsure.
    pub fn add_answers(&mut self, ledger: &Ledger, answers: &Answers) -> Result<(), AuditError> {
        let (audit, points) = audit_of(ledger, answers)?;
        let mark = |point: crate::ledger::AuditPointRow| {
            let is = match answers.given.get(&point.point)? {
                Answer::Green => Marking::Green,
                Answer::Not => Marking::NotGreen,
                Answer::Unsure => return None,
            };
            Some(Mark {
                photo: point.photo.0,
                x: point.x,
                y: point.y,
                width: 1,
                height: 1,
                is,
            })
        };
        let marks: Vec<Mark> = points.into_iter().filter_map(mark).collect();
        if marks.is_empty() {
            return Err(AuditError::NothingJudged);
        }
        self.marks.extend(marks);
        self.audits.insert(audit.audit);
        Ok(())
    }
}
