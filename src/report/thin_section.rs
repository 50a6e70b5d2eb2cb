//! Where to carry sprigs, as the owner's page lists it.

use super::format::{area, isolated, visible};
use super::thin_list::later;
use super::{GreenReport, ReportData, ThinPlace};

/// One thin area in words.
pub(crate) struct ThinRow {
    /// Place of its green in the order of play, from 1; 0 where the report does not show it.
    pub(crate) green: usize,
    /// What people call the green.
    pub(crate) title: String,
    /// As in the course file.
    pub(crate) id: String,
    /// On the map of its green.
    pub(crate) number: usize,
    /// Where on the green.
    pub(crate) side: &'static str,
    pub(crate) area: String,
    pub(crate) cover: String,
    /// In points.
    pub(crate) behind: String,
    /// `, full about 9 days after the green`, or nothing.
    pub(crate) later: String,
    /// Days; a dash where they cannot be told.
    pub(crate) days: String,
    /// A dash where the green has no rate.
    pub(crate) sprigs: String,
}

/// The work list, in order of work; `None` where no green is mapped.
pub(crate) fn thin_rows(data: &ReportData) -> Option<Vec<ThinRow>> {
    let thin = data.thin.as_ref()?;
    Some(thin.iter().map(|place| ThinRow::of(data, place)).collect())
}

impl ThinRow {
    fn of(data: &ReportData, place: &ThinPlace) -> ThinRow {
        let position = data.greens.iter().position(|green| green.id == place.green);
        let title = position.map(|idx| data.greens[idx].title());
        ThinRow {
            green: position.map_or(0, |idx| idx + 1),
            title: visible(&title.unwrap_or_else(|| place.green.to_string())),
            id: visible(place.green.as_str()),
            number: place.number,
            side: place.side.words(),
            area: area(place.area, data.units),
            cover: format!("{:.0}%", place.cover.percent()),
            behind: format!("{:.0}", place.lag_points),
            later: later(place.days_later, "the green"),
            days: place
                .days_later
                .map_or_else(|| "–".to_owned(), |days| format!("{days:.0}")),
            sprigs: place.sprigs.clone().unwrap_or_else(|| "–".to_owned()),
        }
    }

    /// Those of one green, by their numbers on its map.
    pub(crate) fn of_green(data: &ReportData, green: &GreenReport) -> Vec<ThinRow> {
        let all = data.thin.iter().flatten();
        let mut rows: Vec<ThinRow> = all
            .filter(|place| place.green == green.id)
            .map(|place| ThinRow::of(data, place))
            .collect();
        rows.sort_by_key(|row| row.number);
        rows
    }

    /// `north side: 320 ft², 41% green, 14 points behind, full about 9 days after the green, 9.42 bu of sprigs`.
    pub(crate) fn words(&self) -> String {
        let sprigs = match self.sprigs.as_str() {
            "–" => String::new(),
            sprigs => format!(", {} of sprigs", isolated(sprigs)),
        };
        format!(
            "{}: {}, {} green, {} points behind{}{sprigs}",
            self.side, self.area, self.cover, self.behind, self.later
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;

    #[test]
    fn a_thin_area_is_told_with_side_size_and_sprigs() {
        let season = example::season();
        let rows = thin_rows(&season).unwrap();
        assert_eq!(rows.len(), 3);
        let marks = ['\u{2068}', '\u{2069}'];
        assert_eq!(
            rows[0].words().replace(marks, ""),
            "north side: 344 ft², 41% green, 22 points behind, full about 11 days after the green, \
             9.42 bu of sprigs"
        );
        let green = &season.greens[rows[0].green - 1];
        let of_green = ThinRow::of_green(&season, green);
        assert_eq!(
            of_green.iter().map(|row| row.number).collect::<Vec<_>>(),
            [1, 2]
        );
    }
}
