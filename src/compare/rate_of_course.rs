//! Rates, days and prices of a course, in the units in which people think of them.

use super::answer::Answer;
use super::money::{CostOfDelay, Prices, cost_of_delay};
use super::rate::{RateResponse, rate_response};
use super::terms::Factor;
use super::trial::{Trial, is_constant_within};
use super::untested::Untested;
use crate::course::{Course, DisplayUnits, Green, RateUnit};

/// The unit in which rates are told, how much of it is one m³/ha, and the step that people think in.
fn told_rate(course: &Course) -> (&'static str, f64, f64) {
    let in_unit = |unit: RateUnit| {
        unit.in_cubic_metres_per_hectare(course.bushel)
            .map(|one| 1.0 / one)
    };
    match course.units {
        DisplayUnits::Metric => ("m³/ha", 1.0, 10.0),
        DisplayUnits::Us => match in_unit(RateUnit::BUSHELS_PER_ACRE) {
            Some(one) => ("bu/ac", one, 100.0),
            None => {
                let one = in_unit(RateUnit::CUBIC_FEET_PER_THOUSAND_SQUARE_FEET);
                ("ft³/1,000 ft²", one.unwrap_or(1.0), 3.0)
            }
        },
    }
}

pub(super) fn rate_of(
    course: &Course,
    trial: &Trial,
    days: &Answer,
) -> Option<Result<RateResponse, Untested>> {
    let place = trial
        .factors
        .iter()
        .position(|factor| factor.name == "sprig_rate")?;
    let (unit, one, step) = told_rate(course);
    let known: Vec<(usize, f64, f64)> = trial
        .greens
        .iter()
        .enumerate()
        .filter_map(|(idx, green)| {
            let rate = course.green(green)?.sprig_rate?.cubic_metres_per_hectare * one;
            Some((idx, rate, days.values[idx].value?.value))
        })
        .collect();
    let units: Vec<usize> = known.iter().map(|known| known.0).collect();
    let rates: Vec<f64> = known.iter().map(|known| known.1).collect();
    let days: Vec<f64> = known.iter().map(|known| known.2).collect();
    if trial
        .main_plot
        .as_ref()
        .is_some_and(|main| is_constant_within(&trial.factors[place], main))
    {
        return Some(Err(Untested::RatesOfMainPlots));
    }
    let blocks = trial.main_plot.as_ref().or(trial.block.as_ref());
    let others = trial.factors.iter().enumerate().filter(|(idx, factor)| {
        *idx != place
            && !trial
                .main_plot
                .as_ref()
                .is_some_and(|main| is_constant_within(factor, main))
    });
    let beside: Vec<Factor> = blocks
        .into_iter()
        .chain(others.map(|(_, factor)| factor))
        .map(|factor| factor.of_units(&units))
        .filter(|factor| factor.levels.len() > 1)
        .collect();
    let beside: Vec<&Factor> = beside.iter().collect();
    Some(rate_response(unit, step, &rates, &days, &beside))
}

pub(super) fn money_of(
    course: &Course,
    rate: &RateResponse,
    notes: &mut Vec<String>,
) -> Option<CostOfDelay> {
    let money = &course.money;
    let area = money.greens_area.map(|area| area.0).or_else(|| {
        let areas: Option<Vec<f64>> = course
            .greens
            .iter()
            .map(|green: &Green| green.area.map(|area| area.0))
            .collect();
        areas.map(|areas| areas.iter().sum())
    });
    let (Some(cost), Some(day_closed), Some(area_m2)) = (money.sprig_cost, money.day_closed, area)
    else {
        let asked: Vec<&str> = [
            money.sprig_cost.is_none().then_some("sprig_cost"),
            money.day_closed.is_none().then_some("day_closed"),
            area.is_none()
                .then_some("greens_area (or the area of every green)"),
        ]
        .into_iter()
        .flatten()
        .collect();
        notes.push(format!(
            "For what the days are worth, write {} under [money] in course.toml.",
            asked.join(" and ")
        ));
        return None;
    };
    let (_, one, _) = told_rate(course);
    let prices = Prices {
        cost_per_rate: cost.per_cubic_metre * area_m2 / 10_000.0 / one,
        day_closed,
    };
    if money.greens_area.is_none() {
        notes.push("The sprigs are those for the greens of this course file; more greens would cost more (`greens_area` in the course file).".to_owned());
    }
    Some(cost_of_delay(rate, prices, &money.currency, area_m2))
}
