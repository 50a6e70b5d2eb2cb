//! `cover.csv`: a line for every green and visit.

use super::{Cell, Column, Table, date, number, text, whole};
use crate::course::GreenId;
use crate::report::VisitPoint;

pub(super) const COLUMNS: &[Column] = &[
    text("green", "id of the green"),
    date("date", "local date of the visit"),
    number(
        "cover_percent",
        2,
        "cover of the green at the visit, corrected by an audit, percent of the ground",
    ),
    whole("photos", "photos measured"),
    number("sd_percent", 2, "standard deviation between spots, points"),
    number(
        "se_percent",
        2,
        "standard error of the cover: of sampling, faulty photos and colours, points",
    ),
    number(
        "own_error_percent",
        2,
        "of that, the visit's own: sampling and faulty photos; visits share the error of colours, points",
    ),
    text(
        "estimate",
        "`mean` over spots, `area`: weighted by the area that each stands for, `above`: seen from above",
    ),
];

/// Visits in the order given.
///
/// Ids of greens are the course file's own, where none may begin like a formula; they are written as they are.
pub fn cover_table<'a>(visits: impl IntoIterator<Item = (&'a GreenId, &'a VisitPoint)>) -> Table {
    let mut table = Table::headed(COLUMNS);
    for (green, visit) in visits {
        table.add([
            Cell::Text(green.to_string()),
            Cell::Date(visit.date),
            Cell::Number(visit.cover.percent()),
            Cell::Whole(visit.n_photos as u64),
            visit.sd_percent.into(),
            visit.se_percent.into(),
            visit.own_error_percent.into(),
            Cell::Text(visit.estimate.word().to_owned()),
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::super::Marks;
    use super::*;
    use crate::report::example;

    #[test]
    fn cover_has_a_line_for_every_green_and_visit() {
        let season = example::season();
        let visits = season
            .greens
            .iter()
            .take(4)
            .flat_map(|green| green.visits.iter().map(|visit| (&green.id, visit)));
        let csv = cover_table(visits).csv(Marks::CommaPoint);
        insta::assert_snapshot!(String::from_utf8(csv).unwrap());
    }
}
