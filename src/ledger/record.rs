//! What was seen and measured, as values: the record from which a season's results are made.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::StoredPart;
use crate::course::Crop;
use crate::cover::quality::Quality;
use crate::cover::{Reading, Settings, SettingsKey};
use crate::photo::{ContentHash, FoundPhoto, Metadata, PhotoName, Unreadable};

/// A file as it was last seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sighting {
    /// What was in it.
    pub content: ContentHash,
    /// Its size.
    pub bytes: u64,
    /// When it was last written, as the file system had it.
    pub modified: Option<Timestamp>,
    /// When it was first found to be gone; `None` while it is there.
    pub missing_since: Option<Timestamp>,
}

/// What is known of the bytes of a photo, whatever its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Content {
    /// How many bytes.
    pub bytes: u64,
    /// What read them: a photo that another version read, or for another time zone, can be read again.
    pub reader: String,
    /// What they told.
    pub told: Told,
}

/// What the bytes of a file told.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::large_enum_variant,
    reason = "nearly every content is a photo, so little is wasted"
)]
pub enum Told {
    /// They are a photo.
    Photo {
        /// Size of the upright picture, where it was looked at.
        size: Option<PixelSize>,
        /// What it says of itself.
        metadata: Metadata,
    },
    /// They are none that can be read.
    Unreadable(Unreadable),
}

/// Size of a picture in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PixelSize {
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
}

impl Content {
    /// What the photo says of itself; `None` where it could not be read.
    pub fn metadata(&self) -> Option<&Metadata> {
        match &self.told {
            Told::Photo { metadata, .. } => Some(metadata),
            Told::Unreadable(_) => None,
        }
    }
}

/// Short name of the part of a photo that was analysed: the same for equal crops.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CropKey(String);

impl CropKey {
    /// All of the photo where `crop` is `None`.
    pub fn of(crop: Option<Crop>) -> CropKey {
        CropKey(crop.map_or_else(String::new, |crop| {
            let Crop {
                left,
                top,
                right,
                bottom,
            } = crop;
            format!("{left} {top} {right} {bottom}")
        }))
    }

    /// Of a photo from above: the greens that it shows. `outlines` is a short name of where the greens are and how
    /// they are cut out, the same for the same cut.
    pub fn of_greens(outlines: &str) -> CropKey {
        CropKey(format!("greens {outlines}"))
    }

    /// Of a photo laid over another: the part of the ground that `crop` is on that one. `laid` is a short name of how it
    /// lies, the same for the same ground.
    pub fn of_ground(crop: Crop, laid: &str) -> CropKey {
        let CropKey(crop) = CropKey::of(Some(crop));
        CropKey(format!("{crop} on the ground {laid}"))
    }

    /// As it is written in the ledger.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    pub(super) fn from_ledger(text: String) -> CropKey {
        CropKey(text)
    }
}

/// What a reading was taken of, and how.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ReadingKey {
    /// The photo, whatever its name.
    pub content: ContentHash,
    /// The settings, which have to be in the ledger or in the same batch.
    pub settings: SettingsKey,
    /// The part of the photo.
    pub crop: CropKey,
}

/// What was measured, and what the photo looks like from afar.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredReading {
    /// What was measured.
    pub reading: Reading,
    /// By which the same shot in another file is recognised; the ledger does not look into it.
    pub fingerprint: Option<Vec<u8>>,
    /// How far it can be trusted; `None` where that was not looked at, or by another version of the looking.
    pub quality: Option<Quality>,
    /// Of a photo from above: what it tells of each green that it shows, by green. The reading is then that of all
    /// of them together.
    pub parts: Vec<StoredPart>,
}

/// Results to be saved together or not at all.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Batch {
    /// How readings were taken.
    pub settings: Vec<Settings>,
    /// What is known of each content.
    pub contents: BTreeMap<ContentHash, Content>,
    /// Files that were seen; their content has to be in the ledger or in this batch.
    pub sightings: BTreeMap<PhotoName, Sighting>,
    /// What was measured; content and settings have to be in the ledger or in this batch.
    pub readings: BTreeMap<ReadingKey, StoredReading>,
    /// Photos of stations made small, which the ledger does not look into.
    pub sketches: BTreeMap<(SettingsKey, ContentHash), Vec<u8>>,
}

impl Batch {
    /// Whether there is nothing to save.
    pub fn is_empty(&self) -> bool {
        let Batch {
            settings,
            contents,
            sightings,
            readings,
            sketches,
        } = self;
        settings.is_empty()
            && contents.is_empty()
            && sightings.is_empty()
            && readings.is_empty()
            && sketches.is_empty()
    }

    /// Adds what a later batch holds; of two values of one thing the later one stays.
    pub fn append(&mut self, later: Batch) {
        let Batch {
            settings,
            contents,
            sightings,
            readings,
            sketches,
        } = later;
        for settings in settings {
            if !self.settings.contains(&settings) {
                self.settings.push(settings);
            }
        }
        self.contents.extend(contents);
        self.sightings.extend(sightings);
        self.readings.extend(readings);
        self.sketches.extend(sketches);
    }
}

/// All that the ledger knows for certain settings, in memory.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Known {
    /// Every file that was ever seen and has not been moved.
    pub sightings: BTreeMap<PhotoName, Sighting>,
    /// Every content that was ever read.
    pub contents: BTreeMap<ContentHash, Content>,
    /// Readings under the settings asked for.
    pub readings: BTreeMap<ReadingKey, StoredReading>,
    /// Contents of which a sketch is kept under the settings asked for.
    pub sketched: BTreeSet<ContentHash>,
}

impl Known {
    /// The content of `photo` where its size and time of change say that it is as last seen; `None` where it
    /// has to be read to be sure.
    pub fn unchanged(&self, photo: &FoundPhoto) -> Option<ContentHash> {
        let sighting = self.sightings.get(&photo.name)?;
        let is_same = photo.modified.is_some()
            && sighting.modified == photo.modified
            && sighting.bytes == photo.bytes;
        is_same.then_some(sighting.content)
    }

    /// What a content told; `None` where it was never read.
    pub fn told(&self, content: &ContentHash) -> Option<&Told> {
        self.contents.get(content).map(|content| &content.told)
    }

    /// Width and height of the upright picture; `None` where they are not known.
    pub fn size(&self, content: &ContentHash) -> Option<PixelSize> {
        match self.told(content)? {
            Told::Photo { size, .. } => *size,
            Told::Unreadable(_) => None,
        }
    }

    /// Pixels of the picture; 0 where its size is not known.
    pub fn n_pixels(&self, content: &ContentHash) -> u64 {
        let size = self.size(content);
        size.map_or(0, |size| u64::from(size.width) * u64::from(size.height))
    }
}
