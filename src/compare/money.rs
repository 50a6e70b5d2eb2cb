//! What each rate costs, and what the days that it gains are worth.

use serde::Serialize;

use super::rate::{Interval, RateResponse, Threshold};

/// What the course file says of money, for all the ground that would be sprigged at one rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Prices {
    /// Sprigs for all the ground at one unit of rate.
    pub(super) cost_per_rate: f64,
    /// Revenue lost on a day closed.
    pub(super) day_closed: f64,
}

/// One rate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RateCost {
    /// In the unit of the response.
    pub rate: f64,
    /// Of the sprigs.
    pub sprigs: f64,
    /// Fitted days to full cover.
    pub days: Interval,
    /// Days earlier than at the lowest rate.
    pub days_gained: Interval,
    /// Sprigs beyond those of the lowest rate.
    pub extra_cost: f64,
    /// What the days gained are worth, less the extra cost.
    pub net: Interval,
    /// Revenue per day at which the extra cost is just won back; `None` at the lowest rate, and where no day
    /// is gained.
    pub break_even_per_day: Option<f64>,
}

/// The money side of a rate response.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CostOfDelay {
    /// Stands before amounts.
    pub currency: String,
    /// Square metres that would be sprigged.
    pub area_m2: f64,
    /// Revenue lost on a day closed.
    pub day_closed: f64,
    /// Each tested rate, rising.
    pub rates: Vec<RateCost>,
    /// The tested rate at which sprigs and days closed together cost least.
    pub best_tested: f64,
    /// Where the two together cost least along the fitted line, where more rate buys days at all.
    pub least_total: Option<Threshold>,
}

/// Weighs the cost of sprigs against days.
///
/// With days = a + b ln(r), the total c r + D (a + b ln r) is least at r = −D b / c.
pub(super) fn cost_of_delay(
    response: &RateResponse,
    prices: Prices,
    currency: &str,
    area_m2: f64,
) -> CostOfDelay {
    let Prices {
        cost_per_rate,
        day_closed,
    } = prices;
    let lowest = response.tested[0];
    let rates: Vec<RateCost> = response
        .tested
        .iter()
        .zip(&response.days)
        .map(|(&rate, &days)| {
            let change = response.change(lowest, rate);
            let days_gained = Interval {
                estimate: -change.estimate + 0.0,
                low: -change.high + 0.0,
                high: -change.low + 0.0,
            };
            let extra_cost = cost_per_rate * (rate - lowest);
            let net = |gained: f64| gained * day_closed - extra_cost;
            RateCost {
                rate,
                sprigs: cost_per_rate * rate,
                days,
                days_gained,
                extra_cost,
                net: Interval {
                    estimate: net(days_gained.estimate),
                    low: net(days_gained.low),
                    high: net(days_gained.high),
                },
                break_even_per_day: (rate > lowest && days_gained.estimate > 0.0)
                    .then(|| extra_cost / days_gained.estimate),
            }
        })
        .collect();
    let best = rates
        .iter()
        .max_by(|a, b| a.net.estimate.total_cmp(&b.net.estimate));
    let b = response.slope.estimate;
    let least_total = (b < 0.0 && day_closed > 0.0).then(|| {
        let rate = -day_closed * b / cost_per_rate;
        Threshold {
            rate,
            lies: response.lies(rate),
        }
    });
    CostOfDelay {
        currency: currency.to_owned(),
        area_m2,
        day_closed,
        best_tested: best.map_or(lowest, |best| best.rate),
        rates,
        least_total,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::rate::{Lies, rate_response};

    #[test]
    fn costs_gains_and_break_even_follow_from_the_line() {
        let rates: Vec<f64> = [600.0, 1200.0, 1800.0]
            .iter()
            .flat_map(|r| [*r; 2])
            .collect();
        let days: Vec<f64> = rates
            .iter()
            .enumerate()
            .map(|(i, r)| 200.0 - 10.0 * r.ln() + if i % 2 == 0 { 0.5 } else { -0.5 })
            .collect();
        let response = rate_response("bu/ac", 100.0, &rates, &days, &[]).unwrap();
        // 2.5 acres at 4.50 a bushel; 1,000 a day.
        let prices = Prices {
            cost_per_rate: 2.5 * 4.5,
            day_closed: 1000.0,
        };
        let money = cost_of_delay(&response, prices, "$", 10_117.0);
        let middle = &money.rates[1];
        assert!((middle.sprigs - 13_500.0).abs() < 1e-9);
        assert!((middle.extra_cost - 6_750.0).abs() < 1e-9);
        let gained = 10.0 * 2f64.ln();
        assert!((middle.days_gained.estimate - gained).abs() < 1e-9);
        assert!((middle.break_even_per_day.unwrap() - 6_750.0 / gained).abs() < 1e-6);
        assert!((middle.net.estimate - (1000.0 * gained - 6_750.0)).abs() < 1e-6);
        assert_eq!(money.rates[0].net.estimate, 0.0);
        // −D b / c = 1000 · 10 / 11.25 = 889 bu/ac.
        let least = money.least_total.unwrap();
        assert!((least.rate - 10_000.0 / 11.25).abs() < 1e-6);
        assert_eq!(least.lies, Lies::Within);
        assert_eq!(money.best_tested, 1200.0);
    }
}
