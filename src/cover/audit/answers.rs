//! Answers as a person saved them: from the page, or typed into a table.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::written::{TableError, excerpt, table, text_of};

/// What a person says of a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// It lies on green turf.
    Green,
    /// It does not.
    Not,
    /// Nobody could tell.
    Unsure,
}

impl Answer {
    /// From a word, letters of either case; the first letter will do.
    pub fn from_word(word: &str) -> Option<Answer> {
        match word.trim().to_lowercase().as_str() {
            "green" | "g" => Some(Answer::Green),
            "not" | "not green" | "n" => Some(Answer::Not),
            "unsure" | "u" | "?" => Some(Answer::Unsure),
            _ => None,
        }
    }

    /// The word by which it is saved.
    pub fn word(self) -> &'static str {
        match self {
            Answer::Green => "green",
            Answer::Not => "not",
            Answer::Unsure => "unsure",
        }
    }
}

/// A file of answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answers {
    /// The audit that they belong to.
    pub audit: String,
    /// By number of the point; those without an answer are not among them.
    pub given: BTreeMap<u32, Answer>,
}

/// Why a file of answers cannot be used, in a sentence that says what to do.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum AnswersError {
    /// The table lacks a column.
    #[error("the first line must name the columns audit, point and answer; `{column}` is missing")]
    NoColumn {
        /// The column.
        column: &'static str,
    },
    /// The table cannot be taken apart.
    #[error(transparent)]
    Table(#[from] TableError),
    /// The JSON is not as the page saves it.
    #[error("this is no file of answers: {detail}")]
    Json {
        /// The reader's words.
        detail: String,
    },
    /// What stands in the column of points is no number.
    #[error("line {line}: `{found}` is no number of a point")]
    NoPoint {
        /// Where.
        line: u64,
        /// What stands there.
        found: String,
    },
    /// A word that is no answer.
    #[error("{place}: `{found}` is no answer; write green, not or unsure, or leave it empty")]
    WrongWord {
        /// The line, or the point.
        place: String,
        /// What stands there.
        found: String,
    },
    /// One point with two answers.
    #[error("point {point} is answered twice, `{first}` and `{second}`; keep one of them", first = first.word(), second = second.word())]
    Twice {
        /// The point.
        point: u32,
        /// One.
        first: Answer,
        /// The other.
        second: Answer,
    },
    /// Answers to two audits in one file.
    #[error(
        "line {line} belongs to audit {second} and the lines before it to {first}; keep each audit's answers in a file of its own"
    )]
    TwoAudits {
        /// Where the second begins.
        line: u64,
        /// One.
        first: String,
        /// The other.
        second: String,
    },
    /// No line at all.
    #[error("no answers in it; judge some points first and save them")]
    Empty,
}

/// Whether a file is meant as answers and not as something else: the JSON of one, or a table with a column `answer`.
pub fn are_answers(text: &str) -> bool {
    let text = text.trim_start_matches('\u{feff}').trim_start();
    let heading = text.lines().next().unwrap_or_default();
    let is_column = |cell: &str| cell.trim().trim_matches('"').eq_ignore_ascii_case("answer");
    text.starts_with('{') || heading.split([',', ';', '\t']).any(is_column)
}

/// Reads answers: a table with the columns `audit`, `point` and `answer` among others, saved as any spreadsheet saves
/// it, or the JSON `{"audit": "…", "answers": {"1": "green"}}`.
///
/// # Errors
/// [`AnswersError`] at the first thing that cannot be right.
pub fn read_answers(file: impl AsRef<[u8]>) -> Result<Answers, AnswersError> {
    let file = file.as_ref();
    let text = text_of(file)?;
    if text.trim_start().starts_with('{') {
        from_json(&text)
    } else {
        from_table(file)
    }
}

#[derive(Deserialize)]
struct Json {
    audit: String,
    answers: BTreeMap<u32, String>,
}

fn from_json(text: &str) -> Result<Answers, AnswersError> {
    let json: Json = serde_json::from_str(text).map_err(|error| AnswersError::Json {
        detail: error.to_string(),
    })?;
    let mut given = BTreeMap::new();
    for (point, word) in json.answers {
        if !word.trim().is_empty() {
            given.insert(point, answer(&word, || format!("point {point}"))?);
        }
    }
    some(Answers {
        audit: json.audit,
        given,
    })
}

