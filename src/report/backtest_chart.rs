//! The picture of past forecasts against what came: days by which dates were off, points by which cover was.

use super::backtest_text::sentences;
use super::format::visible;
use super::svg::{Anchor, Dress, Svg};
use crate::course::DateStyle;
use crate::forecast::{Backtest, CoverScore, DateCase, Verdict, Weeks};

const WIDTH: f64 = 640.0;
const LEFT: f64 = 58.0;
const RIGHT: f64 = WIDTH - 22.0;
const PANEL: f64 = 250.0;
const HEAD: f64 = 64.0;
const FOOT: f64 = 46.0;
/// No forecast further ahead is drawn, and no day further off: a few would squeeze all others.
const MOST_WEEKS: i64 = 12;
const MOST_DAYS: f64 = 42.0;
/// Pixels between greens whose forecasts fall on the same day.
const BESIDE: f64 = 2.2;

/// The picture as SVG.
pub fn backtest_chart(course: &str, backtest: &Backtest, style: DateStyle, dress: Dress) -> String {
    let dates: Vec<&DateCase> = backtest
        .date_cases
        .iter()
        .filter(|case| case.days_ahead.is_some_and(|days| days <= 7 * MOST_WEEKS))
        .filter(|case| case.told.date.is_some() || case.told.early.is_some())
        .collect();
    let covers: Vec<&Weeks<CoverScore>> = backtest
        .cover_by_weeks_ahead
        .iter()
        .filter(|week| week.weeks <= MOST_WEEKS)
        .collect();
    let n_panels = usize::from(!dates.is_empty()) + usize::from(!covers.is_empty());
    let height = n_panels.max(1) as f64 * (HEAD + PANEL + FOOT);
    let title = format!("{}: past forecasts against what came", visible(course));
    let mut svg = Svg::new(
        (WIDTH, height),
        "backtest",
        &title,
        &sentences(backtest, style).join(" "),
    );
    let mut top = 0.0;
    if !dates.is_empty() {
        dates_panel(&mut svg, top, backtest, &dates);
        top += HEAD + PANEL + FOOT;
    }
    if !covers.is_empty() {
        covers_panel(&mut svg, top, &covers);
    }
    svg.finish(dress)
}

/// A frame whose right end is the day that was forecast, and whose middle line is no error.
struct Frame {
    top: f64,
    last_week: f64,
    /// Error at the upper edge; the lower is as far below.
    most: f64,
}

impl Frame {
    fn x(&self, days_ahead: f64) -> f64 {
        let share = (days_ahead / (7.0 * self.last_week)).clamp(0.0, 1.0);
        RIGHT - 12.0 - share * (RIGHT - LEFT - 30.0)
    }

    fn y(&self, error: f64) -> f64 {
        let middle = self.top + HEAD + PANEL / 2.0;
        middle - (error / self.most).clamp(-1.0, 1.0) * PANEL / 2.0
    }

    fn is_within(&self, error: f64) -> bool {
        error.abs() <= self.most
    }

    fn draw(&self, svg: &mut Svg, title: &str, under: &str, unit: Unit) {
        svg.text("c-name", Anchor::Start, (10.0, self.top + 20.0), title);
        svg.text("c-note", Anchor::Start, (10.0, self.top + 40.0), under);
        let (unit, step) = (unit.sign(), unit.step(self.most));
        let n = (self.most / step).floor() as i32;
        for idx in -n..=n {
            let error = f64::from(idx) * step;
            let y = self.y(error);
            svg.line(
                if idx == 0 { "c-axis" } else { "c-grid" },
                (LEFT, y),
                (RIGHT, y),
            );
            let label = match idx {
                0 => "0".to_owned(),
                n if n > 0 => format!("+{error:.0}{unit}"),
                _ => format!("−{:.0}{unit}", -error),
            };
            svg.text("c-tick", Anchor::End, (LEFT - 6.0, y + 4.0), &label);
        }
        let bottom = self.top + HEAD + PANEL;
        let every = if self.last_week > 8.0 { 2 } else { 1 };
        for week in (0..=self.last_week as i32).step_by(every) {
            let x = self.x(7.0 * f64::from(week));
            svg.line("c-axis", (x, bottom), (x, bottom + 4.0));
            svg.text(
                "c-tick",
                Anchor::Middle,
                (x, bottom + 18.0),
                &week.to_string(),
            );
        }
        svg.line("c-axis", (LEFT, bottom), (RIGHT, bottom));
    }

    /// What lies above and below the middle line; drawn last, to be read over what is there.
    fn name_sides(&self, svg: &mut Svg, [upper, lower]: [&str; 2]) {
        // At the right end, where forecasts are good and their lines short.
        let x = RIGHT - 4.0;
        let (top, bottom) = (self.y(self.most) + 14.0, self.y(-self.most) - 6.0);
        for (y, words) in [(top, upper), (bottom, lower)] {
            svg.text("c-note", Anchor::End, (x, y), words);
        }
    }

    fn foot(&self, svg: &mut Svg, words: &str) {
        let at = (RIGHT, self.top + HEAD + PANEL + 36.0);
        svg.text("c-tick", Anchor::End, at, words);
    }
}

