//! From the season folder to a checked [`Course`].

use std::collections::BTreeSet;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::check::{self, Findings};
use super::error::{CourseError, Fault, FaultInFile, Faults};
use super::file::CourseFile;
use super::layout::{COURSE_FILE, WEATHER_FILE};
use super::model::{Course, Green};
use super::outlines::{self, Outline};
use super::source::{Source, Span, line_around};
use super::syntax::{self, LineFault, Parsed};
use super::table::read_document;
use super::units::SquareMetres;

/// Thousands of greens fit into this.
const LIMIT_MIB: u64 = 1;

/// A stated area may be rounded or include the collar; further from the outlined one is told, as a share.
const AREAS_DIFFER: f64 = 0.25;

/// Longer lines are not written by hand, and would fill the screen when shown, in bytes.
const LONGEST_LINE: usize = 2000;

impl Course {
    /// Reads the course file of a season folder; `season` may also be the course file itself.
    ///
    /// The weather is `weather.csv` of the folder where the file names none and the folder has it; outlines are
    /// those of `greens.geojson`, `greens.kml` or `greens.shp` there, and give greens without an area theirs.
    ///
    /// # Errors
    ///
    /// [`CourseError`], which shows every fault with its line.
    pub fn read(season: &Path) -> Result<Course, CourseError> {
        let path = course_file_of(season);
        let folder = match path.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
            _ => PathBuf::from("."),
        };
        let bytes = read_bytes(&path)?;
        let name = path.display().to_string();
        let text = String::from_utf8(bytes).map_err(|error| not_text(&name, error.as_bytes()))?;
        let text = with_line_feeds(text);

        let mut draft = Draft::new(&text, &name, &folder)?;
        draft.look_for_weather();
        let mut course = draft.finish()?;
        look_for_outlines(&mut course)?;
        Ok(course)
    }

    /// Checks the text of a course file without touching the disk.
    ///
    /// `file_name` is what messages call it; the paths of the course are joined to `season_folder`.
    ///
    /// # Errors
    ///
    /// [`CourseError::Empty`] or [`CourseError::Faulty`].
    pub fn parse(text: &str, file_name: &str, season_folder: &Path) -> Result<Course, CourseError> {
        Draft::new(text, file_name, season_folder)?.finish()
    }

    /// The doubt that `green` was planted after its first photo, shown under its planting date.
    ///
    /// `photo` is the name of the photo, `taken` its date.
    pub fn planted_after_photo(&self, green: &Green, photo: &str, taken: Date) -> FaultInFile {
        let fault = Fault::new(
            green.planted_at.clone(),
            format!(
                "green `{}` is planted on {}, after its first photo of {taken}",
                green.id, green.planted
            ),
            "planted after the photo",
            format!(
                "write the day of planting if it was {taken} or earlier; else {photo} shows bare ground, another green, or has a wrong date"
            ),
        );
        FaultInFile::warning(&self.source, fault)
    }
}

/// Reads the outlines of the season folder, and gives greens without an area the outlined one.
fn look_for_outlines(course: &mut Course) -> Result<(), CourseError> {
    let found = outlines::read(&course.folder, &course.greens, course.position)?;
    course.notes.extend(found.notes);
    for green in &mut course.greens {
        let Some(outlined) = found.outlines.of(&green.id).map(Outline::area) else {
            continue;
        };
        let stated = *green.area.get_or_insert(outlined);
        if (outlined.0 / stated.0 - 1.0).abs() > AREAS_DIFFER {
            let show = |area: SquareMetres| area.show(course.units);
            course.notes.push(format!(
                "green {}: course.toml says {}, its outline encloses {}; the former is used, so correct it if it is wrong",
                green.id,
                show(stated),
                show(outlined)
            ));
        }
    }
    course.outlines = found.outlines;
    Ok(())
}

fn course_file_of(season: &Path) -> PathBuf {
    if season.is_file() {
        season.to_owned()
    } else {
        season.join(COURSE_FILE)
    }
}

fn read_bytes(path: &Path) -> Result<Vec<u8>, CourseError> {
    let limit = LIMIT_MIB * 1024 * 1024;
    let mut bytes = Vec::new();
    let read = File::open(path).and_then(|file| file.take(limit + 1).read_to_end(&mut bytes));
    match read {
        Ok(_) if bytes.len() as u64 > limit => Err(CourseError::TooLarge {
            path: path.to_owned(),
            limit_mib: LIMIT_MIB,
        }),
        Ok(_) => Ok(bytes),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Err(match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() && !folder.exists() => {
                CourseError::NoFolder {
                    path: folder.to_owned(),
                }
            }
            _ => CourseError::Missing {
                path: path.to_owned(),
            },
        }),
        Err(error) => Err(CourseError::NoAccess {
            path: path.to_owned(),
            error,
        }),
    }
}

