//! The course in one chart: for every green, between which dates it will be full, against the opening date.

use jiff::civil::Date;

use super::axis::{DateAxis, Days};
use super::columns::cut;
use super::format::{Dates, chance};
use super::line_name::text_width;
use super::sentences::standing;
use super::svg::{Anchor, Dress, Svg};
use super::{GreenReport, Outlook, Pace, ReportData, Room};

/// Height of a green's row, in pixels.
const ROW: f64 = 26.0;

/// Over the rows: names of the upright lines.
const TOP: f64 = 40.0;

/// Under the rows: the dates.
const FOOT: f64 = 30.0;

/// The chart of the course as SVG: a row for every green in the order of play, a bar from the early to the
/// late date, a mark at the middle one.
pub fn overview_chart(data: &ReportData, room: Room, dress: Dress) -> String {
    overview_picture(data, &data.greens, room).finish(dress)
}

/// The same for some of the greens, not yet written as SVG.
pub(crate) fn overview_picture(data: &ReportData, greens: &[GreenReport], room: Room) -> Svg {
    let (width, label_room, value_room) = match room {
        Room::Wide => (900.0, 150.0, 86.0),
        Room::Narrow => (350.0, 74.0, 44.0),
    };
    let height = TOP + ROW * greens.len() as f64 + FOOT;
    let id = format!("o{}", room.letter());
    let title = format!("{}: dates of full cover", data.course);
    let mut svg = Svg::new((width, height), &id, &title, &standing(data));
    let rows = Rows {
        dates: data.dates(),
        x: DateAxis::new(Days::of_outlook(data), label_room, width - value_room),
        label_room,
        width,
        bottom: height - FOOT,
    };
    rows.frame(&mut svg, data, greens.len());
    for (index, green) in greens.iter().enumerate() {
        rows.green(&mut svg, TOP + ROW * (index as f64 + 0.5), green);
    }
    svg
}

struct Rows {
    dates: Dates,
    x: DateAxis,
    label_room: f64,
    width: f64,
    bottom: f64,
}

impl Rows {
    fn frame(&self, svg: &mut Svg, data: &ReportData, n_rows: usize) {
        for index in (1..n_rows).step_by(2) {
            let at = (0.0, TOP + ROW * index as f64);
            svg.bar("c-zebra", at, (self.width, ROW), 0.0);
        }
        let today = self.x.x(data.as_of);
        svg.line("c-today", (today, TOP - 4.0), (today, self.bottom));
        let words = format!("as of {}", self.dates.show(data.as_of));
        svg.text("c-note", Anchor::Middle, (today, TOP - 10.0), &words);
        if let Some(open_by) = data.open_by.filter(|date| self.x.shows(*date)) {
            let x = self.x.x(open_by);
            svg.line("c-opening", (x, TOP - 4.0), (x, self.bottom));
            let words = format!("opening {}", self.dates.show(open_by));
            let half = text_width(&words) / 2.0;
            let head_of_chances = self.width - 8.0 - text_width("chance");
            // Beside its neighbours where all have room, else over them.
            let is_close = (x - today).abs() < 2.0 * half || x + half + 6.0 > head_of_chances;
            let y = TOP - if is_close { 26.0 } else { 10.0 };
            let middle = x.min(self.width - half - 4.0);
            svg.text("c-note c-late", Anchor::Middle, (middle, y), &words);
            let place = (self.width - 8.0, TOP - 10.0);
            svg.text("c-tick", Anchor::End, place, "chance");
        }
        self.x.draw(svg, self.bottom, self.dates);
    }

