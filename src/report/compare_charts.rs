//! Pictures of a comparison: means with letters, curves by level, what each rate costs.

use super::Room;
use super::columns::cut;
use super::compare_words::{decimal, heading, in_words, level_name, level_of};
use super::format::{money as money_in_words, thousands, visible};
use super::svg::{Anchor, Dress, Svg};
use crate::compare::{Comparison, CostOfDelay, LevelCurve, Outcome};

const WIDTH: f64 = 640.0;
const ROW: f64 = 26.0;
/// Room for a letter of a name.
const LETTER: f64 = 7.4;
/// The same where there is little.
const NARROW_LETTER: f64 = 6.6;
/// Letters of a level's name that have room in the upper left, where no curve is yet.
const MOST_OF_KEY: usize = 26;
/// Levels that have room there.
const MOST_IN_KEY: usize = 10;

/// Numbers along a stretch, with round ticks.
struct Line {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
    step: f64,
}

impl Line {
    fn new(low: f64, high: f64, from: f64, to: f64) -> Line {
        Line::of_steps(low, high, (from, to), 6.0)
    }

    /// With about so many steps between the ticks.
    fn of_steps(low: f64, high: f64, (from, to): (f64, f64), n_steps: f64) -> Line {
        let span = (high - low).max(1e-9);
        let rough = span / n_steps;
        let power = 10f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|m| m * power)
            .find(|s| *s >= rough)
            .unwrap_or(rough);
        Line {
            low: (low / step).floor() * step,
            high: (high / step).ceil() * step,
            from,
            to,
            step,
        }
    }

    fn at(&self, value: f64) -> f64 {
        self.from + (value - self.low) / (self.high - self.low) * (self.to - self.from)
    }

    fn ticks(&self) -> Vec<f64> {
        let n = ((self.high - self.low) / self.step).round() as i32;
        (0..=n)
            .map(|idx| self.low + f64::from(idx) * self.step)
            .collect()
    }

    fn label(&self, value: f64) -> String {
        if self.step >= 1.0 {
            thousands(value)
        } else {
            decimal(value, 1)
        }
    }
}

/// One mark with its interval.
struct Row {
    label: String,
    mean: f64,
    low: f64,
    high: f64,
    letters: String,
}