/// What errors are counted in.
#[derive(Debug, Clone, Copy)]
enum Unit {
    Days,
    Points,
}

impl Unit {
    fn sign(self) -> &'static str {
        match self {
            Unit::Days => " d",
            Unit::Points => " pt",
        }
    }

    /// A round distance between lines, of which there are a handful to each side.
    fn step(self, most: f64) -> f64 {
        let round: [f64; 4] = match self {
            Unit::Days => [1.0, 2.0, 7.0, 14.0],
            Unit::Points => [1.0, 2.0, 5.0, 10.0],
        };
        let few = round.into_iter().find(|step| most / step <= 4.0);
        few.unwrap_or(20.0)
    }
}

fn dates_panel(svg: &mut Svg, top: f64, backtest: &Backtest, cases: &[&DateCase]) {
    let ends = |case: &DateCase| -> Vec<f64> {
        let came = case.came.date();
        let off = |date: Option<jiff::civil::Date>| {
            Some(f64::from(super::format::days_between(came?, date?)))
        };
        [
            off(case.told.early),
            off(case.told.date),
            off(case.told.late),
        ]
        .into_iter()
        .flatten()
        .collect()
    };
    let reach = |case: &&DateCase| ends(case).into_iter().map(f64::abs).fold(0.0, f64::max);
    let most = cases.iter().map(reach).fold(7.0, f64::max).min(MOST_DAYS);
    let last = cases
        .iter()
        .filter_map(|case| case.days_ahead)
        .max()
        .unwrap_or(7);
    let frame = Frame {
        top,
        last_week: (last as f64 / 7.0).ceil().max(1.0),
        most,
    };
    let n_held = cases
        .iter()
        .filter(|case| case.verdict == Verdict::Held)
        .count();
    frame.draw(
        svg,
        "Day of full cover: forecast minus what came",
        &format!(
            "A line is an interval; {n_held} of {} touch the day that came (round), the others do not (diamond)",
            cases.len()
        ),
        Unit::Days,
    );
    for case in cases {
        let place = backtest
            .greens
            .iter()
            .position(|green| green.green == case.green);
        let beside = (place.unwrap_or(0) % 7) as f64 - 3.0;
        let x = frame.x(case.days_ahead.unwrap_or(0) as f64) + BESIDE * beside;
        let is_held = case.verdict == Verdict::Held;
        let (line, mark) = if is_held {
            ("c-arrow-ok", "c-mark-ok")
        } else {
            ("c-arrow-late", "c-mark-late")
        };
        let came = case.came.date();
        let off = |date: Option<jiff::civil::Date>| {
            Some(f64::from(super::format::days_between(came?, date?)))
        };
        if let Some(early) = off(case.told.early) {
            let late = off(case.told.late).unwrap_or(f64::INFINITY);
            svg.line(
                line,
                (x, frame.y(early)),
                (x, frame.y(late.min(2.0 * most))),
            );
        }
        if let Some(error) = off(case.told.date).filter(|error| frame.is_within(*error)) {
            if is_held {
                svg.dot(mark, (x, frame.y(error)), 3.2);
            } else {
                svg.diamond(mark, (x, frame.y(error)), 4.4);
            }
        }
    }
    frame.name_sides(svg, ["too late", "too early"]);
    frame.foot(
        svg,
        "weeks from the forecast to the day on which the green was full",
    );
}

fn covers_panel(svg: &mut Svg, top: f64, weeks: &[&Weeks<CoverScore>]) {
    let reach = |week: &&Weeks<CoverScore>| week.score.nine_in_ten_off_points.unwrap_or(0.0);
    let most = weeks.iter().map(reach).fold(5.0, f64::max).min(50.0);
    let last = weeks.iter().map(|week| week.weeks).max().unwrap_or(1);
    let frame = Frame {
        top,
        last_week: last.max(1) as f64,
        most: 1.15 * most,
    };
    frame.draw(
        svg,
        "Cover at later visits: expected minus measured",
        "Bar: nine in ten were off by less. Mark: the middle. Above: intervals that held",
        Unit::Points,
    );
    let width = (0.5 * (frame.x(0.0) - frame.x(7.0))).min(26.0);
    for week in weeks {
        let score = &week.score;
        let x = frame.x(7.0 * week.weeks as f64);
        let reach = score.nine_in_ten_off_points.unwrap_or(0.0);
        let (upper, lower) = (frame.y(reach), frame.y(-reach));
        svg.bar(
            "c-bar-ok",
            (x - width / 2.0, upper),
            (width, lower - upper),
            3.0,
        );
        let middle = frame.y(score.middle_error_points.unwrap_or(0.0));
        svg.dot("c-mark-ok", (x, middle), 4.0);
        let held = 100.0 * score.n_held as f64 / score.n.max(1) as f64;
        let above = frame.y(frame.most) - 6.0;
        svg.text("c-note", Anchor::Middle, (x, above), &format!("{held:.0}%"));
    }
    frame.name_sides(svg, ["too much expected", "too little expected"]);
    frame.foot(svg, "weeks from the forecast to the visit");
}
