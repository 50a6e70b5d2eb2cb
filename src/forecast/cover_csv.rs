//! Cover by green and date as a table: `green,date,cover_percent[,photos][,sd_percent]`.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::cover_error::CoverCsvError;
use super::cover_text::decode;
use super::{CoverPoint, Visits};
use crate::course::{Course, Cover, GreenId, id_key};
use crate::written::{DateOrder, number, separator};

/// What a table of cover held.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CoverCsv {
    /// Cover by green, in order of date.
    pub visits: Visits,
    /// What was left out and why, a sentence each.
    pub warnings: Vec<String>,
}

/// Reads a file with a table of cover, as [`read_cover_csv`] does.
///
/// # Errors
///
/// [`CoverCsvError::NotText`] where the file is not UTF-8 text, and those of [`read_cover_csv`].
pub fn read_cover_csv_bytes(bytes: &[u8], course: &Course) -> Result<CoverCsv, CoverCsvError> {
    read_cover_csv(decode(bytes)?, course)
}

/// Reads a table of cover measured elsewhere.
///
/// `cover_percent` is from 0 to 100; dates are as in 2027-06-20, or in another order where the dates of the table
/// settle it (`written::DateOrder`); `photos` and `sd_percent` may be absent or
/// empty; other columns are passed over. Fields are parted by commas, semicolons or tabs, whichever parts the
/// first line; numbers may have a decimal comma and `%` behind them. Ids of greens are compared by
/// [`id_key`]. Cover before a green's planting date is left out with a warning.
///
/// # Errors
///
/// [`CoverCsvError`] at the first line that cannot be used as it stands.
pub fn read_cover_csv(text: &str, course: &Course) -> Result<CoverCsv, CoverCsvError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator(text))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let columns = Columns::find(reader.headers().map_err(not_csv)?)?;
    let records = reader.records().collect::<Result<Vec<_>, _>>();
    let records = records.map_err(not_csv)?;
    let order = DateOrder::of(records.iter().filter_map(|record| record.get(columns.date)));
    let mut covers = Vec::new();
    let mut seen: BTreeMap<(GreenId, Date), u64> = BTreeMap::new();
    let mut table = CoverCsv::default();
    for record in &records {
        if record.iter().all(str::is_empty) {
            continue;
        }
        let line = record.position().map_or(0, csv::Position::line);
        let row = columns.row(record, order, line, course)?;
        if let Some(&earlier) = seen.get(&(row.green.id.clone(), row.point.date)) {
            return Err(CoverCsvError::Twice {
                line,
                green: row.green.id.clone(),
                date: row.point.date,
                earlier,
            });
        }
        seen.insert((row.green.id.clone(), row.point.date), line);
        covers.push(row.point.cover.percent());
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
    if look_like_fractions(&covers) {
        table.warnings.push(
            "every cover is 1 or less, which looks like fractions: write percent, such as 46.2 for 0.462"
                .to_owned(),
        );
    }
    for points in table.visits.values_mut() {
        points.sort_by_key(|point| point.date);
    }
    Ok(table)
}

