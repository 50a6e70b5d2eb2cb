//! The statistics that stand behind a comparison: letters, tests, and checks of what they rest on.

use super::compare_words::{chance, decimal};
use super::format::visible;
use crate::compare::{MeansTable, RankTest, Rule, Scale, Tested};

/// What stands under a table of means: what its letters mean, how far apart two of them must be, and how sure they are.
pub(crate) fn under_means(table: &MeansTable, tested: &Tested, alpha: f64) -> String {
    let mut parts = Vec::new();
    if let Some(error) = table.difference_error(alpha) {
        parts.push(format!(
            "standard error of a difference {}",
            decimal(error, 2)
        ));
    }
    parts.push(format!(
        "{} degrees of freedom of the error",
        table.degrees_of_freedom
    ));
    if let Some(percent) = variation(table, tested) {
        parts.push(format!("CV {}%", decimal(percent, 1)));
    }
    let letters = letters_line(table, tested.chance_of(table), alpha);
    format!("{letters} Here: {}.", parts.join(", "))
}

/// Coefficient of variation: the error's standard deviation in percent of the mean of the table.
fn variation(table: &MeansTable, tested: &Tested) -> Option<f64> {
    let mut errors = tested
        .strata
        .iter()
        .filter_map(|stratum| stratum.rows.last());
    let error = errors.find(|row| row.degrees_of_freedom == table.degrees_of_freedom)?;
    let n: usize = table.means.iter().map(|row| row.units).sum();
    let sum: f64 = table
        .means
        .iter()
        .map(|row| row.mean * row.units as f64)
        .sum();
    let mean = sum / n as f64;
    let is_told = tested.scale == Scale::AsMeasured && mean > 0.0;
    is_told.then(|| 100.0 * error.mean_square.sqrt() / mean)
}

/// What the letters mean, and how far apart two means must be.
fn letters_line(table: &MeansTable, chance_of_all: Option<f64>, alpha: f64) -> String {
    let (name, size) = match table.letters_by {
        Rule::Lsd => ("Fisher's LSD, used where F is significant", table.lsd),
        Rule::Tukey => ("Tukey's HSD", table.hsd),
    };
    let size = match size {
        Some(size) => format!(": {}", decimal(size, 1)),
        None => "; it differs from pair to pair".to_owned(),
    };
    let together =
        chance_of_all.filter(|p| *p > alpha && table.pairs().iter().any(|pair| pair.p <= alpha));
    let together = together.map_or(String::new(), |p| {
        format!(
            "; all share one, since all of them together show no difference, {}",
            chance(p)
        )
    });
    format!("Levels that share a letter are not shown to differ ({name}{size}{together}).")
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
            "{} (between {}, error mean square {}{}).",
            tests.join("; "),
            stratum.between,
            decimal(ms, 3),
            of_means(stratum.between)
        ));
    }
    let scale = match tested.scale {
        Scale::AsMeasured => "",
        Scale::Logit => {
            " Analysed as logits, since some means lie near bare or full; means are turned back to percent."
        }
    };
    lines.push(format!(
        "Sums of squares are of type II: blocks first, then each term after all others that do not contain it.{scale}"
    ));
    lines.push(residuals(tested));
    lines
}

/// What the mean squares of a stratum are of, where it is not single greens.
fn of_means(between: &str) -> &'static str {
    match between {
        "main plots" => {
            " of their means; times the greens of a main plot it is that of a table by greens"
        }
        _ => "",
    }
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

/// Below this a check of residuals is told as a doubt; they fail below a lower one ([`ResidualChecks`]).
///
/// [`ResidualChecks`]: crate::compare::ResidualChecks
const DOUBTFUL: f64 = 0.05;

fn residuals(tested: &Tested) -> String {
    let checks = &tested.residuals;
    let normal = match (checks.normal_p, checks.is_crooked()) {
        (None, _) => "too few residuals to look at".to_owned(),
        (Some(p), false) if p < DOUBTFUL => format!(
            "residuals are somewhat crooked (Shapiro–Wilk {}), not so far that F fails",
            chance(p)
        ),
        (Some(p), false) => format!("residuals look normal enough (Shapiro–Wilk {})", chance(p)),
        (Some(p), true) => format!("residuals are far from normal (Shapiro–Wilk {})", chance(p)),
    };
    let scatter = match (checks.equal_scatter_p, checks.is_uneven()) {
        (None, _) => String::new(),
        (Some(p), false) if p < DOUBTFUL => format!(
            ", some levels may scatter more than others (Brown–Forsythe {}): look at the greens",
            chance(p)
        ),
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