/// Means of the response that decides with their 95 % intervals and letters, best read from the left: days.
/// `place` tells apart the charts of one page.
pub fn means_chart(comparison: &Comparison, place: usize, room: Room, dress: Dress) -> String {
    let (width, most_left, letter, right) = match room {
        Room::Wide => (WIDTH, 260.0, LETTER, 110.0),
        Room::Narrow => (350.0, 165.0, NARROW_LETTER, 84.0),
    };
    let answer = &comparison.answers[0];
    let groups: Vec<(String, Vec<Row>)> = match &answer.outcome {
        Outcome::Tested(tested) => tested
            .means
            .iter()
            .map(|table| {
                let title = match &table.within {
                    Some(within) => format!("{} with {within}", table.of),
                    None => table.of.clone(),
                };
                let row = |mean: &crate::compare::LevelMean| Row {
                    label: level_name(&table.of, &mean.level, comparison.dates),
                    mean: mean.mean,
                    low: mean.low,
                    high: mean.high,
                    letters: mean.letters.clone(),
                };
                (title, table.means.iter().map(row).collect())
            })
            .collect(),
        Outcome::Described(described) => {
            let row = |level: &crate::compare::DescribedLevel| Row {
                label: level_of(comparison, &level.level),
                mean: level.mean,
                low: level.low.unwrap_or(level.mean),
                high: level.high.unwrap_or(level.mean),
                letters: "not tested".to_owned(),
            };
            vec![(
                comparison.by.join(" × "),
                described.levels.iter().map(row).collect(),
            )]
        }
    };
    let rows = || groups.iter().flat_map(|(_, rows)| rows);
    let ends = rows().map(|row| (row.low, row.high));
    let (low, high) = ends
        .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
        .unwrap_or((0.0, 1.0));
    let longest = rows()
        .map(|row| row.label.chars().count())
        .max()
        .unwrap_or(0) as f64;
    let left = (longest * letter + 24.0).clamp(70.0, most_left);
    let n_lines = rows().count() + groups.len();
    let bottom = 40.0 + ROW * n_lines as f64;
    let title = heading(comparison, answer);
    let id = format!("means-{place}{}", room.letter());
    let words: Vec<String> = rows()
        .map(|row| {
            format!(
                "{}: {} ({} to {}) {}",
                row.label,
                decimal(row.mean, 1),
                decimal(row.low, 1),
                decimal(row.high, 1),
                row.letters
            )
        })
        .collect();
    let mut svg = Svg::new((width, bottom + 40.0), &id, &title, &words.join("; "));
    svg.text("c-name", Anchor::Start, (10.0, 20.0), &title);
    let axis = Line::of_steps(low, high, (left, width - right), (width / 100.0).round());
    for tick in axis.ticks() {
        let x = axis.at(tick);
        svg.line("c-grid", (x, 34.0), (x, bottom));
        svg.text(
            "c-tick",
            Anchor::Middle,
            (x, bottom + 18.0),
            &axis.label(tick),
        );
    }
    svg.line("c-axis", (left, bottom), (width - right, bottom));
    let mut y = 40.0;
    for (name, rows) in &groups {
        y += ROW;
        let name = cut(&in_words(name), (width / LETTER) as usize);
        svg.text("c-note", Anchor::Start, (10.0, y - 9.0), &name);
        for row in rows {
            y += ROW;
            let middle = y - 13.0;
            svg.text(
                "c-name",
                Anchor::End,
                (left - 10.0, middle + 4.0),
                &cut(&row.label, ((left - 14.0) / letter) as usize),
            );
            svg.line(
                "c-error",
                (axis.at(row.low), middle),
                (axis.at(row.high), middle),
            );
            svg.dot("c-mark-ok", (axis.at(row.mean), middle), 5.0);
            let words = format!("{}  {}", decimal(row.mean, 1), row.letters);
            svg.text(
                "c-value",
                Anchor::Start,
                (width - right + 10.0, middle + 4.0),
                &words,
            );
        }
    }
    svg.finish(dress)
}

/// How many levels have a line of their own kind before the kinds repeat.
const N_KINDS: usize = 8;

