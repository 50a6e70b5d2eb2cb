//! What has happened: lines of the log, and how dates have moved since the last report.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::format::{chance, days_between, isolated};
use super::{GreenReport, ReportData, Status};
use crate::course::GreenId;

/// Dates that differ by less are told as the same.
const WORTH_TELLING_DAYS: i32 = 2;

/// So many greens are named in the sentence of what has changed.
const NAMED: usize = 4;

/// A line of the log that concerns a green.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogLine {
    /// When.
    pub date: Date,
    /// What was done or seen, as written.
    pub what: String,
    /// How much, and remarks; may be empty.
    pub detail: String,
    /// Whether it is a remark for the reader and nothing else.
    pub kind: LogKind,
}

/// What a line of the log is to the reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogKind {
    /// Something was done or befell the green.
    Event,
    /// Somebody has a word to say.
    Note,
}

/// How things were told earlier.
#[derive(Debug, Clone, PartialEq)]
pub struct Earlier {
    /// The day on which they stood so.
    pub as_of: Date,
    /// Where the earlier dates come from.
    pub source: EarlierSource,
    /// Of a green that is not here nothing was told.
    pub greens: BTreeMap<GreenId, EarlierGreen>,
}

/// Where the earlier dates come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EarlierSource {
    /// A report that was made then.
    Report,
    /// Worked out now from what was known then.
    Hindsight,
    /// The same, where a report was made then that told otherwise.
    Remeasured,
}

/// How one green was told earlier.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EarlierGreen {
    /// How it stood.
    pub status: Option<Status>,
    /// When it was expected to be full.
    pub date: Option<Date>,
}

/// An opening that was another in the last report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OpeningMoved {
    /// The day of that report.
    pub since: Date,
    /// The opening of then; `None` where none was named.
    pub from: Option<Date>,
}

/// That the course means to open on another day than the last report said: chances are other ones by that alone.
pub(crate) fn opening_moved(data: &ReportData) -> Option<String> {
    let moved = data.opening_moved?;
    let dates = data.dates();
    let since = match moved.since < data.as_of {
        true => format!("the report of {}", dates.show(moved.since)),
        false => "an earlier report of this day".to_owned(),
    };
    let what = match (moved.from, data.open_by) {
        (Some(from), Some(to)) => {
            format!("was moved from {} to {}", dates.show(from), dates.show(to))
        }
        (Some(from), None) => {
            return Some(format!(
                "Since {since} the opening on {} is no longer named: no chances are told.",
                dates.show(from)
            ));
        }
        (None, Some(to)) => format!("was named: {}", dates.show(to)),
        (None, None) => return None,
    };
    let ahead = data.opening_ahead().is_some();
    let one = match data.greens.as_slice() {
        [green] => green.outlook.chance_by_opening,
        _ => None,
    };
    let all = data.all_full.and_then(|all| all.chance_by_opening);
    let odds = match all.or(one).filter(|_| ahead) {
        Some(p) if data.greens.len() > 1 => format!(" (all greens by then: {})", chance(p)),
        Some(p) => format!(" ({})", chance(p)),
        None => String::new(),
    };
    let told = match ahead {
        true => format!("chances{odds} and who is on pace are told for the new day"),
        false => "it has passed".to_owned(),
    };
    let growth = match moved.from {
        Some(_) if ahead => ", and how they differ from that report is not growth alone",
        _ => "",
    };
    Some(format!("Since {since} the opening {what}: {told}{growth}."))
}

/// What has changed since the last report, in a sentence or two.
pub(crate) fn changed(data: &ReportData) -> Option<String> {
    let earlier = data.earlier.as_ref()?;
    let day = data.dates().show(earlier.as_of);
    let mut moved = Vec::new();
    let (mut full, mut lost, mut undated) = (Vec::new(), Vec::new(), Vec::new());
    let mut n_compared = 0;
    for green in &data.greens {
        let before = earlier.greens.get(&green.id).copied().unwrap_or_default();
        let is_full = green.outlook.status == Status::Full;
        let was_full = before.status == Some(Status::Full);
        match (was_full, is_full) {
            (false, true) if before.status.is_some() || was_shown_since(green, earlier.as_of) => {
                full.push(isolated(&green.title()));
            }
            (true, false) => lost.push(isolated(&green.title())),
            (false, false) if has_lost_its_date(green, &before) => {
                undated.push(isolated(&green.title()));
            }
            (false, false) => {
                if let Some(days) = days_moved(green, &before) {
                    n_compared += 1;
                    if days.abs() >= WORTH_TELLING_DAYS {
                        moved.push((days, isolated(&green.title())));
                    }
                }
            }
            _ => {}
        }
    }
    if n_compared == 0 && full.is_empty() && lost.is_empty() && undated.is_empty() {
        return None;
    }
    let since = match earlier.source {
        EarlierSource::Report => format!("Since the report of {day}"),
        EarlierSource::Remeasured => {
            format!("Since {day}, with cover of then as it is measured today")
        }
        EarlierSource::Hindsight => {
            let visits = data.greens.iter().flat_map(|green| &green.visits);
            let known = visits.map(|visit| visit.date);
            let last = known.filter(|date| *date <= earlier.as_of).max();
            let photos = match last {
                Some(last) if last < earlier.as_of => {
                    format!(", from photos up to {}", data.dates().show(last))
                }
                _ => String::new(),
            };
            format!("Against what was known on {day}{photos}")
        }
    };
    let mut parts = Vec::new();
    if !full.is_empty() {
        parts.push(format!("{} became full", list(&full)));
    }
    if !lost.is_empty() {
        parts.push(format!("{} fell below full", list(&lost)));
    }
    if !undated.is_empty() {
        let have = if undated.len() == 1 { "has" } else { "have" };
        parts.push(format!("{} {have} no date any more", list(&undated)));
    }
    if undated.is_empty() || !moved.is_empty() {
        parts.extend(dates_moved(moved, n_compared));
    }
    let told = match earlier.source {
        EarlierSource::Remeasured => format!(
            " The report of {day} itself told other dates, since colours, log or audit were others then."
        ),
        EarlierSource::Report | EarlierSource::Hindsight => String::new(),
    };
    Some(format!("{since}: {}.{told}", parts.join("; ")))
}

