//! The part of the page on what made a difference.

use super::compare_charts::means_chart;
use super::compare_words::{
    deciding, decimal, heading, in_words, letters_line, ranked, rate_sentence, statistics, verdict,
};
use super::format::visible;
use super::{Dress, Room};
use crate::compare::{Comparison, MeansTable, Outcome};

/// One comparison, in words, a picture and tables.
pub(crate) struct CompareSection {
    pub(crate) title: String,
    pub(crate) layout: String,
    pub(crate) lead: Vec<String>,
    pub(crate) chart_wide: String,
    pub(crate) chart_narrow: String,
    pub(crate) tables: Vec<CompareTable>,
    pub(crate) statistics: Vec<String>,
}

/// Means of the levels of a factor.
pub(crate) struct CompareTable {
    pub(crate) caption: String,
    pub(crate) of: String,
    pub(crate) interval: &'static str,
    pub(crate) rows: Vec<CompareRow>,
}

/// The mean of a level.
pub(crate) struct CompareRow {
    pub(crate) level: String,
    pub(crate) greens: usize,
    pub(crate) mean: String,
    pub(crate) interval: String,
    pub(crate) letters: String,
}

impl CompareSection {
    /// The `place`th comparison of the page.
    pub(crate) fn of(comparison: &Comparison, place: usize) -> CompareSection {
        let answer = &comparison.answers[0];
        let caption = heading(answer, comparison.goal_percent);
        let chart = |room| means_chart(comparison, place, room, Dress::Page);
        let (mut lead, tables, mut statistics) = match &answer.outcome {
            Outcome::Tested(tested) => {
                let lead = tested
                    .means
                    .iter()
                    .map(|table| verdict(comparison, answer, table));
                let mut fine = vec![deciding(comparison)];
                fine.extend(tested.means.first().map(letters_line));
                fine.extend(statistics(tested));
                fine.extend(tested.notes.iter().map(|note| visible(note)));
                let tables = tested
                    .means
                    .iter()
                    .map(|table| CompareTable::of(table, &caption));
                (lead.collect(), tables.collect(), fine)
            }
            Outcome::Described(described) => {
                let rows = described.levels.iter().map(|level| CompareRow {
                    level: visible(&level.level),
                    greens: level.greens,
                    mean: decimal(level.mean, 1),
                    interval: match (level.low, level.high) {
                        (Some(low), Some(high)) => {
                            format!("{} – {}", decimal(low, 1), decimal(high, 1))
                        }
                        (Some(low), None) => format!("{} or more", decimal(low, 1)),
                        _ => "–".to_owned(),
                    },
                    letters: String::new(),
                });
                let table = CompareTable {
                    caption,
                    of: in_words(&comparison.by.join(", ")),
                    interval: "Range",
                    rows: rows.collect(),
                };
                let ranks = described.rank_test.iter().map(|ranks| {
                    format!(
                        "By ranks, with greens that never get there last: {}.",
                        ranked(ranks)
                    )
                });
                (
                    vec![visible(&described.why)],
                    vec![table],
                    ranks.collect::<Vec<String>>(),
                )
            }
        };
        lead.extend(comparison.rate.as_ref().and_then(rate_sentence));
        statistics.extend(comparison.notes.iter().map(|note| visible(note)));
        CompareSection {
            title: in_words(&comparison.by.join(" and ")),
            layout: in_words(&comparison.layout),
            lead,
            chart_wide: chart(Room::Wide),
            chart_narrow: chart(Room::Narrow),
            tables,
            statistics,
        }
    }
}

impl CompareTable {
    fn of(table: &MeansTable, caption: &str) -> CompareTable {
        let within = table.within.as_ref().map(|within| in_words(within));
        CompareTable {
            caption: within.map_or(caption.to_owned(), |within| {
                format!("{caption}, with {within}")
            }),
            of: in_words(&table.of),
            interval: "95 % interval",
            rows: table
                .means
                .iter()
                .map(|mean| CompareRow {
                    level: visible(&mean.level),
                    greens: mean.units,
                    mean: decimal(mean.mean, 1),
                    interval: format!("{} – {}", decimal(mean.low, 1), decimal(mean.high, 1)),
                    letters: mean.letters.clone(),
                })
                .collect(),
        }
    }
}
