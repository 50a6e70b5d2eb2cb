//! The answer in one sentence: when every green is full.

use super::format::{cover, days_between, isolated};
use super::outlook::window;
use super::{AllFull, GreenReport, Pace, ReportData, Stage};

/// When every green is full, or what stands against it.
pub(super) fn headline(data: &ReportData) -> String {
    let n_greens = data.greens.len();
    if data.n_at(Pace::Full) == n_greens {
        return match n_greens {
            0 => "This course has no greens yet.".to_owned(),
            1 => "The green is full.".to_owned(),
            n => format!("All {n} greens are full."),
        };
    }
    if let Some(unseen) = unseen(data) {
        return unseen;
    }
    let left_out = left_out(data).unwrap_or_default();
    let n_counted = n_greens - data.left_out().len();
    if n_counted < n_greens && data.n_at(Pace::Full) == n_counted {
        return match n_counted {
            1 => format!("The one green with a visit is full{left_out}."),
            n => format!("All {n} greens with a visit are full{left_out}."),
        };
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
            } else if n_good == n_counted {
                format!("Every green with a visit is full or about full{left_out}.")
            } else {
                format!(
                    "By their curves all greens{} are full by now; their photos do not show it yet{left_out}.",
                    if left_out.is_empty() {
                        ""
                    } else {
                        " with a visit"
                    }
                )
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
            let is_expected = format!("is expected to be full about {day}{window}{left_out}.");
            if data.n_at(Pace::TooEarly) + data.n_at(Pace::NoVisit) == n_greens {
                let every = match left_out.is_empty() {
                    true => "every green",
                    false => "every green with a visit",
                };
                return format!(
                    "It is too early to say; going by what is usual {every} is full about {day}{window}{left_out}."
                );
            }
            match last_of(data) {
                _ if n_counted < n_greens => format!("The last green with a visit {is_expected}"),
                Some(last) => format!("{last} {is_expected}"),
                None => format!("Every green {is_expected}"),
            }
        }
        Some(AllFull { date: None, .. }) => {
            "Not every green is expected to be full this season.".to_owned()
        }
        None => last_green(data),
    }
}

/// Greens that no visit tells of and that a date for all leaves out, as the end of a sentence.
pub(super) fn left_out(data: &ReportData) -> Option<String> {
    let greens = data.left_out();
    let names: Vec<String> = greens
        .iter()
        .map(|green| isolated(&green.title()))
        .collect();
    let have = match names.len() {
        0 => return None,
        1 => "has no visit yet and is left out",
        _ => "have no visit yet and are left out",
    };
    Some(format!("; {} {have}", first_of(names)))
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
pub(super) fn unseen(data: &ReportData) -> Option<String> {
    let n_open = data.greens.len() - data.n_at(Pace::Full) - data.n_at(Pace::NoVisit);
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
    first_of(greens.iter().map(one).collect())
}

/// Such as `Green 3 and Green 7`, or the first [`MOST_NAMED`] and how many more there are.
fn first_of(mut names: Vec<String>) -> String {
    let n_more = names.len().saturating_sub(MOST_NAMED);
    names.truncate(MOST_NAMED);
    match (n_more, names.pop()) {
        (0, Some(last)) if names.is_empty() => last,
        (0, Some(last)) => format!("{} and {last}", names.join(", ")),
        (n, last) => {
            names.extend(last);
            format!("{} and {n} more", names.join(", "))
        }
    }
}
