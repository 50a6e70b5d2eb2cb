//! Sentences of a comparison: what a superintendent asks first, and the statistics that stand behind it.

use jiff::civil::Date;

use super::format::{full_date, thousands, visible};
use crate::compare::{
    Answer, Call, Comparison, Interval, MeansTable, Pair, RankTest, RateResponse, Response, Rule,
    Scale, Tested,
};

/// A number to `decimals`, with the minus sign of print and none before zero.
pub(crate) fn decimal(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let is_zero = text.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    if value < 0.0 && !is_zero {
        format!("−{text}")
    } else {
        text
    }
}

/// `p 0.012`, `p < 0.0001`.
pub(crate) fn chance(p: f64) -> String {
    match p {
        p if p < 0.0001 => "p < 0.0001".to_owned(),
        p if p < 0.01 => format!("p {p:.4}"),
        p => format!("p {p:.3}"),
    }
}

/// `12.3 (9.8 to 14.9)`.
pub(crate) fn interval(of: Interval, decimals: usize) -> String {
    format!(
        "{} ({} to {})",
        decimal(of.estimate, decimals),
        decimal(of.low, decimals),
        decimal(of.high, decimals)
    )
}

/// The heading of a response, such as `Days to full cover (95%)`.
pub(crate) fn heading(answer: &Answer, goal_percent: f64) -> String {
    match answer.kind {
        Response::DaysToFull => format!("Days from planting to full cover ({goal_percent}%)"),
        Response::DaysToHalf => "Days from planting to half cover".to_owned(),
        Response::PointsPerWeek => "Points of cover gained in the fastest week".to_owned(),
        Response::CoverOn(date) => format!("Percent cover on {}", full_date(date)),
        Response::MeanCover => format!(
            "Mean percent cover from planting to day {} (area under the cover curve by days)",
            decimal(answer.until_day.unwrap_or(0.0), 0)
        ),
    }
}

/// How one level did against another: `reached full cover 13.9 days before`.
fn did(response: Response, difference: f64) -> String {
    let size = decimal(difference.abs(), 1);
    let (less, date): (bool, Option<Date>) = match response {
        Response::CoverOn(date) => (difference < 0.0, Some(date)),
        _ => (difference < 0.0, None),
    };
    let on = date
        .map(|date| format!(" on {}", full_date(date)))
        .unwrap_or_default();
    match (response, less) {
        (Response::DaysToFull, true) => format!("reached full cover {size} days before"),
        (Response::DaysToFull, false) => format!("reached full cover {size} days after"),
        (Response::DaysToHalf, true) => format!("reached half cover {size} days before"),
        (Response::DaysToHalf, false) => format!("reached half cover {size} days after"),
        (Response::PointsPerWeek, true) => format!("gained {size} points a week less than"),
        (Response::PointsPerWeek, false) => format!("gained {size} points a week more than"),
        (Response::CoverOn(_) | Response::MeanCover, true) => {
            format!("had {size} points less cover{on} than")
        }
        (Response::CoverOn(_) | Response::MeanCover, false) => {
            format!("had {size} points more cover{on} than")
        }
    }
}

/// What a table of means comes to: the widest difference between levels, whether it is shown, its interval.
pub(crate) fn verdict(comparison: &Comparison, answer: &Answer, table: &MeansTable) -> String {
    let Some(widest) = table
        .pairs()
        .iter()
        .max_by(|a, b| a.difference.abs().total_cmp(&b.difference.abs()))
    else {
        return String::new();
    };
    let (first, second, difference, low, high) = better_first(answer.kind, widest);
    let within = table
        .within
        .as_ref()
        .map(|w| format!("With {}: ", visible(w)))
        .unwrap_or_default();
    let (of, did) = (in_words(&table.of), did(answer.kind, difference));
    let range = size_range(low, high);
    match comparison.call(answer, table) {
        Call::Different => format!(
            "{within}{of} makes a difference: {first} {did} {second} (95 % interval {range})."
        ),
        Call::Hint => format!(
            "{within}{first} {did} {second} (95 % interval {range}). Taken alone that would count as a difference by {of}; it is no more than a hint, since {} shows none.",
            short_name(comparison.answers[0].kind)
        ),
        Call::NotShown => {
            let (low, high) = (decimal(low.min(high), 1), decimal(low.max(high), 1));
            format!(
                "{within}No difference by {of} is shown. {first} {did} {second}, but anything from {low} to {high} would fit these greens."
            )
        }
    }
}

/// A response in the middle of a sentence.
pub(crate) fn short_name(response: Response) -> String {
    match response {
        Response::DaysToFull => "days to full cover".to_owned(),
        Response::DaysToHalf => "days to half cover".to_owned(),
        Response::PointsPerWeek => "the fastest week".to_owned(),
        Response::CoverOn(date) => format!("cover on {}", full_date(date)),
        Response::MeanCover => "mean cover".to_owned(),
    }
}

/// A factor's name as people write it.
pub(crate) fn in_words(name: &str) -> String {
    visible(&name.replace('_', " "))
}

/// What a step of the sprig rate buys from the lowest tested rate on, where the rate matters.
pub(crate) fn rate_sentence(rate: &RateResponse) -> Option<String> {
    let (from, gain) = rate.step_gain.first()?;
    let is_shown = rate.p <= 0.05 && gain.estimate < 0.0;
    is_shown.then(|| {
        format!(
            "From {} {unit} up, another {} {unit} buy {} days ({} to {}).",
            thousands(from.round()),
            thousands(rate.step),
            decimal(-gain.estimate, 1),
            decimal(-gain.high, 1),
            decimal(-gain.low, 1),
            unit = rate.unit
        )
    })
}

