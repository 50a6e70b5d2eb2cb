//! Greens that lost cover: those of which the log says so are left out, the others are named.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::response::GreenCurve;
use crate::course::{Course, DateStyle, GreenId};
use crate::season::{Log, What};

/// The first day up to `to` on which the log states that sprigs of a green were lost or planted again. What befell
/// all greens alike sets none of them apart.
pub(super) fn stated_losses(course: &Course, log: &Log, to: Date) -> BTreeMap<GreenId, Date> {
    let mut lost: BTreeMap<GreenId, Date> = BTreeMap::new();
    for entry in &log.entries {
        let is_loss = matches!(entry.what, What::Washout | What::Resprigged) && entry.date <= to;
        let green = entry.green.as_ref().and_then(|id| course.green(id));
        let Some(green) = green.filter(|green| is_loss && green.planted < entry.date) else {
            continue;
        };
        let first = lost.entry(green.id.clone()).or_insert(entry.date);
        *first = entry.date.min(*first);
    }
    lost
}

/// Says which greens are left out.
pub(super) fn left_out(lost: &BTreeMap<GreenId, Date>, dates: DateStyle) -> Option<String> {
    let names: Vec<String> = lost
        .iter()
        .map(|(green, date)| format!("{green} ({})", dates.short(*date)))
        .collect();
    (!names.is_empty()).then(|| {
        format!(
            "Left out, since the log has a washout or new sprigs there: {}.",
            names.join(", ")
        )
    })
}

/// Names greens whose visits show a loss that the log does not state. They count as they stand: what the greens
/// were given may be what they died of.
pub(super) fn fallen(
    ids: &[GreenId],
    greens: &[&GreenCurve],
    log: &Log,
    dates: DateStyle,
) -> Option<String> {
    let mut fell: Vec<(&GreenId, Date)> = Vec::new();
    for (id, green) in ids.iter().zip(greens) {
        let hides = |date: Date| {
            let work = [What::Scalped, What::Topdressed].into_iter();
            work.filter_map(|what| log.hidden_since(id, what, date))
                .next()
                .is_some()
        };
        fell.extend(green.lost_at(hides).map(|date| (id, date)));
    }
    // What half of the greens show on one walk is the walk.
    let on = |day: Date| fell.iter().filter(|(_, date)| *date == day).count();
    let named: Vec<String> = fell
        .iter()
        .filter(|(_, date)| 2 * on(*date) < ids.len())
        .map(|(id, date)| format!("{id} (by {})", dates.short(*date)))
        .collect();
    (!named.is_empty()).then(|| {
        format!(
            "Lost cover and count as they stand: {}; what the log calls a washout is left out.",
            named.join(", ")
        )
    })
}
