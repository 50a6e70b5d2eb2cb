//! The files of results: those of now, and beside them those of past days.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::failure::Failure;
use super::season;
use crate::course::{Course, ResultFile, ResultFolder};
use crate::files::write_whole;
use crate::forecast::ForecastDocument;
use crate::ledger::Ledger;
use crate::pipeline::Season;
use crate::report::{self, Marks, ReportData};

/// Where the results of a season go, and under which names.
pub(super) struct Results {
    folder: ResultFolder,
    /// A day before the last visit, where that is what is told of.
    past: Option<Date>,
}

impl Results {
    /// In `folder`, as of a day or of now. The season must still know all of its visits.
    pub(super) fn of(folder: ResultFolder, season: &Season, as_of: Option<Date>) -> Results {
        let last = season.visits().iter().map(|visit| visit.date).max();
        let past = as_of.filter(|as_of| last.is_some_and(|last| *as_of < last));
        Results { folder, past }
    }

    /// Whether they tell of now, and not of a past day.
    pub(super) fn are_of_now(&self) -> bool {
        self.past.is_none()
    }

    /// The folder they lie in.
    pub(super) fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// The name of a file; of a past day one of its own.
    pub(super) fn name(&self, file: &ResultFile) -> String {
        match self.past {
            Some(day) => file.name_of_day(day),
            None => file.name(),
        }
    }

    /// Where a file lies.
    pub(super) fn path(&self, file: &ResultFile) -> PathBuf {
        self.folder().join(self.name(file))
    }

    /// Writes the tables and the page of a season.
    pub(super) fn write(
        &self,
        course: &Course,
        season: &Season,
        data: &ReportData,
        forecast: &ForecastDocument,
    ) -> Result<(), Failure> {
        write_whole(
            &self.path(&ResultFile::COVER),
            &season::cover_table(course, season).csv(Marks::CommaPoint),
        )?;
        let mut json = serde_json::to_vec_pretty(forecast)?;
        json.push(b'\n');
        write_whole(&self.path(&ResultFile::FORECAST), &json)?;
        self.write_page(data)?;
        Ok(())
    }

    /// Writes the owner's page and gives its place.
    pub(super) fn write_page(&self, data: &ReportData) -> Result<PathBuf, Failure> {
        let page = self.path(&ResultFile::REPORT);
        write_whole(&page, report::report_page(data)?.as_bytes())?;
        Ok(page)
    }

    /// Writes the owner's pages to print and gives their place.
    pub(super) fn write_pdf(&self, data: &ReportData) -> Result<PathBuf, Failure> {
        let sheets = self.path(&ResultFile::REPORT_PDF);
        write_whole(&sheets, &report::report_pdf(data))?;
        Ok(sheets)
    }

    /// Writes the tables whose every line is what became of a photo or a station, whatever day is told of.
    pub(super) fn write_lists(
        &self,
        course: &Course,
        season: &Season,
        ledger: &Ledger,
    ) -> Result<(), Failure> {
        write_whole(
            &self.folder.file(&ResultFile::PHOTOS),
            &report::photos_table(season.photos(), season.quality()).csv(Marks::CommaPoint),
        )?;
        if course.stations.is_empty() {
            return Ok(());
        }
        write_whole(
            &self.folder.file(&ResultFile::CHANGES),
            &season::changes_table(course, season, ledger)?.csv(Marks::CommaPoint),
        )?;
        Ok(())
    }
}

/// What to say where the results that a run is about to write take the place of those of another season.
pub(super) fn replaced_season(course: &Course) -> Option<String> {
    let folder = course.results();
    let before = fs::read(folder.file(&ResultFile::FORECAST)).ok()?;
    let before: ForecastDocument = serde_json::from_slice(&before).ok()?;
    let last_planted = before.greens.iter().map(|green| green.planted).max()?;
    let first_planted = course.greens.iter().map(|green| green.planted).min()?;
    let is_replaced = before.as_of < first_planted && last_planted.year() < first_planted.year();
    is_replaced.then(|| {
        format!(
            "the results in {} are of the season planted in {} ({}) and are replaced by those of {}. A season is one folder: for a new year make one with `sprigcast new`. With the old planting dates back in course.toml `sprigcast run` makes the old results again, while their photos are there.",
            folder.path().display(),
            last_planted.year(),
            course.dates.full(before.as_of),
            first_planted.year()
        )
    })
}

/// Makes the folder of results, so that a bad place is told before anything is measured.
pub(super) fn made_folder(course: &Course) -> Result<ResultFolder, Failure> {
    let results = course.results();
    let folder = results.path();
    fs::create_dir_all(folder).map_err(|error| Failure::write(folder, error))?;
    // A file without a name, gone at once: whether results can be put here is known before anything is measured.
    tempfile::tempfile_in(folder).map_err(|error| Failure::write(folder, error.kind()))?;
    Ok(results)
}
