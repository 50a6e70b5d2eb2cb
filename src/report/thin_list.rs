//! The work list of thin areas, for people.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::ThinPlace;
use super::tables::thin_areas_table;
use crate::course::{Course, Cover, CubicMetres, Green, SquareMetres};
use crate::forecast::EIGHT_IN_TEN;
use crate::map::{GreenMap, ThinArea};

/// One thin area on the work list.
#[derive(Debug, Clone, Copy)]
pub struct ThinLine<'m> {
    /// Its green.
    pub green: &'m Green,
    /// The map that shows it.
    pub map: &'m GreenMap,
    /// Its number on the green, from 1.
    pub number: usize,
    /// The area.
    pub thin: &'m ThinArea,
}

impl ThinLine<'_> {
    /// Sprigs for the whole area at the green's rate, in cubic metres.
    pub fn sprigs(&self) -> Option<CubicMetres> {
        let rate = self.green.sprig_rate?;
        Some(rate.over(SquareMetres(self.thin.area_m2)))
    }
}

/// In order of work: the area that lacks most turf first, whatever its green.
pub fn thin_lines<'m>(course: &'m Course, maps: &'m [GreenMap]) -> Vec<ThinLine<'m>> {
    let mut lines: Vec<ThinLine<'m>> = maps
        .iter()
        .filter_map(|map| Some((course.green(&map.green)?, map)))
        .flat_map(|(green, map)| {
            let numbered = map.thin.iter().enumerate();
            numbered.map(move |(idx, thin)| ThinLine {
                green,
                map,
                number: idx + 1,
                thin,
            })
        })
        .collect();
    let lacks = |line: &ThinLine<'_>| line.thin.area_m2 * line.thin.lag;
    lines.sort_by(|one, other| lacks(other).total_cmp(&lacks(one)));
    lines
}

/// The work list as the owner's page tells it, in order of work.
pub fn thin_places(course: &Course, maps: &[GreenMap]) -> Vec<ThinPlace> {
    let lines = thin_lines(course, maps);
    lines
        .iter()
        .map(|line| ThinPlace {
            green: line.green.id.clone(),
            number: line.number,
            side: line.thin.side,
            area: SquareMetres(line.thin.area_m2),
            cover: Cover::from_fraction(line.thin.cover.clamp(0.0, 1.0))
                .expect("the mean of its cells is a number"),
            lag_points: line.thin.lag * 100.0,
            days_later: line.thin.days_later,
            sprigs: line
                .sprigs()
                .map(|volume| volume.show(course.units, course.bushel)),
        })
        .collect()
}

/// Sprigs for all thin areas whose green has a rate, in the units of the course; `None` where fewer than two have one.
pub fn sprigs_in_all(course: &Course, maps: &[GreenMap]) -> Option<String> {
    let lines = thin_lines(course, maps);
    let each: Vec<f64> = lines
        .iter()
        .filter_map(|line| line.sprigs())
        .map(|volume| volume.0)
        .collect();
    let all = CubicMetres(each.iter().sum());
    (each.len() > 1).then(|| all.show(course.units, course.bushel))
}

/// What `sprigcast map --format json` prints.
pub fn maps_json(course: &Course, maps: &[GreenMap], notes: &[String]) -> Value {
    let greens: Vec<Value> = maps
        .iter()
        .map(|map| {
            json!({
                "green": map.green,
                "date": map.date,
                "photos_with_place": map.samples.len() + map.n_from_above,
                "photos_from_above": map.n_from_above,
                "cells": map.cells.len(),
                "cover_percent": map.mean.map(|mean| mean.cover.cover * 100.0),
                "se_percent": map.mean.map(|mean| mean.cover.se * 100.0),
                "seen_percent": map.mean.map(|mean| mean.seen * 100.0),
            })
        })
        .collect();
    let thin = thin_areas_table(course, maps).json();
    json!({ "format": 1, "greens": greens, "thin_areas": thin, "notes": notes })
}

/// `, full about 9 days after its green`; nothing where that is not known or less than half a day.
pub(super) fn later(days: Option<f64>, green: &str) -> String {
    match days.map(f64::round) {
        Some(1.0) => format!(", full about a day after {green}"),
        Some(days) if days > 1.0 => format!(", full about {days:.0} days after {green}"),
        _ => String::new(),
    }
}

/// The maps in words: a line for each green, then the work list.
pub fn maps_in_words(course: &Course, maps: &[GreenMap], notes: &[String]) -> String {
    let mut text = String::new();
    if !maps.is_empty() {
        text += "Green       Date                  Cover  Seen  Photos  Thin areas\n";
    }
    for map in maps {
        let (cover, seen) = match &map.mean {
            Some(mean) => (
                format!(
                    "{:.1}% ± {:.1}",
                    mean.cover.cover * 100.0,
                    mean.cover.se * 100.0 * EIGHT_IN_TEN
                ),
                format!("{:.0}%", mean.seen * 100.0),
            ),
            None => ("–".to_owned(), "–".to_owned()),
        };
        let _ = writeln!(
            text,
            "{:<10}  {:<12}  {cover:>13}  {seen:>4}  {:>6}  {:>10}",
            map.green,
            course.dates.full(map.date),
            map.samples.len() + map.n_from_above,
            map.thin.len()
        );
    }
    if !maps.is_empty() {
        text += "\n± holds the true cover 8 times in 10.\n";
    }
    let lines = thin_lines(course, maps);
    if !lines.is_empty() {
        text += "\nWhere to carry sprigs, the most needed first:\n";
    }
    for (idx, line) in lines.iter().enumerate() {
        let thin = line.thin;
        let sprigs = match line.sprigs() {
            Some(volume) => format!(", {}", volume.show(course.units, course.bushel)),
            None => String::new(),
        };
        let later = later(thin.days_later, "its green");
        let _ = writeln!(
            text,
            "{:>3}. {} {}: {} at {:.0}%, {:.0} points behind{later}{sprigs} ({:.6}, {:.6})",
            idx + 1,
            line.green.id,
            thin.side,
            SquareMetres(thin.area_m2).show(course.units),
            thin.cover * 100.0,
            thin.lag * 100.0,
            thin.position.latitude,
            thin.position.longitude
        );
    }
    if let Some(all) = sprigs_in_all(course, maps) {
        let _ = writeln!(text, "     In all {all} of sprigs.");
    }
    if !maps.is_empty() && lines.is_empty() {
        text += "\nNo area lags its green by 10 points or more, or will be full a week later.\n";
    }
    for note in notes {
        let _ = writeln!(text, "Note: {note}");
    }
    text
}