/// Computers of Apple ended lines by a carriage return alone until 2001, and some of their editors still can: such a file
/// would be one line, and a comment from its beginning.
fn with_line_feeds(text: String) -> String {
    if text.contains('\n') {
        text
    } else {
        text.replace('\r', "\n")
    }
}

fn not_text(name: &str, bytes: &[u8]) -> CourseError {
    let n_good = match std::str::from_utf8(bytes) {
        Ok(text) => text.len(),
        Err(error) => error.valid_up_to(),
    };
    let looks_like = match bytes {
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => {
            "it looks like UTF-16, which some editors call Unicode"
        }
        _ if bytes.contains(&0) => "it looks like a program's own file, not like text",
        _ => "it looks like text in an older encoding",
    };
    CourseError::NotText {
        name: name.to_owned(),
        line: 1 + bytes[..n_good]
            .iter()
            .filter(|byte| **byte == b'\n')
            .count(),
        looks_like,
    }
}

/// A course that is not yet known to be free of faults.
struct Draft {
    course: Course,
    faults: Vec<Fault>,
    /// Where the file names the weather file.
    weather_at: Option<Span>,
    names_no_weather: bool,
}

impl Draft {
    fn new(text: &str, name: &str, folder: &Path) -> Result<Draft, CourseError> {
        if holds_nothing(text) {
            return Err(CourseError::Empty {
                name: name.to_owned(),
            });
        }
        if let Some(idx) = text.lines().position(|line| line.len() > LONGEST_LINE) {
            return Err(CourseError::LongLine {
                name: name.to_owned(),
                line: idx + 1,
                limit: LONGEST_LINE,
            });
        }
        let source = Source::new(name, text);
        let (document, in_lines) = match syntax::parse(text) {
            Parsed::Document { document, faults } => (document, faults),
            Parsed::Broken(faults) => {
                return Err(match Faults::new(&source, faults) {
                    Some(faults) => faults.into(),
                    None => CourseError::Empty {
                        name: name.to_owned(),
                    },
                });
            }
        };
        let mut faults = Vec::new();
        let file: CourseFile = read_document(text, &document, &mut faults);
        let mut findings = Findings::new(&source, faults);
        let course = check::course(&file, folder, &mut findings);
        let faults = join(text, findings.faults, in_lines);
        Ok(Draft {
            course,
            faults,
            weather_at: file.weather.file.written().map(|(_, span)| span),
            names_no_weather: file.weather.file.is_absent(),
        })
    }

    fn look_for_weather(&mut self) {
        if let (Some(span), Some(path)) = (&self.weather_at, &self.course.weather.file)
            && !path.is_file()
        {
            self.faults.push(Fault::new(
                span.clone(),
                format!("there is no weather file {}", path.display()),
                "not there",
                "put the file into the season folder, or take this line away: the forecast then counts days",
            ));
        }
        let path = self.course.folder.join(WEATHER_FILE);
        if self.names_no_weather && path.is_file() {
            self.course.weather.file = Some(path);
        }
    }

    fn finish(self) -> Result<Course, CourseError> {
        match Faults::new(&self.course.source, self.faults) {
            Some(faults) => Err(faults.into()),
            None => Ok(self.course),
        }
    }
}

fn holds_nothing(text: &str) -> bool {
    text.trim_start_matches('\u{feff}').lines().all(|line| {
        let line = line.trim();
        line.is_empty() || line.starts_with('#')
    })
}

/// Joins what the parser and the checks tell of one line, so that no line is told of twice for one reason.
fn join(text: &str, mut faults: Vec<Fault>, in_lines: Vec<LineFault>) -> Vec<Fault> {
    let line_start = |fault: &Fault| line_around(text, fault.at.0.start).start;
    let told: BTreeSet<usize> = faults.iter().map(line_start).collect();
    for fault in in_lines {
        match fault {
            LineFault::WholeValue(fault) => {
                if !told.contains(&line_start(&fault)) {
                    faults.push(fault);
                }
            }
            LineFault::PartOfValue(fault) => {
                let line = line_start(&fault);
                faults.retain(|other| line_start(other) != line);
                faults.push(fault);
            }
        }
    }
    faults
}
