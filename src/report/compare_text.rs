//! A comparison for a terminal: the answer first, the table, then the statistics.

use super::columns::{Column, Side, lines, wrap};
use super::compare_words::{
    against_control, chance, deciding, decimal, heading, interval, letters_line, ranked,
    statistics, verdict,
};
use super::format::{thousands, visible};
use crate::compare::{
    Answer, Call, Comparison, CostOfDelay, CurveError, CurvesCompared, Described, GreenInputs,
    Inputs, Lies, MeansTable, Outcome, ProfileTest, RateResponse, Threshold, nutrient_unit,
};
use crate::course::DisplayUnits;

/// Lines are no wider than this.
const WIDTH: usize = 92;

/// A comparison as text.
pub fn comparison_text(comparison: &Comparison, course: &str, units: DisplayUnits) -> String {
    let mut text = Text::default();
    text.line(&format!(
        "{}: what did {} change?",
        visible(course),
        visible(&comparison.by.join(" and "))
    ));
    text.line(&visible(&comparison.layout));
    if matches!(comparison.answers[0].outcome, Outcome::Tested(_)) {
        text.paragraph(&deciding(comparison));
    }
    for answer in &comparison.answers {
        text.blank();
        answered(&mut text, answer, comparison);
    }
    text.blank();
    curves(&mut text, comparison);
    if let Some(rate) = &comparison.rate {
        text.blank();
        rates(&mut text, rate);
    }
    if let Some(money) = &comparison.money {
        text.blank();
        costs(
            &mut text,
            money,
            comparison.rate.as_ref().map_or("", |rate| rate.unit),
        );
    }
    if let Some(inputs) = &comparison.inputs {
        text.blank();
        given(&mut text, inputs, units);
    }
    if !comparison.notes.is_empty() {
        text.blank();
    }
    for note in &comparison.notes {
        text.paragraph(&format!("Note: {}", visible(note)));
    }
    text.paragraph("Greens are the replicates; photos, stations and visits of one green never are. A difference here is one of cover: it says nothing of roots or playability.");
    text.0
}

#[derive(Default)]
struct Text(String);

impl Text {
    fn line(&mut self, line: &str) {
        self.0.push_str(line);
        self.0.push('\n');
    }

    fn blank(&mut self) {
        self.0.push('\n');
    }

    fn paragraph(&mut self, words: &str) {
        for line in wrap(words, WIDTH, "  ") {
            self.line(&line);
        }
    }

    fn indented(&mut self, words: &str) {
        for line in wrap(words, WIDTH - 2, "") {
            self.line(&format!("  {}", line.trim_start()));
        }
    }

    fn table(&mut self, columns: &[Column]) {
        for line in lines(columns, |_, _, cell| cell)
            .into_iter()
            .filter(|line| !line.is_empty())
        {
            self.line(&format!("    {line}"));
        }
    }
}

fn column(heading: &str, side: Side, cells: Vec<String>) -> Column {
    Column {
        heading: [String::new(), heading.to_owned()],
        side,
        cells,
    }
}

fn answered(text: &mut Text, answer: &Answer, comparison: &Comparison) {
    text.line(&heading(answer, comparison.goal_percent));
    match &answer.outcome {
        Outcome::Tested(tested) => {
            for table in &tested.means {
                text.indented(&verdict(comparison, answer, table));
                means(text, table);
                for pair in &table.against_control {
                    text.indented(&format!(
                        "Against the control (Dunnett): {}.",
                        against_control(answer, pair)
                    ));
                }
            }
            if let Some(table) = tested.means.first() {
                text.indented(&letters_line(table));
            }
            for line in statistics(tested) {
                text.indented(&line);
            }
            for note in &tested.notes {
                text.indented(&visible(note));
            }
        }
        Outcome::Described(described) => not_tested(text, described),
    }
}

fn means(text: &mut Text, table: &MeansTable) {
    let cells =
        |of: &dyn Fn(&crate::compare::LevelMean) -> String| table.means.iter().map(of).collect();
    text.table(&[
        column(
            &visible(&table.of),
            Side::Left,
            cells(&|row| visible(&row.level)),
        ),
        column("greens", Side::Right, cells(&|row| row.units.to_string())),
        column("mean", Side::Right, cells(&|row| decimal(row.mean, 1))),
        column(
            "95 % interval",
            Side::Left,
            cells(&|row| format!("{} – {}", decimal(row.low, 1), decimal(row.high, 1))),
        ),
        column("", Side::Left, cells(&|row| row.letters.clone())),
    ]);
}

