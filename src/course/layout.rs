//! Where everything of a season lies: the one place that spells the names of its files and folders.

use std::borrow::Cow;
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::{Course, GreenId};

/// The course file in its season folder.
pub(crate) const COURSE_FILE: &str = "course.toml";
/// The weather, where the course file does not name another.
pub(crate) const WEATHER_FILE: &str = "weather.csv";
/// What was done to the greens.
pub(crate) const LOG_FILE: &str = "log.csv";
/// Photos, where the course file does not name another folder.
pub(crate) const PHOTO_FOLDER: &str = "photos";
/// Every result that was ever measured.
pub(crate) const LEDGER_FILE: &str = "ledger.gpkg";
/// What people read of the results, all of it made anew from the ledger.
const RESULTS: &str = "out";

impl Course {
    /// The log, there or not.
    pub fn log_file(&self) -> PathBuf {
        self.folder.join(LOG_FILE)
    }

    /// The ledger, there or not.
    pub fn ledger_file(&self) -> PathBuf {
        self.folder.join(LEDGER_FILE)
    }

    /// The folder of results, there or not.
    pub fn results(&self) -> ResultFolder {
        ResultFolder::of_season(&self.folder)
    }
}

/// The folder that results are written to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ResultFolder(PathBuf);

impl ResultFolder {
    /// Of the season in this folder.
    pub fn of_season(season: &Path) -> ResultFolder {
        ResultFolder(season.join(RESULTS))
    }

    /// The folder itself.
    pub fn path(&self) -> &Path {
        &self.0
    }

    /// A part of it.
    pub fn part(&self, part: Part) -> PathBuf {
        self.0.join(part.name())
    }

    /// A file of it that tells of now.
    pub fn file(&self, file: &ResultFile) -> PathBuf {
        self.0.join(file.name())
    }

    /// Where one audit is judged.
    pub fn audit(&self, id: &str) -> PathBuf {
        self.0.join("audit").join(id)
    }
}

/// Folders of pictures among the results.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Contact sheets, one a visit.
    Visits,
    /// What changed at stations, one picture each.
    Stations,
    /// Large pictures of what counted as green.
    Overlays,
    /// The same of a rule that was just fitted.
    Tune,
}

impl Part {
    /// Its name; pages beside it lead to a file `f` of it as `name/f`.
    pub fn name(self) -> &'static str {
        match self {
            Part::Visits => "visits",
            Part::Stations => "stations",
            Part::Overlays => "overlays",
            Part::Tune => "tune",
        }
    }

    /// A link from a page among the results to a file of it.
    pub fn link(self, file: &str) -> String {
        format!("{}/{file}", self.name())
    }
}

/// A file among the results.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ResultFile {
    stem: Cow<'static, str>,
    ending: &'static str,
}

impl ResultFile {
    /// The owner's page.
    pub const REPORT: ResultFile = ResultFile::new("report", "html");
    /// The same on paper.
    pub const REPORT_PDF: ResultFile = ResultFile::new("report", "pdf");
    /// Cover of every visit.
    pub const COVER: ResultFile = ResultFile::new("cover", "csv");
    /// What became of every photo.
    pub const PHOTOS: ResultFile = ResultFile::new("photos", "csv");
    /// What changed at stations.
    pub const CHANGES: ResultFile = ResultFile::new("changes", "csv");
    /// The forecast.
    pub const FORECAST: ResultFile = ResultFile::new("forecast", "json");
    /// Where to carry sprigs.
    pub const THIN_AREAS: ResultFile = ResultFile::new("thin_areas", "csv");
    /// The same for a GIS.
    pub const THIN_AREAS_GEOJSON: ResultFile = ResultFile::new("thin_areas", "geojson");
    /// The sheet for the next walk.
    pub const WALK: ResultFile = ResultFile::new("walk", "html");
    /// The same on paper.
    pub const WALK_PDF: ResultFile = ResultFile::new("walk", "pdf");
    /// The slates to print.
    pub const SLATES: ResultFile = ResultFile::new("slates", "html");
    /// The same on paper.
    pub const SLATES_PDF: ResultFile = ResultFile::new("slates", "pdf");

    const fn new(stem: &'static str, ending: &'static str) -> ResultFile {
        ResultFile {
            stem: Cow::Borrowed(stem),
            ending,
        }
    }

    /// The map of a green.
    pub fn map_of(green: &GreenId) -> ResultFile {
        ResultFile {
            stem: Cow::Owned(format!("map-{}", file_part(green.as_str()))),
            ending: "svg",
        }
    }

    /// `report.html`.
    pub fn name(&self) -> String {
        format!("{}.{}", self.stem, self.ending)
    }

    /// `report-2027-06-20.html`: what is told of a past day stands beside what is told of now, not in its place.
    pub fn name_of_day(&self, day: Date) -> String {
        format!("{}-{day}.{}", self.stem, self.ending)
    }

    /// As people are told of it: `out/report.html`, from the season folder.
    pub fn told(&self) -> String {
        format!("{RESULTS}/{}", self.name())
    }
}

/// A text as part of a file's name on any system: `~` and two hexadecimal digits for every byte that is not a
/// letter, a digit, `-` or `.`. Different texts give different parts.
pub(crate) fn file_part(text: &str) -> String {
    let mut part = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-.".contains(&byte) {
            part.push(char::from(byte));
        } else {
            part.push_str(&format!("~{byte:02X}"));
        }
    }
    part
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn different_texts_give_different_names_that_any_system_takes() {
        assert_eq!(file_part("G07"), "G07");
        assert_eq!(file_part("Putting 1/2"), "Putting~201~2F2");
        assert_ne!(file_part("a_b"), file_part("a b"));
        assert_eq!(file_part("../x"), "..~2Fx");
    }

    #[test]
    fn files_of_past_days_have_names_of_their_own() {
        let page = ResultFile::REPORT;
        assert_eq!(page.name(), "report.html");
        assert_eq!(
            page.name_of_day(date(2027, 6, 20)),
            "report-2027-06-20.html"
        );
        assert_eq!(ResultFile::THIN_AREAS.told(), "out/thin_areas.csv");
        assert_eq!(Part::Visits.link("G07.jpg"), "visits/G07.jpg");
    }
}
