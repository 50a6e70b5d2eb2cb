//! Cover by green and date as a table: `green,date,cover_percent[,photos][,sd_percent]`.

use std::collections::BTreeMap;

use jiff::civil::Date;
use thiserror::Error;

use super::{CoverPoint, Visits};
use crate::course::{Course, Cover, GreenId};

/// What a table of cover held.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CoverCsv {
    /// Cover by green, in order of date.
    pub visits: Visits,
    /// What was left out and why, a sentence each.
    pub warnings: Vec<String>,
}

/// What is wrong with a table of cover. Lines are counted from 1, the heading being line 1.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CoverCsvError {
    /// There is no such column.
    #[error(
        "line 1: there is no column `{column}`; the first line must be green,date,cover_percent and may go \
         on with photos,sd_percent"
    )]
    NoColumn {
        /// The column that is missing.
        column: &'static str,
    },
    /// The table cannot be taken apart.
    #[error("line {line}: {what}; each line must have as many fields as the first")]
    NotCsv {
        /// Where.
        line: u64,
        /// What the reader says.
        what: String,
    },
    /// The course has no such green.
    #[error("line {line}: the course has no green `{green}`; its greens are {known}")]
    UnknownGreen {
        /// Where.
        line: u64,
        /// As written.
        green: String,
        /// Ids of the course.
        known: String,
    },
    /// A field does not hold what it should.
    #[error("line {line}: {column} is `{found}`; write {expected}")]
    Field {
        /// Where.
        line: u64,
        /// The column.
        column: &'static str,
        /// As written.
        found: String,
        /// What to write.
        expected: &'static str,
    },
    /// A green has two covers on one date.
    #[error("line {line}: {green} on {date} is already on line {earlier}; keep one of the two")]
    Twice {
        /// Where.
        line: u64,
        /// The green.
        green: GreenId,
        /// The date.
        date: Date,
        /// The first of the two.
        earlier: u64,
    },
    /// A heading and nothing below it, or nothing at all.
    #[error(
        "there is no cover in the table; write a line green,date,cover_percent for each green and visit"
    )]
    Empty,
}

/// Reads a table of cover measured elsewhere.
///
/// `cover_percent` is from 0 to 100, dates are as in 2027-06-20; `photos` and `sd_percent` may be absent or
/// empty; other columns are passed over. Cover before a green's planting date is left out with a warning.
///
/// # Errors
///
/// [`CoverCsvError`] at the first line that cannot be used as it stands.
pub fn read_cover_csv(text: &str, course: &Course) -> Result<CoverCsv, CoverCsvError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let columns = Columns::find(reader.headers().map_err(not_csv)?)?;
    let mut seen: BTreeMap<(GreenId, Date), u64> = BTreeMap::new();
    let mut table = CoverCsv::default();
    for record in reader.records() {
        let record = record.map_err(not_csv)?;
        let line = record.position().map_or(0, csv::Position::line);
        let row = columns.row(&record, line, course)?;
        if let Some(&earlier) = seen.get(&(row.green.id.clone(), row.point.date)) {
            return Err(CoverCsvError::Twice {
                line,
                green: row.green.id.clone(),
                date: row.point.date,
                earlier,
            });
        }
        seen.insert((row.green.id.clone(), row.point.date), line);
        if row.point.date < row.green.planted {
            table.warnings.push(format!(
                "line {line}: {} was planted on {}, so its cover on {} is left out",
                row.green.id, row.green.planted, row.point.date
            ));
            continue;
        }
        table
            .visits
            .entry(row.green.id.clone())
            .or_default()
            .push(row.point);
    }
    if seen.is_empty() {
        return Err(CoverCsvError::Empty);
    }
    for points in table.visits.values_mut() {
        points.sort_by_key(|point| point.date);
    }
    Ok(table)
}

/// Writes a table of cover, by green and date, every column present.
pub fn write_cover_csv(visits: &Visits) -> String {
    let mut text = String::from("green,date,cover_percent,photos,sd_percent\n");
    for (green, points) in visits {
        for point in points {
            let photos = point.n_photos.map_or(String::new(), |n| n.to_string());
            let sd = point
                .sd
                .map_or(String::new(), |sd| format!("{:.3}", 100.0 * sd));
            text.push_str(&format!(
                "{},{},{:.3},{photos},{sd}\n",
                quoted(green.as_str()),
                point.date,
                point.cover.percent()
            ));
        }
    }
    text
}

/// A field quoted where RFC 4180 asks for it.
fn quoted(field: &str) -> String {
    if field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

fn not_csv(error: csv::Error) -> CoverCsvError {
    let line = error.position().map_or(1, csv::Position::line);
    let what = match error.kind() {
        csv::ErrorKind::UnequalLengths {
            expected_len, len, ..
        } => format!("{len} fields where the first line has {expected_len}"),
        csv::ErrorKind::Utf8 { .. } => "the text is not UTF-8".to_owned(),
        _ => error.to_string(),
    };
    CoverCsvError::NotCsv { line, what }
}

struct Columns {
    green: usize,
    date: usize,
    cover: usize,
    photos: Option<usize>,
    sd: Option<usize>,
}

struct Row<'a> {
    green: &'a crate::course::Green,
    point: CoverPoint,
}

impl Columns {
    fn find(headings: &csv::StringRecord) -> Result<Columns, CoverCsvError> {
        let place = |name: &str| {
            headings
                .iter()
                .position(|heading| heading.eq_ignore_ascii_case(name))
        };
        let needed = |column| place(column).ok_or(CoverCsvError::NoColumn { column });
        Ok(Columns {
            green: needed("green")?,
            date: needed("date")?,
            cover: needed("cover_percent")?,
            photos: place("photos"),
            sd: place("sd_percent"),
        })
    }

