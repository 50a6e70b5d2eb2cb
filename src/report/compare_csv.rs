//! The tables of a comparison as comma-separated values, and the files of a comparison all together.

use csv::Writer;

use super::Room;
use super::compare_charts::{cost_chart, levels_chart, means_chart};
use super::compare_lead::rate_that_matters;
use super::svg::Dress;
use crate::compare::{Comparison, MeansTable, Outcome, Pair, nutrient_unit};
use crate::course::DisplayUnits;

/// Every file of a comparison, by name: tables, pictures, the whole as JSON.
pub fn comparison_files(
    comparison: &Comparison,
    units: DisplayUnits,
) -> Vec<(&'static str, Vec<u8>)> {
    let json =
        serde_json::to_vec_pretty(comparison).expect("numbers and words can be written as JSON");
    let mut files = vec![
        ("comparison.json", json),
        ("means.csv", means_csv(comparison)),
        ("pairs.csv", pairs_csv(comparison)),
        ("greens.csv", greens_csv(comparison)),
        (
            "means.svg",
            means_chart(comparison, 0, Room::Wide, Dress::Alone).into_bytes(),
        ),
    ];
    if comparison.curves.is_some() {
        files.push((
            "curves.svg",
            levels_chart(comparison, Dress::Alone).into_bytes(),
        ));
    }
    if let Some(money) = &comparison.money {
        files.push(("cost.csv", cost_csv(comparison)));
        let unit = comparison.rate.as_ref().map_or("", |rate| rate.unit);
        let is_shown = rate_that_matters(comparison).is_some();
        files.push((
            "cost.svg",
            cost_chart(money, unit, is_shown, Dress::Alone).into_bytes(),
        ));
    }
    if comparison.inputs.is_some() {
        files.push(("inputs.csv", inputs_csv(comparison, units)));
    }
    files
}

/// A line for every response and level: mean, interval, letters.
pub fn means_csv(comparison: &Comparison) -> Vec<u8> {
    let mut rows = vec![strings(&[
        "response",
        "on",
        "of",
        "within",
        "level",
        "greens",
        "mean",
        "low_95",
        "high_95",
        "letters",
        "letters_by",
        "lsd",
        "hsd",
    ])];
    for (response, on, table) in tables(comparison) {
        for mean in &table.means {
            rows.push(vec![
                response.clone(),
                on.clone(),
                table.of.clone(),
                table.within.clone().unwrap_or_default(),
                mean.level.clone(),
                mean.units.to_string(),
                number(mean.mean),
                number(mean.low),
                number(mean.high),
                mean.letters.clone(),
                match table.letters_by {
                    crate::compare::Rule::Lsd => "lsd".to_owned(),
                    crate::compare::Rule::Tukey => "tukey".to_owned(),
                },
                optional(table.lsd),
                optional(table.hsd),
            ]);
        }
    }
    for answer in &comparison.answers {
        if let Outcome::Described(described) = &answer.outcome {
            for level in &described.levels {
                let mut row = strings(&[answer.response, "", "", ""]);
                row[1] = answer.on.map(|date| date.to_string()).unwrap_or_default();
                row[2] = comparison.by.join(" × ");
                row.extend([
                    level.level.clone(),
                    level.greens.to_string(),
                    number(level.mean),
                    optional(level.low),
                    optional(level.high),
                ]);
                row.resize(13, String::new());
                rows.push(row);
            }
        }
    }
    bytes(&rows)
}

fn pairs_csv(comparison: &Comparison) -> Vec<u8> {
    let mut rows = vec![strings(&[
        "response",
        "on",
        "of",
        "within",
        "rule",
        "first",
        "second",
        "difference",
        "low_95",
        "high_95",
        "p",
    ])];
    for (response, on, table) in tables(comparison) {
        let rules: [(&str, &[Pair]); 3] = [
            ("lsd", &table.pairs_lsd),
            ("tukey", &table.pairs_tukey),
            ("dunnett", &table.against_control),
        ];
        for (rule, pairs) in rules {
            for pair in pairs {
                rows.push(vec![
                    response.clone(),
                    on.clone(),
                    table.of.clone(),
                    table.within.clone().unwrap_or_default(),
                    rule.to_owned(),
                    pair.first.clone(),
                    pair.second.clone(),
                    number(pair.difference),
                    number(pair.low),
                    number(pair.high),
                    format!("{:.6}", pair.p),
                ]);
            }
        }
    }
    bytes(&rows)
}

