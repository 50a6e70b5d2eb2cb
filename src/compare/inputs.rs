//! What the log put on each green: nutrients, water, and any other amount as a quantity to compare by.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::Date;
use serde::Serialize;

use super::error::CompareError;
use super::levels::Quantity;
use super::nutrients::{Nutrients, nutrient_unit};
use crate::course::{Course, DisplayUnits, Green, GreenId};
use crate::season::{
    EvapotranspirationBy, Log, LogEntry, MoreWeather, USUAL_ELEVATION_M, Weather, What,
    evapotranspiration,
};
use crate::written::excerpt;

/// What stands before the name of a quantity of the log.
pub const LOG_PREFIX: &str = "log:";

/// What may be asked for of each fertiliser, and its symbol.
const NUTRIENTS: [(&str, &str); 3] = [("nitrogen", "N"), ("phosphate", "P2O5"), ("potash", "K2O")];

const MM_PER_INCH: f64 = 25.4;

/// Work before planting counts to the green that was planted so many days later.
const BEFORE_PLANTING_DAYS: i64 = 30;

/// The season's record, as far as there is one.
#[derive(Debug, Clone, Default)]
pub struct Record {
    /// The log; empty where there is none.
    pub log: Log,
    /// Temperatures.
    pub weather: Option<Weather>,
    /// What else the weather file holds.
    pub more: BTreeMap<Date, MoreWeather>,
}

/// What one green was given.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GreenInputs {
    /// The green.
    pub green: GreenId,
    /// First day counted.
    pub from: Date,
    /// Last day counted.
    pub to: Date,
    /// All fertiliser together.
    pub nutrients: Nutrients,
    /// Each day on which it was fed.
    pub fed: Vec<(Date, Nutrients)>,
    /// Irrigation from planting on, mm; `None` where the log has none.
    pub irrigation_mm: Option<f64>,
    /// Rain from planting on, mm, where the weather file has it of every day.
    pub rain_mm: Option<f64>,
    /// Reference evapotranspiration of the same days, mm, where all their temperatures are known.
    pub evapotranspiration_mm: Option<f64>,
}

/// What all greens were given.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inputs {
    /// In the order of the course file.
    pub greens: Vec<GreenInputs>,
    /// How evapotranspiration was reckoned; `None` where it was not.
    pub evapotranspiration_by: Option<&'static str>,
    /// Dates and words of what the log says of these greens, once each.
    pub events: Vec<(Date, String)>,
    /// Whether products under a label are named.
    pub names_products: bool,
    /// Lines that could not be used, a sentence each.
    pub problems: Vec<String>,
}

impl Record {
    /// What `greens` were given until `to`; `None` without a log.
    pub(super) fn inputs(&self, course: &Course, greens: &[GreenId], to: Date) -> Option<Inputs> {
        if self.log.entries.is_empty() {
            return None;
        }
        let mut problems = BTreeSet::new();
        let mut ways = BTreeSet::new();
        let members: Vec<&Green> = greens.iter().filter_map(|id| course.green(id)).collect();
        let each = members
            .iter()
            .map(|green| self.of_green(course, green, to, &mut problems, &mut ways))
            .collect();
        let concerns = |entry: &&LogEntry| {
            entry.date <= to
                && entry
                    .green
                    .as_ref()
                    .is_none_or(|green| greens.contains(green))
        };
        let entries: Vec<&LogEntry> = self.log.entries.iter().filter(concerns).collect();
        let events: BTreeSet<(Date, String)> = entries
            .iter()
            .filter(|entry| !matches!(entry.what, What::Irrigation | What::Mowing))
            .map(|entry| (entry.date, entry.what_text.trim().to_owned()))
            .collect();
        Some(Inputs {
            greens: each,
            evapotranspiration_by: match (
                ways.contains(&EvapotranspirationBy::PenmanMonteith),
                ways.contains(&EvapotranspirationBy::Hargreaves),
            ) {
                (false, false) => None,
                (false, true) => Some("Hargreaves, from temperatures"),
                (true, false) => Some("FAO-56 Penman–Monteith"),
                (true, true) => {
                    Some("FAO-56 Penman–Monteith where its columns are there, else Hargreaves")
                }
            },
            events: events.into_iter().collect(),
            names_products: entries
                .iter()
                .any(|entry| matches!(entry.what, What::Fertiliser | What::Product)),
            problems: problems.into_iter().collect(),
        })
    }

