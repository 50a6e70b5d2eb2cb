//! What a person reads first of a comparison: the question, its answer, what it is worth, what was compared.

use super::compare_verdict::{ranked_verdict, verdict};
use super::compare_words::{aim, decimal, in_sight, in_words, judged_by};
use super::format::{money as money_in_words, thousands, visible};
use crate::compare::{
    ALSO_DIFFER, Call, Comparison, CostOfDelay, Outcome, RateCost, RateResponse, Standing,
};

/// The question, its answer, and what was compared: what a person reads first.
pub(crate) fn lead(comparison: &Comparison, course: &str) -> Vec<String> {
    let names: Vec<String> = comparison.by.iter().map(|name| in_words(name)).collect();
    let answer = &comparison.answers[0];
    let mut sentences = vec![format!(
        "{}: did {} make a difference?",
        visible(course),
        names.join(" or ")
    )];
    if let Some(early) = early_sentence(comparison) {
        sentences.push(early);
        if matches!(answer.outcome, Outcome::Tested(_)) {
            sentences.push(format!("Until then, by {}:", judged_by(comparison)));
        }
    }
    match &answer.outcome {
        Outcome::Tested(tested) => {
            let verdicts = tested
                .means
                .iter()
                .map(|table| verdict(comparison, answer, table));
            sentences.extend(verdicts.map(|verdict| capital(&verdict)));
        }
        Outcome::Described(described) if described.rank_test.is_some() => {
            sentences
                .extend(ranked_verdict(comparison, answer, described).map(|told| capital(&told)));
        }
        Outcome::Described(_) if comparison.too_early.is_some() => {}
        Outcome::Described(described) => {
            sentences.push(format!(
                "That cannot be told from {}. {}",
                judged_by(comparison),
                visible(&described.why.to_string())
            ));
        }
    }
    sentences.extend(how_far_seen(comparison));
    sentences.extend(told_first(comparison));
    sentences.extend(rate_sentence(comparison));
    sentences.extend(cheapest(comparison));
    sentences.push(format!("Compared: {}.", visible(&comparison.layout)));
    sentences
}

/// That the response that was to decide tells nothing yet, where it is so, and when it will.
pub(crate) fn early_sentence(comparison: &Comparison) -> Option<String> {
    let why = comparison.too_early.as_ref()?.to_string();
    let names: Vec<String> = comparison.by.iter().map(|name| in_words(name)).collect();
    let why = why.replacen("Too", "too", 1);
    Some(format!("{}: {why}", capital(&names.join(" and "))))
}

/// Which greens have no number or one that was not seen, of the response that decides.
pub(crate) fn how_far_seen(comparison: &Comparison) -> Vec<String> {
    let answer = &comparison.answers[0];
    let mut sentences = Vec::new();
    if let Outcome::Tested(tested) = &answer.outcome
        && tested.n_never > 0
    {
        let without: Vec<String> = in_sight(comparison, answer)
            .into_iter()
            .filter(|(_, there, of)| there < of)
            .map(|(level, there, of)| format!("{} of {of} greens with {level}", of - there))
            .collect();
        sentences.push(format!(
            "{} is not in sight for {}.",
            capital(aim(answer.kind)),
            without.join(", ")
        ));
    }
    let values = || answer.values.iter().filter_map(|green| green.value);
    let n = |standing: Standing| values().filter(|value| value.standing == standing).count();
    let (ahead, since) = (n(Standing::Projected), n(Standing::SeenLater));
    if since > 0 {
        sentences.push(format!(
            "The numbers of {} of {} greens are projections from the visits that are compared; {since} of these greens have got there since.",
            ahead + since,
            comparison.greens
        ));
    } else if ahead > 0 {
        sentences.push(format!(
            "{ahead} of {} greens had not got so far when they were last seen: their numbers are projections.",
            comparison.greens
        ));
    }
    sentences
}

/// What stands before the statistics, since without it the answer misleads.
pub(crate) fn told_first(comparison: &Comparison) -> impl Iterator<Item = String> {
    let notes = comparison.notes.iter().filter(|note| is_told_first(note));
    let all = comparison.cautions.iter().chain(notes);
    all.map(|note| in_words(note))
}

/// Whether a note stands right under the answer: what else differs between the greens may be what made the difference.
pub(crate) fn is_told_first(note: &str) -> bool {
    note.starts_with(ALSO_DIFFER)
}

/// With a capital first letter.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters
        .next()
        .map(|letter| letter.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

/// An amount of money, without cents.
pub(crate) fn amount(money: &CostOfDelay, value: f64) -> String {
    let sign = if value < -0.5 { "−" } else { "" };
    let size = money_in_words(&money.currency, value.abs().round());
    format!("{sign}{size}")
}

/// The answer of days to the sprig rate, where a difference by rate is called.
pub(crate) fn rate_that_matters(comparison: &Comparison) -> Option<&RateResponse> {
    let rate = comparison.rate.as_ref()?;
    let is_called = comparison.call_of("sprig_rate", rate.p) == Call::Different;
    (is_called && rate.slope.estimate < 0.0).then_some(rate)
}

/// What a step of the sprig rate buys from the lowest tested rate on, where the rate matters.
pub(crate) fn rate_sentence(comparison: &Comparison) -> Option<String> {
    let rate = rate_that_matters(comparison)?;
    let (from, gain) = rate.step_gain.first()?;
    Some(format!(
        "At {} {unit}, another {} {unit} buy {} days ({} to {}).",
        thousands(from.round()),
        thousands(rate.step),
        decimal(-gain.estimate, 1),
        decimal(-gain.high, 1),
        decimal(-gain.low, 1),
        unit = rate.unit
    ))
}

/// Which of the tested rates costs least and whether that is sure, where the rate matters.
pub(crate) fn cheapest(comparison: &Comparison) -> Option<String> {
    let unit = rate_that_matters(comparison)?.unit;
    let money = comparison.money.as_ref()?;
    let rate = |rate: f64| thousands(rate.round());
    let best = rate(money.best_tested);
    let is_unsure = |cost: &&RateCost| cost.rate == money.best_tested && cost.net.low < 0.0;
    let unsure = money.rates.iter().find(is_unsure).map(|cost| {
        format!(
            ", but it may as well cost more than {} {unit}: it gains {} to {}",
            rate(money.rates[0].rate),
            amount(money, cost.net.low),
            amount(money, cost.net.high)
        )
    });
    Some(format!(
        "{best} {unit} costs least of the rates tried, sprigs and days closed at {} together{}.",
        amount(money, money.day_closed),
        unsure.unwrap_or_default()
    ))
}
