//! What a comparison comes to, in sentences: which level did better, by how much, and how sure that is.

use super::compare_statistics::ranked;
use super::compare_words::{
    aim, chance, did_or_will, in_sight, in_words, judged_by, level_name, range, treated,
};
use super::format::visible;
use crate::compare::{
    Answer, Call, Comparison, Described, LevelMean, MeansTable, Outcome, Pair, Response,
};
use crate::course::DateStyle;

/// What ranks tell where too few greens have a number for another test: of which levels greens get there at all.
pub(crate) fn ranked_verdict(
    comparison: &Comparison,
    answer: &Answer,
    described: &Described,
) -> Option<String> {
    let ranks = described.rank_test?;
    let of = in_words(&comparison.by.join(" × "));
    let levels = in_sight(comparison, answer).into_iter();
    let told: Vec<String> = levels
        .map(|(level, there, of)| match there {
            0 => format!("none of {of} greens with {level}"),
            _ => format!("{there} of {of} with {level}"),
        })
        .collect();
    let call = match described.is_shown(comparison.alpha) {
        true => format!("{of} makes a difference by ranks"),
        false => format!("no difference by {of} is shown by ranks"),
    };
    Some(format!(
        "{call}: {} is in sight for {} ({}).",
        aim(answer.kind),
        told.join(" and "),
        ranked(&ranks)
    ))
}

/// What a table of means comes to: the widest difference between levels, whether it is shown, its interval.
pub(crate) fn verdict(comparison: &Comparison, answer: &Answer, table: &MeansTable) -> String {
    let call = comparison.call(answer, table);
    let by_size = |a: &&Pair, b: &&Pair| a.difference.abs().total_cmp(&b.difference.abs());
    // A wide gap to a level of few greens may be less sure than a narrower one.
    let is_sure = |pair: &&Pair| pair.p <= comparison.alpha;
    let pairs = table.pairs();
    let sure = pairs.iter().filter(is_sure).max_by(by_size);
    let widest = pairs.iter().max_by(by_size);
    let Some(pair) = sure.filter(|_| call == Call::Different).or(widest) else {
        return String::new();
    };
    let (first, second, difference, low, high) =
        better_first(answer.kind, &table.of, pair, comparison.dates);
    let within = table
        .within
        .as_ref()
        .map(|w| format!("With {}: ", visible(w)))
        .unwrap_or_default();
    let (of, did) = (
        in_words(&table.of),
        did_or_will(answer, difference, comparison.dates),
    );
    let range = range(answer.kind, low, high);
    let by_ranks = match &answer.outcome {
        Outcome::Tested(tested) if tested.decided_by_ranks().is_some() => " by ranks",
        _ => "",
    };
    if let Some((one, other)) = of.rsplit_once(" × ") {
        let perhaps = match call {
            Call::Different => "",
            _ => "perhaps ",
        };
        let each = within_each(answer, table, comparison.dates);
        if each.len() > 1 {
            return format!(
                "{perhaps}{one} and {other} depend on each other: {}.",
                each.join("; ")
            );
        }
        return format!(
            "{perhaps}{one} and {other} depend on each other: furthest apart, {first} {did} {second} (95% sure: {range})."
        );
    }
    let on_average = on_average(comparison, answer, table, pair).unwrap_or_default();
    match call {
        Call::Different if sure.is_some() => format!(
            "{within}{of} makes a difference{by_ranks}{on_average}: {first} {did} {second} (95% sure: {range})."
        ),
        // Two levels are what was tested: by ranks they differ, while a few wide values leave the means unsure.
        Call::Different if table.pairs().len() == 1 => format!(
            "{within}{of} makes a difference{by_ranks}{on_average}: {first} {did} {second}, but by how much is unsure ({range})."
        ),
        Call::Different => format!(
            "{within}{of} makes a difference{by_ranks}{on_average} when everything is taken together, but no two levels can be told apart for sure: {first} {did} {second} (95% sure: {range})."
        ),
        Call::Hint => format!(
            "{within}Perhaps a difference by {of}: {first} {did} {second} (95% sure: {range}). No more than a hint, since {} shows none.",
            judged_by(comparison)
        ),
        Call::NotShown => format!(
            "{within}No difference by {of} is shown: {first} {did} {second}, but anything from {range} would fit these greens."
        ),
    }
}

