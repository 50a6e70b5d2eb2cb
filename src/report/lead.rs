//! The first screen: where the course stands, what needs a look, what the last week brought.

use super::delay::cost_of_delay;
use super::format::{
    chance, change, cover, days_between, goal, isolated, keep_dates_whole, visible, whole_points,
};
use super::headline::{headline, unseen};
use super::history::{changed, opening_moved};
use super::in_time::in_time;
use super::owner_words::for_the_owner;
use super::{GreenReport, Pace, ReportData, Stage, Status};

/// So many greens are listed on the first screen.
const MOST_LISTED: usize = 6;

/// The first screen, in words.
pub(crate) struct Lead {
    /// The answer, in one sentence.
    pub(crate) headline: String,
    /// Whether that is in time, and what the last week brought.
    pub(crate) sentences: Vec<String>,
    /// How many greens stand how.
    pub(crate) tally: Vec<Tally>,
    /// What "on pace" means.
    pub(crate) pace_rule: String,
    /// Greens to look at, the worst first.
    pub(crate) attention: Vec<Attention>,
    /// How many more there are.
    pub(crate) n_more: usize,
}

/// How many greens stand so.
pub(crate) struct Tally {
    /// How many.
    pub(crate) n: usize,
    /// How they stand.
    pub(crate) words: &'static str,
    /// Class in the style sheet.
    pub(crate) class: &'static str,
}

/// A green to look at.
pub(crate) struct Attention {
    /// Place in the order of play, from 0.
    pub(crate) index: usize,
    /// What people call it.
    pub(crate) title: String,
    /// As in the course file.
    pub(crate) id: String,
    /// In a word.
    pub(crate) status: &'static str,
    /// Class in the style sheet.
    pub(crate) class: &'static str,
    /// Why.
    pub(crate) why: String,
    /// Its chance; empty where there is no opening date.
    pub(crate) odds: String,
}

/// Class in the style sheet.
pub(crate) fn class(pace: Pace) -> &'static str {
    match pace {
        Pace::Full => "is-full",
        Pace::AboutFull | Pace::OnPace => "is-ok",
        Pace::Behind | Pace::Unseen => "is-late",
        Pace::TooEarly | Pace::NotPlanted | Pace::NoVisit => "is-early",
    }
}

impl Lead {
    pub(crate) fn of(data: &ReportData) -> Lead {
        let attention = data.attention();
        let sentences = [
            data.method.doubt.as_deref().and_then(for_the_owner),
            in_time(data),
            age_of_photos(data),
            cost_of_delay(data),
            opening_moved(data),
            changed(data),
            last_week(data),
        ];
        Lead {
            headline: keep_dates_whole(&headline(data)),
            sentences: sentences
                .into_iter()
                .flatten()
                .map(|sentence| keep_dates_whole(&sentence))
                .collect(),
            tally: tally(data),
            pace_rule: keep_dates_whole(&pace_rule(data)),
            n_more: attention.len().saturating_sub(MOST_LISTED),
            attention: attention
                .into_iter()
                .take(MOST_LISTED)
                .map(|green| to_look_at(data, green))
                .collect(),
        }
    }
}

fn tally(data: &ReportData) -> Vec<Tally> {
    // Those that everybody asks for stand there even where there are none.
    let is_asked = |pace: &Pace| matches!(pace, Pace::Full | Pace::OnPace | Pace::Behind);
    let told = Pace::ALL
        .into_iter()
        .filter(|pace| is_asked(pace) || data.n_at(*pace) > 0);
    told.map(|pace| Tally {
        n: data.n_at(pace),
        words: match (pace, data.method.doubt.is_some()) {
            (Pace::OnPace, true) => "on pace, unsure",
            (Pace::Behind, true) => "behind, unsure",
            _ => pace.words(),
        },
        class: class(pace),
    })
    .collect()
}

/// What the words of the tally mean, as far as they are used.
fn pace_rule(data: &ReportData) -> String {
    if data.n_at(Pace::Full) == data.greens.len() {
        return String::new();
    }
    let goal = goal(data.goal);
    let opening = data.open_by.map(|open_by| data.dates().show(open_by));
    let on_pace = match (&opening, data.opening_ahead()) {
        (Some(opening), Some(_)) => format!(
            "On pace: visits enough to tell, and at least 2 chances in 3 of being full by {opening}."
        ),
        (Some(opening), None) => {
            format!("Behind: not full, and the opening on {opening} has passed.")
        }
        (None, _) => {
            "On pace: growing, and expected to be full this season. No opening date is named."
                .to_owned()
        }
    };
    let mut rules = vec![format!("Full: its photos have shown {goal}.")];
    if data.n_at(Pace::AboutFull) > 0 {
        rules.push(format!(
            "About full: its curve has reached {goal}, its photos are within 5 points of that."
        ));
    }
    rules.push(on_pace);
    if data.n_at(Pace::NoVisit) > 0 {
        rules.push("Without a visit yet: planted, and no photo of it measured.".to_owned());
    }
    if data.n_at(Pace::Unseen) > 0 {
        rules.push("Without recent photos: none for three weeks.".to_owned());
    }
    rules.join(" ")
}

