//! What moved a green's date over the last week, in one sentence.
//!
//! The forecast of a week ago is made anew; then again with its visits and this week's weather. What lies
//! between the first and the second is the weather's doing, what lies between the second and today's is that
//! of the visits since.

use jiff::ToSpan;
use jiff::civil::Date;

use super::dates::{days_after, days_between};
use super::document::{self, rounded};
use super::level::chance_in_words;
use super::shortfall::{Surprise, sisters_surprise};
use super::{GreenForecast, Moved, Setback, Status};
use crate::course::{Course, DateStyle, DisplayUnits, GreenId};
use crate::season::{DegreeDays, Weather};

/// A move of less than this, in days, is none.
const MOVED: i64 = 2;
/// A week whose degree days are off the usual by this share is cool or warm.
const UNUSUAL: f64 = 0.05;
/// A visit is off what was expected where it is off by this, as a fraction of ground.
const OFF: f64 = 0.015;
/// Sister greens have moved where they are off by this on the logistic scale.
const SISTERS_OFF: f64 = 0.05;
/// An interval that lost so many days is worth telling.
const NARROWED: i64 = 3;

/// What the green's forecast of today is held against.
pub(super) struct Then<'a> {
    /// The forecast of a week ago.
    pub before: &'a GreenForecast,
    /// Today's, from the visits of a week ago.
    pub same_visits: &'a GreenForecast,
    /// The visits since then of all greens.
    pub surprises: &'a [(GreenId, Surprise)],
    /// The weather since then.
    pub week: &'a Week,
}

/// A sentence and the numbers in it.
pub(super) struct Told {
    pub sentence: String,
    pub moved: Option<Moved>,
}

/// The weather of the last week against the same week of earlier years.
pub(super) struct Week {
    since: Date,
    as_of: Date,
    units: DisplayUnits,
    dates: DateStyle,
    /// Degree days (°C), and the mean of earlier years.
    degree_days: Option<(f64, Option<f64>)>,
}

impl Week {
    /// The days after `since` up to `as_of`.
    pub(super) fn of(course: &Course, weather: Option<&Weather>, since: Date, as_of: Date) -> Week {
        let rule = DegreeDays {
            base_c: course.weather.base_c,
            ceiling_c: course.weather.ceiling_c,
        };
        let sum = |weather: &Weather, back: i16| -> Option<f64> {
            (1..=days_between(since, as_of))
                .map(|ahead| {
                    let date = days_after(since, ahead).saturating_sub(back.years());
                    weather.day(date).map(|day| rule.of_day(day))
                })
                .sum()
        };
        let degree_days = weather.and_then(|weather| {
            let earlier: Vec<f64> = (1..=30).filter_map(|back| sum(weather, back)).collect();
            let usual =
                (!earlier.is_empty()).then(|| earlier.iter().sum::<f64>() / earlier.len() as f64);
            Some((sum(weather, 0)?, usual))
        });
        Week {
            since,
            as_of,
            units: course.units,
            dates: course.dates,
            degree_days,
        }
    }

    /// As it stands in the document.
    pub(super) fn into_document(self) -> Option<document::Week> {
        let (degree_days, usual) = self.degree_days?;
        Some(document::Week {
            since: self.since,
            degree_days: rounded(degree_days, 1),
            usual_degree_days: usual.map(|usual| rounded(usual, 1)),
        })
    }

    /// `the cool week (78 degree days, usually 96)`, where that is what moves a date by so many days: a cool week
    /// makes none earlier.
    fn words(&self, days: i64) -> String {
        let Some((now, usual)) = self.degree_days else {
            return "the weather".to_owned();
        };
        let scale = match self.units {
            DisplayUnits::Us => 1.8,
            DisplayUnits::Metric => 1.0,
        };
        match usual {
            Some(usual) if days > 0 && now < (1.0 - UNUSUAL) * usual => format!(
                "the cool week ({:.0} degree days, usually {:.0})",
                scale * now,
                scale * usual
            ),
            Some(usual) if days < 0 && now > (1.0 + UNUSUAL) * usual => format!(
                "the warm week ({:.0} degree days, usually {:.0})",
                scale * now,
                scale * usual
            ),
            _ => "the weather".to_owned(),
        }
    }
}

