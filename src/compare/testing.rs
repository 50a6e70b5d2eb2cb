//! Trials made by hand for tests.

use jiff::civil::date;

use super::Question;
use crate::course::Course;
use crate::forecast::testing::{course, green};

/// Every combination of the levels of `first` and `second`, once in each of so many blocks.
pub(super) fn plots(first: &[&str], second: &[&str], n_blocks: usize) -> Course {
    let mut greens = Vec::new();
    for block in 1..=n_blocks {
        for one in first {
            for other in second {
                let id = format!("P{}", 100 * block + greens.len() % 100);
                let mut plot = green(&id, date(2027, 5, 18));
                plot.block = Some(block.to_string());
                plot.factors.insert("first".to_owned(), (*one).to_owned());
                plot.factors
                    .insert("second".to_owned(), (*other).to_owned());
                greens.push(plot);
            }
        }
    }
    course(greens)
}

/// Whether these factors make a difference, asked as the program asks where nothing else is said.
pub(super) fn question(by: &[&str]) -> Question {
    Question::usual(by.iter().map(|name| (*name).to_owned()).collect())
}
