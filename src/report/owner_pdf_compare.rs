//! What made a difference, in a few sentences of the owner's report on paper.

use super::ReportData;
use super::compare_lead::{capital, cheapest, early_sentence, rate_sentence};
use super::compare_verdict::{ranked_verdict, verdict};
use super::compare_words::in_words;
use super::format::count;
use super::owner_pdf_parts::{MARGIN, heading, words};
use super::pdf::{Sheet, Weight};
use crate::compare::{Call, Outcome};

const SIZE: f64 = 9.5;
const LEADING: f64 = 13.0;
const UNDER_HEADING: f64 = 16.0;
const GAP: f64 = 20.0;
/// More is for the page.
const MOST: usize = 4;

/// The answers of the comparisons that were tested; those that were only described stay on the page.
pub(super) fn answers(data: &ReportData) -> Vec<String> {
    let mut told = Vec::new();
    for comparison in &data.comparisons {
        let answer = &comparison.answers[0];
        if let Some(early) = early_sentence(comparison) {
            told.push(early);
            continue;
        }
        let tested = match &answer.outcome {
            Outcome::Tested(tested) => tested,
            Outcome::Described(described) => {
                let by_ranks = ranked_verdict(comparison, answer, described);
                told.extend(by_ranks.map(|told| capital(&told)));
                continue;
            }
        };
        // What factors do together is for the page.
        let alone = tested
            .means
            .iter()
            .filter(|table| table.within.is_none() && !table.of.contains(" × "));
        let verdicts = alone.map(|table| match comparison.call(answer, table) {
            // An interval that spans months tells an owner nothing.
            Call::NotShown => format!(
                "No difference by {} is shown by these {}.",
                in_words(&table.of),
                count(comparison.greens, "green", "greens")
            ),
            _ => capital(&verdict(comparison, answer, table)),
        });
        told.extend(verdicts);
        told.extend(rate_sentence(comparison));
        told.extend(cheapest(comparison));
    }
    told.truncate(MOST);
    told
}

/// Room that the answers take.
pub(super) fn height(sheet: &Sheet<'_>, answers: &[String]) -> f64 {
    if answers.is_empty() {
        return 0.0;
    }
    let n_lines: usize = answers
        .iter()
        .map(|answer| lines(sheet, answer).len())
        .sum();
    UNDER_HEADING + LEADING * n_lines as f64 + 3.0 * answers.len() as f64 + GAP
}

/// Writes them where all have room above `end`; gives where the next part begins.
pub(super) fn compared(sheet: &mut Sheet<'_>, top: f64, end: f64, answers: &[String]) -> f64 {
    let needed = height(sheet, answers);
    if answers.is_empty() || top + needed - GAP > end {
        return top;
    }
    heading(sheet, top, "What made a difference");
    let mut y = top + UNDER_HEADING;
    for answer in answers {
        for line in lines(sheet, answer) {
            sheet.words((MARGIN, y), words(Weight::Regular, SIZE, "ink"), &line);
            y += LEADING;
        }
        y += 3.0;
    }
    y + GAP - LEADING + 3.0
}

fn lines(sheet: &Sheet<'_>, text: &str) -> Vec<String> {
    let width = sheet.width - 2.0 * MARGIN;
    sheet.faces.lines(Weight::Regular, SIZE, width, text)
}
