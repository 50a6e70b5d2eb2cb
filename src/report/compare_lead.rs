//! What a person reads first of a comparison: the question, its answer, what it is worth, what was compared.

use super::compare_words::{decimal, in_words, judged_by, verdict};
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
    match &answer.outcome {
        Outcome::Tested(tested) => {
            let verdicts = tested
                .means
                .iter()
                .map(|table| verdict(comparison, answer, table));
            sentences.extend(verdicts.map(|verdict| capital(&verdict)));
        }
        Outcome::Described(described) => {
            sentences.push(format!(
                "That cannot be told from {}. {}",
                judged_by(comparison),
                visible(&described.why.to_string())
            ));
        }
    }
    sentences.extend(told_first(comparison));
    sentences.extend(rate_sentence(comparison));
    sentences.extend(cheapest(comparison));
    let values = answer.values.iter().filter_map(|green| green.value);
    let n_projected = values
        .filter(|value| value.standing == Standing::Projected)
        .count();
    if n_projected > 0 {
        sentences.push(format!(
            "{n_projected} of {} greens had not got so far when they were last seen: their numbers are projections.",
            comparison.greens
        ));
    }
    sentences.push(format!("Compared: {}.", visible(&comparison.layout)));
    sentences
}

/// Notes without which the answer misleads.
pub(crate) fn told_first(comparison: &Comparison) -> impl Iterator<Item = String> {
    let notes = comparison.notes.iter().filter(|note| is_told_first(note));
    notes.map(|note| in_words(note))
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