fn greens_csv(comparison: &Comparison) -> Vec<u8> {
    let mut heading = strings(&["response", "on", "green", "block"]);
    heading.extend(comparison.by.iter().cloned());
    heading.extend(strings(&["value", "low_95", "high_95", "standing"]));
    let mut rows = vec![heading];
    for answer in &comparison.answers {
        let on = answer.on.map(|date| date.to_string()).unwrap_or_default();
        for green in &answer.values {
            let mut row = vec![
                answer.response.to_owned(),
                on.clone(),
                green.green.to_string(),
                green.block.clone().unwrap_or_default(),
            ];
            row.extend(green.levels.iter().cloned());
            row.extend(match green.value {
                Some(value) => [
                    number(value.value),
                    optional(value.low),
                    optional(value.high),
                    match value.standing {
                        crate::compare::Standing::Seen => "seen".to_owned(),
                        crate::compare::Standing::Projected => "projected".to_owned(),
                        crate::compare::Standing::SeenLater => "seen_later".to_owned(),
                    },
                ],
                None => Default::default(),
            });
            rows.push(row);
        }
    }
    bytes(&rows)
}

fn cost_csv(comparison: &Comparison) -> Vec<u8> {
    let unit = comparison.rate.as_ref().map_or("", |rate| rate.unit);
    let mut rows = vec![strings(&[
        "rate",
        "unit",
        "sprigs",
        "days",
        "days_gained",
        "days_gained_low_95",
        "days_gained_high_95",
        "extra_cost",
        "net",
        "net_low_95",
        "net_high_95",
        "break_even_per_day",
    ])];
    for rate in comparison.money.iter().flat_map(|money| &money.rates) {
        rows.push(vec![
            number(rate.rate),
            unit.to_owned(),
            number(rate.sprigs),
            number(rate.days.estimate),
            number(rate.days_gained.estimate),
            number(rate.days_gained.low),
            number(rate.days_gained.high),
            number(rate.extra_cost),
            number(rate.net.estimate),
            number(rate.net.low),
            number(rate.net.high),
            optional(rate.break_even_per_day),
        ]);
    }
    bytes(&rows)
}

/// A line for each green, after a line for each day on which it was fed.
fn inputs_csv(comparison: &Comparison, units: DisplayUnits) -> Vec<u8> {
    let (unit, one) = nutrient_unit(units);
    let mut rows = vec![strings(&[
        "green",
        "from",
        "to",
        "what",
        "unit",
        "n",
        "p2o5",
        "k2o",
        "irrigation_mm",
        "rain_mm",
        "evapotranspiration_mm",
    ])];
    for green in comparison.inputs.iter().flat_map(|inputs| &inputs.greens) {
        let days = green
            .fed
            .iter()
            .map(|(date, fed)| (*date, *date, "day", *fed));
        let all = [(green.from, green.to, "total", green.nutrients)];
        for (from, to, what, fed) in days.chain(all) {
            let is_total = what == "total";
            let water = |mm: Option<f64>| optional(mm.filter(|_| is_total));
            rows.push(vec![
                green.green.to_string(),
                from.to_string(),
                to.to_string(),
                what.to_owned(),
                unit.to_owned(),
                number(fed.n_g_m2 * one),
                number(fed.p2o5_g_m2 * one),
                number(fed.k2o_g_m2 * one),
                water(green.irrigation_mm),
                water(green.rain_mm),
                water(green.evapotranspiration_mm),
            ]);
        }
    }
    bytes(&rows)
}

fn tables(comparison: &Comparison) -> impl Iterator<Item = (String, String, &MeansTable)> {
    comparison.answers.iter().flat_map(|answer| {
        let tables: &[MeansTable] = match &answer.outcome {
            Outcome::Tested(tested) => &tested.means,
            Outcome::Described(_) => &[],
        };
        let on = answer.on.map(|date| date.to_string()).unwrap_or_default();
        tables
            .iter()
            .map(move |table| (answer.response.to_owned(), on.clone(), table))
    })
}

/// A row of words.
pub(super) fn strings(cells: &[&str]) -> Vec<String> {
    cells.iter().map(|cell| (*cell).to_owned()).collect()
}

fn number(value: f64) -> String {
    format!("{value:.4}")
}

fn optional(value: Option<f64>) -> String {
    value.map(number).unwrap_or_default()
}

/// A table, the row of headings first.
pub(super) fn bytes(rows: &[Vec<String>]) -> Vec<u8> {
    let mut writer = Writer::from_writer(Vec::new());
    for row in rows {
        writer
            .write_record(row)
            .expect("memory takes every byte, and every line has as many cells as the first");
    }
    writer
        .into_inner()
        .expect("memory takes every byte that is left to write")
}