    fn of_green(
        &self,
        course: &Course,
        green: &Green,
        to: Date,
        problems: &mut BTreeSet<String>,
        ways: &mut BTreeSet<EvapotranspirationBy>,
    ) -> GreenInputs {
        let from = green.planted.saturating_sub(BEFORE_PLANTING_DAYS.days());
        let mut fed: BTreeMap<Date, Nutrients> = BTreeMap::new();
        let mut irrigation = None;
        for entry in self
            .log
            .of(&green.id)
            .filter(|entry| (from..=to).contains(&entry.date))
        {
            match Nutrients::of(entry, green.area) {
                Some(Ok(own)) => {
                    let day = fed.entry(entry.date).or_default();
                    *day = day.and(own);
                }
                Some(Err(why)) => {
                    problems.insert(why.to_string());
                }
                None => {}
            }
            if entry.what == What::Irrigation && entry.date >= green.planted {
                match millimetres(entry) {
                    Some(mm) => irrigation = Some(irrigation.unwrap_or(0.0) + mm),
                    None => {
                        problems.insert(format!(
                            "line {} of the log: irrigation of `{}` is not counted; write mm or in",
                            entry.line,
                            excerpt(&entry.unit)
                        ));
                    }
                }
            }
        }
        let days: Vec<Date> = green
            .planted
            .series(1.day())
            .take_while(|day| *day <= to)
            .collect();
        let rain = |day: &Date| self.more.get(day)?.rain_mm;
        let rained: Option<Vec<f64>> = days.iter().map(rain).collect();
        GreenInputs {
            green: green.id.clone(),
            from,
            to,
            nutrients: fed
                .values()
                .fold(Nutrients::default(), |sum, own| sum.and(*own)),
            fed: fed.into_iter().collect(),
            irrigation_mm: irrigation,
            rain_mm: rained
                .filter(|rained| !rained.is_empty())
                .map(|rained| rained.iter().sum()),
            evapotranspiration_mm: self.evaporated(course, &days, ways),
        }
    }

    fn evaporated(
        &self,
        course: &Course,
        days: &[Date],
        ways: &mut BTreeSet<EvapotranspirationBy>,
    ) -> Option<f64> {
        let (weather, place) = (self.weather.as_ref()?, course.position?);
        let height = course
            .elevation
            .map_or(USUAL_ELEVATION_M, |height| height.0);
        let mut sum = 0.0;
        for &day in days {
            let (mm, by) = evapotranspiration(weather, &self.more, place.latitude, height, day)?;
            ways.insert(by);
            sum += mm;
        }
        (!days.is_empty()).then_some(sum)
    }

    /// The quantities of the log that `names` ask for, from before planting to the same day after planting on
    /// every green: a green that was slower must not have had more merely because it was fed for longer.
    ///
    /// `log:nitrogen`, `log:phosphate`, `log:potash` and `log:irrigation` are in the units of the course; any other
    /// word is looked for among the log's own, and counts amounts in the unit they are written in, or lines where
    /// none of them has an amount.
    ///
    /// # Errors
    ///
    /// [`CompareError::NotInLog`] for a word that the log does not have, [`CompareError::TwoUnits`] for one whose
    /// amounts cannot be added, [`CompareError::NoAmount`] where some of its lines have none.
    pub fn quantities(
        &self,
        course: &Course,
        names: &[String],
        until_day: i64,
    ) -> Result<Vec<Quantity>, CompareError> {
        let asked = names
            .iter()
            .filter_map(|name| Some((name, name.strip_prefix(LOG_PREFIX)?)));
        asked
            .map(|(name, what)| self.quantity(course, name, what.trim(), until_day))
            .collect()
    }

