//! The first screen: where the course stands, what needs a look, what the last week brought.

use super::delay::cost_of_delay;
use super::format::{
    chance, chance_words, change, days_between, isolated, keep_dates_whole, visible, whole_cover,
};
use super::history::changed;
use super::outlook::window;
use super::{AllFull, GreenReport, Pace, ReportData, Status};

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
        Pace::OnPace => "is-ok",
        Pace::Behind => "is-late",
        Pace::TooEarly => "is-early",
    }
}

impl Lead {
    pub(crate) fn of(data: &ReportData) -> Lead {
        let attention = data.attention();
        let sentences = [
            in_time(data),
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
    let told = Pace::ALL.into_iter().map(|pace| Tally {
        n: data.n_at(pace),
        words: pace.words(),
        class: class(pace),
    });
    told.filter(|tally| tally.n > 0 || tally.words != Pace::TooEarly.words())
        .collect()
}

fn pace_rule(data: &ReportData) -> String {
    match data.open_by {
        _ if data.n_at(Pace::Full) == data.greens.len() => String::new(),
        Some(open_by) => format!(
            "On pace: at least 2 chances in 3 of being full by {}.",
            data.dates().show(open_by)
        ),
        None => {
            "On pace: growing towards full cover. The course file names no opening date.".to_owned()
        }
    }
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
    match data.all_full {
        Some(AllFull {
            date: Some(date),
            early,
            late,
            ..
        }) => {
            let dates = data.dates();
            let window = window(dates, early, late).map(|window| format!(", {window}"));
            let (day, window) = (dates.show(date), window.unwrap_or_default());
            format!("Every green is expected to be full about {day}{window}.")
        }
        Some(AllFull { date: None, .. }) => {
            "Not every green is expected to be full this season.".to_owned()
        }
        None => last_green(data),
    }
}

/// Where the forecast has no answer for all greens at once: what is known of the last.
fn last_green(data: &ReportData) -> String {
    let open: Vec<&GreenReport> = data
        .greens
        .iter()
        .filter(|green| green.pace() != Pace::Full)
        .collect();
    let n_undated = open
        .iter()
        .filter(|green| green.outlook.told_date().is_none())
        .count();
    let last = open.iter().max_by_key(|green| green.outlook.told_date());
    match (last, last.and_then(|green| green.outlook.told_date())) {
        (Some(green), Some(date)) => {
            let dates = data.dates();
            let window = window(dates, green.outlook.early, green.outlook.late);
            let window = window.map_or(String::new(), |window| format!(", {window}"));
            let (title, day) = (isolated(&green.title()), dates.show(date));
            let undated = match n_undated {
                0 => String::new(),
                1 => " For one more no date can be given yet.".to_owned(),
                n => format!(" For {n} more no date can be given yet."),
            };
            if data.greens.len() == 1 {
                return format!("{title} is expected to be full about {day}{window}.");
            }
            format!("The last to be full is expected to be {title}, about {day}{window}.{undated}")
        }
        _ => "No date of full cover can be given yet.".to_owned(),
    }
}

/// When all greens are full, and the chance of all of them by the opening, for the terminal; `None` where the forecast
/// has no answer for all of them at once, or none is needed any more.
pub(super) fn all_together(data: &ReportData) -> Option<String> {
    let all = data.all_full?;
    if data.n_at(Pace::Full) == data.greens.len() {
        return None;
    }
    let in_time = all.chance_by_opening.and_then(|_| in_time(data));
    let sentences = [Some(headline(data)), in_time];
    Some(
        sentences
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" "),
    )
}

fn in_time(data: &ReportData) -> Option<String> {
    let open_by = data.open_by?;
    let opening = data.dates().show(open_by);
    let (n_greens, n_full) = (data.greens.len(), data.n_at(Pace::Full));
    if n_full == n_greens {
        return None;
    }
    if open_by < data.as_of {
        return Some(format!(
            "The opening on {opening} has passed; {n_full} of {n_greens} greens {} full.",
            if n_full == 1 { "is" } else { "are" }
        ));
    }
    let n_good = n_full + data.n_at(Pace::OnPace);
    if let [green] = data.greens.as_slice() {
        let p = green.outlook.chance_by_opening?;
        let (words, chance) = (chance_words(p), chance(p));
        return Some(format!(
            "It is {words} that it is full by the opening on {opening} ({chance})."
        ));
    }
    let are = if n_good == 1 { "is" } else { "are" };
    let counted = format!("{n_good} of {n_greens} greens {are} full or on pace");
    let together = data.all_full.and_then(|all| all.chance_by_opening);
    Some(match together {
        Some(p) => {
            let (words, chance) = (chance_words(p), chance(p));
            format!(
                "It is {words} that all of them are full by the opening on {opening} ({chance}). \
                 {counted} for it."
            )
        }
        None => {
            let least = least_sure(data).unwrap_or_default();
            format!("{counted} for the opening on {opening}.{least}")
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
        green.pace() == Pace::Full && since.is_some_and(|days| days <= 7)
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
    let extremes = if gains.len() > 1 && change(least.0) != change(most.0) {
        format!(", {} the most and {} the least", named(most), named(least))
    } else {
        String::new()
    };
    let all = match change(mean) {
        same if same == "unchanged" => "did not gain".to_owned(),
        change => format!("went {change} points"),
    };
    Some(format!(
        "In the last week the greens that are not yet full {all} on average{extremes}.{full}"
    ))
}

/// What the list says of a green: how it grows, or what is wrong with it.
fn trouble(green: &GreenReport) -> &'static str {
    match (green.outlook.status, green.pace()) {
        (Status::Growing, Pace::OnPace) | (Status::TooEarly, _) => "no new photos",
        (Status::Growing, pace) => pace.words(),
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
        format!("{} green{change}", whole_cover(visit.cover, data.goal))
    });
    let full = outlook.told(dates).map(|told| format!("full {told}"));
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
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::report::example;

    fn plain(text: &str) -> String {
        let marks = ['\u{2068}', '\u{2069}'];
        text.replace(marks, "").replace('\u{a0}', " ")
    }

    fn headline(data: &ReportData) -> String {
        plain(&Lead::of(data).headline)
    }

    #[test]
    fn the_first_screen_answers_when_whether_in_time_and_what_changed() {
        let lead = Lead::of(&example::season());
        assert_eq!(
            plain(&lead.headline),
            "Every green is expected to be full about Sep 2, most likely not before Aug 24."
        );
        assert_eq!(
            lead.sentences.iter().map(|s| plain(s)).collect::<Vec<_>>(),
            [
                "It is very unlikely that all of them are full by the opening on Aug 14 (3%). 13 of 18 \
                 greens are full or on pace for it.",
                "In the last week the greens that are not yet full went up 13 points on average, Green 17 \
                 (up 16) the most and Green 14 (unchanged) the least.",
            ]
        );
    }

    #[test]
    fn each_state_of_the_whole_course_has_its_headline() {
        let mut season = example::season();
        season.all_full = None;
        assert_eq!(
            headline(&season),
            "The last to be full is expected to be Green 14, about Sep 9, most likely between Aug 28 and \
             Sep 30. For 2 more no date can be given yet."
        );
        assert_eq!(
            plain(&Lead::of(&season).sentences[0]),
            "13 of 18 greens are full or on pace for the opening on Aug 14. That every green is full by \
             then is at best as likely as Green 18 alone: very unlikely (1%)."
        );
        season.all_full = Some(AllFull {
            date: None,
            early: None,
            late: None,
            chance_by_opening: None,
        });
        assert_eq!(
            headline(&season),
            "Not every green is expected to be full this season."
        );
        season.greens.truncate(4);
        assert_eq!(headline(&season), "All 4 greens are full.");
        season.greens.truncate(1);
        assert_eq!(headline(&season), "The green is full.");
        season.greens.clear();
        assert_eq!(headline(&season), "There are no greens in the course file.");
    }

    #[test]
    fn an_opening_that_has_passed_is_not_forecast() {
        let mut season = example::season();
        season.open_by = Some(date(2027, 7, 1));
        assert_eq!(
            plain(&Lead::of(&season).sentences[0]),
            "The opening on Jul 1 has passed; 4 of 18 greens are full."
        );
    }

    #[test]
    fn only_so_many_are_listed_and_the_rest_is_counted() {
        let mut season = example::season();
        for green in &mut season.greens {
            green.outlook.status = Status::Stalled;
            green.outlook.chance_by_opening = Some(0.1);
        }
        let lead = Lead::of(&season);
        assert_eq!((lead.attention.len(), lead.n_more), (6, 12));
    }
}
