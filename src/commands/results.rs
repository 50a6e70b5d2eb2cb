//! The files of results: those of now, and beside them those of past days.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::failure::Failure;
use super::season;
use crate::course::Course;
use crate::files::write_whole;
use crate::forecast::ForecastDocument;
use crate::ledger::Ledger;
use crate::pipeline::Season;
use crate::report::{self, Marks, ReportData};

/// Where the results of a season go, and under which names.
pub(super) struct Results {
    folder: PathBuf,
    /// A day before the last visit, where that is what is told of.
    past: Option<Date>,
}

impl Results {
    /// In `folder`, as of a day or of now. The season must still know all of its visits.
    pub(super) fn of(folder: PathBuf, season: &Season, as_of: Option<Date>) -> Results {
        let last = season.visits.iter().map(|visit| visit.date).max();
        let past = as_of.filter(|as_of| last.is_some_and(|last| *as_of < last));
        Results { folder, past }
    }

    /// Whether they tell of now, and not of a past day.
    pub(super) fn are_of_now(&self) -> bool {
        self.past.is_none()
    }

    /// The folder they lie in.
    pub(super) fn folder(&self) -> &Path {
        &self.folder
    }

    /// `report.html`; of a past day `report-2027-06-20.html`, so that it stands beside what is told of now and not in
    /// its place.
    pub(super) fn name(&self, stem: &str, ending: &str) -> String {
        match self.past {
            Some(day) => format!("{stem}-{day}.{ending}"),
            None => format!("{stem}.{ending}"),
        }
    }

    /// A file of that name among the results.
    pub(super) fn path(&self, stem: &str, ending: &str) -> PathBuf {
        self.folder.join(self.name(stem, ending))
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
            &self.path("cover", "csv"),
            &season::cover_table(course, season).csv(Marks::CommaPoint),
        )?;
        let mut json = serde_json::to_vec_pretty(forecast)?;
        json.push(b'\n');
        write_whole(&self.path("forecast", "json"), &json)?;
        self.write_page(data)?;
        Ok(())
    }

    /// Writes the owner's page and gives its place.
    pub(super) fn write_page(&self, data: &ReportData) -> Result<PathBuf, Failure> {
        let page = self.path("report", "html");
        write_whole(&page, report::report_page(data)?.as_bytes())?;
        Ok(page)
    }

    /// Writes the tables whose every line is what became of a photo or a station, whatever day is told of.
    pub(super) fn write_lists(
        &self,
        course: &Course,
        season: &Season,
        ledger: &Ledger,
    ) -> Result<(), Failure> {
        write_whole(
            &self.folder.join("photos.csv"),
            &report::photos_table(&season.photos, &season.quality).csv(Marks::CommaPoint),
        )?;
        if course.stations.is_empty() {
            return Ok(());
        }
        write_whole(
            &self.folder.join("changes.csv"),
            &season::changes_table(course, season, ledger)?.csv(Marks::CommaPoint),
        )?;
        Ok(())
    }
}

/// Where results go.
pub(super) fn folder_of(course: &Course) -> PathBuf {
    course.folder.join("out")
}

/// Makes the folder of results, so that a bad place is told before anything is measured.
pub(super) fn made_folder(course: &Course) -> Result<PathBuf, Failure> {
    let folder = folder_of(course);
    fs::create_dir_all(&folder).map_err(|error| Failure::write(&folder, error))?;
    // A file without a name, gone at once: whether results can be put here is known before anything is measured.
    tempfile::tempfile_in(&folder).map_err(|error| Failure::write(&folder, error.kind()))?;
    Ok(folder)
}