    fn quantity(
        &self,
        course: &Course,
        name: &str,
        what: &str,
        until_day: i64,
    ) -> Result<Quantity, CompareError> {
        let wanted = what.to_lowercase();
        let kind = What::from_words(&wanted);
        let is_asked = |entry: &LogEntry| {
            entry.what_text.trim().to_lowercase() == wanted
                || (entry.what == kind && !matches!(kind, What::Other | What::Note))
        };
        let nutrient = NUTRIENTS.iter().find(|(word, _)| *word == wanted);
        let is_nutrient = nutrient.is_some();
        if !is_nutrient && !self.log.entries.iter().any(is_asked) {
            let words: BTreeSet<&str> = self
                .log
                .entries
                .iter()
                .map(|entry| entry.what_text.trim())
                .collect();
            let own = words.into_iter().collect::<Vec<_>>().join(", ");
            return Err(CompareError::NotInLog {
                what: what.to_owned(),
                known: format!("nitrogen, phosphate, potash, {own}"),
            });
        }
        let (nutrient_unit, one) = nutrient_unit(course.units);
        let (water_unit, mm_each) = match course.units {
            DisplayUnits::Us => ("in", MM_PER_INCH),
            DisplayUnits::Metric => ("mm", 1.0),
        };
        let unit = match (nutrient, kind) {
            (Some((_, symbol)), _) => nutrient_unit.replacen(" per", &format!(" {symbol} per"), 1),
            (None, What::Irrigation) => water_unit.to_owned(),
            (None, _) => {
                let asked = self.log.entries.iter().filter(|entry| is_asked(entry));
                written_unit(name, &asked.collect::<Vec<_>>())?
            }
        };
        let of = course.greens.iter().map(|green| {
            let from = green.planted.saturating_sub(BEFORE_PLANTING_DAYS.days());
            let to = green.planted.saturating_add(until_day.days());
            let entries = self
                .log
                .of(&green.id)
                .filter(|entry| (from..=to).contains(&entry.date));
            let amount = |entry: &LogEntry| -> f64 {
                if is_nutrient {
                    let own = Nutrients::of(entry, green.area)
                        .and_then(Result::ok)
                        .unwrap_or_default();
                    return one
                        * match wanted.as_str() {
                            "nitrogen" => own.n_g_m2,
                            "phosphate" => own.p2o5_g_m2,
                            _ => own.k2o_g_m2,
                        };
                }
                match (is_asked(entry), kind) {
                    (false, _) => 0.0,
                    (true, What::Irrigation) => millimetres(entry).unwrap_or(0.0) / mm_each,
                    (true, _) => entry.amount.unwrap_or(1.0),
                }
            };
            // The sum of nothing is −0.
            (green.id.clone(), entries.map(amount).sum::<f64>() + 0.0)
        });
        let unread = |green: &Green| {
            let place = NUTRIENTS.iter().position(|(word, _)| *word == wanted)?;
            let from = green.planted.saturating_sub(BEFORE_PLANTING_DAYS.days());
            let to = green.planted.saturating_add(until_day.days());
            let mut lines = self.log.of(&green.id);
            let why = lines.find_map(|entry| {
                let counts = (from..=to).contains(&entry.date);
                counts.then(|| Nutrients::unread(entry, green.area, place))?
            })?;
            Some((green.id.clone(), why.to_string()))
        };
        Ok(Quantity {
            name: name.to_owned(),
            unit,
            of: of.collect(),
            unread: course.greens.iter().filter_map(unread).collect(),
        })
    }
}

/// The one unit in which amounts are written; `times` where there are no amounts.
fn written_unit(name: &str, entries: &[&LogEntry]) -> Result<String, CompareError> {
    let mut found: Option<&str> = None;
    for entry in entries.iter().filter(|entry| entry.amount.is_some()) {
        let unit = entry.unit.trim();
        match found {
            Some(first) if !first.eq_ignore_ascii_case(unit) => {
                return Err(CompareError::TwoUnits {
                    name: name.to_owned(),
                    line: entry.line,
                    first: excerpt(first),
                    second: excerpt(unit),
                });
            }
            Some(_) => {}
            None => found = Some(unit),
        }
    }
    let Some(unit) = found.map(excerpt) else {
        return Ok("times".to_owned());
    };
    match entries.iter().find(|entry| entry.amount.is_none()) {
        Some(entry) => Err(CompareError::NoAmount {
            name: name.to_owned(),
            line: entry.line,
            unit,
        }),
        None => Ok(unit),
    }
}

