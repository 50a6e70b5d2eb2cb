//! Nitrogen, phosphate and potash from the lines of the log.

use std::collections::BTreeMap;

use serde::Serialize;
use thiserror::Error;

use crate::course::{Course, DisplayUnits, SquareMetres};
use crate::season::{Log, LogEntry, What};
use crate::written::excerpt;

/// Grams of each nutrient on a square metre.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Nutrients {
    /// N, g/m².
    pub n_g_m2: f64,
    /// P2O5, g/m².
    pub p2o5_g_m2: f64,
    /// K2O, g/m².
    pub k2o_g_m2: f64,
}

/// One international pound, exactly (1959 agreement).
const GRAMS_PER_POUND: f64 = 453.592_37;
const SQUARE_METRES_PER_THOUSAND_SQUARE_FEET: f64 = 92.903_04;

/// How nutrients are told: their unit, and how much of it a g/m² is.
pub fn nutrient_unit(units: DisplayUnits) -> (&'static str, f64) {
    match units {
        DisplayUnits::Us => (
            "lb per 1,000 ft²",
            SQUARE_METRES_PER_THOUSAND_SQUARE_FEET / GRAMS_PER_POUND,
        ),
        DisplayUnits::Metric => ("kg per 100 m²", 0.1),
    }
}

impl Nutrients {
    /// Both together.
    pub fn and(self, other: Nutrients) -> Nutrients {
        Nutrients {
            n_g_m2: self.n_g_m2 + other.n_g_m2,
            p2o5_g_m2: self.p2o5_g_m2 + other.p2o5_g_m2,
            k2o_g_m2: self.k2o_g_m2 + other.k2o_g_m2,
        }
    }

    /// What a line of the log puts on a green of this area; `None` for lines that are no fertiliser.
    ///
    /// The unit is a mass over an area (`lb/1000ft2`, `kg/ha`, `g/m2`), or a mass alone, which is then that of
    /// the whole green. Where it names a nutrient (`lb N/1000ft2`) the amount is of that nutrient, else of the
    /// product.
    ///
    /// # Errors
    ///
    /// [`UnreadLine`] with what to write instead.
    pub(super) fn of(
        entry: &LogEntry,
        area: Option<SquareMetres>,
    ) -> Option<Result<Nutrients, UnreadLine>> {
        if entry.what != What::Fertiliser && entry.analysis.trim().is_empty() {
            return None;
        }
        let alone = named_alone(entry, area).map(|(_, own)| Ok(own));
        let found = alone.unwrap_or_else(|| read(entry, area));
        Some(found.map_err(|what| UnreadLine {
            line: entry.line,
            what,
        }))
    }

    /// Why a line of the log does not tell how much of a nutrient (N, P2O5 or K2O by its place) it put on a green;
    /// `None` where it does, and for lines that are no fertiliser.
    pub(super) fn unread(
        entry: &LogEntry,
        area: Option<SquareMetres>,
        nutrient: usize,
    ) -> Option<UnreadLine> {
        match (Nutrients::of(entry, area)?, named_alone(entry, area)) {
            (Err(why), _) => Some(why),
            (Ok(_), Some((named, _))) if named != nutrient => Some(UnreadLine {
                line: entry.line,
                what: Unread::OneAlone(excerpt(&entry.unit)),
            }),
            (Ok(_), _) => None,
        }
    }
}

/// Lines of fertiliser whose nutrients cannot be reckoned, a sentence each.
pub fn unread_fertiliser(course: &Course, log: &Log) -> Vec<String> {
    let mut why: BTreeMap<u64, String> = BTreeMap::new();
    for green in &course.greens {
        for entry in log.of(&green.id) {
            if let Some(Err(unread)) = Nutrients::of(entry, green.area) {
                why.entry(entry.line).or_insert_with(|| unread.to_string());
            }
        }
    }
    let told = why.into_values();
    told.map(|why| format!("{why}. Its nutrients are counted nowhere."))
        .collect()
}

/// What a line without an analysis gives whose unit names the nutrient, with the place of that.
fn named_alone(entry: &LogEntry, area: Option<SquareMetres>) -> Option<(usize, Nutrients)> {
    if !entry.analysis.trim().is_empty() {
        return None;
    }
    let (grams_per_square_metre, named) = unit(&entry.unit, area)?;
    let given = entry.amount? * grams_per_square_metre;
    let mut own = Nutrients::default();
    let named = named?;
    match named {
        0 => own.n_g_m2 = given,
        1 => own.p2o5_g_m2 = given,
        _ => own.k2o_g_m2 = given,
    }
    Some((named, own))
}