    fn green(&self, svg: &mut Svg, y: f64, green: &GreenReport) {
        let letters = (self.label_room / text_width("n")) as usize - 1;
        let title = green.title();
        // Long names often begin alike, so that their ids tell more.
        let name = if title.chars().count() > letters {
            cut(&format!("{} {title}", green.id), letters)
        } else {
            title
        };
        svg.text("c-name", Anchor::Start, (4.0, y + 4.5), &name);
        let outlook = &green.outlook;
        let (bar, mark, arrow) = match green.pace() {
            Pace::Full | Pace::AboutFull | Pace::OnPace => ("c-bar-ok", "c-mark-ok", "c-arrow-ok"),
            Pace::Behind | Pace::Unseen => ("c-bar-late", "c-mark-late", "c-arrow-late"),
            Pace::TooEarly | Pace::NotPlanted | Pace::NoVisit => {
                ("c-bar-open", "c-bar-open", "c-arrow-open")
            }
        };
        // Between which days a green became full is of no use once they lie behind what is shown.
        let is_past =
            green.pace() == Pace::Full && outlook.late.is_none_or(|late| !self.x.shows(late));
        if !is_past {
            self.bar(svg, bar, arrow, y, outlook);
        }
        if let Some(date) = outlook.told_date() {
            let x = self.x.x(date);
            match green.pace() {
                Pace::Full => svg.dot(mark, (x, y), 5.5),
                _ => svg.diamond(mark, (x, y), 6.0),
            }
            if !self.x.shows(date) && date > green.planted {
                self.outside(svg, y, date);
            }
        }
        let value = match (green.pace(), outlook.chance_by_opening) {
            (Pace::Full, _) => "full".to_owned(),
            (pace @ (Pace::AboutFull | Pace::Unseen | Pace::NoVisit), _) => pace.tag().to_owned(),
            (_, Some(probability)) => chance(probability),
            (_, None) => return,
        };
        svg.text("c-value", Anchor::End, (self.width - 8.0, y + 4.5), &value);
    }

    fn bar(&self, svg: &mut Svg, class: &str, arrow: &str, y: f64, outlook: &Outlook) {
        const HALF: f64 = 5.0;
        let Some(early) = outlook.early else { return };
        let from = self.x.x(early);
        let to = outlook.late.map_or(self.x.right(), |late| self.x.x(late));
        let size = ((to - from).max(2.0), 2.0 * HALF);
        svg.bar(class, (from, y - HALF), size, 3.0);
        let is_cut = outlook.late.is_none_or(|late| !self.x.shows(late));
        if is_cut {
            let head = [(to + 3.0, y - 4.0), (to + 8.0, y), (to + 3.0, y + 4.0)];
            svg.track(arrow, &head);
        }
    }

    /// A mark that stands at the edge says its date.
    fn outside(&self, svg: &mut Svg, y: f64, date: Date) {
        let words = self.dates.show(date);
        let (anchor, x) = if self.x.x(date) < (self.x.left() + self.x.right()) / 2.0 {
            (Anchor::Start, self.x.left() + 10.0)
        } else {
            (Anchor::End, self.x.right() - 10.0)
        };
        svg.text("c-note", anchor, (x, y + 4.5), &words);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;

    #[test]
    fn every_green_has_a_row_with_its_name_and_chance() {
        let season = example::season();
        for room in [Room::Wide, Room::Narrow] {
            let chart = overview_chart(&season, room, Dress::Alone);
            let document = roxmltree::Document::parse(&chart).unwrap();
            let texts = |class: &str| -> Vec<String> {
                let nodes = document.descendants();
                let nodes = nodes.filter(|node| node.attribute("class") == Some(class));
                nodes
                    .filter_map(|node| node.text().map(str::to_owned))
                    .collect()
            };
            let names: Vec<String> = season.greens.iter().map(GreenReport::title).collect();
            assert_eq!(texts("c-name"), names);
            assert_eq!(texts("c-value").len(), season.greens.len());
        }
    }

    #[test]
    fn the_same_season_gives_the_same_bytes() {
        let draw = || overview_chart(&example::season(), Room::Wide, Dress::Alone);
        assert_eq!(draw(), draw());
        insta::assert_snapshot!(draw());
    }
}