/// Every visit and the fitted curve of each level, on days after planting, with what the log says happened.
pub fn levels_chart(comparison: &Comparison, dress: Dress) -> String {
    let Some(curves) = &comparison.curves else {
        return String::new();
    };
    let levels = &curves.levels;
    let name = |level: &LevelCurve| level_of(comparison, &level.level);
    let last = levels
        .iter()
        .flat_map(|level| &level.points)
        .map(|point| point.0)
        .fold(1.0, f64::max);
    let (left, right, top, bottom) = (44.0, WIDTH - 14.0, 40.0, 330.0);
    let title = format!("Cover by {}", in_words(&comparison.by.join(" and ")));
    let words: Vec<String> = levels
        .iter()
        .map(|level| {
            format!(
                "{}: half cover at day {}",
                name(level),
                decimal(level.midpoint, 1)
            )
        })
        .collect();
    let mut svg = Svg::new((WIDTH, bottom + 46.0), "levels", &title, &words.join("; "));
    let shown = cut(&visible(&title), (WIDTH / LETTER) as usize);
    svg.text("c-name", Anchor::Start, (10.0, 20.0), &shown);
    let days = Line {
        high: last * 1.03,
        ..Line::new(0.0, last, left, right)
    };
    let y = |percent: f64| bottom - percent.clamp(0.0, 100.0) / 100.0 * (bottom - top);
    for percent in [0.0, 25.0, 50.0, 75.0, 100.0] {
        svg.line("c-grid", (left, y(percent)), (right, y(percent)));
        svg.text(
            "c-tick",
            Anchor::End,
            (left - 6.0, y(percent) + 4.0),
            &format!("{percent}%"),
        );
    }
    svg.line("c-axis", (left, bottom), (right, bottom));
    for tick in days.ticks().into_iter().filter(|tick| *tick <= days.high) {
        svg.line(
            "c-axis",
            (days.at(tick), bottom),
            (days.at(tick), bottom + 4.0),
        );
        svg.text(
            "c-tick",
            Anchor::Middle,
            (days.at(tick), bottom + 18.0),
            &days.label(tick),
        );
    }
    svg.text(
        "c-note",
        Anchor::Middle,
        (f64::midpoint(left, right), bottom + 38.0),
        "days after planting",
    );
    events(&mut svg, comparison, &days, bottom);
    for (place, level) in levels.iter().enumerate() {
        let kind = place % N_KINDS;
        for (day, percent) in &level.points {
            svg.dot(
                &format!("c-point-{kind}"),
                (days.at(*day), y(*percent)),
                2.6,
            );
        }
        let track: Vec<(f64, f64)> = (0..=120)
            .map(|step| days.high * f64::from(step) / 120.0)
            .map(|day| (days.at(day), y(level.percent(day))))
            .collect();
        svg.track(&format!("c-level-{kind}"), &track);
        // The upper left is free of every curve that rises.
        let row = top + 18.0 + 20.0 * place as f64;
        if place >= MOST_IN_KEY {
            continue;
        }
        svg.line(
            &format!("c-level-{kind}"),
            (left + 12.0, row),
            (left + 46.0, row),
        );
        svg.dot(&format!("c-point-{kind}"), (left + 29.0, row), 2.6);
        svg.text(
            "c-name",
            Anchor::Start,
            (left + 54.0, row + 4.0),
            &cut(&name(level), MOST_OF_KEY),
        );
    }
    if levels.len() > MOST_IN_KEY {
        let row = top + 18.0 + 20.0 * MOST_IN_KEY as f64;
        let more = format!("and {} more", levels.len() - MOST_IN_KEY);
        svg.text("c-name", Anchor::Start, (left + 54.0, row + 4.0), &more);
    }
    svg.finish(dress)
}

/// Work of the log that concerns these greens, where all were planted on one day: a tick and its words, as far
/// as there is room.
fn events(svg: &mut Svg, comparison: &Comparison, days: &Line, bottom: f64) {
    let (Some(planted), Some(inputs)) = (comparison.planted, &comparison.inputs) else {
        return;
    };
    let mut free_from = f64::NEG_INFINITY;
    for (date, words) in &inputs.events {
        let day = f64::from((*date - planted).get_days());
        if !(0.0..=days.high).contains(&day) {
            continue;
        }
        let x = days.at(day);
        svg.line("c-today", (x, bottom - 26.0), (x, bottom));
        let width = words.chars().count() as f64 * 6.6;
        if x > free_from && x + width < days.to {
            svg.text(
                "c-note",
                Anchor::Start,
                (x + 3.0, bottom - 28.0),
                &visible(words),
            );
            free_from = x + width + 8.0;
        }
    }
}