/// What moved the date of `now`; `None` where there is nothing to compare with.
pub(super) fn explain(now: &GreenForecast, then: &Then<'_>) -> Option<Told> {
    let Week { since, dates, .. } = *then.week;
    if since <= now.planted || (now.visits == 0 && then.before.visits == 0) {
        return None;
    }
    let only = |sentence: String| {
        Some(Told {
            sentence,
            moved: None,
        })
    };
    if now.status == Status::Full {
        return match then.before.status {
            Status::Full => None,
            _ => only(shown_full(now, then.before, since, dates)),
        };
    }
    if now.status == Status::TooEarly {
        // What is usual for its grass is no date of its own that could move.
        return None;
    }
    if let Some(to) = now.full_cover.date.filter(|to| *to <= then.week.as_of) {
        // A day that lies behind is not expected any more.
        return only(passed(now, to, dates));
    }
    if let Some(shown) = then.before.shown_full {
        return only(full_no_more(now, shown, dates));
    }
    let (from, to) = match (then.before.full_cover.date, now.full_cover.date) {
        (Some(from), to) if from <= since => return only(back(now, from, to, dates)),
        (Some(from), Some(to)) => (from, to),
        (Some(from), None) => return only(lost(now, from, since, dates)),
        (None, Some(to)) => return only(found(then.before, to, since, dates)),
        (None, None) => return chance_moved(now, then.before, since, dates).and_then(only),
    };
    // What the log has of this week is known beside the visits of a week ago, and none of it is the weather's doing.
    let is_lost_since = now
        .setback
        .and_then(|loss| loss.stated)
        .is_some_and(|stated| stated > since);
    let by_weather = then.same_visits.full_cover.date.map_or(0, |date| {
        match then.week.degree_days {
            Some(_) if !is_lost_since => days_between(from, date),
            // Without weather a week is as good as any other.
            _ => 0,
        }
    });
    let days = days_between(from, to);
    let moved = Moved {
        since,
        from,
        days,
        weather_days: by_weather,
        visit_days: days - by_weather,
    };
    Some(Told {
        sentence: sentence(now, then, moved),
        moved: Some(moved),
    })
}

fn sentence(now: &GreenForecast, then: &Then<'_>, moved: Moved) -> String {
    let narrowed = narrowed(then.before, now);
    let dates = then.week.dates;
    let was = dates.short(moved.from);
    let day = dates.short(moved.since);
    if moved.days.abs() < MOVED {
        let as_expected = match moved.days {
            0 => format!("Expected for the same day as on {day}"),
            _ => format!("Within a day of what was expected on {day} ({was})"),
        };
        return match (narrowed, opposite(now, then, moved)) {
            (_, Some(both)) => format!("{as_expected}: {both}."),
            (Some(narrowed), None) => format!("{as_expected}; {narrowed}."),
            (None, None) => format!("{as_expected}."),
        };
    }
    let way = |days: i64| if days > 0 { "later" } else { "earlier" };
    let mut causes = vec![(moved.weather_days, then.week.words(moved.weather_days))];
    causes.push((
        moved.visit_days,
        by_visits(now, then, moved.visit_days, narrowed),
    ));
    // Beside a cause that moved it, one that hardly did is not worth the reader's time.
    let least = match causes.iter().any(|(days, _)| days.abs() >= MOVED) {
        true => MOVED,
        false => 1,
    };
    causes.retain(|(days, _)| days.abs() >= least);
    causes.sort_by_key(|(days, _)| std::cmp::Reverse(days.abs()));
    let head = format!(
        "Expected {} {} than on {day} (then {was})",
        count(moved.days),
        way(moved.days)
    );
    match causes.as_slice() {
        [(_, only)] => format!("{head}: {only}."),
        [(first, one), (second, other)] => format!(
            "{head}: {} {} by {one}, {} {} by {other}.",
            count(*first),
            way(*first),
            count(*second),
            way(*second)
        ),
        _ => format!("{head}."),
    }
}

