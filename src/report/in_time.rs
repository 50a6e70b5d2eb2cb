//! Whether all greens are full by the opening.

use super::format::{chance, chance_words, isolated};
use super::headline::{headline, unseen};
use super::{GreenReport, Pace, ReportData, Status};

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

/// Whether that is in time for the opening: the chance of all greens, or of the only one.
pub(super) fn in_time(data: &ReportData) -> Option<String> {
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
    let (n_early, n_unseen) = (data.n_at(Pace::TooEarly), data.n_at(Pace::NoVisit));
    let none_is_told = n_early + n_unseen == n_greens;
    let early = match n_early {
        _ if none_is_told => " Of no green there are visits enough to call it on pace.".to_owned(),
        0 => String::new(),
        1 => " Of one it is too early to say.".to_owned(),
        n => format!(" Of {n} it is too early to say."),
    };
    let ahead = match data.n_at(Pace::NotPlanted) {
        0 => String::new(),
        1 => " One is not planted yet.".to_owned(),
        n => format!(" {n} are not planted yet."),
    };
    let without = match n_unseen {
        n if n == 0 || none_is_told => String::new(),
        1 => " One has no visit yet.".to_owned(),
        n => format!(" {n} have no visit yet."),
    };
    let early = early + &without + &ahead;
    let together = data.all_full.and_then(|all| all.chance_by_opening);
    Some(match together {
        Some(p) => {
            let (words, chance) = (chance_words(p), chance(p));
            let counted = match none_is_told {
                true => String::new(),
                false => format!(" {counted} for it."),
            };
            let all = match data.left_out().is_empty() {
                true => "all of them",
                false => "all greens with a visit",
            };
            format!(
                "It is {words} that {all} are full by the opening on {opening} ({chance}).{counted}{early}"
            )
        }
        None => {
            let least = least_sure(data).unwrap_or_default();
            format!("{counted} for the opening on {opening}.{early}{least}")
        }
    })
}

/// All greens together are never likelier to be in time than the least likely of them; where one has no date and no
/// chance, nobody can tell.
fn least_sure(data: &ReportData) -> Option<String> {
    let stopped = data
        .greens
        .iter()
        .find(|green| green.outlook.chance_by_opening.is_none() && green.has_no_date());
    if let Some(green) = stopped {
        let title = isolated(&green.title());
        let why = match green.outlook.status {
            Status::Stalled => "has stopped gaining",
            _ => "is short of what its curve says",
        };
        return Some(format!(
            " Whether every green is full by then cannot be told: {title} {why}."
        ));
    }
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