fn from_table(file: &[u8]) -> Result<Answers, AnswersError> {
    let table = table(file)?;
    let column = |name| {
        table
            .column(name)?
            .ok_or(AnswersError::NoColumn { column: name })
    };
    let [audit_at, point_at, answer_at] = [column("audit")?, column("point")?, column("answer")?];
    let mut audit: Option<&str> = None;
    let mut given = BTreeMap::new();
    for row in &table.rows {
        let row = row.fits()?;
        let line = row.line;
        let of = *audit.get_or_insert(row.at(audit_at));
        if of != row.at(audit_at) {
            return Err(AnswersError::TwoAudits {
                line,
                first: excerpt(of),
                second: excerpt(row.at(audit_at)),
            });
        }
        let point: u32 = row
            .at(point_at)
            .parse()
            .map_err(|_| AnswersError::NoPoint {
                line,
                found: excerpt(row.at(point_at)),
            })?;
        if row.at(answer_at).is_empty() {
            continue;
        }
        let second = answer(row.at(answer_at), || format!("line {line}"))?;
        match given.insert(point, second) {
            Some(first) if first != second => {
                return Err(AnswersError::Twice {
                    point,
                    first,
                    second,
                });
            }
            _ => {}
        }
    }
    some(Answers {
        audit: audit.unwrap_or_default().to_owned(),
        given,
    })
}

fn answer(word: &str, place: impl Fn() -> String) -> Result<Answer, AnswersError> {
    Answer::from_word(word).ok_or_else(|| AnswersError::WrongWord {
        place: place(),
        found: excerpt(word.trim()),
    })
}

fn some(answers: Answers) -> Result<Answers, AnswersError> {
    if answers.given.is_empty() {
        Err(AnswersError::Empty)
    } else {
        Ok(answers)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn given(text: &str) -> Vec<(u32, Answer)> {
        read_answers(text).unwrap().given.into_iter().collect()
    }

    fn refused(text: &str) -> String {
        read_answers(text).unwrap_err().to_string()
    }

    #[test]
    fn tables_are_read_as_spreadsheets_save_them() {
        let expected = [(1, Answer::Green), (3, Answer::Not), (4, Answer::Unsure)];
        for text in [
            "audit,point,answer\na1,1,green\na1,2,\na1,3,not\na1,4,unsure\n",
            "\u{feff}audit;point;photo;answer\r\na1;1;\"x, y\";GREEN\r\na1;2;;\r\na1;3;; n\r\na1;4;;?\r\n",
            "answer\tpoint\taudit\ng\t1\ta1\nNot green\t3\ta1\nu\t4\ta1\n",
            r#"{"audit": "a1", "answers": {"1": "green", "2": "", "3": "not", "4": "unsure"}}"#,
        ] {
            assert!(are_answers(text));
            assert_eq!(given(text), expected, "{text}");
            assert_eq!(read_answers(text).unwrap().audit, "a1");
        }
    }

    #[test]
    fn what_is_wrong_is_told_with_its_line_and_what_to_write() {
        let table = |rest: &str| refused(&format!("audit,point,answer\n{rest}"));
        assert_eq!(
            table("a1,1,green\na1,2,grn\n"),
            "line 3: `grn` is no answer; write green, not or unsure, or leave it empty"
        );
        assert_eq!(
            table("a1,one,green\n"),
            "line 2: `one` is no number of a point"
        );
        assert!(table("a1,1,green\nb2,2,green\n").contains("line 3 belongs to audit b2"));
        assert!(table("a1,1,green\na1,1,not\n").contains("point 1 is answered twice"));
        assert!(table("").contains("no answers"));
        assert!(refused("point,answer\n1,green\n").contains("`audit` is missing"));
        assert!(refused("{\"audit\": 3}").contains("no file of answers"));
    }

    #[test]
    fn marks_are_no_answers() {
        assert!(!are_answers("photo,x,y,green\na.jpg,1,2,yes\n"));
        assert!(!are_answers("[]") && !are_answers(""));
    }

    #[test]
    fn the_same_answer_twice_is_one_answer() {
        assert_eq!(
            given("audit,point,answer\na1,1,green\na1,1,green\n"),
            [(1, Answer::Green)]
        );
    }
}