fn millimetres(entry: &LogEntry) -> Option<f64> {
    let amount = entry.amount?;
    match entry.unit.trim().to_lowercase().trim_end_matches('.') {
        "mm" | "l/m2" => Some(amount),
        "cm" => Some(10.0 * amount),
        "in" | "inch" | "inches" | "\"" => Some(MM_PER_INCH * amount),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::{Position, SquareMetres};
    use crate::forecast::testing::{course, green};
    use crate::season::{read_log_csv, read_weather_csv};

    const LOG: &str = "date,green,what,amount,unit,analysis,note\n\
        2027-05-10,,fertiliser,1,lb N/1000ft2,18-24-12,\n\
        2027-05-20,A1,irrigation,0.5,in,,\n\
        2027-05-21,A1,irrigation,6,mm,,\n\
        2027-05-22,B2,irrigation,3,times,,\n\
        2027-05-25,A1,rolling,,,,\n\
        2027-07-01,A1,fertiliser,1,lb N/1000ft2,21-0-0,\n";

    fn season() -> (Course, Record) {
        let mut greens = vec![
            green("A1", date(2027, 5, 18)),
            green("B2", date(2027, 5, 18)),
        ];
        for green in &mut greens {
            green.area = Some(SquareMetres(500.0));
        }
        let mut course = course(greens);
        course.position = Some(Position {
            latitude: 36.1,
            longitude: -79.4,
        });
        let days = (18..=31)
            .map(|day| format!("2027-05-{day},14,26\n"))
            .collect::<String>();
        let record = Record {
            log: read_log_csv(LOG).unwrap(),
            weather: read_weather_csv(format!("date,tmin_c,tmax_c\n{days}")).ok(),
            more: BTreeMap::new(),
        };
        (course, record)
    }

    #[test]
    fn nutrients_and_water_are_summed_by_green() {
        let (course, record) = season();
        let ids: Vec<GreenId> = course.greens.iter().map(|green| green.id.clone()).collect();
        let inputs = record.inputs(&course, &ids, date(2027, 5, 31)).unwrap();
        let (_, one) = nutrient_unit(course.units);
        let first = &inputs.greens[0];
        assert!(
            (first.nutrients.n_g_m2 * one - 1.0).abs() < 1e-9,
            "July is not yet"
        );
        assert!((first.irrigation_mm.unwrap() - 18.7).abs() < 1e-9);
        // Fourteen days of about 5 mm.
        assert!(
            (60.0..90.0).contains(&first.evapotranspiration_mm.unwrap()),
            "{first:?}"
        );
        assert_eq!(inputs.greens[1].irrigation_mm, None);
        assert!(
            inputs.problems[0].contains("line 5"),
            "{:?}",
            inputs.problems
        );
        assert!(inputs.names_products);
    }

    #[test]
    fn rain_of_some_days_is_not_told_as_that_of_all() {
        let (course, mut record) = season();
        let ids: Vec<GreenId> = course.greens.iter().map(|green| green.id.clone()).collect();
        let rain = |mm| MoreWeather {
            rain_mm: Some(mm),
            ..MoreWeather::default()
        };
        record.more = (18..=31)
            .map(|day| (date(2027, 5, day), rain(2.0)))
            .collect();
        let told = |record: &Record| {
            let inputs = record.inputs(&course, &ids, date(2027, 5, 31)).unwrap();
            inputs.greens[0].rain_mm
        };
        assert_eq!(told(&record), Some(28.0));
        record.more.remove(&date(2027, 5, 25));
        assert_eq!(told(&record), None);
    }

    #[test]
    fn what_the_log_has_twice_on_a_day_is_told_once() {
        let (course, mut record) = season();
        record.log = read_log_csv(
            "date,green,what\n2027-05-20,A1,rolling\n2027-05-20,A1,aeration\n2027-05-20,B2,rolling\n",
        )
        .unwrap();
        let ids: Vec<GreenId> = course.greens.iter().map(|green| green.id.clone()).collect();
        let inputs = record.inputs(&course, &ids, date(2027, 5, 31)).unwrap();
        let words: Vec<&str> = inputs
            .events
            .iter()
            .map(|(_, what)| what.as_str())
            .collect();
        assert_eq!(words, ["aeration", "rolling"]);
        assert_eq!(
            inputs.evapotranspiration_by,
            Some("Hargreaves, from temperatures")
        );
    }

    #[test]
    fn quantities_count_to_the_same_day_on_every_green() {
        let (course, record) = season();
        let names = ["log:nitrogen", "log:rolling", "log:irrigation"].map(str::to_owned);
        let found = record.quantities(&course, &names, 30).unwrap();
        let of = |idx: usize, green: &str| found[idx].of[&GreenId::new(green).unwrap()];
        assert!((of(0, "A1") - 1.0).abs() < 1e-9);
        assert_eq!((of(1, "A1"), of(1, "B2")), (1.0, 0.0));
        // Half an inch and 6 mm.
        assert!((of(2, "A1") - 18.7 / 25.4).abs() < 1e-9);
        let units: Vec<&str> = found.iter().map(|one| one.unit.as_str()).collect();
        assert_eq!(units, ["lb N per 1,000 ft²", "times", "in"]);
        let unknown = record
            .quantities(&course, &["log:aeration".to_owned()], 30)
            .unwrap_err();
        assert!(unknown.to_string().contains("rolling"), "{unknown}");
    }

    #[test]
    fn amounts_have_the_unit_they_are_written_in_and_two_units_are_not_added() {
        let (course, mut record) = season();
        let of_log = |record: &mut Record, lines: &str| {
            let text = format!("date,green,what,amount,unit\n{lines}");
            record.log = read_log_csv(&text).unwrap();
            record.quantities(&course, &["log:topdressing".to_owned()], 30)
        };
        let lines = "2027-05-20,A1,topdressing,0.05,in\n2027-05-27,A1,topdressing,0.1,In\n";
        let found = of_log(&mut record, lines).unwrap();
        assert_eq!(found[0].unit, "in");
        let mixed = format!("{lines}2027-06-01,B2,topdressing,2,mm\n");
        let error = of_log(&mut record, &mixed).unwrap_err();
        assert_eq!(
            error.to_string(),
            "log:topdressing has amounts in `in` and, on line 4 of the log, in `mm`, which cannot be added; write all of them in one unit"
        );
        let unsaid = format!("{lines}2027-06-01,B2,topdressing,,\n");
        assert_eq!(
            of_log(&mut record, &unsaid).unwrap_err().to_string(),
            "log:topdressing has amounts in `in`, and line 4 of the log has none; write how much it was, or take the amounts away to count times"
        );
    }
}