/// Weather and visits that moved the date much, each the other way.
fn opposite(now: &GreenForecast, then: &Then<'_>, moved: Moved) -> Option<String> {
    if moved.weather_days.abs() < MOVED || moved.visit_days.abs() < MOVED {
        return None;
    }
    let way = |days: i64| if days > 0 { "later" } else { "earlier" };
    Some(format!(
        "{} {} by {}, {} {} by {}",
        count(moved.weather_days),
        way(moved.weather_days),
        then.week.words(moved.weather_days),
        count(moved.visit_days),
        way(moved.visit_days),
        by_visits(now, then, moved.visit_days, None)
    ))
}

/// What in the visits moved the date by `days`.
fn by_visits(now: &GreenForecast, then: &Then<'_>, days: i64, narrowed: Option<String>) -> String {
    let is_new = |loss: &Setback| {
        let is_of_the_week = loss.stated.or(loss.first_after) > Some(then.week.since);
        then.before.setback.is_none() || is_of_the_week
    };
    if let Some(loss) = now.setback.filter(is_new) {
        if let Some(stated) = loss.stated {
            return format!(
                "the loss that the log has on {}",
                then.week.dates.short(stated)
            );
        }
        return match (loss.last_before, loss.first_after) {
            (Some(before), Some(after)) => format!(
                "the loss of cover between {} and {}",
                then.week.dates.short(before),
                then.week.dates.short(after)
            ),
            _ => "the loss of cover".to_owned(),
        };
    }
    // Less cover, later date.
    let agrees = |off: f64, least: f64| (days > 0 && off < -least) || (days < 0 && off > least);
    let own = then.surprises.iter().find(|(green, _)| *green == now.green);
    let sisters = sisters_surprise(then.surprises, &now.green);
    if let Some((_, own)) = own {
        let seen = own.visit.cover.fraction();
        if agrees(seen - own.expected, OFF) {
            let pace = if days > 0 {
                "a slow gain"
            } else {
                "a fast gain"
            };
            // What is behind a gain like that of the sisters is not in this green.
            let is_common = sisters
                .is_some_and(|off| agrees(off, SISTERS_OFF) && off.abs() > 0.5 * own.line.abs());
            return format!(
                "{pace} ({:.0}% on {}, {:.0}% was expected){}",
                100.0 * seen,
                then.week.dates.short(own.visit.date),
                100.0 * own.expected,
                if is_common { " as on most greens" } else { "" }
            );
        }
    }
    if sisters.is_some_and(|off| agrees(off, SISTERS_OFF)) {
        let than = if days > 0 { "less" } else { "more" };
        return format!("its sister greens, which gained {than} than expected");
    }
    match (own, narrowed) {
        (Some(_), Some(narrowed)) => format!("the new visit, with which {narrowed}"),
        (Some(_), None) => "the new visit, which settles its pace better".to_owned(),
        (None, _) => "what the other greens show".to_owned(),
    }
}

/// `the interval narrowed from 14 to 9 days`.
fn narrowed(before: &GreenForecast, now: &GreenForecast) -> Option<String> {
    let width = |green: &GreenForecast| {
        let full = green.full_cover;
        Some(days_between(full.early?, full.late?))
    };
    let (before, now) = (width(before)?, width(now)?);
    (before - now >= NARROWED).then(|| format!("the interval narrowed from {before} to {now} days"))
}

