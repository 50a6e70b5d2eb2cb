//! The chart of one green: what was measured, the curve through it, and when it will be full.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::axis::{DateAxis, Days};
use super::format::{Dates, goal};
use super::line_name::{beneath, beneath_one, text_width};
use super::svg::{Anchor, Dress, Svg};
use super::{CurvePoint, GreenReport, LogKind, Outlook, ReportData, Status};
use crate::forecast::EIGHT_IN_TEN;

/// The shape of a picture, for the room there is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    /// A page or a sheet of paper.
    Wide,
    /// A phone.
    Narrow,
}

impl Room {
    /// One letter for ids in a page.
    pub(crate) fn letter(self) -> char {
        match self {
            Room::Wide => 'w',
            Room::Narrow => 'n',
        }
    }

    fn size(self) -> (f64, f64) {
        match self {
            Room::Wide => (640.0, 326.0),
            Room::Narrow => (350.0, 296.0),
        }
    }
}

/// The chart of `green` as SVG.
///
/// All charts of a season show the same days, from 0 to 100 percent. Error bars hold the true cover of a
/// visit 8 times in 10.
pub fn curve_chart(data: &ReportData, green: &GreenReport, room: Room, dress: Dress) -> String {
    curve_picture(data, green, room).finish(dress)
}

/// The same, not yet written as SVG.
pub(crate) fn curve_picture(data: &ReportData, green: &GreenReport, room: Room) -> Svg {
    let id = format!("c{}{}", room.letter(), position(data, green));
    sized_picture(data, green, room.size(), &id)
}

/// The same as large as one likes.
pub(crate) fn sized_picture(
    data: &ReportData,
    green: &GreenReport,
    size: (f64, f64),
    id: &str,
) -> Svg {
    let title = format!("{}: cover by date", green.title());
    let mut svg = Svg::new(size, id, &title, &green.explanation(data));
    let plot = Plot {
        dates: data.dates(),
        x: DateAxis::new(Days::of_season(data), 40.0, size.0 - 10.0),
        top: 46.0,
        bottom: size.1 - 44.0,
    };
    plot.grid(&mut svg, data);
    plot.band(&mut svg, &green.curve);
    plot.upright_dates(&mut svg, data);
    plot.curve(&mut svg, &green.curve, data.as_of);
    plot.events(&mut svg, green);
    plot.milestones(&mut svg, green);
    plot.visits(&mut svg, green);
    plot.full_cover(&mut svg, &green.outlook, data);
    svg
}

/// Whether the log tells of something done to the green.
pub(crate) fn has_events(green: &GreenReport) -> bool {
    green.log.iter().any(|line| line.kind == LogKind::Event)
}

fn position(data: &ReportData, green: &GreenReport) -> usize {
    let same = |other: &GreenReport| other.id == green.id;
    data.greens.iter().position(same).unwrap_or(0)
}

struct Plot {
    dates: Dates,
    x: DateAxis,
    top: f64,
    bottom: f64,
}

impl Plot {
    fn y(&self, percent: f64) -> f64 {
        self.bottom - percent.clamp(0.0, 100.0) / 100.0 * (self.bottom - self.top)
    }

    fn at(&self, date: Date, percent: f64) -> (f64, f64) {
        (self.x.x(date), self.y(percent))
    }

    fn grid(&self, svg: &mut Svg, data: &ReportData) {
        let (left, right) = (self.x.left(), self.x.right());
        for percent in [25.0, 50.0, 75.0, 100.0] {
            let y = self.y(percent);
            svg.line("c-grid", (left, y), (right, y));
        }
        for percent in [0.0, 25.0, 50.0, 75.0, 100.0] {
            let label = format!("{percent}%");
            let place = (left - 6.0, self.y(percent) + 4.0);
            svg.text("c-tick", Anchor::End, place, &label);
        }
        self.x.draw(svg, self.bottom, self.dates);
        let y = self.y(data.goal.percent());
        svg.line("c-goal", (left, y), (right, y));
        let label = format!("goal {}", goal(data.goal));
        svg.text("c-note", Anchor::Start, (left + 4.0, y + 14.0), &label);
    }

    fn band(&self, svg: &mut Svg, curve: &[CurvePoint]) {
        let shown = || curve.iter().filter(|point| self.x.shows(point.date));
        let upper = shown().map(|point| self.at(point.date, point.high.percent()));
        let lower = shown()
            .rev()
            .map(|point| self.at(point.date, point.low.percent()));
        let outline: Vec<(f64, f64)> = upper.chain(lower).collect();
        if outline.len() > 2 {
            svg.area("c-band", &outline);
        }
    }

