//! Stations: those that fell while the others gained, and the part of a green that will be full last.
//!
//! A washout hides in the mean of a green; it does not hide from a spot that is photographed at every visit.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::CoverPoint;
use super::answer::Setting;
use super::dates::{days_after, days_between};
use super::level::goal_in_words;
use super::losses::{Event, hides};
use super::spread::Spread;
use crate::course::{Cover, DateStyle, GreenId, StationId};
use crate::ranked;

/// Visits of each station of each green.
pub type StationVisits = BTreeMap<GreenId, BTreeMap<StationId, Vec<CoverPoint>>>;

/// When the last part of a green will be full.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WorstPart {
    /// The station that stands for it.
    pub station: StationId,
    /// The middle of the expectation; `None` where no date can be named.
    pub date: Option<Date>,
    /// Start of the interval.
    pub early: Option<Date>,
    /// End of the interval.
    pub late: Option<Date>,
}

/// A station is forecast by itself from so many visits on.
const LEAST_VISITS: usize = 3;
/// Of each green so many of its thinnest stations are forecast: the last one to be full is among them.
const THINNEST: usize = 2;
/// A fall: this much of the ground, and this share of what there was.
const FALL: (f64, f64) = (0.05, 0.15);
/// A worst part that is later than its green by so many days is told in words.
const TELLING_DAYS: i64 = 7;

/// A station that is forecast by itself.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Part {
    pub station: StationId,
    pub visits: Vec<CoverPoint>,
    /// Between which visits it fell.
    pub fall: Option<(CoverPoint, CoverPoint)>,
}

impl Part {
    /// The first day that has less.
    pub(crate) fn loss(&self) -> Option<Date> {
        self.fall.map(|(before, _)| days_after(before.date, 1))
    }
}

/// The stations of a green that need a forecast of their own: the thinnest, and those that fell.
///
/// `known` are the green's stations with their visits up to the day of the forecast. A fall counts where the
/// other stations gained over the same time (with fewer than two of them, where the green's mean did) and where
/// the station has not come back since; scalping and sand topdressing hide and do not count.
pub(crate) fn parts(
    known: &BTreeMap<StationId, Vec<CoverPoint>>,
    green: &GreenId,
    mean: &[CoverPoint],
    events: &[Event],
) -> Vec<Part> {
    let long: Vec<(&StationId, &Vec<CoverPoint>)> = known
        .iter()
        .filter(|(_, visits)| visits.len() >= LEAST_VISITS)
        .collect();
    let mut parts: Vec<Part> = long
        .iter()
        .map(|(station, visits)| Part {
            station: (*station).clone(),
            visits: (*visits).clone(),
            fall: fall(station, visits, known, mean)
                .filter(|(before, after)| !hides(events, green, before.date, after.date)),
        })
        .collect();
    let last = |part: &Part| part.visits.last().map_or(1.0, |last| last.cover.fraction());
    parts.sort_by(|a, b| last(a).total_cmp(&last(b)));
    let mut place = 0;
    parts.retain(|part| {
        place += 1;
        part.fall.is_some() || place <= THINNEST
    });
    parts
}

fn fall(
    station: &StationId,
    visits: &[CoverPoint],
    stations: &BTreeMap<StationId, Vec<CoverPoint>>,
    mean: &[CoverPoint],
) -> Option<(CoverPoint, CoverPoint)> {
    let last = visits.last()?.cover.fraction();
    visits
        .windows(2)
        .map(|pair| (pair[0], pair[1]))
        .rev()
        .find(|(before, after)| {
            let (was, is) = (before.cover.fraction(), after.cover.fraction());
            let fell = was - is >= FALL.0.max(FALL.1 * was);
            if !fell || last >= was {
                return false;
            }
            let mut gains: Vec<f64> = stations
                .iter()
                .filter(|(other, _)| *other != station)
                .filter_map(|(_, visits)| gain(visits, before.date, after.date))
                .collect();
            let usual = match gains.len() {
                0 | 1 => gain(mean, before.date, after.date),
                _ => ranked::middle(&mut gains),
            };
            usual.is_some_and(|gain| gain > 0.0)
        })
}

