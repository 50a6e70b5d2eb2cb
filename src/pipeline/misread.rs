//! What is known of the rule's misreading, put to the visits of a season.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{PipelineError, Season};
use crate::course::GreenId;
use crate::cover::audit::Answer;
use crate::cover::{Compared, Misread};
use crate::ledger::{AuditPointRow, Ledger};

/// Frees the visits of a season from the error that its last audit found, where it has one for its present rule, and
/// keeps what stays uncertain. Photos keep the cover that was measured on them.
///
/// # Errors
/// [`PipelineError::Ledger`] where the ledger cannot be read.
pub(super) fn free_visits(season: &mut Season, ledger: &Ledger) -> Result<(), PipelineError> {
    let Some(method) = &season.method else {
        return Ok(());
    };
    let misread = match ledger.last_audit(method.key(), method.rule_number())? {
        Some(audit) => misread(&ledger.audit_points(&audit.audit)?, season),
        None => Misread::usual(),
    };
    let stretch = misread.stretch();
    for visit in &mut season.visits {
        visit.cover = misread.freed(visit.cover);
        visit.sd = visit.sd.map(|sd| sd * stretch);
        visit.area_error = visit.area_error.map(|error| error * stretch);
        visit.doubt *= stretch;
    }
    season.misread = misread;
    Ok(())
}

/// What the answers to an audit say of the misreading; the season's visits have the cover that was measured.
pub(super) fn misread(points: &[AuditPointRow], season: &Season) -> Misread {
    let visits: BTreeMap<(&GreenId, Date), (usize, f64)> = season
        .visits
        .iter()
        .enumerate()
        .map(|(number, visit)| {
            let of_visit = (number, visit.cover.fraction());
            ((&visit.green, visit.date), of_visit)
        })
        .collect();
    let compared: Vec<Compared> = points
        .iter()
        .filter_map(|point| {
            let person = match point.answer? {
                Answer::Green => true,
                Answer::Not => false,
                Answer::Unsure => return None,
            };
            let &(visit, measured) = visits.get(&(&point.green, point.date))?;
            Some(Compared {
                visit,
                measured,
                program: point.is_green,
                person,
            })
        })
        .collect();
    Misread::of_audit(&compared)
}
