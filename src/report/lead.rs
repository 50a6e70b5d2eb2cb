//! The first screen: where the course stands, what needs a look, what the last week brought.

use super::delay::cost_of_delay;
use super::format::{
    chance, chance_words, change, cover, days_between, goal, isolated, keep_dates_whole, visible,
    whole_points,
};
use super::history::changed;
use super::outlook::window;
use super::{AllFull, GreenReport, Pace, ReportData, Stage, Status};

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
        Pace::TooEarly => "is-early",
    }
}

impl Lead {
    pub(crate) fn of(data: &ReportData) -> Lead {
        let attention = data.attention();
        let sentences = [
            data.method.doubt.clone(),
            in_time(data),
            age_of_photos(data),
            cost_of_delay(data),
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
            "On pace: two visits or more, and at least 2 chances in 3 of being full by {opening}."
        ),
        (Some(opening), None) => {
            format!("Behind: not full, and the opening on {opening} has passed.")
        }
        (None, _) => {
            "On pace: growing, and expected to be full this season. The course file names no opening date."
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
    if data.n_at(Pace::Unseen) > 0 {
        rules.push("Without recent photos: none for three weeks.".to_owned());
    }
    rules.join(" ")
}

fn headline(data: &ReportData) -> String {
    let n_greens = data.greens.len();
    if data.n_at(Pace::Full) == n_greens {
        return match n_greens {
            0 => "There are no greens in the course file.".to_owned(),
            1 => "The green is full.".to_owned(),
            n => format!("All {n} greens are full."),
        };
    }
    if let Some(unseen) = unseen(data) {
        return unseen;
    }
    if let [green] = data.greens.as_slice()
        && let Some(short) = short_of_its_curve(data, green)
    {
        return short;
    }
    match data.all_full {
        Some(AllFull {
            date: Some(date), ..
        }) if date <= data.as_of => {
            let n_good = data.n_at(Pace::Full) + data.n_at(Pace::AboutFull);
            if n_good == n_greens {
                "Every green is full or about full.".to_owned()
            } else {
                "By their curves all greens are full by now; their photos do not show it yet."
                    .to_owned()
            }
        }
        Some(AllFull {
            date: Some(date),
            early,
            late,
            ..
        }) => {
            let dates = data.dates();
            let window = window(dates, early, late).map(|window| format!(", {window}"));
            let (day, window) = (dates.show(date), window.unwrap_or_default());
            if data.n_at(Pace::TooEarly) == n_greens {
                return format!(
                    "It is too early to say; going by what is usual every green is full about {day}{window}."
                );
            }
            match last_of(data) {
                Some(last) => format!("{last} is expected to be full about {day}{window}."),
                None => format!("Every green is expected to be full about {day}{window}."),
            }
        }
        Some(AllFull { date: None, .. }) => {
            "Not every green is expected to be full this season.".to_owned()
        }
        None => last_green(data),
    }
}

/// The last greens to be full, as a sentence begins with them, where others are full already.
fn last_of(data: &ReportData) -> Option<String> {
    let open: Vec<&GreenReport> = data
        .greens
        .iter()
        .filter(|green| green.pace() != Pace::Full)
        .collect();
    match open.as_slice() {
        [one] if data.greens.len() > 1 => {
            Some(format!("The last green, {},", isolated(&one.title())))
        }
        open if open.len() < data.greens.len() => Some("The last green".to_owned()),
        _ => None,
    }
}

/// Where no photo of late tells how the greens stand that were not full.
fn unseen(data: &ReportData) -> Option<String> {
    let n_open = data.greens.len() - data.n_at(Pace::Full);
    let last = data.last_visit()?;
    let days = days_between(last, data.as_of);
    (n_open > 0 && data.n_at(Pace::Unseen) == n_open).then(|| {
        format!(
            "The last photos are {days} days old, of {}: whether every green is full now nobody has seen.",
            data.dates().show(last)
        )
    })
}

/// A green whose curve has reached the goal, and whose photos have not.
fn short_of_its_curve(data: &ReportData, green: &GreenReport) -> Option<String> {
    let last = green.visits.last()?;
    let (title, dates) = (isolated(&green.title()), data.dates());
    let seen = format!(
        "{} on {}",
        cover(last.cover, data.goal),
        dates.show(last.date)
    );
    match green.outlook.stage {
        Stage::AboutFull { .. } => Some(format!("{title} is about full: {seen}.")),
        Stage::Unshown { by_curve } => Some(format!(
            "By its curve {title} has been full since {}; its photos showed {seen}.",
            dates.show(by_curve)
        )),
        Stage::Ahead | Stage::Shown { .. } => None,
    }
}

/// Where the forecast has no answer for all greens at once: which have none, and what is known of the last of the others.
fn last_green(data: &ReportData) -> String {
    let open: Vec<&GreenReport> = data
        .greens
        .iter()
        .filter(|green| !matches!(green.pace(), Pace::Full | Pace::AboutFull))
        .collect();
    let (dated, undated): (Vec<&GreenReport>, Vec<&GreenReport>) = open
        .iter()
        .partition(|green| green.outlook.told_date().is_some());
    let without = (data.greens.len() > 1 && !undated.is_empty())
        .then(|| format!("No date can be given for {}", named(&undated)));
    let last = dated.iter().max_by_key(|green| green.outlook.told_date());
    let (Some(green), Some(day)) = (last, last.and_then(|green| green.outlook.told_date())) else {
        return match without {
            Some(without) => format!("{without}, and so none for all greens."),
            None => "No date of full cover can be given yet.".to_owned(),
        };
    };
    let dates = data.dates();
    let window = window(dates, green.outlook.early, green.outlook.late);
    let window = window.map_or(String::new(), |window| format!(", {window}"));
    let (title, day) = (isolated(&green.title()), dates.show(day));
    let expected = format!("expected to be full about {day}{window}.");
    match (without, dated.len()) {
        (Some(without), 1) => {
            format!("{without}, and so none for all greens. {title} is {expected}")
        }
        (Some(without), _) => {
            format!(
                "{without}, and so none for all greens. The last of the others, {title}, is {expected}"
            )
        }
        (None, _) if data.greens.len() == 1 => format!("{title} is {expected}"),
        (None, _) => {
            format!("The last to be full is expected to be {title}, about {day}{window}.")
        }
    }
}

/// So many greens are named in the headline.
const MOST_NAMED: usize = 3;

/// Greens by name with what is the matter, such as `Green 3 (stalled) and 2 more`.
fn named(greens: &[&GreenReport]) -> String {
    let one = |green: &&GreenReport| format!("{} ({})", isolated(&green.title()), green.standing());
    let mut names: Vec<String> = greens.iter().take(MOST_NAMED).map(one).collect();
    match (greens.len().saturating_sub(MOST_NAMED), names.pop()) {
        (0, Some(last)) if names.is_empty() => last,
        (0, Some(last)) => format!("{} and {last}", names.join(", ")),
        (n, last) => {
            names.extend(last);
            format!("{} and {n} more", names.join(", "))
        }
    }
}

/// When all greens are full, and the chance of all of them by the opening, for the terminal; `None` where the forecast
/// has no answer for all of them at once, or none is needed any more.
pub(super) fn all_together(data: &ReportData) -> Option<String> {
    if data.n_at(Pace::Full) == data.greens.len() {
        return None;
    }
    let Some(all) = data.all_full else {
        // That there is no date for all, and for which green there is none, is an answer too.
        let undated = data.greens.iter().any(GreenReport::has_no_date);
        return (undated && data.greens.len() > 1).then(|| headline(data));
    };
    let has_opening = all.chance_by_opening.is_some() || data.opening_ahead().is_none();
    let in_time = has_opening.then(|| in_time(data)).flatten();
    let sentences = [Some(headline(data)), in_time];
    Some(
        sentences
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" "),
    )
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

fn in_time(data: &ReportData) -> Option<String> {
    let open_by = data.open_by?;
    let opening = data.dates().show(open_by);
    let (n_greens, n_full) = (data.greens.len(), data.n_at(Pace::Full));
    if n_full == n_greens {
        return None;
    }
    if data.opening_ahead().is_none() {
        let are = if n_full == 1 { "is" } else { "are" };
        return Some(match unseen(data) {
            Some(_) => format!(
                "The opening on {opening} has passed; when photos were last taken, {n_full} of {n_greens} greens \
                 {} full.",
                if n_full == 1 { "was" } else { "were" }
            ),
            None => format!(
                "The opening on {opening} has passed; {n_full} of {n_greens} greens {are} full."
            ),
        });
    }
    let n_good = n_full + data.n_at(Pace::AboutFull) + data.n_at(Pace::OnPace);
    if let [green] = data.greens.as_slice() {
        let p = green.outlook.chance_by_opening?;
        let (words, chance) = (chance_words(p), chance(p));
        return Some(format!(
            "It is {words} that it is full by the opening on {opening} ({chance})."
        ));
    }
    let are = if n_good == 1 { "is" } else { "are" };
    let counted = format!("{n_good} of {n_greens} greens {are} full or on pace");
    let n_early = data.n_at(Pace::TooEarly);
    let early = match n_early {
        0 => String::new(),
        n if n == n_greens => " Of no green there are visits enough to call it on pace.".to_owned(),
        1 => " Of one it is too early to say.".to_owned(),
        n => format!(" Of {n} it is too early to say."),
    };
    let together = data.all_full.and_then(|all| all.chance_by_opening);
    Some(match together {
        Some(p) => {
            let (words, chance) = (chance_words(p), chance(p));
            let counted = match n_early == n_greens {
                true => String::new(),
                false => format!(" {counted} for it."),
            };
            format!(
                "It is {words} that all of them are full by the opening on {opening} ({chance}).{counted}{early}"
            )
        }
        None => {
            let least = least_sure(data).unwrap_or_default();
            format!("{counted} for the opening on {opening}.{early}{least}")
        }
    })
}

/// All greens together are never likelier to be in time than the least likely of them.
fn least_sure(data: &ReportData) -> Option<String> {
    let chances = data.greens.iter().filter_map(|green| {
        let chance = green.outlook.chance_by_opening?;
        (green.pace() != Pace::Full).then_some((chance, green))
    });
    let (p, green) = chances.min_by(|one, other| one.0.total_cmp(&other.0))?;
    let (title, words, chance) = (isolated(&green.title()), chance_words(p), chance(p));
    Some(format!(
        " That every green is full by then is at best as likely as {title} alone: {words} ({chance})."
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
        (_, Pace::Unseen) => Pace::Unseen.tag(),
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
        _ => outlook.told(dates).map(|told| format!("full {told}")),
    };
    let in_time = outlook
        .chance_by_opening
        .zip(data.open_by)
        .map(|(p, open_by)| format!("{} by {}", chance(p), dates.show(open_by)));
    let overdue = green
        .overdue_days(data.as_of)
        .map(|days| format!("no photo for {days} days"));
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