fn gain(visits: &[CoverPoint], from: Date, to: Date) -> Option<f64> {
    let at = |date: Date| visits.iter().find(|visit| visit.date == date);
    Some(at(to)?.cover.fraction() - at(from)?.cover.fraction())
}

/// The part that will be full last, where it is later than the green as a whole; `times` are the draws of each
/// part.
pub(crate) fn worst_part(
    setting: &Setting<'_>,
    parts: &[Part],
    times: &[Vec<f64>],
    green: &Spread,
) -> Option<WorstPart> {
    let (part, spread) = parts
        .iter()
        .zip(times)
        .filter(|(_, times)| !times.is_empty())
        .map(|(part, times)| (part, Spread::new(times.clone())))
        .max_by(|a, b| a.1.middle().total_cmp(&b.1.middle()))?;
    if spread.middle() <= green.middle() {
        return None;
    }
    let (early, late) = spread.interval(super::level::LEVEL);
    Some(WorstPart {
        station: part.station.clone(),
        date: setting.date(spread.middle()),
        early: setting.date(early),
        late: setting.date(late),
    })
}

/// What to say of stations that fell, and of a worst part that is much later than its green.
pub(crate) fn notes(
    parts: &[Part],
    worst: Option<&WorstPart>,
    full_cover: Option<Date>,
    goal: Cover,
    dates: DateStyle,
) -> Vec<String> {
    let mut notes = Vec::new();
    let mut falls: BTreeMap<(Date, Date), Vec<String>> = BTreeMap::new();
    for part in parts {
        if let Some((before, after)) = part.fall {
            let (was, is) = (before.cover.percent(), after.cover.percent());
            falls
                .entry((before.date, after.date))
                .or_default()
                .push(format!("{} ({was:.0} to {is:.0}%)", part.station));
        }
    }
    for ((from, to), mut stations) in falls {
        stations.sort();
        let (noun, told) = match stations.as_slice() {
            [one] => ("station", one.clone()),
            several => {
                let (last, others) = several.split_last().expect("there are several");
                ("stations", format!("{} and {last}", others.join(", ")))
            }
        };
        notes.push(format!(
            "Between {} and {} {noun} {told} fell while the others gained: a part of this green was lost.",
            dates.short(from),
            dates.short(to)
        ));
    }
    if let Some(worst) = worst {
        let has_fallen = parts
            .iter()
            .any(|part| part.station == worst.station && part.fall.is_some());
        let is_late = match (worst.date, full_cover) {
            (Some(worst), Some(green)) => days_between(green, worst) >= TELLING_DAYS,
            (None, Some(_)) => true,
            _ => false,
        };
        if has_fallen || is_late {
            let goal = goal_in_words(goal);
            notes.push(match (worst.date, worst.early, worst.late) {
                (Some(date), Some(early), Some(late)) => format!(
                    "Its worst part, at station {}, is expected to reach {goal} about {} ({} – {}).",
                    worst.station,
                    dates.short(date),
                    dates.short(early),
                    dates.short(late)
                ),
                (Some(date), _, _) => format!(
                    "Its worst part, at station {}, is expected to reach {goal} about {}, or much later.",
                    worst.station,
                    dates.short(date)
                ),
                _ => format!(
                    "No date can be named for its worst part, at station {}.",
                    worst.station
                ),
            });
        }
    }
    notes
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::forecast::testing::{course, green, weekly};
    use crate::forecast::{EventKind, GreenForecast, Options, Visits, season};

    const PLANTED: Date = date(2027, 5, 18);

    fn station(name: &str) -> StationId {
        StationId::new(name).expect("tests write ids")
    }

    /// Five stations that grow alike; two are stripped on day 23, by 2.5 on the logistic scale, and grow again at
    /// the old pace from what is left.
    fn stripped() -> BTreeMap<StationId, Vec<CoverPoint>> {
        let grown = |from: f64, week: i32, lost: f64| {
            let line = (from / (1.0 - from)).ln() + 0.75 * f64::from(week) - lost;
            100.0 / (1.0 + (-line).exp())
        };
        ["A", "B", "C", "D", "E"]
            .iter()
            .enumerate()
            .map(|(idx, letter)| {
                let start = 0.02 + 0.003 * idx as f64;
                let percent: Vec<f64> = (1..=6)
                    .map(|week| match (idx, week) {
                        (3.., 4..) => grown(start, week, 2.5),
                        _ => grown(start, week, 0.0),
                    })
                    .collect();
                (station(&format!("G12-{letter}")), weekly(PLANTED, &percent))
            })
            .collect()
    }

    fn mean(stations: &BTreeMap<StationId, Vec<CoverPoint>>) -> Vec<CoverPoint> {
        let n = stations.len() as f64;
        (0..6)
            .map(|visit| {
                let sum: f64 = stations.values().map(|v| v[visit].cover.fraction()).sum();
                CoverPoint {
                    cover: Cover::from_fraction(sum / n).unwrap(),
                    ..stations[&station("G12-A")][visit]
                }
            })
            .collect()
    }

    fn forecast(n_visits: usize, events: Vec<Event>) -> GreenForecast {
        let course = course(vec![green("G12", PLANTED)]);
        let id = course.greens[0].id.clone();
        let stations = stripped();
        let visits = Visits::from([(id.clone(), mean(&stations))]);
        let options = Options {
            as_of: Some(days_after(PLANTED, 7 * n_visits as i64)),
            stations: StationVisits::from([(id, stations)]),
            events,
            ..Options::default()
        };
        season(&course, &visits, &options).greens.remove(0)
    }

    #[test]
    fn stations_that_fell_while_the_others_gained_are_named() {
        let all = stripped();
        let mean = mean(&all);
        // The mean hides it: 40 % stripped, and it rises.
        let (third, fourth) = (mean[2].cover.fraction(), mean[3].cover.fraction());
        assert!(fourth > third, "{third} {fourth}");
        let green = forecast(4, Vec::new());
        assert!(
            green.notes.iter().any(|note| note
                .starts_with("Between Jun 8 and Jun 15 stations G12-D (")
                && note.contains(" and G12-E (")
                && note.contains("fell while the others gained")),
            "{:?}",
            green.notes
        );
    }

    #[test]
    fn the_worst_part_is_later_than_the_mean_and_its_interval_holds_the_truth() {
        let green = forecast(6, Vec::new());
        let worst = green.worst_part.expect("a worst part");
        assert!(["G12-D", "G12-E"].contains(&worst.station.as_str()));
        assert!(worst.date > green.full_cover.date, "{worst:?}");
        // Station D starts at 0.029: (ln 19 − ln(0.029/0.971) + 2.5) / 0.75 = 11.9 weeks.
        let (early, late) = (worst.early.unwrap(), worst.late.unwrap());
        let truth = days_after(PLANTED, 84);
        assert!(early <= truth && truth <= late, "{worst:?}");
        assert!(
            green
                .notes
                .iter()
                .any(|note| note.contains("Its worst part"))
        );
    }

    #[test]
    fn what_topdressing_hides_has_not_fallen() {
        let topdressed = Event {
            date: days_after(PLANTED, 26),
            green: None,
            what: EventKind::Topdressed,
        };
        let green = forecast(4, vec![topdressed]);
        assert!(
            !green.notes.iter().any(|note| note.contains("fell while")),
            "{:?}",
            green.notes
        );
    }

    #[test]
    fn stations_of_fewer_than_three_visits_are_not_forecast() {
        let green = forecast(2, Vec::new());
        assert_eq!(green.worst_part, None);
    }
}