    /// Solid as far as it was seen, broken where it is a forecast.
    fn curve(&self, svg: &mut Svg, curve: &[CurvePoint], as_of: Date) {
        let track = |keep: &dyn Fn(Date) -> bool| -> Vec<(f64, f64)> {
            let points = curve
                .iter()
                .filter(|p| self.x.shows(p.date) && keep(p.date));
            points.map(|p| self.at(p.date, p.mean.percent())).collect()
        };
        for (class, points) in [
            ("c-curve", track(&|date| date <= as_of)),
            ("c-curve c-ahead", track(&|date| date >= as_of)),
        ] {
            if points.len() > 1 {
                svg.track(class, &points);
            }
        }
    }

    /// A small triangle on the foot for every day with an entry in the log.
    fn events(&self, svg: &mut Svg, green: &GreenReport) {
        let events = green.log.iter().filter(|line| line.kind == LogKind::Event);
        let days: BTreeSet<Date> = events.map(|line| line.date).collect();
        for day in days.into_iter().filter(|day| self.x.shows(*day)) {
            let x = self.x.x(day);
            let corners = [
                (x - 3.5, self.bottom),
                (x, self.bottom - 7.0),
                (x + 3.5, self.bottom),
            ];
            svg.area("c-event", &corners);
        }
    }

    /// A square on the curve for each, with a line from its early to its late date where it is to come.
    fn milestones(&self, svg: &mut Svg, green: &GreenReport) {
        const HALF: f64 = 3.5;
        for milestone in &green.milestones {
            let Some(date) = milestone.date.filter(|date| self.x.shows(*date)) else {
                continue;
            };
            let (x, y) = self.at(date, milestone.cover_percent);
            if let (Some(early), Some(late)) = (milestone.early, milestone.late)
                && early < late
            {
                svg.line("c-stoneline", (self.x.x(early), y), (self.x.x(late), y));
            }
            let corner = (x - HALF, y - HALF);
            svg.bar("c-stone", corner, (2.0 * HALF, 2.0 * HALF), 0.0);
        }
    }

    /// The day of the report and the opening date, each with its name in a row beneath the dates, where nothing is drawn.
    fn upright_dates(&self, svg: &mut Svg, data: &ReportData) {
        let as_of = self.x.x(data.as_of);
        svg.line("c-today", (as_of, self.top), (as_of, self.bottom));
        let words = format!("as of {}", self.dates.show(data.as_of));
        let limits = (2.0, self.x.right() + 8.0);
        let y = self.bottom + 36.0;
        let Some(open_by) = data.open_by.filter(|date| self.x.shows(*date)) else {
            let middle = beneath_one(as_of, &words, limits);
            svg.text("c-note", Anchor::Middle, (middle, y), &words);
            return;
        };
        let opening = self.x.x(open_by);
        svg.line(
            "c-opening",
            (opening, self.top - 8.0),
            (opening, self.bottom),
        );
        let named = format!("opening {}", self.dates.show(open_by));
        let [as_of, opening] = beneath([as_of, opening], [&words, &named], limits);
        svg.text("c-note", Anchor::Middle, (as_of, y), &words);
        svg.text("c-note c-late", Anchor::Middle, (opening, y), &named);
    }

    fn visits(&self, svg: &mut Svg, green: &GreenReport) {
        for visit in &green.visits {
            let percent = visit.cover.percent();
            if let Some(se) = visit.se_percent {
                let half = EIGHT_IN_TEN * se;
                let low = self.at(visit.date, percent - half);
                svg.line("c-error", low, self.at(visit.date, percent + half));
            }
            let class = match visit.mark {
                None => "c-visit",
                Some(_) => "c-unfitted",
            };
            svg.dot(class, self.at(visit.date, percent), 3.6);
        }
    }

    /// A bracket over the plot from the early to the late date, a mark at the middle one, and words.
    fn full_cover(&self, svg: &mut Svg, outlook: &Outlook, data: &ReportData) {
        const ABOVE: f64 = 10.0;
        let y = self.top - ABOVE;
        let dates = [outlook.early, outlook.date, outlook.late];
        let Some(anchor) = outlook.date.or(outlook.early).or(outlook.late) else {
            return;
        };
        let early = outlook.early.unwrap_or(anchor);
        let late = match (outlook.late, outlook.status) {
            (Some(late), _) => Some(late),
            (None, Status::Full) => Some(anchor),
            (None, _) => None,
        };
        if dates.into_iter().flatten().count() > 1 || late.is_none() {
            self.bracket(svg, early, late, y);
        }
        if let Some(date) = outlook.told_date().filter(|date| self.x.shows(*date)) {
            let x = self.x.x(date);
            svg.line("c-drop", (x, y), (x, self.y(data.goal.percent())));
            svg.diamond("c-full", (x, y), 5.5);
        }
        let words = full_cover_words(outlook, data, self.dates);
        let half = text_width(&words) / 2.0;
        let middle = self.x.x(outlook.told_date().unwrap_or(anchor));
        let middle = middle.clamp(self.x.left() + half - 30.0, self.x.right() - half);
        svg.text(
            "c-note c-goalword",
            Anchor::Middle,
            (middle, y - 13.0),
            &words,
        );
    }

