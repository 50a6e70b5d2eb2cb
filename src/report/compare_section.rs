//! The part of the page on what made a difference.

use super::compare_charts::means_chart;
use super::compare_lead::{
    capital, cheapest, early_sentence, how_far_seen, is_told_first, rate_sentence, told_first,
};
use super::compare_statistics::{ranked, statistics, under_means};
use super::compare_verdict::{ranked_verdict, verdict};
use super::compare_words::{deciding, decimal, heading, in_words, level_name, level_of};
use super::owner_words::for_the_owner;
use super::{Dress, Room};
use crate::compare::{Comparison, MeansTable, Outcome};
use crate::course::DateStyle;

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
    /// What its letters mean, and how sure the means are; empty where nothing was tested.
    pub(crate) under: String,
}

impl CompareTable {
    /// Whether means were parted by letters; they are not where nothing was tested.
    pub(crate) fn has_letters(&self) -> bool {
        self.rows.iter().any(|row| !row.letters.is_empty())
    }
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
        let caption = heading(comparison, answer);
        let chart = |room| means_chart(comparison, place, room, Dress::Page);
        let (mut lead, tables, mut statistics) = match &answer.outcome {
            Outcome::Tested(tested) => {
                let lead = tested
                    .means
                    .iter()
                    .map(|table| capital(&verdict(comparison, answer, table)));
                let mut fine = vec![deciding(comparison)];
                fine.extend(statistics(tested));
                fine.extend(owners(tested.notes.iter()));
                let tables = tested.means.iter().map(|table| CompareTable {
                    under: under_means(table, tested, comparison.alpha),
                    ..CompareTable::of(table, &caption, comparison.dates)
                });
                (lead.collect(), tables.collect(), fine)
            }
            Outcome::Described(described) => {
                let rows = described.levels.iter().map(|level| CompareRow {
                    level: level_of(comparison, &level.level),
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
                    under: String::new(),
                };
                let ranks = described.rank_test.iter().map(|ranks| {
                    format!(
                        "By ranks, with greens that never get there last: {}.",
                        ranked(ranks)
                    )
                });
                (
                    vec![in_words(&described.why.to_string())],
                    vec![table],
                    ranks.collect::<Vec<String>>(),
                )
            }
        };
        if let Outcome::Described(described) = &answer.outcome
            && let Some(told) = ranked_verdict(comparison, answer, described)
        {
            lead = vec![capital(&told)];
        }
        if let Some(early) = early_sentence(comparison) {
            lead = vec![early];
        }
        lead.extend(how_far_seen(comparison));
        lead.extend(told_first(comparison));
        lead.extend(rate_sentence(comparison));
        lead.extend(cheapest(comparison));
        let notes = comparison.notes.iter().filter(|note| !is_told_first(note));
        statistics.extend(owners(notes));
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
    fn of(table: &MeansTable, caption: &str, dates: DateStyle) -> CompareTable {
        let within = table.within.as_ref().map(|within| in_words(within));
        CompareTable {
            caption: within.map_or(caption.to_owned(), |within| {
                format!("{caption}, with {within}")
            }),
            of: in_words(&table.of),
            interval: "95% interval",
            rows: table
                .means
                .iter()
                .map(|mean| CompareRow {
                    level: level_name(&table.of, &mean.level, dates),
                    greens: mean.units,
                    mean: decimal(mean.mean, 1),
                    interval: format!("{} – {}", decimal(mean.low, 1), decimal(mean.high, 1)),
                    letters: mean.letters.clone(),
                })
                .collect(),
            under: String::new(),
        }
    }
}

/// Notes as the owner reads them.
fn owners<'n>(notes: impl Iterator<Item = &'n String>) -> impl Iterator<Item = String> {
    notes.filter_map(|note| Some(in_words(&for_the_owner(note)?)))
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::path::{Path, PathBuf};

    use jiff::civil::date;

    use super::*;
    use crate::compare::Call;
    use crate::compare::{Question, Record};
    use crate::course::Course;
    use crate::forecast::read_cover_csv;
    use crate::forecast::testing::{course, green, weekly};
    use crate::report::example::{season, season_of};
    use crate::report::owner_pdf_compare;
    use crate::report::pdf::other_programs;
    use crate::report::{report_page, report_pdf};

    /// Three greens each of two levels, the second about eight days later.
    fn compared(levels: [&str; 2]) -> Comparison {
        compared_after(12, levels)
    }

    fn compared_after(weeks: u32, levels: [&str; 2]) -> Comparison {
        let planted = date(2027, 5, 18);
        let greens = (0..6).map(|idx| {
            let mut green = green(&format!("G{idx}"), planted);
            green
                .factors
                .insert("mowing_height".to_owned(), levels[idx % 2].to_owned());
            green
        });
        let course = course(greens.collect());
        let visits = course.greens.iter().enumerate().map(|(idx, green)| {
            let middle = 30.0 + 8.0 * (idx % 2) as f64 + (2.3 * idx as f64).sin();
            let percent: Vec<f64> = (1..=weeks)
                .map(|week| 100.0 / (1.0 + (-0.12 * (7.0 * f64::from(week) - middle)).exp()))
                .collect();
            (green.id.clone(), weekly(planted, &percent))
        });
        Comparison::of(&course, &visits.collect(), &question(), &Record::default()).unwrap()
    }

    fn question() -> Question {
        Question::usual(vec!["mowing_height".to_owned()])
    }

    #[test]
    fn the_sentence_comes_before_the_picture_and_the_statistics_last() {
        let mut data = season();
        data.comparisons = vec![compared(["high", "low"])];
        let page = report_page(&data).unwrap();
        let place = |words: &str| {
            page.find(words)
                .unwrap_or_else(|| panic!("no `{words}` in the page"))
        };
        let sentence =
            place("Mowing height makes a difference: high mowing height reached full cover");
        assert!(sentence < place("means-0w-t"));
        assert!(place("means-0n-t") < place("The statistics behind it"));
        assert!(place("The statistics behind it") < place("Shapiro"));
        assert!(place("href=\"#compared\"") > 0);
    }

    #[test]
    fn page_and_paper_say_in_the_same_words_that_it_is_too_early() {
        let mut data = season();
        data.comparisons = vec![compared_after(4, ["high", "low"])];
        let told = owner_pdf_compare::answers(&data);
        let [told] = told.as_slice() else {
            panic!("{told:?}");
        };
        assert!(
            told.starts_with(
                "Mowing height: too early to tell, since 0 of 6 greens have 48% cover"
            ),
            "{told}"
        );
        let page = report_page(&data).unwrap();
        assert!(page.contains(told.as_str()), "{told}");
        assert!(!page.contains("makes a difference: "), "nothing is called");
    }

    /// The trial under `tests/data`.
    fn of_trial(by: &[&str]) -> Comparison {
        let season = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/sprig-trial");
        let course = Course::read(&season).unwrap();
        let cover = fs::read_to_string(season.join("cover.csv")).unwrap();
        let visits = read_cover_csv(&cover, &course).unwrap().visits;
        let question = Question::usual(by.iter().map(|name| (*name).to_owned()).collect());
        Comparison::of(&course, &visits, &question, &Record::default()).unwrap()
    }

    #[test]
    fn the_owners_paper_tells_the_answer_and_what_it_is_worth() {
        let mut data = season();
        data.comparisons = vec![of_trial(&["sprig_rate", "topdressing"])];
        let Some(text) = other_programs::text(&report_pdf(&data), true) else {
            return;
        };
        let text = text.replace('\u{a0}', " ");
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for words in [
            "What made a difference",
            "Sprig rate makes a difference: 1,800 bu/ac reached full cover",
            "another 100 bu/ac buy",
            "costs least of the rates tried",
        ] {
            assert!(text.contains(words), "no `{words}` in {text}");
        }
        assert_eq!(text.matches(" of 2").count(), 2, "two pages");
    }

    #[test]
    fn an_owner_reads_no_interval_that_tells_nothing() {
        let mut data = season();
        data.comparisons = vec![of_trial(&["topdressing"])];
        let told = owner_pdf_compare::answers(&data).join(" ");
        assert!(!told.contains("would fit"), "{told}");
        let call = data.comparisons[0].answers[0].clone();
        let Outcome::Tested(tested) = &call.outcome else {
            panic!("a trial of 24 plots is tested");
        };
        let is_shown = data.comparisons[0].call(&call, &tested.means[0]) != Call::NotShown;
        assert!(
            is_shown || told.contains("No difference by topdressing is shown by these 24 greens"),
            "{told}"
        );
    }

    #[test]
    #[ignore = "writes pages to look at into the folder named by SPRIGCAST_LOOK"]
    fn comparisons_to_look_at() {
        let folder = PathBuf::from(std::env::var_os("SPRIGCAST_LOOK").unwrap());
        let long = "topdressed every other week with washed sand of the nursery ".repeat(3);
        let seasons = [
            ("trial", season(), of_trial(&["sprig_rate", "topdressing"])),
            (
                "long",
                season_of(4, 9),
                compared([long.as_str(), "a, \"b\" & <i>c</i>"]),
            ),
            ("many", season_of(18, 16), of_trial(&["topdressing"])),
            ("forty", season_of(40, 30), of_trial(&["sprig_rate"])),
        ];
        for (name, mut data, comparison) in seasons {
            data.comparisons = vec![comparison];
            let page = report_page(&data).unwrap();
            fs::write(folder.join(format!("compare-{name}.html")), page).unwrap();
            let paper = report_pdf(&data);
            fs::write(folder.join(format!("compare-{name}.pdf")), paper).unwrap();
        }
    }

    #[test]
    fn nothing_is_told_where_there_is_nothing_to_compare() {
        let page = report_page(&season()).unwrap();
        assert!(!page.contains("What made a difference"));
    }

    #[test]
    fn levels_with_marks_of_html_are_shown_as_text() {
        let mut data = season();
        data.comparisons = vec![compared(["<script>x</script>", "b\" & 'c'"])];
        let page = report_page(&data).unwrap();
        assert!(!page.contains("<script>x"), "as markup");
        assert!(page.contains("&#60;script&#62;") || page.contains("&lt;script&gt;"));
    }
}