fn not_tested(text: &mut Text, described: &Described) {
    text.indented(&visible(&described.why));
    let cells = |of: &dyn Fn(&crate::compare::DescribedLevel) -> String| {
        described.levels.iter().map(of).collect()
    };
    text.table(&[
        column("level", Side::Left, cells(&|row| visible(&row.level))),
        column("greens", Side::Right, cells(&|row| row.greens.to_string())),
        column("mean", Side::Right, cells(&|row| decimal(row.mean, 1))),
        column(
            "range",
            Side::Left,
            cells(&|row| match (row.low, row.high) {
                (Some(low), Some(high)) => format!("{} – {}", decimal(low, 1), decimal(high, 1)),
                (Some(low), None) => format!("{} or more", decimal(low, 1)),
                _ => "–".to_owned(),
            }),
        ),
    ]);
    if let Some(ranks) = &described.rank_test {
        text.indented(&format!(
            "By ranks, with greens that never get there last: {}.",
            ranked(ranks)
        ));
    }
    text.indented("The range is the 95 % interval of the one green's own curve, or the lowest and highest of several greens.");
}

fn curves(text: &mut Text, comparison: &Comparison) {
    text.line("Curves");
    match &comparison.curves {
        Some(curves) => {
            for test in &curves.tests {
                text.indented(&curves_sentence(comparison, curves, test));
            }
            if let Some(why) = &curves.untested {
                text.indented(&visible(why));
            }
            for level in &curves.levels {
                text.indented(&format!(
                    "{}: half cover at day {}, {} a day ({} greens)",
                    visible(&level.level),
                    decimal(level.midpoint, 1),
                    format_args!("{:.4}", level.rate),
                    level.greens
                ));
            }
        }
        None => text.indented("Fewer than two levels have a curve yet."),
    }
    if let Some(repeated) = &comparison.repeated_visits {
        for term in &repeated.terms {
            let words = match comparison.call_of(&term.test.source, term.test.p) {
                Call::Different => "changes how cover runs over time",
                Call::Hint => "may change how cover runs over time; no more than a hint",
                Call::NotShown => "is not shown to change how cover runs over time",
            };
            text.indented(&format!(
                "Visit by visit, {} {words} (repeated measures on {} shared days; {}).",
                visible(&term.test.source),
                repeated.days.len(),
                f_words(&term.test)
            ));
        }
    }
}

/// `F 5.20 on 4 and 10, p 0.016`.
fn f_words(test: &ProfileTest) -> String {
    format!(
        "F {} on {} and {}, {}",
        decimal(test.f, 2),
        decimal(test.numerator_df, 0),
        decimal(test.denominator_df, 0),
        chance(test.p)
    )
}

fn curves_sentence(comparison: &Comparison, curves: &CurvesCompared, test: &ProfileTest) -> String {
    let source = visible(&test.source);
    let statistics = f_words(test);
    match (curves.against, comparison.call_of(&test.source, test.p)) {
        (CurveError::Greens, Call::Different) => format!(
            "By {source} the greens grow along curves of their own (midpoint and rate together, between {}; {statistics}).",
            test.between
        ),
        (CurveError::Greens, Call::Hint) => format!(
            "By {source} the curves may differ; no more than a hint (midpoint and rate together, between {}; {statistics}).",
            test.between
        ),
        (CurveError::Greens, Call::NotShown) => format!(
            "By {source} one curve serves all levels as well as one for each (midpoint and rate together, between {}; {statistics}).",
            test.between
        ),
        (CurveError::Visits, _) if test.p <= comparison.alpha => format!(
            "The greens grow along curves of their own; with one green a level this tells that the greens differ, not why (extra sum of squares between visits; {statistics})."
        ),
        (CurveError::Visits, _) => format!(
            "One curve serves all these greens (extra sum of squares between visits; {statistics})."
        ),
    }
}

