//! Days against sprig rate, and what they cost, for a terminal.

use super::columns::Side;
use super::compare_lead::{amount, cheapest, rate_that_matters};
use super::compare_text::{Text, column};
use super::compare_words::{chance, decimal, interval};
use super::format::thousands;
use crate::compare::{Comparison, CostOfDelay, Interval, Lies, RateResponse, Threshold};

/// Days against rate, and what a step buys.
pub(super) fn rates(text: &mut Text, comparison: &Comparison, rate: &RateResponse) {
    text.line("Sprig rate");
    if rate_that_matters(comparison).is_none() {
        text.indented("That more sprigs buy days is not shown by these greens: best guesses, with their 95 % intervals.");
    }
    let unit = rate.unit;
    let shown = |value: f64| thousands(value.round());
    let (first, last) = (rate.tested[0], rate.tested[rate.tested.len() - 1]);
    let nearer = Interval {
        estimate: -rate.doubling.estimate,
        low: -rate.doubling.high,
        high: -rate.doubling.low,
    };
    text.indented(&format!(
        "Doubling the rate brings full cover {} days nearer ({}), among the tested rates of {} to {} {unit}.",
        interval(nearer, 1),
        chance(rate.p),
        shown(first),
        shown(last)
    ));
    for (from, gain) in &rate.step_gain {
        text.indented(&format!(
            "From {} {unit}, {} {unit} more buy {} days.",
            shown(*from),
            shown(rate.step),
            interval(
                Interval {
                    estimate: -gain.estimate,
                    low: -gain.high,
                    high: -gain.low
                },
                1
            )
        ));
    }
    match rate.day_per_step {
        Some(threshold) => text.indented(&threshold_words(threshold, rate)),
        None => text.indented("More sprigs bought no days in these greens."),
    }
    let fit = match rate.lack_of_fit_p {
        Some(p) if p <= 0.05 => format!(
            " A straight line in ln(rate) does not fit well ({}): trust the table of means before it.",
            chance(p)
        ),
        Some(p) => format!(" A straight line in ln(rate) fits ({}).", chance(p)),
        None => String::new(),
    };
    text.indented(&format!(
        "Days = {} {} {} ln(rate), {} greens.{fit}",
        decimal(rate.intercept, 1),
        if rate.slope.estimate < 0.0 {
            "−"
        } else {
            "+"
        },
        decimal(rate.slope.estimate.abs(), 2),
        rate.greens
    ));
}

fn threshold_words(threshold: Threshold, rate: &RateResponse) -> String {
    let (unit, step, at) = (
        rate.unit,
        thousands(rate.step),
        thousands(threshold.rate.round()),
    );
    let (first, last) = (
        thousands(rate.tested[0].round()),
        thousands(rate.tested[rate.tested.len() - 1].round()),
    );
    match threshold.lies {
        Lies::Within => format!("Beyond {at} {unit}, another {step} {unit} buy less than a day."),
        Lies::Below => format!(
            "Another {step} {unit} buy less than a day from the lowest tested rate, {first} {unit}, on."
        ),
        Lies::Above => format!(
            "Up to {last} {unit}, the highest tested rate, another {step} {unit} buy more than a day. By the same line they would stop doing so at {at} {unit}, but that was not tested."
        ),
    }
}

/// What each rate costs against the days that it gains.
pub(super) fn costs(text: &mut Text, comparison: &Comparison, money: &CostOfDelay) {
    let amount = |value: f64| amount(money, value);
    let unit = comparison.rate.as_ref().map_or("", |rate| rate.unit);
    text.line("Money");
    text.indented(&cheapest(comparison).unwrap_or_else(|| {
        "Since more sprigs are not shown to buy days, they are not shown to pay.".to_owned()
    }));
    let cells =
        |of: &dyn Fn(&crate::compare::RateCost) -> String| money.rates.iter().map(of).collect();
    text.table(&[
        column(unit, Side::Right, cells(&|row| thousands(row.rate.round()))),
        column("sprigs", Side::Right, cells(&|row| amount(row.sprigs))),
        column(
            "days",
            Side::Right,
            cells(&|row| decimal(row.days.estimate, 1)),
        ),
        column(
            "days gained",
            Side::Left,
            cells(&|row| match row.extra_cost {
                cost if cost > 0.0 => interval(row.days_gained, 1),
                _ => "–".to_owned(),
            }),
        ),
        column("net", Side::Right, cells(&|row| amount(row.net.estimate))),
        column(
            "95 % interval",
            Side::Left,
            cells(&|row| match row.extra_cost {
                cost if cost > 0.0 => {
                    format!("{} to {}", amount(row.net.low), amount(row.net.high))
                }
                _ => "–".to_owned(),
            }),
        ),
        column(
            "pays from, a day",
            Side::Right,
            cells(&|row| row.break_even_per_day.map_or("–".to_owned(), amount)),
        ),
    ]);
    if let Some(least) = money.least_total {
        let at = thousands(least.rate.round());
        text.indented(&match least.lies {
            Lies::Within => format!("Along the fitted line the least total lies at {at} {unit}."),
            Lies::Below => "Along the fitted line the least total lies below the lowest tested rate.".to_owned(),
            Lies::Above => "Along the fitted line the least total lies above the highest tested rate; nothing beyond it was tested.".to_owned(),
        });
    }
}