/// Whether these percentages are probably fractions of 1.
fn look_like_fractions(covers: &[f64]) -> bool {
    covers.iter().all(|&cover| cover <= 1.0) && covers.iter().any(|cover| cover.fract() != 0.0)
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
        } if len > expected_len => format!(
            "{len} fields where the first line has {expected_len} (decimal commas need `;` between fields)"
        ),
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
        let place = |column: &'static str| {
            let mut places =
                (0..headings.len()).filter(|&place| headings[place].eq_ignore_ascii_case(column));
            match (places.next(), places.next()) {
                (_, Some(_)) => Err(CoverCsvError::ColumnTwice { column }),
                (place, None) => Ok(place),
            }
        };
        let needed = |column| place(column)?.ok_or(CoverCsvError::NoColumn { column });
        Ok(Columns {
            green: needed("green")?,
            date: needed("date")?,
            cover: needed("cover_percent")?,
            photos: place("photos")?,
            sd: place("sd_percent")?,
        })
    }

    fn row<'a>(
        &self,
        record: &csv::StringRecord,
        order: DateOrder,
        line: u64,
        course: &'a Course,
    ) -> Result<Row<'a>, CoverCsvError> {
        let field = |place: usize| record.get(place).unwrap_or_default();
        let wrong = |column, found: &str, expected: &str| CoverCsvError::Field {
            line,
            column,
            found: found.to_owned(),
            expected: expected.to_owned(),
        };
        let written = field(self.green);
        let key = id_key(written);
        let green = course
            .greens
            .iter()
            .find(|green| id_key(green.id.as_str()) == key)
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
        let read = order.read(written);
        let date = read.map_err(|advice| wrong("date", written, &advice))?;
        let written = field(self.cover);
        let cover = number(written)
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
                number(written)
                    .filter(|sd| (0.0..=100.0).contains(sd))
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
                sampling_error: None,
                other_error: 0.0,
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
            "line 2: date is `6/1/2027`; write 2027-06-01 for June 1 or 2027-01-06 for January 6"
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
    fn tables_as_spreadsheets_of_other_countries_save_them_read_the_same() {
        let plain = read("green,date,cover_percent,photos,sd_percent\nG07,2027-06-01,12.5,6,3.1\n");
        for text in [
            "\u{feff}Green;Date;Cover_Percent;Photos;SD_percent\r\ng7;2027-06-01;12,5 %;6;3,1%\r\n;;;;\r\n",
            "green\tdate\tcover_percent\tphotos\tsd_percent\rG007\t2027-06-01\t12.5%\t6\t3.1\r",
            "\ngreen,date,cover_percent,photos,sd_percent\n#G7,2027-06-01,12.5,6,3.1\n",
            "green,date,cover_percent,photos,sd_percent\nG07,2027-06-01,\"12,5\",6,3.1\n",
        ] {
            assert_eq!(read(text), plain, "{text}");
            let course = course(vec![green("G07", date(2027, 5, 18))]);
            assert_eq!(read_cover_csv_bytes(text.as_bytes(), &course), plain);
        }
    }

    #[test]
    fn dates_in_another_order_are_read_where_the_table_settles_it() {
        let head = "green,date,cover_percent\n";
        let dates = |text: &str| {
            let visits = read(&format!("{head}{text}")).unwrap().visits;
            let points = visits.into_values().flatten();
            points.map(|point| point.date).collect::<Vec<_>>()
        };
        let meant = [date(2027, 6, 8), date(2027, 6, 15)];
        assert_eq!(dates("G07,6/8/2027,9\nG07,6/15/2027,14\n"), meant);
        assert_eq!(dates("G07,8/6/2027,9\nG07,15/6/2027,14\n"), meant);
        assert_eq!(dates("G07,08.06.2027,9\nG07,15.06.2027,14\n"), meant);
        assert_eq!(dates("G07,20270608,9\nG07,2027-06-15 08:10,14\n"), meant);
        // Both may be of June or not: nothing is swapped silently.
        assert_eq!(
            message(&format!("{head}G07,6/8/2027,9\nG07,7/6/2027,14\n")),
            "line 2: date is `6/8/2027`; write 2027-06-08 for June 8 or 2027-08-06 for August 6"
        );
    }

    #[test]
    fn a_column_that_is_there_twice_is_named() {
        assert_eq!(
            message("green,date,cover_percent,Date\nG07,2027-06-01,9,2027-06-02\n"),
            "line 1: there are two columns `date`; take one of them away"
        );
        let others = "green,date,cover_percent,note,note,,\nG07,2027-06-01,9,a,b,,\n";
        assert!(read(others).is_ok());
    }

    #[test]
    fn a_decimal_comma_between_commas_is_told() {
        assert!(
            message("green,date,cover_percent\nG07,2027-06-01,12,5\n")
                .contains("decimal commas need `;`")
        );
    }

    #[test]
    fn covers_that_look_like_fractions_are_warned_of() {
        let warnings = |covers: [&str; 2]| {
            let [first, second] = covers;
            let lines = format!("G07,2027-06-01,{first}\nG07,2027-06-08,{second}\n");
            read(&format!("green,date,cover_percent\n{lines}"))
                .unwrap()
                .warnings
        };
        assert!(warnings(["0.462", "1"])[0].contains("looks like fractions: write percent"));
        assert!(warnings(["0", "1"]).is_empty());
        assert!(warnings(["0.5", "1.5"]).is_empty());
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
