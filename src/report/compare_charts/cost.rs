//! What each sprig rate costs.

use super::WIDTH;
use super::line::Line;
use crate::compare::CostOfDelay;
use crate::report::format::{money as money_in_words, thousands};
use crate::report::svg::{Anchor, Dress, Svg};

const TITLE: &str = "What each sprig rate costs";

const LEFT: f64 = 84.0;
const RIGHT: f64 = WIDTH - 120.0;
const TOP: f64 = 40.0;
const BOTTOM: f64 = 300.0;

/// What one rate costs.
struct Cost {
    rate: f64,
    sprigs: f64,
    /// Of days closed beyond those of the quickest tested rate.
    days: f64,
}

impl Cost {
    fn together(&self) -> f64 {
        self.sprigs + self.days
    }
}

/// Rates across, money upwards.
struct Scales {
    x: Line,
    y: Line,
}

impl Scales {
    fn at(&self, rate: f64, amount: f64) -> (f64, f64) {
        (self.x.at(rate), self.y.at(amount))
    }
}

/// Sprigs, days closed beyond the quickest tested rate, and both together, by rate.
///
/// Where more sprigs are not shown to buy days (`is_shown` is false), the least is marked as that of these greens alone.
pub fn cost_chart(money: &CostOfDelay, unit: &str, is_shown: bool, dress: Dress) -> String {
    let costs = costs(money);
    let most = costs.iter().map(Cost::together).fold(1.0, f64::max);
    let (first, last) = (costs[0].rate, costs[costs.len() - 1].rate);
    let scales = Scales {
        x: Line::new(first, last, LEFT, RIGHT),
        y: Line::new(0.0, most, BOTTOM, TOP),
    };
    let words = |cost: &Cost| {
        let (rate, sprigs, days) = (
            thousands(cost.rate),
            thousands(cost.sprigs),
            thousands(cost.days),
        );
        format!("{rate} {unit}: sprigs {sprigs}, days {days}")
    };
    let words: Vec<String> = costs.iter().map(words).collect();
    let mut svg = Svg::new((WIDTH, BOTTOM + 46.0), "cost", TITLE, &words.join("; "));
    svg.text("c-name", Anchor::Start, (10.0, 20.0), TITLE);
    axes(&mut svg, &scales, &costs, money, unit);
    lines(&mut svg, &scales, &costs);
    if let Some(best) = costs.iter().find(|cost| cost.rate == money.best_tested) {
        let words = if is_shown {
            "least"
        } else {
            "least, but not shown to be"
        };
        least(&mut svg, scales.at(best.rate, best.together()), words);
    }
    svg.finish(dress)
}

fn costs(money: &CostOfDelay) -> Vec<Cost> {
    let days = money.rates.iter().map(|rate| rate.days.estimate);
    let fewest = days.fold(f64::INFINITY, f64::min);
    let costs = money.rates.iter().map(|rate| Cost {
        rate: rate.rate,
        sprigs: rate.sprigs,
        days: (rate.days.estimate - fewest) * money.day_closed,
    });
    costs.collect()
}

fn axes(svg: &mut Svg, scales: &Scales, costs: &[Cost], money: &CostOfDelay, unit: &str) {
    for tick in scales.y.ticks() {
        let y = scales.y.at(tick);
        svg.line("c-grid", (LEFT, y), (RIGHT, y));
        let label = money_in_words(&money.currency, tick);
        svg.text("c-tick", Anchor::End, (LEFT - 6.0, y + 4.0), &label);
    }
    svg.line("c-axis", (LEFT, BOTTOM), (RIGHT, BOTTOM));
    for cost in costs {
        let x = scales.x.at(cost.rate);
        svg.line("c-axis", (x, BOTTOM), (x, BOTTOM + 4.0));
        let label = thousands(cost.rate.round());
        svg.text("c-tick", Anchor::Middle, (x, BOTTOM + 18.0), &label);
    }
    let below = (f64::midpoint(LEFT, RIGHT), BOTTOM + 38.0);
    svg.text("c-note", Anchor::Middle, below, unit);
}

/// Each part and their sum, with a name at the end that no other name covers.
fn lines(svg: &mut Svg, scales: &Scales, costs: &[Cost]) {
    let track = |part: fn(&Cost) -> f64| -> Vec<(f64, f64)> {
        let points = costs.iter().map(|cost| scales.at(cost.rate, part(cost)));
        points.collect()
    };
    let parts = [
        ("together", track(Cost::together)),
        ("sprigs", track(|cost| cost.sprigs)),
        ("days closed", track(|cost| cost.days)),
    ];
    let mut taken: Vec<f64> = Vec::new();
    for (kind, (name, track)) in parts.into_iter().enumerate() {
        svg.track(&format!("c-level-{kind}"), &track);
        for at in &track {
            svg.dot(&format!("c-point-{kind}"), *at, 3.4);
        }
        let (end_x, end_y) = track[track.len() - 1];
        let is_clear = |y: &f64| taken.iter().all(|other| (other - y).abs() >= 18.0);
        let label_y = (0..40)
            .flat_map(|step| [end_y - f64::from(step), end_y + f64::from(step)])
            .find(is_clear)
            .unwrap_or(end_y);
        taken.push(label_y);
        svg.text("c-name", Anchor::Start, (end_x + 10.0, label_y + 4.0), name);
    }
}

/// Marks the least; its words stand over the highest line, which none cross.
fn least(svg: &mut Svg, at: (f64, f64), words: &str) {
    svg.diamond("c-full", at, 7.0);
    let anchor = if at.0 > f64::midpoint(LEFT, RIGHT) {
        Anchor::End
    } else {
        Anchor::Start
    };
    svg.line("c-drop", at, (at.0, TOP - 4.0));
    svg.text("c-note c-goalword", anchor, (at.0, TOP - 8.0), words);
}