/// A line of the log whose nutrients are not counted.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("line {line} of the log: {what}")]
pub(super) struct UnreadLine {
    line: u64,
    what: Unread,
}

/// What of a line cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
enum Unread {
    #[error("{}; write percent N-P2O5-K2O, such as 18-24-12, or a unit that names the nutrient, such as lb N/1000ft2", no_analysis(.0))]
    Analysis(String),
    #[error(
        "`{0}` without an analysis tells that nutrient alone; write percent N-P2O5-K2O, such as 18-24-12"
    )]
    OneAlone(String),
    #[error("no amount; write how much was put on")]
    Amount,
    #[error(
        "`{0}` is no mass over an area; write a unit such as lb/1000ft2, lb N/1000ft2, kg/ha or g/m2"
    )]
    Unit(String),
    #[error("`{analysis}` holds none of what `{unit}` names")]
    NoneOfIt { analysis: String, unit: String },
}

fn read(entry: &LogEntry, area: Option<SquareMetres>) -> Result<Nutrients, Unread> {
    let shares =
        analysis(&entry.analysis).ok_or_else(|| Unread::Analysis(excerpt(&entry.analysis)))?;
    let amount = entry.amount.ok_or(Unread::Amount)?;
    let (grams_per_square_metre, of) =
        unit(&entry.unit, area).ok_or_else(|| Unread::Unit(excerpt(&entry.unit)))?;
    let given = amount * grams_per_square_metre;
    let product = match of {
        None => given,
        Some(nutrient) if shares[nutrient] > 0.0 => given / shares[nutrient],
        Some(_) => {
            return Err(Unread::NoneOfIt {
                analysis: excerpt(&entry.analysis),
                unit: excerpt(&entry.unit),
            });
        }
    };
    Ok(Nutrients {
        n_g_m2: product * shares[0],
        p2o5_g_m2: product * shares[1],
        k2o_g_m2: product * shares[2],
    })
}

/// `18-24-12` → shares of 1.
fn analysis(text: &str) -> Option<[f64; 3]> {
    let parts: Vec<f64> = text
        .split(['-', '–', '/', ':'])
        .map(|part| part.trim().trim_end_matches('%').parse().ok())
        .collect::<Option<_>>()?;
    // Further figures, such as sulphur, may follow.
    let [n, p, k] = *parts.first_chunk::<3>()?;
    let sound = [n, p, k].iter().all(|share| (0.0..=100.0).contains(share)) && n + p + k <= 100.0;
    sound.then_some([n / 100.0, p / 100.0, k / 100.0])
}

fn no_analysis(written: &str) -> String {
    match written.trim() {
        "" => "no analysis".to_owned(),
        written => format!("`{written}` is no analysis"),
    }
}

/// Grams on a square metre for one of the unit, and the nutrient that it names.
fn unit(text: &str, area: Option<SquareMetres>) -> Option<(f64, Option<usize>)> {
    let text = text.to_lowercase().replace(" per ", "/");
    let (mass, over) = match text.split_once('/') {
        // M is a thousand square feet where people write pounds or ounces (common practice, no source).
        Some((mass, over)) if over.trim() == "m" && is_us_mass(mass) => (
            mass.trim(),
            SquareMetres(SQUARE_METRES_PER_THOUSAND_SQUARE_FEET),
        ),
        Some((mass, over)) => (
            mass.trim(),
            SquareMetres::parse(&format!("1 {}", over.trim())).ok()?,
        ),
        None => (text.trim(), area?),
    };
    let end = mass
        .find(|c: char| !c.is_ascii_alphabetic())
        .unwrap_or(mass.len());
    let (mass, named) = mass.split_at(end);
    let grams = match mass {
        "lb" | "lbs" | "pound" | "pounds" => GRAMS_PER_POUND,
        "oz" | "ounce" | "ounces" => GRAMS_PER_POUND / 16.0,
        "kg" => 1000.0,
        "g" | "gram" | "grams" => 1.0,
        _ => return None,
    };
    let nutrient = match named
        .replace(['.', '-', '_', ' '], "")
        .replace("of", "")
        .as_str()
    {
        "" => None,
        "n" | "nitrogen" => Some(0),
        "p" | "p2o5" | "phosphate" => Some(1),
        "k" | "k2o" | "potash" => Some(2),
        _ => return None,
    };
    Some((grams / over.0, nutrient))
}