/// How the comparison keeps chance finds rare, in a sentence.
pub(crate) fn deciding(comparison: &Comparison) -> String {
    format!(
        "Decided by {}: where that shows nothing, no difference is called, so that at most {} % of comparisons of things that are alike call one. The numbers after it tell how a difference came about.",
        short_name(comparison.answers[0].kind),
        decimal(100.0 * comparison.alpha, 0)
    )
}

/// A pair with the level that did better named first.
fn better_first(response: Response, pair: &Pair) -> (String, String, f64, f64, f64) {
    let first_is_better = (pair.difference < 0.0) == response.less_is_better();
    let (first, second) = (visible(&pair.first), visible(&pair.second));
    if first_is_better {
        (first, second, pair.difference, pair.low, pair.high)
    } else {
        (second, first, -pair.difference, -pair.high, -pair.low)
    }
}

/// `9.4 to 18.4`, of a difference whose direction the words before it tell.
fn size_range(low: f64, high: f64) -> String {
    if low < 0.0 && high < 0.0 {
        format!("{} to {}", decimal(-high, 1), decimal(-low, 1))
    } else {
        format!("{} to {}", decimal(low, 1), decimal(high, 1))
    }
}

/// One line on a level against the control.
pub(crate) fn against_control(answer: &Answer, pair: &Pair) -> String {
    format!(
        "{} {} {} ({} to {}; {})",
        visible(&pair.first),
        did(answer.kind, pair.difference),
        visible(&pair.second),
        decimal(pair.low, 1),
        decimal(pair.high, 1),
        chance(pair.p)
    )
}

/// What the letters mean, and how far apart two means must be.
pub(crate) fn letters_line(table: &MeansTable) -> String {
    let (name, size) = match table.letters_by {
        Rule::Lsd => ("Fisher's LSD, used where F is significant", table.lsd),
        Rule::Tukey => ("Tukey's HSD", table.hsd),
    };
    let size = match size {
        Some(size) => format!(": {}", decimal(size, 1)),
        None => "; it differs from pair to pair".to_owned(),
    };
    format!("Levels that share a letter are not shown to differ ({name}{size}).")
}

/// F of each line of the tables.
pub(crate) fn statistics(tested: &Tested) -> Vec<String> {
    let mut lines = Vec::new();
    for stratum in &tested.strata {
        let error = stratum.rows.last();
        let (df, ms) = error.map_or((0, 0.0), |row| (row.degrees_of_freedom, row.mean_square));
        let tests: Vec<String> = stratum
            .rows
            .iter()
            .filter_map(|row| {
                let (f, p) = (row.f?, row.p?);
                Some(format!(
                    "{}: F {} on {} and {df}, {}",
                    visible(&row.source),
                    decimal(f, 2),
                    row.degrees_of_freedom,
                    chance(p)
                ))
            })
            .collect();
        lines.push(format!(
            "{} (between {}, error mean square {}).",
            tests.join("; "),
            stratum.between,
            decimal(ms, 3)
        ));
    }
    let scale = match tested.scale {
        Scale::AsMeasured => "",
        Scale::Logit => {
            " Analysed as logits, since some means lie near bare or full; means are turned back to percent."
        }
    };
    lines.push(format!(
        "Sums of squares are of type II: each term after all others that do not contain it.{scale}"
    ));
    lines.push(residuals(tested));
    lines
}

/// `Friedman 6.50 on 2, p 0.039`.
pub(crate) fn ranked(test: &RankTest) -> String {
    format!(
        "{} {} on {}, {}",
        test.name,
        decimal(test.statistic, 2),
        test.degrees_of_freedom,
        chance(test.p)
    )
}

fn residuals(tested: &Tested) -> String {
    let checks = &tested.residuals;
    let normal = match (checks.normal_p, checks.is_crooked()) {
        (None, _) => "too few residuals to look at".to_owned(),
        (Some(p), false) => format!("residuals look normal enough (Shapiro–Wilk {})", chance(p)),
        (Some(p), true) => format!("residuals are far from normal (Shapiro–Wilk {})", chance(p)),
    };
    let scatter = match (checks.equal_scatter_p, checks.is_uneven()) {
        (None, _) => String::new(),
        (Some(p), false) => format!(
            ", levels scatter about alike (Brown–Forsythe {})",
            chance(p)
        ),
        (Some(p), true) => format!(
            ", but some levels scatter far more than others (Brown–Forsythe {}): take it with care",
            chance(p)
        ),
    };
    let ranks = match (tested.decided_by_ranks(), checks.is_crooked()) {
        (Some(test), _) => format!(" Judged by ranks instead of F: {}.", ranked(test)),
        (None, true) => " No rank test fits this design: take F with care.".to_owned(),
        _ => String::new(),
    };
    format!("Checks: {normal}{scatter}.{ranks}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_a_printed_minus_and_never_one_before_zero() {
        assert_eq!(decimal(-3.07, 1), "−3.1");
        assert_eq!(decimal(-0.04, 1), "0.0");
        assert_eq!(chance(0.00004), "p < 0.0001");
        assert_eq!(chance(0.0043), "p 0.0043");
        assert_eq!(chance(0.25), "p 0.250");
    }

    #[test]
    fn directions_are_told_in_words() {
        assert_eq!(
            did(Response::DaysToFull, -13.94),
            "reached full cover 13.9 days before"
        );
        assert_eq!(
            did(Response::MeanCover, 4.0),
            "had 4.0 points more cover than"
        );
        assert_eq!(size_range(-9.0, -2.0), "2.0 to 9.0");
    }
}