    fn row<'a>(
        &self,
        record: &csv::StringRecord,
        line: u64,
        course: &'a Course,
    ) -> Result<Row<'a>, CoverCsvError> {
        let field = |place: usize| record.get(place).unwrap_or_default();
        let wrong = |column, found: &str, expected| CoverCsvError::Field {
            line,
            column,
            found: found.to_owned(),
            expected,
        };
        let written = field(self.green);
        let green = course
            .greens
            .iter()
            .find(|green| green.id.matches(written))
            .ok_or_else(|| CoverCsvError::UnknownGreen {
                line,
                green: written.to_owned(),
                known: course
                    .greens
                    .iter()
                    .map(|green| green.id.as_str())
                    .collect::<Vec<_>>()
                    .join(", "),
            })?;
        let written = field(self.date);
        let date = written
            .parse()
            .map_err(|_| wrong("date", written, "a date such as 2027-06-20"))?;
        let written = field(self.cover);
        let cover = written
            .parse()
            .ok()
            .and_then(Cover::from_percent)
            .ok_or_else(|| wrong("cover_percent", written, "a number from 0 to 100"))?;
        let written = self.photos.map_or("", field);
        let n_photos = match written {
            "" => None,
            _ => Some(
                written
                    .parse()
                    .ok()
                    .filter(|&n: &u32| n > 0)
                    .ok_or_else(|| {
                        wrong("photos", written, "a whole number of 1 or more, or nothing")
                    })?,
            ),
        };
        let written = self.sd.map_or("", field);
        let sd = match written {
            "" => None,
            _ => Some(
                written
                    .parse()
                    .ok()
                    .filter(|sd: &f64| (0.0..=100.0).contains(sd))
                    .ok_or_else(|| {
                        wrong("sd_percent", written, "a number from 0 to 100, or nothing")
                    })?
                    / 100.0,
            ),
        };
        Ok(Row {
            green,
            point: CoverPoint {
                date,
                cover,
                n_photos,
                sd,
            },
        })
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::forecast::testing::{course, green};

    fn read(text: &str) -> Result<CoverCsv, CoverCsvError> {
        read_cover_csv(
            text,
            &course(vec![
                green("G07", date(2027, 5, 18)),
                green("G08", date(2027, 5, 20)),
            ]),
        )
    }

    fn message(text: &str) -> String {
        read(text).expect_err("this table is faulty").to_string()
    }

    #[test]
    fn table_with_and_without_the_optional_columns_is_read() {
        let short =
            read("green,date,cover_percent\nG07,2027-06-01,12.5\ng07,2027-05-25,4\n").unwrap();
        let points = &short.visits[&GreenId::new("G07").unwrap()];
        assert_eq!(points[0].date, date(2027, 5, 25));
        assert_eq!(points[1].cover.percent(), 12.5);
        assert_eq!(points[0].n_photos, None);
        let long = read(
            "\u{feff}green, date, cover_percent, photos, sd_percent\r\nG07, 2027-06-01, 12.5, 6, 3.1\r\n",
        )
        .unwrap();
        let point = long.visits[&GreenId::new("G07").unwrap()][0];
        assert_eq!(point.n_photos, Some(6));
        assert!((point.sd.unwrap() - 0.031).abs() < 1e-12);
    }

    #[test]
    fn written_table_reads_back_the_same() {
        let text = "green,date,cover_percent,photos,sd_percent\nG07,2027-06-01,12.500,6,3.100\n\
                    G08,2027-06-01,9.250,,\n";
        assert_eq!(write_cover_csv(&read(text).unwrap().visits), text);
    }

    #[test]
    fn each_fault_is_named_with_its_line() {
        let head = "green,date,cover_percent\n";
        assert_eq!(
            message(&format!("{head}G07,2027-06-01,9\nG09,2027-06-01,12\n")),
            "line 3: the course has no green `G09`; its greens are G07, G08"
        );
        assert_eq!(
            message(&format!("{head}G07,2027-06-01,103.2\n")),
            "line 2: cover_percent is `103.2`; write a number from 0 to 100"
        );
        assert_eq!(
            message(&format!("{head}G07,2027-06-01,NaN\n")),
            "line 2: cover_percent is `NaN`; write a number from 0 to 100"
        );
        assert_eq!(
            message(&format!("{head}G07,6/1/2027,9\n")),
            "line 2: date is `6/1/2027`; write a date such as 2027-06-20"
        );
        assert_eq!(
            message(&format!("{head}G07,2027-06-01,9\nG07,2027-06-01,11\n")),
            "line 3: G07 on 2027-06-01 is already on line 2; keep one of the two"
        );
        assert!(message("green,date\nG07,2027-06-01\n").contains("no column `cover_percent`"));
        assert!(message(&format!("{head}G07,2027-06-01\n")).starts_with("line 2: 2 fields where"));
        assert!(message(head).starts_with("there is no cover"));
        assert!(message("").contains("no column `green`"));
    }

    #[test]
    fn cover_before_planting_is_left_out_with_a_warning() {
        let table = read("green,date,cover_percent\nG08,2027-05-18,1\nG08,2027-06-01,9\n").unwrap();
        assert_eq!(table.visits[&GreenId::new("G08").unwrap()].len(), 1);
        assert!(
            table.warnings[0].contains("planted on 2027-05-20"),
            "{:?}",
            table.warnings
        );
    }
}