/// Whether photos have first shown a full green full since a day on which nobody is known to have called it so.
fn was_shown_since(green: &GreenReport, day: Date) -> bool {
    green.outlook.date.is_some_and(|shown| shown > day)
}

/// Whether a date was told of it that is told no more.
fn has_lost_its_date(green: &GreenReport, before: &EarlierGreen) -> bool {
    let was_told = before.date.is_some() && before.status != Some(Status::TooEarly);
    was_told && green.outlook.status == Status::Stalled && green.outlook.told_date().is_none()
}

fn days_moved(green: &GreenReport, before: &EarlierGreen) -> Option<i32> {
    let now = green.outlook.told_date()?;
    (before.status != Some(Status::TooEarly)).then_some(())?;
    Some(days_between(before.date?, now))
}

/// The greens whose dates moved most, the most delayed first.
fn dates_moved(mut moved: Vec<(i32, String)>, n_compared: usize) -> Option<String> {
    if n_compared == 0 {
        return None;
    }
    if moved.is_empty() {
        return Some("no expected date moved by more than a day".to_owned());
    }
    let n_moved = moved.len();
    // Of many those that moved most, whichever way.
    moved.sort_by(|a, b| b.0.abs().cmp(&a.0.abs()).then_with(|| a.1.cmp(&b.1)));
    moved.truncate(NAMED);
    moved.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    let told = moved.iter().map(|(days, title)| {
        let way = if *days > 0 { "later" } else { "earlier" };
        format!("{} days {way} on {title}", days.abs())
    });
    let told = told.collect::<Vec<_>>().join(", ");
    let others = match (n_moved > moved.len(), n_compared > n_moved) {
        (true, _) => format!("; {n_moved} of {n_compared} dates moved in all"),
        (false, true) => "; on the others within a day".to_owned(),
        (false, false) => String::new(),
    };
    Some(format!("full cover is now expected {told}{others}"))
}

