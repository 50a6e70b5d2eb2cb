//! A comparison for a terminal: the answer first, the table, then the statistics.

use super::columns::{Column, Side, cut, lines, wrap};
use super::compare_lead::{is_told_first, lead};
use super::compare_log_text::given;
use super::compare_rate_text::{costs, rates};
use super::compare_statistics::{ranked, statistics, under_means};
use super::compare_verdict::{against_control, verdict};
use super::compare_words::{chance, deciding, decimal, heading, in_words, level_name, level_of};
use super::format::visible;
use crate::compare::{
    Answer, Call, Comparison, CurveError, CurvesCompared, Described, MeansTable, Outcome,
    ProfileTest,
};
use crate::course::{DateStyle, DisplayUnits};

/// Lines are no wider than this.
const WIDTH: usize = 92;
/// Of the name of a level in a table.
const MOST_OF_LEVEL: usize = 44;

/// A comparison as text.
pub fn comparison_text(comparison: &Comparison, course: &str, units: DisplayUnits) -> String {
    let mut text = Text::default();
    for sentence in lead(comparison, course) {
        text.paragraph(&sentence);
    }
    for answer in &comparison.answers {
        text.blank();
        answered(&mut text, answer, comparison);
    }
    text.blank();
    curves(&mut text, comparison);
    if let Some(rate) = &comparison.rate {
        text.blank();
        rates(&mut text, comparison, rate);
    }
    if let Some(money) = &comparison.money {
        text.blank();
        costs(&mut text, comparison, money);
    }
    if let Some(inputs) = &comparison.inputs {
        text.blank();
        given(&mut text, inputs, units);
    }
    text.blank();
    if matches!(comparison.answers[0].outcome, Outcome::Tested(_)) {
        text.paragraph(&deciding(comparison));
    }
    for note in comparison.notes.iter().filter(|note| !is_told_first(note)) {
        text.paragraph(&format!("Note: {}", visible(note)));
    }
    text.paragraph("Days to full and to half cover are those of each green's own curve, which gets there between two visits; a report tells a green full from the visit that first showed it.");
    text.paragraph("Greens are the replicates; photos, stations and visits of one green never are. A difference here is one of cover: it says nothing of roots or playability.");
    text.0
}

/// Lines that are being written.
#[derive(Default)]
pub(super) struct Text(String);

impl Text {
    pub(super) fn line(&mut self, line: &str) {
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

    pub(super) fn indented(&mut self, words: &str) {
        for line in wrap(words, WIDTH - 2, "") {
            self.line(&format!("  {}", line.trim_start()));
        }
    }

    pub(super) fn table(&mut self, columns: &[Column]) {
        for line in lines(columns, |_, _, cell| cell)
            .into_iter()
            .filter(|line| !line.is_empty())
        {
            self.line(&format!("    {line}"));
        }
    }
}

pub(super) fn column(heading: &str, side: Side, cells: Vec<String>) -> Column {
    Column {
        heading: [String::new(), heading.to_owned()],
        side,
        cells,
    }
}

fn answered(text: &mut Text, answer: &Answer, comparison: &Comparison) {
    text.line(&heading(comparison, answer));
    let decides = answer.kind == comparison.answers[0].kind;
    match &answer.outcome {
        Outcome::Tested(tested) => {
            for table in &tested.means {
                // What decides is told at the top.
                if !decides {
                    text.indented(&verdict(comparison, answer, table));
                }
                means(text, table, comparison.dates);
                text.indented(&under_means(table, tested, comparison.alpha));
                for pair in &table.against_control {
                    text.indented(&format!(
                        "Against the control (Dunnett): {}.",
                        against_control(answer, &table.of, pair, comparison.dates)
                    ));
                }
            }
            for line in statistics(tested) {
                text.indented(&line);
            }
            for note in &tested.notes {
                text.indented(&visible(note));
            }
        }
        Outcome::Described(described) => {
            if !decides {
                text.indented(&visible(&described.why.to_string()));
            }
            not_tested(text, described, comparison);
        }
    }
}

fn means(text: &mut Text, table: &MeansTable, dates: DateStyle) {
    let cells =
        |of: &dyn Fn(&crate::compare::LevelMean) -> String| table.means.iter().map(of).collect();
    text.table(&[
        column(
            &in_words(&table.of),
            Side::Left,
            cells(&|row| cut(&level_name(&table.of, &row.level, dates), MOST_OF_LEVEL)),
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

fn not_tested(text: &mut Text, described: &Described, comparison: &Comparison) {
    if described.levels.is_empty() {
        return;
    }
    let cells = |of: &dyn Fn(&crate::compare::DescribedLevel) -> String| {
        described.levels.iter().map(of).collect()
    };
    text.table(&[
        column(
            "level",
            Side::Left,
            cells(&|row| cut(&level_of(comparison, &row.level), MOST_OF_LEVEL)),
        ),
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
                text.indented(&visible(&why.to_string()));
            }
            for level in &curves.levels {
                let last = level.points.iter().map(|point| point.0).fold(0.0, f64::max);
                let half = if level.midpoint > 2.0 * last {
                    "half cover is not in sight".to_owned()
                } else {
                    format!("half cover at day {}", decimal(level.midpoint, 1))
                };
                text.indented(&format!(
                    "{}: {half}, {} a day ({} greens)",
                    level_of(comparison, &level.level),
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
                "Visit by visit, {} {words} (repeated measures on {} shared days by one leading contrast, Läuter, Glimm & Kropf 1998; {}).",
                in_words(&term.test.source),
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
    let source = in_words(&test.source);
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