fn is_us_mass(mass: &str) -> bool {
    let mass = mass.trim();
    ["lb", "pound", "oz", "ounce"]
        .iter()
        .any(|unit| mass.starts_with(unit))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::season::read_log_csv;

    #[test]
    fn a_unit_that_names_the_nutrient_needs_no_analysis() {
        let (_, one) = nutrient_unit(DisplayUnits::Us);
        let sum =
            total("2027-06-01,,urea,1,lb N/1000ft2,,\n2027-06-08,,fertiliser,1,lb N/M,46-0-0,\n");
        assert!((sum.n_g_m2 * one - 2.0).abs() < 1e-9, "{sum:?}");
        // A gram over a metre is no M.
        assert_eq!(unit("g/m", None), None);
        let log = read_log_csv("date,what,amount,unit\n2027-06-01,urea,1,lb N/1000ft2\n").unwrap();
        let unread = |nutrient| Nutrients::unread(&log.entries[0], None, nutrient);
        assert_eq!(unread(0), None);
        let why = unread(1).unwrap().to_string();
        assert!(
            why.starts_with("line 2 of the log: `lb N/1000ft2` without an analysis"),
            "{why}"
        );
    }

    fn total(lines: &str) -> Nutrients {
        let log = read_log_csv(format!(
            "date,green,what,amount,unit,analysis,note\n{lines}"
        ))
        .unwrap();
        assert!(log.problems.is_empty(), "{:?}", log.problems);
        log.entries
            .iter()
            .filter_map(|entry| Nutrients::of(entry, Some(SquareMetres(500.0))))
            .map(Result::unwrap)
            .fold(Nutrients::default(), Nutrients::and)
    }

    #[test]
    fn two_products_at_planting_give_the_usual_sum() {
        // 18-24-12 at 0.5 lb P2O5 and a 6-2-0 organic at 0.25 lb N per 1,000 ft²: together 0.63 lb N, 0.58 lb
        // P2O5, 0.25 lb K2O (common practice; arithmetic 0.625, 0.583, 0.250).
        let (_, one) = nutrient_unit(DisplayUnits::Us);
        let sum = total(
            "2027-05-18,,fertiliser,0.5,lb P2O5/1000ft2,18-24-12,\n2027-05-18,,fertilizer,0.25,lb N/1000ft2,6-2-0,organic\n",
        );
        assert!((sum.n_g_m2 * one - 0.625).abs() < 1e-9, "{sum:?}");
        assert!((sum.p2o5_g_m2 * one - 0.583_333).abs() < 1e-6, "{sum:?}");
        assert!((sum.k2o_g_m2 * one - 0.25).abs() < 1e-9, "{sum:?}");
    }

    #[test]
    fn amounts_of_product_and_whole_greens_are_brought_to_the_square_metre() {
        let by_area = total("2027-05-18,,fertiliser,50,kg/ha,20-0-10,\n");
        assert!((by_area.n_g_m2 - 1.0).abs() < 1e-12, "{by_area:?}");
        // 2.5 kg on 500 m² are 5 g/m².
        let whole = total("2027-05-18,,fertiliser,2.5,kg,20-0-10,\n");
        assert!((whole.n_g_m2 - 1.0).abs() < 1e-12, "{whole:?}");
    }

    #[test]
    fn what_is_missing_is_told_with_the_line() {
        let log = read_log_csv(
            "date,green,what,amount,unit,analysis,note\n2027-05-18,,fertiliser,1,lb/1000ft2,,\n2027-05-18,,mowing,,,,\n",
        )
        .unwrap();
        let told: Vec<_> = log
            .entries
            .iter()
            .filter_map(|entry| Nutrients::of(entry, None))
            .collect();
        assert_eq!(told.len(), 1, "mowing is no fertiliser");
        let why = told[0].clone().unwrap_err().to_string();
        assert!(why.contains("line 2") && why.contains("18-24-12"), "{why}");
        let log = read_log_csv(
            "date,what,amount,unit,analysis\n2027-05-18,fertiliser,1,lb/\u{1b}[2J,18-24-12\n2027-05-18,fertiliser,1,lb,\u{1b}]0;x\u{7}\n",
        )
        .unwrap();
        for entry in &log.entries {
            let why = Nutrients::of(entry, Some(SquareMetres(500.0)))
                .unwrap()
                .unwrap_err();
            let why = why.to_string();
            assert!(why.contains("\\u{1b}") && !why.contains('\u{1b}'), "{why}");
        }
    }
}