fn list(titles: &[String]) -> String {
    match titles {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use jiff::ToSpan as _;
    use jiff::civil::date;

    use super::*;
    use crate::report::example;

    /// What is told of a season where a report of Jul 4 told this of its greens.
    fn since_report(
        mut season: ReportData,
        greens: BTreeMap<GreenId, EarlierGreen>,
    ) -> Option<String> {
        season.earlier = Some(Earlier {
            as_of: date(2027, 7, 4),
            source: EarlierSource::Report,
            greens,
        });
        let marks = ['\u{2068}', '\u{2069}'];
        changed(&season).map(|text| text.replace(marks, ""))
    }

    fn told(change: impl Fn(usize, &mut EarlierGreen)) -> Option<String> {
        let mut season = example::season();
        season.greens.truncate(8);
        let greens = season.greens.iter().enumerate().map(|(index, green)| {
            let mut before = EarlierGreen {
                status: Some(green.outlook.status),
                date: green.outlook.date,
            };
            change(index, &mut before);
            (green.id.clone(), before)
        });
        let greens = greens.collect();
        since_report(season, greens)
    }

    #[test]
    fn a_date_that_was_taken_away_is_told() {
        let mut season = example::season();
        season.greens.truncate(8);
        let greens = season.greens.iter_mut().enumerate().map(|(index, green)| {
            let before = EarlierGreen {
                status: Some(green.outlook.status),
                date: green.outlook.date,
            };
            if index == 6 {
                green.outlook.status = Status::Stalled;
                green.outlook.date = None;
            }
            (green.id.clone(), before)
        });
        let greens = greens.collect();
        assert_eq!(
            since_report(season, greens).unwrap(),
            "Since the report of Jul 4: Green 7 has no date any more."
        );
    }

    #[test]
    fn dates_that_moved_are_named_with_their_days() {
        let text = told(|index, before| match index {
            3 => before.status = Some(Status::Growing),
            5 => before.date = before.date.map(|date| date.saturating_sub(4.days())),
            6 => before.date = before.date.map(|date| date.saturating_add(3.days())),
            7 => before.date = before.date.map(|date| date.saturating_add(1.day())),
            _ => {}
        });
        assert_eq!(
            text.unwrap(),
            "Since the report of Jul 4: Green 4 became full; full cover is now expected 4 days later on Green 6, \
             3 days earlier on Green 7; on the others within a day."
        );
    }

    #[test]
    fn a_quiet_week_says_so_and_of_many_only_the_ends_are_named() {
        let quiet = told(|_, _| {}).unwrap();
        assert_eq!(
            quiet,
            "Since the report of Jul 4: no expected date moved by more than a day."
        );
        let mut season = example::season();
        let greens = season.greens.iter().map(|green| {
            let before = EarlierGreen {
                status: Some(Status::Growing),
                date: green.outlook.date.map(|date| date.saturating_sub(5.days())),
            };
            (green.id.clone(), before)
        });
        season.earlier = Some(Earlier {
            as_of: date(2027, 7, 4),
            source: EarlierSource::Hindsight,
            greens: greens.collect(),
        });
        let text = changed(&season).unwrap();
        assert!(
            text.starts_with("Against what was known on Jul 4, from photos up to Jun 29: "),
            "{text}"
        );
        assert_eq!(text.matches("5 days later").count(), 4);
    }

    #[test]
    fn of_many_dates_those_that_moved_most_are_named() {
        let back = [0, 0, 0, 0, 9, 2, 3, 7, 2, 5];
        let mut season = example::season();
        season.greens.truncate(back.len());
        let greens = season.greens.iter_mut().zip(back).map(|(green, days)| {
            green.outlook.status = Status::Growing;
            let before = EarlierGreen {
                status: Some(Status::Growing),
                date: green
                    .outlook
                    .date
                    .map(|date| date.saturating_sub(days.days())),
            };
            (green.id.clone(), before)
        });
        let greens = greens.collect();
        assert_eq!(
            since_report(season, greens).unwrap(),
            "Since the report of Jul 4: full cover is now expected 9 days later on Green 5, 7 days later on Green 8, \
             5 days later on Green 10, 3 days later on Green 7; 6 of 10 dates moved in all."
        );
    }

    #[test]
    fn a_green_shown_full_since_is_told_and_a_report_that_told_otherwise_owned_up_to() {
        let mut season = example::season();
        season.greens.truncate(4);
        let shown = season.greens[0].outlook.date.unwrap();
        let ids: Vec<GreenId> = season.greens.iter().map(|green| green.id.clone()).collect();
        let mut told = |source| {
            let before = EarlierGreen {
                status: None,
                date: Some(shown),
            };
            season.earlier = Some(Earlier {
                as_of: shown.yesterday().unwrap(),
                source,
                greens: ids.iter().map(|id| (id.clone(), before)).collect(),
            });
            changed(&season).unwrap()
        };
        let text = told(EarlierSource::Hindsight);
        assert!(text.contains("became full"), "{text}");
        let text = told(EarlierSource::Remeasured);
        assert!(text.contains("as it is measured today"), "{text}");
        assert!(text.contains("itself told other dates"), "{text}");
    }

    #[test]
    fn an_opening_that_was_moved_is_told_with_its_chances_and_not_as_growth() {
        let mut season = example::season();
        assert_eq!(opening_moved(&season), None);
        let moved = |from| {
            Some(OpeningMoved {
                since: date(2027, 7, 4),
                from,
            })
        };
        season.opening_moved = moved(Some(date(2027, 7, 31)));
        assert_eq!(
            opening_moved(&season).unwrap(),
            "Since the report of Jul 4 the opening was moved from Jul 31 to Aug 14: chances (all greens by then: 3%) \
             and who is on pace are told for the new day, and how they differ from that report is not growth alone."
        );
        season.opening_moved = moved(None);
        assert_eq!(
            opening_moved(&season).unwrap(),
            "Since the report of Jul 4 the opening was named: Aug 14: chances (all greens by then: 3%) and who is on pace \
             are told for the new day."
        );
        season.opening_moved = moved(Some(date(2027, 7, 31)));
        season.open_by = None;
        assert_eq!(
            opening_moved(&season).unwrap(),
            "Since the report of Jul 4 the opening on Jul 31 is no longer named: no chances are told."
        );
    }

    #[test]
    fn where_nothing_was_told_before_nothing_is_compared() {
        assert_eq!(told(|_, before| *before = EarlierGreen::default()), None);
    }
}
