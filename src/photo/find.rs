//! Finding the photos of a folder: sorted, each once a name, nothing lost and nothing that stops the walk.

#[cfg(test)]
mod tests;

use std::collections::BTreeSet;
use std::fmt;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use thiserror::Error;
use walkdir::{DirEntry, WalkDir};

use super::{Format, PhotoName, Unreadable};

/// Endings of files that are opened as photos, in lower case.
const PHOTO_ENDINGS: [&str; 11] = [
    "jpg", "jpeg", "jpe", "jfif", "heic", "heif", "hif", "png", "tif", "tiff", "webp",
];

/// Endings, in lower case, of pictures that are not read here: opened all the same, so that each is told by
/// name and what to do, and none is lost among the files that are no photos.
const OTHER_PICTURE_ENDINGS: [&str; 7] = ["gif", "bmp", "avif", "jxl", "jp2", "j2k", "psd"];

/// Endings of camera raw files, in lower case: photos to the person who took them, but not read here.
const RAW_ENDINGS: [&str; 11] = [
    "dng", "cr2", "cr3", "nef", "nrw", "arw", "orf", "rw2", "raf", "pef", "srw",
];

/// Names, in lower case, of what systems and file servers leave lying about; names that begin with a dot are
/// passed over as well.
const SYSTEM_NAMES: [&str; 8] = [
    "thumbs.db",
    "ehthumbs.db",
    "desktop.ini",
    "@eadir",
    "#recycle",
    "$recycle.bin",
    "__macosx",
    "system volume information",
];

/// One photo file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundPhoto {
    /// Its name below the photo folder.
    pub name: PhotoName,
    /// Where to open it.
    pub path: PathBuf,
    /// Size of the file.
    pub bytes: u64,
    /// When the file was last written, as the file system has it.
    pub modified: Option<Timestamp>,
}

impl FoundPhoto {
    /// Whether its name is that of a TIFF, which may be an orthomosaic.
    pub fn may_be_mosaic(&self) -> bool {
        matches!(ending(self.path.as_path()).as_deref(), Some("tif" | "tiff"))
    }

    /// Why the file cannot be measured, where its name or size tells that before it is opened.
    pub fn unreadable_by_name(&self) -> Option<Unreadable> {
        if in_the_cloud(&self.path).is_some() {
            return Some(Unreadable::InTheCloud);
        }
        let ending = ending(self.path.as_path())?;
        if RAW_ENDINGS.contains(&ending.as_str()) {
            Some(Unreadable::Unsupported {
                format: format!("camera raw ({ending})"),
            })
        } else if self.bytes == 0 {
            Some(Unreadable::Empty)
        } else {
            None
        }
    }
}

/// What a photo folder holds.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Found {
    /// The photos, by name.
    pub photos: Vec<FoundPhoto>,
    /// How many other files there are (videos, notes), not counting those that systems leave lying about.
    pub n_other_files: usize,
    /// What could not be looked into, by name.
    pub problems: Vec<FindProblem>,
}

/// A part of the photo folder that could not be looked into.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct FindProblem {
    /// Which part.
    pub name: PhotoName,
    /// What is wrong with it.
    pub what: FindProblemKind,
}

/// What is wrong with a part of the photo folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Error)]
pub enum FindProblemKind {
    /// The system does not let us look.
    #[error("cannot be opened ({detail}); what is in it is left out")]
    NoAccess {
        /// The system's words.
        detail: String,
    },
    /// A link to a folder that holds the link.
    #[error("is a link to a folder above itself; it is not followed")]
    Loop,
    /// A link to nothing.
    #[error("is a link to a file that is not there")]
    BrokenLink,
}

impl fmt::Display for FindProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.name, self.what)
    }
}

/// Why a photo folder cannot be searched at all.
#[derive(Debug, Error)]
pub enum FindError {
    /// There is no such folder.
    #[error("no photo folder {}; make it, or name another under [photos] folder in course.toml", folder.display())]
    Missing {
        /// The folder looked for.
        folder: PathBuf,
    },
    /// There is a file in its place.
    #[error("{} is a file; [photos] folder in course.toml must name a folder", folder.display())]
    NotAFolder {
        /// The folder looked for.
        folder: PathBuf,
    },
    /// The system does not let us look.
    #[error("cannot open the photo folder {}: {source}; check who may read it", folder.display())]
    NoAccess {
        /// The folder looked for.
        folder: PathBuf,
        /// The system's words.
        source: io::Error,
    },
}

