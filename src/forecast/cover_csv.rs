//! Cover by green and date as a table:
//! `green,date,cover_percent[,photos][,sd_percent][,se_percent][,own_error_percent]`.

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::Date;

use super::cover_error::CoverCsvError;
use super::told_error::{ToldError, shared, with_own_error};
use super::{CoverPoint, Visits};
use crate::course::{Course, Cover, Green, GreenId, green_called};
use crate::season::LONG_GAP_DAYS;
use crate::written::{DateOrder, Row as Line, Table, excerpt, is_missing, table};

/// What a table of cover held.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CoverCsv {
    /// Cover by green, in order of date.
    pub visits: Visits,
    /// What it tells of errors.
    pub told: ToldError,
    /// What was left out and why, a sentence each.
    pub warnings: Vec<String>,
}

/// Reads a table of cover measured elsewhere.
///
/// `cover_percent` is from 0 to 100; dates are as in 2027-06-20, or in another order where the dates of the table
/// settle it (`written::DateOrder`); `photos`, `sd_percent`, `se_percent` and `own_error_percent` may be absent or
/// empty. The last but one goes before the other two: it is the error of a visit's cover as whoever measured it reckons
/// it, of a mean weighted by area too, or of a green seen from above, of which photos and their scatter tell nothing. The
/// last goes before it: there `se_percent` holds what all visits share as well. Other columns are passed over. The file
/// may be saved as any spreadsheet saves it. Greens are named as [`green_called`] reads them. Lines that tell no cover
/// (empty, `NA`, `.` …) are left out with a warning. Cover before a green's planting date is left out with a warning.
///
/// # Errors
///
/// [`CoverCsvError`] at the first line that cannot be used as it stands.
pub fn read_cover_csv(file: impl AsRef<[u8]>, course: &Course) -> Result<CoverCsv, CoverCsvError> {
    let read = table(file.as_ref())?;
    let columns = Columns::find(&read)?;
    let order = DateOrder::of(read.values(columns.date));
    let dates = course.dates;
    let mut covers = Vec::new();
    let mut seen: BTreeMap<(GreenId, Date), u64> = BTreeMap::new();
    let mut table = CoverCsv::default();
    let (mut n_missing, mut first_missing) = (0, None);
    let mut apart = Vec::new();
    for record in &read.rows {
        let record = record.fits()?;
        let line = record.line;
        if is_missing(record.at(columns.cover)) {
            n_missing += 1;
            first_missing.get_or_insert(line);
            continue;
        }
        let row = columns.row(record, order, course)?;
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
        apart.extend(row.apart);
        if row.point.date < row.green.planted {
            table.warnings.push(format!(
                "line {line}: {} was planted on {}, so its cover on {} is left out",
                row.green.id,
                dates.full(row.green.planted),
                dates.full(row.point.date)
            ));
            continue;
        }
        if row.point.date
            > row
                .green
                .planted
                .saturating_add(Green::LONGEST_SEASON_YEARS.years())
        {
            table.warnings.push(format!(
                "line {line}: {} is more than {} years after {} was planted on {}, so its cover is left out; is the year right?",
                dates.full(row.point.date),
                Green::LONGEST_SEASON_YEARS,
                row.green.id,
                dates.full(row.green.planted)
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
    if let Some(line) = first_missing {
        table.warnings.push(match n_missing {
            1 => format!("line {line}: it tells no cover and is left out"),
            n => format!(
                "line {line} and {} more: they tell no cover and are left out",
                n - 1
            ),
        });
    }
    if !apart.is_empty() {
        table.told = ToldError::Apart(shared(&apart));
    }
    if look_like_fractions(&covers) {
        table.warnings.push(
            "every cover is 1 or less, which looks like fractions: write percent, such as 46.2 for 0.462"
                .to_owned(),
        );
    }
    for (green, points) in &mut table.visits {
        points.sort_by_key(|point| point.date);
        let gap = points
            .windows(2)
            .map(|pair| (pair[1].date - pair[0].date, pair))
            .find(|(gap, _)| gap.get_days() > LONG_GAP_DAYS);
        if let Some((gap, [before, after])) = gap {
            table.warnings.push(format!(
                "{green}: {} days lie between its cover on {} and on {}; are both years right?",
                gap.get_days(),
                dates.full(before.date),
                dates.full(after.date)
            ));
        }
    }
    Ok(table)
}

/// Whether these percentages are probably fractions of 1.
fn look_like_fractions(covers: &[f64]) -> bool {
    covers.iter().all(|&cover| cover <= 1.0) && covers.iter().any(|cover| cover.fract() != 0.0)
}

struct Columns {
    green: usize,
    date: usize,
    cover: usize,
    photos: Option<usize>,
    sd: Option<usize>,
    se: Option<usize>,
    own: Option<usize>,
}

struct Row<'a> {
    green: &'a crate::course::Green,
    point: CoverPoint,
    /// Cover, whole error and the visit's own, where both are told.
    apart: Option<(Cover, f64, f64)>,
}

impl Columns {
    fn find(table: &Table) -> Result<Columns, CoverCsvError> {
        let place = |column| table.column(column);
        let needed = |column| place(column)?.ok_or(CoverCsvError::NoColumn { column });
        Ok(Columns {
            green: needed("green")?,
            date: needed("date")?,
            cover: needed("cover_percent")?,
            photos: place("photos")?,
            sd: place("sd_percent")?,
            se: place("se_percent")?,
            own: place("own_error_percent")?,
        })
    }

    fn row<'a>(
        &self,
        record: &Line,
        order: DateOrder,
        course: &'a Course,
    ) -> Result<Row<'a>, CoverCsvError> {
        let line = record.line;
        let field = |place: usize| record.at(place);
        let wrong = |column, found: &str, expected: &str| CoverCsvError::Field {
            line,
            column,
            found: excerpt(found),
            expected: expected.to_owned(),
        };
        let written = field(self.green);
        let green = green_called(written, &course.greens)
            .one(&excerpt(written), &course.greens)
            .map_err(|what| CoverCsvError::UnknownGreen { line, what })?;
        let written = field(self.date);
        let read = order.read(written);
        let date = read.map_err(|advice| wrong("date", written, &advice))?;
        let written = field(self.cover);
        let cover = record
            .number(self.cover)
            .and_then(Cover::from_percent)
            .ok_or_else(|| {
                let advice = record.number_advice(self.cover, "a number from 0 to 100");
                wrong("cover_percent", written, &advice)
            })?;
        let written = self.photos.map_or("", field);
        let n_photos = match written {
            _ if is_missing(written) => None,
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
        let spread = |place: Option<usize>, column: &'static str| match place.map_or("", field) {
            written if is_missing(written) => Ok(None),
            written => record
                .number(place)
                .filter(|spread| (0.0..=100.0).contains(spread))
                .map(|spread| Some(spread / 100.0))
                .ok_or_else(|| {
                    let advice = record.number_advice(place, "a number from 0 to 100, or nothing");
                    wrong(column, written, &advice)
                }),
        };
        let whole = spread(self.se, "se_percent")?;
        let own = spread(self.own, "own_error_percent")?;
        let point = CoverPoint {
            date,
            cover,
            n_photos,
            sd: spread(self.sd, "sd_percent")?,
            sampling_error: whole,
            other_error: 0.0,
        };
        Ok(Row {
            green,
            point: own.map_or(point, |own| with_own_error(point, own)),
            apart: whole.zip(own).map(|(whole, own)| (cover, whole, own)),
        })
    }
}

#[cfg(test)]
#[path = "cover_csv_tests.rs"]
mod tests;