    /// Ends that lie outside the days shown are arrows.
    fn bracket(&self, svg: &mut Svg, early: Date, late: Option<Date>, y: f64) {
        let from = self.x.x(early);
        let to = late.map_or(self.x.right(), |late| self.x.x(late));
        svg.line("c-bracket", (from, y), (to, y));
        if self.x.shows(early) {
            svg.line("c-bracket", (from, y - 5.0), (from, y + 5.0));
        }
        if late.is_some_and(|late| self.x.shows(late)) {
            svg.line("c-bracket", (to, y - 5.0), (to, y + 5.0));
        } else {
            let head = [(to - 6.0, y - 5.0), (to, y), (to - 6.0, y + 5.0)];
            svg.track("c-bracket", &head);
        }
    }
}

fn full_cover_words(outlook: &Outlook, data: &ReportData, dates: Dates) -> String {
    match (outlook.status, outlook.told(dates), outlook.told_date()) {
        (Status::Full, _, Some(date)) => {
            format!("photos show {} since {}", goal(data.goal), dates.show(date))
        }
        (_, None, _) => String::new(),
        (Status::TooEarly, Some(told), _) => format!("usual for its grass: {told}"),
        (_, Some(told), _) => format!("full {told}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Opening, Stage, example};

    fn count(document: &roxmltree::Document<'_>, class: &str) -> usize {
        let has_class = |node: &roxmltree::Node<'_, '_>| node.attribute("class") == Some(class);
        document.descendants().filter(has_class).count()
    }

    #[test]
    fn there_is_a_mark_and_an_error_bar_for_every_visit() {
        let season = example::season();
        for green in &season.greens {
            for room in [Room::Wide, Room::Narrow] {
                let chart = curve_chart(&season, green, room, Dress::Alone);
                let document = roxmltree::Document::parse(&chart).unwrap();
                assert_eq!(count(&document, "c-visit"), green.visits.len());
                assert_eq!(count(&document, "c-error"), green.visits.len());
                assert_eq!(count(&document, "c-band"), 1);
                assert_eq!(count(&document, "c-opening"), 1);
            }
        }
    }

    #[test]
    fn a_visit_that_is_not_fitted_has_a_mark_of_its_own() {
        let mut season = example::season();
        season.greens[4].visits[2].mark = Some(crate::cover::Mark::Topdressed);
        let chart = curve_chart(&season, &season.greens[4], Room::Wide, Dress::Alone);
        let document = roxmltree::Document::parse(&chart).unwrap();
        assert_eq!(count(&document, "c-unfitted"), 1);
        assert_eq!(
            count(&document, "c-visit"),
            season.greens[4].visits.len() - 1
        );
    }

    #[test]
    fn each_status_is_said_over_its_bracket() {
        let season = example::season();
        let words = |id: &str| {
            let mut greens = season.greens.iter();
            let green = greens.find(|green| green.id.matches(id)).unwrap();
            full_cover_words(&green.outlook, &season, season.dates())
        };
        assert_eq!(words("G01"), "photos show 95% since Jun 27");
        assert_eq!(words("G05"), "full about Jul 26 (Jul 20 – Aug 5)");
        assert_eq!(words("G12"), "full not before Aug 20");
        assert_eq!(words("G18"), "usual for its grass: Sep 1 – Oct 2");
    }

    #[test]
    fn every_mark_lies_inside_the_picture() {
        let season = example::season();
        for green in &season.greens {
            for room in [Room::Wide, Room::Narrow] {
                let chart = curve_chart(&season, green, room, Dress::Page);
                let document = roxmltree::Document::parse(&chart).unwrap();
                let (width, height) = room.size();
                for node in document.descendants() {
                    let inside = |names: [&str; 4], limit: f64| {
                        names
                            .iter()
                            .filter_map(|name| node.attribute(*name))
                            .all(|value| (0.0..=limit).contains(&value.parse::<f64>().unwrap()))
                    };
                    assert!(inside(["x", "x1", "x2", "cx"], width), "{node:?}");
                    assert!(inside(["y", "y1", "y2", "cy"], height), "{node:?}");
                }
            }
        }
    }

    #[test]
    fn a_green_without_visits_curve_or_dates_still_has_a_frame() {
        let mut season = example::season();
        season.open_by = None;
        let green = &mut season.greens[0];
        green.visits.clear();
        green.curve.clear();
        green.outlook = Outlook {
            status: Status::Stalled,
            stage: Stage::Ahead,
            date: None,
            early: None,
            late: None,
            level: 0.8,
            opening: Opening::Unnamed,
            chance_by_opening: None,
            chance_this_season: None,
        };
        let chart = curve_chart(&season, &season.greens[0], Room::Wide, Dress::Alone);
        let document = roxmltree::Document::parse(&chart).unwrap();
        assert_eq!(count(&document, "c-visit"), 0);
        assert_eq!(count(&document, "c-goal"), 1);
    }
}