/// ` on average over mulch`, where what is called turns round with some level of mulch.
fn on_average(
    comparison: &Comparison,
    answer: &Answer,
    table: &MeansTable,
    pair: &Pair,
) -> Option<String> {
    let Outcome::Tested(tested) = &answer.outcome else {
        return None;
    };
    let turns_round = |other: &&MeansTable| {
        let parted = |name: &str| -> Option<(String, String)> {
            let (one, two) = name.split_once(" · ")?;
            let (of, with) = match other.of.starts_with(&format!("{} × ", table.of)) {
                true => (one, two),
                false => (two, one),
            };
            Some((of.to_owned(), with.to_owned()))
        };
        let mean = |of: &str, with: &str| {
            let is_it = |row: &&LevelMean| parted(&row.level) == Some((of.into(), with.into()));
            other.means.iter().find(is_it).map(|row| row.mean)
        };
        let mut with = other.means.iter().filter_map(|row| parted(&row.level));
        with.any(|(_, with)| {
            let both = mean(&pair.first, &with).zip(mean(&pair.second, &with));
            both.is_some_and(|(first, second)| (first - second) * pair.difference < 0.0)
        })
    };
    let others = tested.means.iter().filter(|other| other.within.is_none());
    let other = others
        .filter(|other| comparison.call(answer, other) == Call::Different)
        .filter(|other| {
            let names: Vec<&str> = other.of.split(" × ").collect();
            names.len() == 2 && names.contains(&table.of.as_str())
        })
        .find(turns_round)?;
    let mut names = other.of.split(" × ");
    let beside = names.find(|name| *name != table.of)?;
    Some(format!(" on average over {}", in_words(beside)))
}

/// Of a table of `A × B`, the widest difference between levels of A with each level of B, then between levels of
/// B with each level of A: what one does may turn round where the other seems to do the same everywhere.
fn within_each(answer: &Answer, table: &MeansTable, dates: DateStyle) -> Vec<String> {
    let Some((one, other)) = table.of.rsplit_once(" × ") else {
        return Vec::new();
    };
    let first = |name: &str| -> Option<(String, String)> {
        let (of, with) = name.rsplit_once(" · ")?;
        Some((of.to_owned(), with.to_owned()))
    };
    let second = |name: &str| first(name).map(|(of, with)| (with, of));
    let mut told = with_each(answer, table, (one, other), &first, dates);
    // Of three factors the first two together are no level that the third could be told within.
    if told.len() > 1 && !one.contains(" × ") {
        told.extend(with_each(answer, table, (other, one), &second, dates));
    }
    told
}

/// The widest difference between levels of `one` with each level of `other`; `parted` gives those two of a name.
fn with_each(
    answer: &Answer,
    table: &MeansTable,
    (one, other): (&str, &str),
    parted: &dyn Fn(&str) -> Option<(String, String)>,
    dates: DateStyle,
) -> Vec<String> {
    let mut with: Vec<String> = Vec::new();
    for (_, level) in table.means.iter().filter_map(|mean| parted(&mean.level)) {
        if !with.contains(&level) {
            with.push(level);
        }
    }
    let widest = |level: &String| {
        let own = |name: &str| {
            parted(name)
                .filter(|(_, with)| with == level)
                .map(|(of, _)| of)
        };
        let pairs = table.pairs().iter().filter_map(|pair| {
            Some(Pair {
                first: own(&pair.first)?,
                second: own(&pair.second)?,
                ..pair.clone()
            })
        });
        let pair = pairs.max_by(|a, b| a.difference.abs().total_cmp(&b.difference.abs()))?;
        let (first, second, difference, low, high) = better_first(answer.kind, one, &pair, dates);
        Some(format!(
            "with {}, {first} {} {second} (95% sure: {})",
            treated(other, &level_name(other, level, dates)),
            did_or_will(answer, difference, dates),
            range(answer.kind, low, high)
        ))
    };
    with.iter().filter_map(widest).collect()
}

/// A pair with the level that did better named first.
fn better_first(
    response: Response,
    of: &str,
    pair: &Pair,
    dates: DateStyle,
) -> (String, String, f64, f64, f64) {
    let first_is_better = (pair.difference < 0.0) == response.less_is_better();
    let name = |level: &str| treated(of, &level_name(of, level, dates));
    let (first, second) = (name(&pair.first), name(&pair.second));
    if first_is_better {
        (first, second, pair.difference, pair.low, pair.high)
    } else {
        (second, first, -pair.difference, -pair.high, -pair.low)
    }
}

/// One line on a level against the control.
pub(crate) fn against_control(answer: &Answer, of: &str, pair: &Pair, dates: DateStyle) -> String {
    format!(
        "{} {} {} ({}; {})",
        level_name(of, &pair.first, dates),
        did_or_will(answer, pair.difference, dates),
        level_name(of, &pair.second, dates),
        range(answer.kind, pair.low, pair.high),
        chance(pair.p)
    )
}
