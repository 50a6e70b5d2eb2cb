//! Curves by level, with what the log says happened.

use super::line::Line;
use super::{LETTER, WIDTH};
use crate::compare::{Comparison, LevelCurve};
use crate::report::columns::cut;
use crate::report::compare_words::{decimal, in_words, level_of};
use crate::report::format::visible;
use crate::report::svg::{Anchor, Dress, Svg};

/// How many levels have a line of their own kind before the kinds repeat.
const N_KINDS: usize = 8;
/// Letters of a level's name that have room in the upper left, where no curve is yet.
const MOST_OF_KEY: usize = 26;
/// Levels that have room there.
const MOST_IN_KEY: usize = 10;

const LEFT: f64 = 44.0;
const RIGHT: f64 = WIDTH - 14.0;
const TOP: f64 = 40.0;
const BOTTOM: f64 = 330.0;

/// Every visit and the fitted curve of each level, on days after planting, with what the log says happened.
pub fn levels_chart(comparison: &Comparison, dress: Dress) -> String {
    let Some(curves) = &comparison.curves else {
        return String::new();
    };
    let levels = &curves.levels;
    let title = format!("Cover by {}", in_words(&comparison.by.join(" and ")));
    let half = |level: &LevelCurve| {
        let (name, day) = (
            level_of(comparison, &level.level),
            decimal(level.midpoint, 1),
        );
        format!("{name}: half cover at day {day}")
    };
    let words: Vec<String> = levels.iter().map(half).collect();
    let mut svg = Svg::new((WIDTH, BOTTOM + 46.0), "levels", &title, &words.join("; "));
    let shown = cut(&visible(&title), (WIDTH / LETTER) as usize);
    svg.text("c-name", Anchor::Start, (10.0, 20.0), &shown);
    let points = levels.iter().flat_map(|level| &level.points);
    let last = points.map(|point| point.0).fold(1.0, f64::max);
    let days = Line {
        high: last * 1.03,
        ..Line::new(0.0, last, LEFT, RIGHT)
    };
    axes(&mut svg, &days);
    events(&mut svg, comparison, &days);
    for (place, level) in levels.iter().enumerate() {
        curve(&mut svg, place, level, &days);
        if place < MOST_IN_KEY {
            key(&mut svg, place, &level_of(comparison, &level.level));
        }
    }
    if levels.len() > MOST_IN_KEY {
        let more = format!("and {} more", levels.len() - MOST_IN_KEY);
        let base = key_row(MOST_IN_KEY) + 4.0;
        svg.text("c-name", Anchor::Start, (LEFT + 54.0, base), &more);
    }
    svg.finish(dress)
}

/// Height of a percent cover.
fn y(percent: f64) -> f64 {
    BOTTOM - percent.clamp(0.0, 100.0) / 100.0 * (BOTTOM - TOP)
}

fn axes(svg: &mut Svg, days: &Line) {
    for percent in [0.0, 25.0, 50.0, 75.0, 100.0] {
        let y = y(percent);
        svg.line("c-grid", (LEFT, y), (RIGHT, y));
        let label = format!("{percent}%");
        svg.text("c-tick", Anchor::End, (LEFT - 6.0, y + 4.0), &label);
    }
    svg.line("c-axis", (LEFT, BOTTOM), (RIGHT, BOTTOM));
    for tick in days.ticks().into_iter().filter(|tick| *tick <= days.high) {
        let x = days.at(tick);
        svg.line("c-axis", (x, BOTTOM), (x, BOTTOM + 4.0));
        let label = days.label(tick);
        svg.text("c-tick", Anchor::Middle, (x, BOTTOM + 18.0), &label);
    }
    let below = (f64::midpoint(LEFT, RIGHT), BOTTOM + 38.0);
    svg.text("c-note", Anchor::Middle, below, "days after planting");
}

/// The visits of a level and the curve through them.
fn curve(svg: &mut Svg, place: usize, level: &LevelCurve, days: &Line) {
    let kind = place % N_KINDS;
    for (day, percent) in &level.points {
        let at = (days.at(*day), y(*percent));
        svg.dot(&format!("c-point-{kind}"), at, 2.6);
    }
    let track: Vec<(f64, f64)> = (0..=120)
        .map(|step| days.high * f64::from(step) / 120.0)
        .map(|day| (days.at(day), y(level.percent(day))))
        .collect();
    svg.track(&format!("c-level-{kind}"), &track);
}

/// The name of a level beside its kind of line. The upper left is free of every curve that rises.
fn key(svg: &mut Svg, place: usize, name: &str) {
    let (kind, row) = (place % N_KINDS, key_row(place));
    let line = format!("c-level-{kind}");
    svg.line(&line, (LEFT + 12.0, row), (LEFT + 46.0, row));
    svg.dot(&format!("c-point-{kind}"), (LEFT + 29.0, row), 2.6);
    let name = cut(name, MOST_OF_KEY);
    svg.text("c-name", Anchor::Start, (LEFT + 54.0, row + 4.0), &name);
}

fn key_row(place: usize) -> f64 {
    TOP + 18.0 + 20.0 * place as f64
}

/// Work of the log that concerns these greens, where all were planted on one day: a tick and its words, as far
/// as there is room.
fn events(svg: &mut Svg, comparison: &Comparison, days: &Line) {
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
        svg.line("c-today", (x, BOTTOM - 26.0), (x, BOTTOM));
        let width = words.chars().count() as f64 * 6.6;
        if x > free_from && x + width < days.to {
            svg.text(
                "c-note",
                Anchor::Start,
                (x + 3.0, BOTTOM - 28.0),
                &visible(words),
            );
            free_from = x + width + 8.0;
        }
    }
}