/// Sprigs, days closed beyond the quickest tested rate, and both together, by rate.
///
/// Where more sprigs are not shown to buy days (`is_shown` is false), the least is marked as that of these greens alone.
pub fn cost_chart(money: &CostOfDelay, unit: &str, is_shown: bool, dress: Dress) -> String {
    let fewest = money
        .rates
        .iter()
        .map(|rate| rate.days.estimate)
        .fold(f64::INFINITY, f64::min);
    let points: Vec<(f64, f64, f64)> = money
        .rates
        .iter()
        .map(|rate| {
            (
                rate.rate,
                rate.sprigs,
                (rate.days.estimate - fewest) * money.day_closed,
            )
        })
        .collect();
    let most = points
        .iter()
        .map(|(_, sprigs, days)| sprigs + days)
        .fold(1.0, f64::max);
    let (first, last) = (points[0].0, points[points.len() - 1].0);
    let (left, right, top, bottom) = (84.0, WIDTH - 120.0, 40.0, 300.0);
    let title = "What each sprig rate costs";
    let words: Vec<String> = points
        .iter()
        .map(|(rate, sprigs, days)| {
            format!(
                "{} {unit}: sprigs {}, days {}",
                thousands(*rate),
                thousands(*sprigs),
                thousands(*days)
            )
        })
        .collect();
    let mut svg = Svg::new((WIDTH, bottom + 46.0), "cost", title, &words.join("; "));
    svg.text("c-name", Anchor::Start, (10.0, 20.0), title);
    let x = Line::new(first, last, left, right);
    let y = Line::new(0.0, most, bottom, top);
    for tick in y.ticks() {
        svg.line("c-grid", (left, y.at(tick)), (right, y.at(tick)));
        let label = money_in_words(&money.currency, tick);
        svg.text(
            "c-tick",
            Anchor::End,
            (left - 6.0, y.at(tick) + 4.0),
            &label,
        );
    }
    svg.line("c-axis", (left, bottom), (right, bottom));
    for (rate, _, _) in &points {
        svg.line("c-axis", (x.at(*rate), bottom), (x.at(*rate), bottom + 4.0));
        svg.text(
            "c-tick",
            Anchor::Middle,
            (x.at(*rate), bottom + 18.0),
            &thousands(rate.round()),
        );
    }
    svg.text(
        "c-note",
        Anchor::Middle,
        (f64::midpoint(left, right), bottom + 38.0),
        unit,
    );
    let part = |of: &dyn Fn(f64, f64) -> f64| -> Vec<(f64, f64)> {
        points
            .iter()
            .map(|(rate, sprigs, days)| (x.at(*rate), y.at(of(*sprigs, *days))))
            .collect()
    };
    let mut taken: Vec<f64> = Vec::new();
    for (kind, name, track) in [
        (0, "together", part(&|sprigs, days| sprigs + days)),
        (1, "sprigs", part(&|sprigs, _| sprigs)),
        (2, "days closed", part(&|_, days| days)),
    ] {
        svg.track(&format!("c-level-{kind}"), &track);
        for at in &track {
            svg.dot(&format!("c-point-{kind}"), *at, 3.4);
        }
        let (end_x, end_y) = track[track.len() - 1];
        let clear = |y: f64| taken.iter().all(|other| (other - y).abs() >= 18.0);
        let label_y = (0..40)
            .flat_map(|step| [end_y - f64::from(step), end_y + f64::from(step)])
            .find(|y| clear(*y))
            .unwrap_or(end_y);
        taken.push(label_y);
        svg.text("c-name", Anchor::Start, (end_x + 10.0, label_y + 4.0), name);
    }
    if let Some((rate, sprigs, days)) = points.iter().find(|point| point.0 == money.best_tested) {
        let at = (x.at(*rate), y.at(sprigs + days));
        svg.diamond("c-full", at, 7.0);
        let words = if is_shown {
            "least"
        } else {
            "least, but not shown to be"
        };
        // Over the highest line, which no words cross.
        let anchor = if at.0 > f64::midpoint(left, right) {
            Anchor::End
        } else {
            Anchor::Start
        };
        svg.line("c-drop", at, (at.0, top - 4.0));
        svg.text("c-note c-goalword", anchor, (at.0, top - 8.0), words);
    }
    svg.finish(dress)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_hold_everything() {
        let line = Line::new(61.3, 88.9, 0.0, 100.0);
        assert_eq!(line.ticks().first(), Some(&60.0));
        assert_eq!(line.ticks().last(), Some(&90.0));
        assert!(line.at(61.3) > 0.0 && line.at(88.9) < 100.0);
        assert_eq!(Line::new(0.0, 42_000.0, 0.0, 1.0).label(10_000.0), "10,000");
    }
}
