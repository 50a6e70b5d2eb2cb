//! `[[green]]`.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::Findings;
use super::ids::{Claimed, Owner};
use super::rates::Rates;
use super::values::date;
use crate::course::dates;
use crate::course::error::Fault;
use crate::course::file::{CourseFile, GreenTable};
use crate::course::ids::GreenId;
use crate::course::model::{Green, Species};
use crate::course::source::Span;
use crate::course::table::Field;
use crate::course::units::{Bushel, SquareMetres};
use crate::course::words::nearest;
use crate::written::excerpt;

/// Greens of one season are planted fewer days apart.
const YEAR_DAYS: i32 = 365;

/// So many greens without a planting date are told together …
const MANY_WITHOUT: usize = 3;
/// … and so many of them by their ids.
const NAMED: usize = 8;

pub(super) fn greens(
    file: &CourseFile,
    bushel: &Field<Bushel>,
    claimed: &mut Claimed,
    findings: &mut Findings<'_>,
) -> Vec<Green> {
    let tables = match file.greens.written() {
        Some((tables, _)) => tables.as_slice(),
        None => &[],
    };
    if file.greens.is_absent() || (tables.is_empty() && file.greens.written().is_some()) {
        findings.fault(
            file.top.clone(),
            "the file has no greens",
            "no [[green]] anywhere below",
            "add [[green]] with id = \"G07\" and planted = 2027-05-18 below it, once for each green",
        );
    }
    let mut rates = Rates::new(bushel);
    let mut spellings = Spellings::default();
    let plantings = Plantings::of(tables, findings);
    let greens: Vec<Green> = tables
        .iter()
        .filter_map(|table| {
            green(
                table,
                &plantings,
                &mut rates,
                &mut spellings,
                claimed,
                findings,
            )
        })
        .collect();
    rates.finish(&file.course, findings);
    one_season(&greens, findings);
    greens
}

/// Tells which greens were planted a year or more before or after the others: a year that was mistyped, mostly.
fn one_season(greens: &[Green], findings: &mut Findings<'_>) {
    let mut by_planting: Vec<&Green> = greens.iter().collect();
    by_planting.sort_by_key(|green| green.planted);
    let Some(usual) = by_planting.get(by_planting.len().saturating_sub(1) / 2) else {
        return;
    };
    for green in greens {
        let apart = usual
            .planted
            .until(green.planted)
            .map_or(0, |span| span.get_days().abs());
        if apart < YEAR_DAYS {
            continue;
        }
        if let [one, other] = greens {
            return two_seasons(one, other, findings);
        }
        let that_year = Date::new(
            usual.planted.year(),
            green.planted.month(),
            green.planted.day(),
        );
        let help = match that_year {
            Ok(day) => format!("write planted = {day} if that is meant; greens of another year go into a season folder of their own"),
            Err(_) => "write the day on which its sprigs were planted; greens of another year go into a season folder of their own".to_owned(),
        };
        let fault = Fault::new(
            green.planted_at.clone(),
            format!(
                "green `{}` is planted {apart} days {} the others",
                green.id,
                if green.planted < usual.planted {
                    "before"
                } else {
                    "after"
                }
            ),
            "another season",
            help,
        );
        findings.beside_planting(fault, usual);
    }
}

/// Of two greens neither year is the usual one.
fn two_seasons(one: &Green, other: &Green, findings: &mut Findings<'_>) {
    let (first, later) = if one.planted <= other.planted {
        (one, other)
    } else {
        (other, one)
    };
    let apart = first
        .planted
        .until(later.planted)
        .map_or(0, |span| span.get_days());
    let fault = Fault::new(
        first.planted_at.clone(),
        format!(
            "greens `{}` and `{}` are planted {apart} days apart",
            first.id, later.id
        ),
        "another season",
        "write the right year where one of the two is mistyped; greens of another year go into a season folder of their own",
    );
    findings.beside_planting(fault, later);
}

fn green(
    table: &GreenTable,
    plantings: &Plantings,
    rates: &mut Rates<'_>,
    spellings: &mut Spellings,
    claimed: &mut Claimed,
    findings: &mut Findings<'_>,
) -> Option<Green> {
    let id = claimed.claim(Owner::Green, &table.id, &table.heading, findings);
    // What messages call it, even where the id is no good.
    let called = match table.id.written() {
        Some((id, _)) => id.trim().to_owned(),
        None => "?".to_owned(),
    };
    let planted = planted(&called, table, plantings, findings);
    let area = area(&called, &table.area, findings);
    let sprig_rate = rates.read(&called, &table.sprig_rate, findings);
    let species = species(&table.species, findings);
    let block = table
        .block
        .written()
        .and_then(|(level, span)| spellings.level("block", level, span, findings));
    let main_plot = table
        .main_plot
        .written()
        .and_then(|(level, span)| spellings.level("main_plot", level, span, findings));
    let factors = factors(table, spellings, findings);

    let id = GreenId::new(&id?)?;
    let (planted, planted_at) = planted?;
    let name = match table.name.written() {
        Some((name, _)) if !name.trim().is_empty() => name.trim().to_owned(),
        _ => id.to_string(),
    };
    Some(Green {
        id,
        name,
        planted,
        species,
        sprig_rate,
        sprig_rate_text: sprig_rate
            .and(table.sprig_rate.written())
            .map(|(text, _)| text.trim().to_owned()),
        area,
        block,
        main_plot,
        factors,
        planted_at,
    })
}

/// What the planting dates of the file say for a green that has none.
struct Plantings {
    /// A date that would do: one of this season, where another green has one.
    example: Date,
    /// Whether one fault has told of all greens without a date.
    are_told: bool,
}