/// How old the last photos are, where they are not of this week and the headline does not say it.
fn age_of_photos(data: &ReportData) -> Option<String> {
    if data.last_visit().is_none() && !data.greens.is_empty() {
        let day = data.dates().show(data.as_of);
        return Some(format!(
            "No photo has been measured yet; all this is told for {day}."
        ));
    }
    let days = data.stale_days().filter(|_| unseen(data).is_none())?;
    let last = data.dates().show(data.last_visit()?);
    Some(format!(
        "The last photos are {days} days old, of {last}; what is told of the days since is what the curves say."
    ))
}

fn last_week(data: &ReportData) -> Option<String> {
    let gains = data.greens.iter();
    let gains = gains.filter(|green| data.missed_since(green).is_none());
    let gains = gains.filter_map(|green| Some((green.gain_last_week?, green)));
    let gains: Vec<(f64, &GreenReport)> = gains
        .filter(|(_, green)| green.outlook.status != Status::Full)
        .collect();
    let by_gain = |a: &&(f64, &GreenReport), b: &&(f64, &GreenReport)| a.0.total_cmp(&b.0);
    let (least, most) = (gains.iter().min_by(by_gain)?, gains.iter().max_by(by_gain)?);
    let mean = gains.iter().map(|(points, _)| points).sum::<f64>() / gains.len() as f64;
    let new_full = data.greens.iter().filter(|green| {
        let since = green
            .outlook
            .date
            .map(|date| days_between(date, data.as_of));
        green.pace() == Pace::Full && since.is_some_and(|days| days < 7)
    });
    let new_full: Vec<String> = new_full.map(|green| isolated(&green.title())).collect();
    let full = match new_full.as_slice() {
        [] => String::new(),
        [one] => format!(" {one} became full."),
        many => format!(" {} became full.", many.join(", ")),
    };
    let named = |(points, green): &(f64, &GreenReport)| {
        format!("{} ({})", isolated(&green.title()), change(*points))
    };
    let extremes = if gains.len() > 1 && whole_points(least.0) != whole_points(most.0) {
        format!(", {} the most and {} the least", named(most), named(least))
    } else {
        String::new()
    };
    let all = if whole_points(mean) == 0.0 {
        "did not gain".to_owned()
    } else if whole_points(mean).abs() == 1.0 {
        format!("went {} point", change(mean))
    } else {
        format!("went {} points", change(mean))
    };
    Some(format!(
        "In the last week the greens that are not yet full {all} on average{extremes}.{full}"
    ))
}

/// What the list says of a green: how it grows, or what is wrong with it.
fn trouble(green: &GreenReport) -> &'static str {
    match (green.outlook.status, green.pace()) {
        (_, pace @ (Pace::Unseen | Pace::NotPlanted | Pace::NoVisit)) => pace.tag(),
        (Status::Growing, Pace::OnPace | Pace::AboutFull) | (Status::TooEarly, _) => {
            "no new photos"
        }
        (Status::Growing, pace) => green.unsure(pace.words()),
        (status, _) => status.words(),
    }
}

fn to_look_at(data: &ReportData, green: &GreenReport) -> Attention {
    let dates = data.dates();
    let outlook = &green.outlook;
    let cover = green.visits.last().map(|visit| {
        let change = green.gain_last_week.map_or(String::new(), |points| {
            format!(", {} in a week", change(points))
        });
        let missed = data.missed_since(green);
        let cover = cover(visit.cover, data.goal);
        let of = match data.stale_days().is_some() || missed.is_some() {
            true => format!(" on {}", dates.show(visit.date)),
            false => String::new(),
        };
        format!("{cover} green{of}{change}")
    });
    let full = match outlook.stage {
        Stage::Unshown { by_curve } => {
            Some(format!("full by its curve since {}", dates.show(by_curve)))
        }
        _ => outlook.told(dates).map(|told| match green.pace() {
            Pace::NoVisit => format!("usual for its grass: full {told}"),
            _ => format!("full {told}"),
        }),
    };
    let in_time = outlook
        .chance_by_opening
        .zip(data.open_by)
        .map(|(p, open_by)| format!("{} by {}", chance(p), dates.show(open_by)));
    let overdue = green
        .overdue_days(data.as_of)
        .map(|days| match green.pace() {
            Pace::NoVisit => format!("no photo in the {days} days since planting"),
            _ => format!("no photo for {days} days"),
        });
    let parts = [cover, full, overdue];
    let why: Vec<String> = parts.into_iter().flatten().collect();
    let position = |other: &GreenReport| other.id == green.id;
    Attention {
        index: data.greens.iter().position(position).unwrap_or(0),
        title: visible(&green.title()),
        id: visible(green.id.as_str()),
        status: trouble(green),
        class: class(green.pace()),
        why: keep_dates_whole(&why.join("; ")),
        odds: in_time
            .map(|odds| keep_dates_whole(&odds))
            .unwrap_or_default(),
    }
}

#[cfg(test)]
#[path = "lead_tests.rs"]
mod tests;