/// Photos have shown in the last week that it is full.
fn shown_full(
    now: &GreenForecast,
    before: &GreenForecast,
    since: Date,
    dates: DateStyle,
) -> String {
    let first = now.shown_full.or(now.full_cover.date);
    let first = first.map_or(String::new(), |first| format!(" on {}", dates.short(first)));
    let was = before.full_cover.date.map_or(String::new(), |was| {
        let (on, was_on) = (dates.short(since), dates.short(was));
        if was <= since {
            format!("; on {on} its curve had been there since {was_on}, and no photo had shown it")
        } else {
            format!("; on {on} that was expected for {was_on}")
        }
    });
    format!("Photos showed it full first{first}{was}.")
}

/// By its curve it is full by now; its photos have not shown it.
fn passed(now: &GreenForecast, to: Date, dates: DateStyle) -> String {
    let photos = match now.last_visit {
        Some(last) if to <= last => "its photos do not show it yet".to_owned(),
        Some(last) => format!("there is no photo since {}", dates.short(last)),
        None => "there is no photo of it".to_owned(),
    };
    format!("Full by its curve since {}; {photos}.", dates.short(to))
}

/// Its photos had shown it full a week ago.
fn full_no_more(now: &GreenForecast, shown: Date, dates: DateStyle) -> String {
    format!(
        "Photos had shown it full on {}; {}.",
        dates.short(shown),
        since_then(now, now.full_cover.date, dates)
    )
}

/// Its curve had reached the goal a week ago, which its photos since contradict.
fn back(now: &GreenForecast, from: Date, to: Option<Date>, dates: DateStyle) -> String {
    format!(
        "By its curve it was full on {}; {}.",
        dates.short(from),
        since_then(now, to, dates)
    )
}

/// What has become of a green that was full, and when it will be so again.
fn since_then(now: &GreenForecast, to: Option<Date>, dates: DateStyle) -> String {
    let what = match (now.setback, now.last_visit, now.cover_percent) {
        (Some(_), _, _) => "it has lost cover since".to_owned(),
        (None, Some(last), Some(percent)) => {
            format!("its photos show {percent:.1}% on {}", dates.short(last))
        }
        _ => "its photos do not show it".to_owned(),
    };
    let to = to.map_or_else(
        || "no date can be named now".to_owned(),
        |to| format!("it is now expected for {}", dates.short(to)),
    );
    format!("{what}, and {to}")
}

/// A date was named a week ago and is not any more.
fn lost(now: &GreenForecast, from: Date, since: Date, dates: DateStyle) -> String {
    let why = match now.status {
        Status::Stalled => "it has stopped gaining",
        Status::SeasonEndsFirst => "growth is likely to end first",
        _ => "too little is known",
    };
    format!(
        "No date any more ({} was expected on {}): {why}.",
        dates.short(from),
        dates.short(since)
    )
}

/// A date is named that was not a week ago.
fn found(before: &GreenForecast, to: Date, since: Date, dates: DateStyle) -> String {
    let why = match before.status {
        Status::SeasonEndsFirst => "growth was expected to end first",
        Status::Stalled => "it had stopped gaining",
        _ if before.visits == 0 => "it had not been photographed",
        _ => "too little was known",
    };
    format!(
        "Expected for {} now; on {} no date could be named, since {why}.",
        dates.short(to),
        dates.short(since)
    )
}

/// Neither then nor now is there a date; the chance of this season may have moved.
fn chance_moved(
    now: &GreenForecast,
    before: &GreenForecast,
    since: Date,
    dates: DateStyle,
) -> Option<String> {
    let (was, is) = (
        before.full_cover.probability_full_this_season?,
        now.full_cover.probability_full_this_season?,
    );
    let way = if is < was { "fell" } else { "rose" };
    ((is - was).abs() >= 0.05).then(|| {
        format!(
            "The chance that it is full this season {way} from {} on {} to {}.",
            chance_in_words(was),
            dates.short(since),
            chance_in_words(is)
        )
    })
}

fn count(days: i64) -> String {
    match days.abs() {
        1 => "1 day".to_owned(),
        n => format!("{n} days"),
    }
}

#[cfg(test)]
#[path = "explain_tests.rs"]
mod tests;