impl Plantings {
    /// Where some greens have a date and many have none, these are hardly being renovated: they are told together.
    fn of(tables: &[GreenTable], findings: &mut Findings<'_>) -> Plantings {
        const EXAMPLE: Date = jiff::civil::date(2027, 5, 18);
        let dates = tables.iter().filter_map(|table| table.planted.written());
        let first = dates
            .filter_map(|(written, _)| dates::parse(written).ok())
            .min();
        let without: Vec<&GreenTable> = tables
            .iter()
            .filter(|table| table.planted.is_absent())
            .collect();
        let plantings = Plantings {
            example: first.unwrap_or(EXAMPLE),
            are_told: first.is_some() && without.len() >= MANY_WITHOUT,
        };
        if let (true, Some(heading)) = (plantings.are_told, without.first()) {
            let ids = without.iter().filter_map(|table| table.id.written());
            let ids: Vec<&str> = ids.map(|(id, _)| id.trim()).take(NAMED).collect();
            let more = match without.len() - ids.len() {
                0 => String::new(),
                n => format!(" and {n} more"),
            };
            findings.fault(
                heading.heading.clone(),
                format!(
                    "{} greens have no planting date: {}{more}",
                    without.len(),
                    ids.join(", ")
                ),
                "no `planted` below this one",
                format!(
                    "take greens that are not renovated out of the file; to the others add planted = {}, with the day on which the sprigs of each were planted",
                    plantings.example
                ),
            );
        }
        plantings
    }
}

fn planted(
    called: &str,
    table: &GreenTable,
    plantings: &Plantings,
    findings: &mut Findings<'_>,
) -> Option<(Date, Span)> {
    if table.planted.is_absent() && !plantings.are_told {
        findings.fault(
            table.heading.clone(),
            format!("green `{called}` has no planting date"),
            "no `planted` below",
            format!(
                "add planted = {}, with the day on which its sprigs were planted; a green that is not renovated does not belong into the file",
                plantings.example
            ),
        );
    }
    let date = date("planted", &table.planted, findings)?;
    let (_, span) = table.planted.written()?;
    Some((date, span))
}

fn area(called: &str, field: &Field<String>, findings: &mut Findings<'_>) -> Option<SquareMetres> {
    let (text, span) = field.written()?;
    match SquareMetres::parse(text) {
        Ok(area) => Some(area),
        Err(error) => {
            findings.fault(
                span,
                format!("the area of green `{called}` cannot be read"),
                error.label(),
                error.to_string(),
            );
            None
        }
    }
}

fn species(field: &Field<String>, findings: &mut Findings<'_>) -> Option<Species> {
    let (text, span) = field.written()?;
    if text.trim().is_empty() {
        let help = "write species = \"zoysiagrass\", \"bermudagrass\" or another name, or take this line away";
        findings.fault(span, "the species is empty", "empty", help);
        return None;
    }
    let species = Species::from_words(text);
    if let Species::Other(other) = &species {
        let named = format!("species `{}`", excerpt(other));
        let known = "zoysiagrass and bermudagrass are known";
        let note = match nearest(other, ["zoysiagrass", "bermudagrass"]) {
            Some(meant) => format!(
                "{named} is taken as it stands, and its pace is not known; if {meant} is meant, write species = \"{meant}\""
            ),
            None => format!(
                "the pace of {named} is not known ({known}): until photos tell, its greens are expected to be full in 6 to 12 weeks, as warm-season grass from sprigs"
            ),
        };
        // Once, however many greens have it.
        if !findings.notes.iter().any(|told| told.contains(&named)) {
            findings.note(&span, note);
        }
    }
    Some(species)
}

fn factors(
    table: &GreenTable,
    spellings: &mut Spellings,
    findings: &mut Findings<'_>,
) -> BTreeMap<String, String> {
    let mut factors = BTreeMap::new();
    for (name, level) in &table.factors {
        let factor = spellings.factor(name.get_ref(), name.span(), findings);
        let level = factor
            .as_deref()
            .and_then(|factor| spellings.level(factor, level.get_ref(), level.span(), findings));
        if let (Some(factor), Some(level)) = (factor, level) {
            factors.insert(factor, level);
        }
    }
    factors
}

/// How factors and their levels are spelt: `Weekly` and `weekly` would be compared as two treatments.
#[derive(Debug, Default)]
struct Spellings(BTreeMap<(String, String), (String, Span)>);

impl Spellings {
    fn factor(&mut self, name: &str, span: Span, findings: &mut Findings<'_>) -> Option<String> {
        self.agreed("", name, span, findings)
    }

    fn level(
        &mut self,
        factor: &str,
        level: &str,
        span: Span,
        findings: &mut Findings<'_>,
    ) -> Option<String> {
        self.agreed(factor, level, span, findings)
    }

    fn agreed(
        &mut self,
        factor: &str,
        written: &str,
        span: Span,
        findings: &mut Findings<'_>,
    ) -> Option<String> {
        let written = written.trim();
        if written.is_empty() {
            let help = "write a word, or take this line away";
            findings.fault(span, "a factor or its level is empty", "empty", help);
            return None;
        }
        let key = (factor.to_owned(), written.to_lowercase());
        let (first, first_span) = self
            .0
            .entry(key)
            .or_insert_with(|| (written.to_owned(), span.clone()));
        if first == written {
            return Some(written.to_owned());
        }
        let fault = Fault::new(
            span,
            format!("`{first}` and `{written}` would be compared as if they were two things"),
            "spelt otherwise",
            format!("write `{first}` everywhere, or give one of them another name"),
        );
        findings
            .faults
            .push(fault.also(first_span.clone(), "first here"));
        None
    }
}