/// Finds the photos in `folder` and its sub-folders, sorted by name, links followed.
///
/// Folders named in `leave_out` are not entered; a season whose photo folder is the season folder itself
/// leaves out what the program writes.
///
/// # Errors
/// [`FindError`] where `folder` itself is missing or shut. Anything below it that is shut becomes one of
/// [`Found::problems`].
pub fn find(folder: &Path, leave_out: &[PathBuf]) -> Result<Found, FindError> {
    match fs::metadata(folder) {
        Ok(metadata) if metadata.is_dir() => {}
        Ok(_) => {
            return Err(FindError::NotAFolder {
                folder: folder.to_owned(),
            });
        }
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return Err(FindError::Missing {
                folder: folder.to_owned(),
            });
        }
        Err(source) => {
            return Err(FindError::NoAccess {
                folder: folder.to_owned(),
                source,
            });
        }
    }
    // Links and `..` make one folder appear under several paths.
    let leave_out: BTreeSet<PathBuf> = leave_out
        .iter()
        .filter_map(|path| fs::canonicalize(path).ok())
        .collect();

    let mut found = Found::default();
    let walk = WalkDir::new(folder)
        .follow_links(true)
        .into_iter()
        .filter_entry(|entry| entry.depth() == 0 || is_wanted(entry, &leave_out));
    for entry in walk {
        match entry {
            Ok(entry) if entry.file_type().is_file() => add_file(&mut found, folder, &entry),
            Ok(entry) if entry.file_type().is_dir() => {}
            // A pipe or device would block or never end.
            Ok(_) => found.n_other_files += 1,
            Err(error) if error.depth() == 0 => {
                return Err(FindError::NoAccess {
                    folder: folder.to_owned(),
                    source: error.into(),
                });
            }
            Err(error) => add_problem(&mut found, folder, &error),
        }
    }
    found.photos.sort_by(|a, b| a.name.cmp(&b.name));
    // A placeholder that was left behind beside its photo.
    let is_placeholder = |photo: &FoundPhoto| in_the_cloud(&photo.path).is_some();
    found.photos.dedup_by(|next, kept| {
        let is_one = next.name == kept.name;
        if is_one && is_placeholder(kept) {
            std::mem::swap(next, kept);
        }
        is_one
    });
    found.problems.sort();
    Ok(found)
}

/// Reads a photo's file into `into`, whose memory is used again.
///
/// # Errors
/// [`Unreadable::Empty`] and [`Unreadable::NoAccess`].
pub fn read(path: &Path, into: &mut Vec<u8>) -> Result<(), Unreadable> {
    into.clear();
    let no_access = |error: io::Error| Unreadable::NoAccess {
        detail: error.to_string(),
    };
    let mut file = File::open(path).map_err(no_access)?;
    file.read_to_end(into).map_err(no_access)?;
    if into.is_empty() {
        return Err(Unreadable::Empty);
    }
    Ok(())
}

fn is_wanted(entry: &DirEntry, leave_out: &BTreeSet<PathBuf>) -> bool {
    if is_system_name(entry.path()) {
        return entry.file_type().is_file() && in_the_cloud(entry.path()).is_some();
    }
    if leave_out.is_empty() || !entry.file_type().is_dir() {
        return true;
    }
    fs::canonicalize(entry.path()).map_or(true, |path| !leave_out.contains(&path))
}

fn is_system_name(path: &Path) -> bool {
    let Some(name) = path.file_name() else {
        return false;
    };
    let name = name.to_string_lossy().to_lowercase();
    name.starts_with('.') || SYSTEM_NAMES.contains(&name.as_str())
}

/// The photo's own path, where this file only keeps the place of one that was not downloaded:
/// `.IMG_0001.HEIC.icloud`.
fn in_the_cloud(path: &Path) -> Option<PathBuf> {
    let name = path.file_name()?.to_str()?;
    let own = name.strip_prefix('.')?.strip_suffix(".icloud")?;
    let own = path.with_file_name(own);
    has_photo_ending(&own).then_some(own)
}

fn ending(path: &Path) -> Option<String> {
    Some(path.extension()?.to_str()?.to_ascii_lowercase())
}

fn has_photo_ending(path: &Path) -> bool {
    ending(path).is_some_and(|ending| {
        let ending = ending.as_str();
        PHOTO_ENDINGS.contains(&ending)
            || OTHER_PICTURE_ENDINGS.contains(&ending)
            || RAW_ENDINGS.contains(&ending)
    })
}

/// Whether a file whose name says nothing of it begins as a photo does: copies of programs end in `.bak` or
/// `.jpg_original`, and some come without an ending.
fn begins_as_photo(path: &Path) -> bool {
    let mut beginning = Vec::new();
    let read = File::open(path).and_then(|file| file.take(32).read_to_end(&mut beginning));
    read.is_ok() && Format::of(&beginning).is_ok()
}

fn add_file(found: &mut Found, folder: &Path, entry: &DirEntry) {
    let in_the_cloud = in_the_cloud(entry.path());
    if in_the_cloud.is_none() && !has_photo_ending(entry.path()) && !begins_as_photo(entry.path()) {
        found.n_other_files += 1;
        return;
    }
    // Known by the name that it will have, so that it is the same photo once it is here.
    let name = PhotoName::below(folder, in_the_cloud.as_deref().unwrap_or(entry.path()));
    match entry.metadata() {
        Ok(metadata) => found.photos.push(FoundPhoto {
            name,
            path: entry.path().to_owned(),
            bytes: metadata.len(),
            modified: metadata
                .modified()
                .ok()
                .and_then(|time| Timestamp::try_from(time).ok()),
        }),
        Err(error) => found.problems.push(FindProblem {
            name,
            what: FindProblemKind::NoAccess {
                detail: error.to_string(),
            },
        }),
    }
}

fn add_problem(found: &mut Found, folder: &Path, error: &walkdir::Error) {
    let path = error.path().unwrap_or(folder);
    if is_system_name(path) {
        return;
    }
    let is_broken_link = error
        .io_error()
        .is_some_and(|error| error.kind() == io::ErrorKind::NotFound);
    if is_broken_link && !has_photo_ending(path) {
        found.n_other_files += 1;
        return;
    }
    let what = if error.loop_ancestor().is_some() {
        FindProblemKind::Loop
    } else if is_broken_link {
        FindProblemKind::BrokenLink
    } else {
        FindProblemKind::NoAccess {
            detail: error
                .io_error()
                .map_or_else(|| error.to_string(), io::Error::to_string),
        }
    };
    found.problems.push(FindProblem {
        name: PhotoName::below(folder, path),
        what,
    });
}