fn rates(text: &mut Text, rate: &RateResponse) {
    text.line("Sprig rate");
    let unit = rate.unit;
    let shown = |value: f64| thousands(value.round());
    let (first, last) = (rate.tested[0], rate.tested[rate.tested.len() - 1]);
    text.indented(&format!(
        "Doubling the rate changes days to full cover by {} (95 % interval {} to {}; {}), among the tested rates of {} to {} {unit}.",
        decimal(rate.doubling.estimate, 1),
        decimal(rate.doubling.low, 1),
        decimal(rate.doubling.high, 1),
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
                crate::compare::Interval {
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

fn costs(text: &mut Text, money: &CostOfDelay, unit: &str) {
    let amount = |value: f64| {
        let sign = if value < -0.5 { "−" } else { "" };
        format!(
            "{sign}{}{}",
            visible(&money.currency),
            thousands(value.abs().round())
        )
    };
    text.line("Money");
    let best = thousands(money.best_tested.round());
    text.indented(&format!(
        "Of the tested rates, {best} {unit} costs least when a day closed is worth {}, sprigs and days taken together.",
        amount(money.day_closed)
    ));
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

/// To a hundredth, 0.625 as 0.63 whichever side of it the machine's fractions lie.
fn nutrient(amount: f64) -> String {
    decimal(amount + 1e-9, 2)
}

/// Greens that were given the same, in their order.
fn alike(greens: &[GreenInputs]) -> Vec<(String, &GreenInputs)> {
    let mut groups: Vec<Vec<&GreenInputs>> = Vec::new();
    for green in greens {
        let same = |group: &&mut Vec<&GreenInputs>| {
            GreenInputs {
                green: group[0].green.clone(),
                ..green.clone()
            } == *group[0]
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(green),
            None => groups.push(vec![green]),
        }
    }
    let n_groups = groups.len();
    let name = |group: &Vec<&GreenInputs>| match group.as_slice() {
        all if n_groups == 1 && all.len() > 1 => format!("all {} greens", all.len()),
        [one, two, rest @ ..] if rest.len() > 1 => {
            format!("{}, {} and {} more", one.green, two.green, rest.len())
        }
        some => {
            let ids: Vec<String> = some.iter().map(|green| green.green.to_string()).collect();
            ids.join(", ")
        }
    };
    groups
        .iter()
        .map(|group| (visible(&name(group)), group[0]))
        .collect()
}

fn given(text: &mut Text, inputs: &Inputs, units: DisplayUnits) {
    let (unit, one) = nutrient_unit(units);
    text.line(&format!("What the log put on ({unit}; water in mm)"));
    let greens = alike(&inputs.greens);
    let cells =
        |of: &dyn Fn(&GreenInputs) -> String| greens.iter().map(|(_, row)| of(row)).collect();
    let millimetres = |value: Option<f64>| value.map_or("–".to_owned(), |mm| decimal(mm, 0));
    text.table(&[
        column(
            "green",
            Side::Left,
            greens.iter().map(|(names, _)| names.clone()).collect(),
        ),
        column(
            "N",
            Side::Right,
            cells(&|row| nutrient(row.nutrients.n_g_m2 * one)),
        ),
        column(
            "P2O5",
            Side::Right,
            cells(&|row| nutrient(row.nutrients.p2o5_g_m2 * one)),
        ),
        column(
            "K2O",
            Side::Right,
            cells(&|row| nutrient(row.nutrients.k2o_g_m2 * one)),
        ),
        column(
            "irrigation",
            Side::Right,
            cells(&|row| millimetres(row.irrigation_mm)),
        ),
        column("rain", Side::Right, cells(&|row| millimetres(row.rain_mm))),
        column(
            "evapotranspiration",
            Side::Right,
            cells(&|row| millimetres(row.evapotranspiration_mm)),
        ),
        column(
            "irrigation / evapotranspiration",
            Side::Right,
            cells(
                &|row| match (row.irrigation_mm, row.evapotranspiration_mm) {
                    (Some(water), Some(et)) if et > 0.0 => {
                        format!("{} %", decimal(100.0 * water / et, 0))
                    }
                    _ => "–".to_owned(),
                },
            ),
        ),
    ]);
    if let Some(by) = inputs.evapotranspiration_by {
        text.indented(&format!("Reference evapotranspiration of grass by {by}. New sprigs are often given 150 % of it (common practice)."));
    }
    if inputs.names_products {
        text.indented("The label is the law: follow it and local codes, and have licensed applicators put products on.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_sum_at_planting_is_shown_as_it_is_quoted() {
        // 0.63 lb N, 0.58 lb P2O5 and 0.25 lb K2O per 1,000 ft² (common practice).
        assert_eq!(
            [0.625, 0.583_33, 0.25].map(nutrient),
            ["0.63", "0.58", "0.25"]
        );
    }
}
