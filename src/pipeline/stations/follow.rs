//! Every station through its photos: where each lies over the first, and the cover of the first one's square on it.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::{Date, Time};
use rayon::iter::{IntoParallelIterator as _, IntoParallelRefIterator as _, ParallelIterator as _};

use super::kept::{from_bytes, from_text, to_text};
use crate::course::{Course, Crop, GreenId, Station, StationId};
use crate::cover::Reading;
use crate::cover::quality::Decision;
use crate::ledger::{Alignments, CropKey, Known, Ledger, PhotoRow, ReadingKey, StoredReading};
use crate::map::frames::{
    Aligned, GroundCover, Linked, Prepared, Sketch, Transform, align, chain, ground_cover,
};
use crate::photo::{ContentHash, PhotoName};
use crate::pipeline::{Method, PipelineError, Season};

/// Version of how photos are laid over each other; raised when that changes, so that it is done again.
const METHOD: &str = "1";
/// Where less of the first photo's square is in sight, the plain crop is counted.
const LEAST_SEEN: f64 = 0.8;

/// The photos of one station, by time.
#[derive(Debug, Clone, PartialEq)]
pub struct StationPhotos {
    /// The station.
    pub station: StationId,
    /// The green it is on.
    pub green: GreenId,
    /// The part of the first photo that is followed: left, top, right, bottom as shares of its sides.
    pub part: [f64; 4],
    /// At least two; the first is the one that the others are laid over.
    pub photos: Vec<StationPhoto>,
}

/// One photo of a station.
#[derive(Debug, Clone, PartialEq)]
pub struct StationPhoto {
    /// Which.
    pub photo: PhotoName,
    /// What is in it.
    pub content: ContentHash,
    /// Local date.
    pub date: Date,
    /// Where it lies over the first; `None` where that is not sure.
    pub linked: Option<Linked>,
    /// Share of the first photo's square that it shows, 0 to 1, where it is laid over it.
    pub seen: Option<f64>,
    /// Whether its cover is that of the first photo's square, not of the plain crop.
    pub is_on_the_ground: bool,
}

/// All stations of a season, and what is new of them.
#[derive(Debug, Default)]
pub(in crate::pipeline) struct Followed {
    pub(in crate::pipeline) stations: Vec<StationPhotos>,
    /// To be kept in the ledger.
    pub(in crate::pipeline) alignments: Alignments,
    /// To be kept in the ledger.
    pub(in crate::pipeline) readings: BTreeMap<ReadingKey, StoredReading>,
    /// Of photos whose square was counted, what takes the place of the reading of the plain crop.
    pub(in crate::pipeline) instead: BTreeMap<ReadingKey, Reading>,
}

impl Followed {
    /// Puts the cover of each square where that of the plain crop was.
    pub(in crate::pipeline) fn apply_to(&self, known: &mut Known) {
        for (key, reading) in &self.instead {
            if let Some(stored) = known.readings.get_mut(key) {
                stored.reading = reading.clone();
            }
        }
    }

    /// Keeps what is new.
    pub(in crate::pipeline) fn keep_in(
        &mut self,
        ledger: &mut Ledger,
        method: &Method,
    ) -> Result<(), PipelineError> {
        let alignments = std::mem::take(&mut self.alignments);
        ledger.add_alignments(method.key(), METHOD, &alignments)?;
        if !self.readings.is_empty() {
            ledger.commit(crate::ledger::Batch {
                settings: vec![method.settings().clone()],
                readings: std::mem::take(&mut self.readings),
                ..Default::default()
            })?;
            ledger.flush()?;
        }
        Ok(())
    }
}

/// Follows the stations of a season. What comes out depends on the photos alone, not on what was known before; what the
/// ledger has is only not worked out again.
///
/// # Errors
///
/// [`PipelineError::Ledger`] where the ledger cannot be read.
pub(in crate::pipeline) fn follow(
    course: &Course,
    known: &Known,
    method: &Method,
    season: &Season,
    ledger: &Ledger,
) -> Result<Followed, PipelineError> {
    let mut followed = Followed::default();
    if course.stations.is_empty() || known.sketched.is_empty() {
        return Ok(followed);
    }
    let kept = ledger.alignments(method.key(), METHOD)?;
    for station in &course.stations {
        let photos = photos_of(station, known, season);
        if photos.len() > 1 {
            let mut one = OneStation {
                station,
                known,
                method,
                ledger,
                photos,
                sketches: BTreeMap::new(),
            };
            one.follow(&kept, &mut followed)?;
        }
    }
    Ok(followed)
}

/// The measured photos of a station by time, from the first that has no fault on.
fn photos_of<'s>(
    station: &Station,
    known: &Known,
    season: &'s Season,
) -> Vec<(&'s PhotoRow, ContentHash)> {
    let is_its = |row: &&PhotoRow| {
        row.station.as_ref() == Some(&station.id) && row.outcome.is_measured() && row.date.is_some()
    };
    let rows = season.photos.iter().filter(is_its);
    let mut photos: Vec<(&PhotoRow, ContentHash)> = rows
        .filter_map(|row| Some((row, known.sightings.get(&row.photo)?.content)))
        .filter(|(_, content)| known.sketched.contains(content))
        .collect();
    photos.sort_by_key(|(row, _)| {
        (
            row.date,
            row.time.unwrap_or(Time::midnight()),
            row.photo.clone(),
        )
    });
    let mut seen = BTreeSet::new();
    photos.retain(|(_, content)| seen.insert(*content));
    let is_good = |(row, _): &(&PhotoRow, ContentHash)| {
        let quality = season.quality.get(&row.photo);
        quality.is_none_or(|quality| matches!(quality.judgement.decision(), Decision::Keep))
    };
    let first = photos.iter().position(is_good).unwrap_or(0);
    photos.split_off(first)
}

/// A station while it is followed.
struct OneStation<'a> {
    station: &'a Station,
    known: &'a Known,
    method: &'a Method,
    ledger: &'a Ledger,
    photos: Vec<(&'a PhotoRow, ContentHash)>,
    /// Those read so far.
    sketches: BTreeMap<ContentHash, Option<Sketch>>,
}

impl OneStation<'_> {
    fn follow(&mut self, kept: &Alignments, followed: &mut Followed) -> Result<(), PipelineError> {
        let pair = |earlier: usize, later: usize| (self.photos[earlier].1, self.photos[later].1);
        let mut is_all_known = true;
        let mut linked = chain(self.photos.len(), |earlier, later| {
            match kept.get(&pair(earlier, later)) {
                Some(told) => told.as_deref().and_then(from_text),
                None => {
                    is_all_known = false;
                    None
                }
            }
        });
        if !is_all_known {
            linked = self.link(kept, &mut followed.alignments)?;
        }
        let crop = self.station.crop;
        let part = crop.map_or([0.0, 0.0, 1.0, 1.0], |crop| {
            [crop.left, crop.top, crop.right, crop.bottom]
        });
        let mut photos = Vec::with_capacity(self.photos.len());
        for (number, linked) in linked.into_iter().enumerate() {
            let (row, content) = self.photos[number];
            let seen = linked.map(|linked| self.seen(content, &linked.transform, part));
            let mut photo = StationPhoto {
                photo: row.photo.clone(),
                content,
                date: row.date.unwrap_or_default(),
                linked,
                seen,
                is_on_the_ground: number == 0,
            };
            if let (Some(crop), Some(linked), Some(seen), true) = (crop, linked, seen, number > 0)
                && seen >= LEAST_SEEN
            {
                photo.is_on_the_ground = self.count(content, crop, &linked.transform, followed)?;
            }
            photos.push(photo);
        }
        followed.stations.push(StationPhotos {
            station: self.station.id.clone(),
            green: self.station.green.clone(),
            part,
            photos,
        });
        Ok(())
    }

    /// Lays the photos over each other, all pairs of neighbours at once.
    fn link(
        &mut self,
        kept: &Alignments,
        new: &mut Alignments,
    ) -> Result<Vec<Option<Linked>>, PipelineError> {
        for number in 0..self.photos.len() {
            self.read_sketch(self.photos[number].1)?;
        }
        let prepared: Vec<Option<Prepared>> = self
            .photos
            .par_iter()
            .map(|(_, content)| Some(Prepared::of(self.sketches.get(content)?.as_ref()?)))
            .collect();
        let lay = |earlier: usize, later: usize| -> Option<Aligned> {
            align(prepared[earlier].as_ref()?, prepared[later].as_ref()?)
        };
        let pair = |earlier: usize, later: usize| (self.photos[earlier].1, self.photos[later].1);
        let neighbours: Vec<Option<Aligned>> = (1..self.photos.len())
            .into_par_iter()
            .map(|later| {
                let is_known = kept.contains_key(&pair(later - 1, later));
                (!is_known).then(|| lay(later - 1, later)).flatten()
            })
            .collect();
        Ok(chain(self.photos.len(), |earlier, later| {
            let key = pair(earlier, later);
            if let Some(told) = kept.get(&key) {
                return told.as_deref().and_then(from_text);
            }
            let aligned = if earlier + 1 == later {
                neighbours[earlier]
            } else {
                lay(earlier, later)
            };
            let text = aligned.as_ref().and_then(to_text);
            // As it will come back from the ledger, to the last digit.
            let aligned = text.as_deref().and_then(from_text);
            new.insert(key, text);
            aligned
        }))
    }

    fn read_sketch(&mut self, content: ContentHash) -> Result<(), PipelineError> {
        if !self.sketches.contains_key(&content) {
            let bytes = self.ledger.sketch(self.method.key(), &content)?;
            let sketch = bytes.as_deref().and_then(from_bytes);
            self.sketches.insert(content, sketch);
        }
        Ok(())
    }

    /// Width and height of an upright photo, in pixels.
    fn size(&self, content: ContentHash) -> [f64; 2] {
        match self.known.size(&content) {
            Some(size) => [size.width, size.height].map(|side| f64::from(side.max(1))),
            None => [4.0, 3.0],
        }
    }

    fn aspect(&self, content: ContentHash) -> f64 {
        let [width, height] = self.size(content);
        height / width
    }

    /// Share of the first photo's part that a photo shows.
    fn seen(&self, content: ContentHash, transform: &Transform, part: [f64; 4]) -> f64 {
        const POINTS: usize = 100;
        let (first, own) = (self.aspect(self.photos[0].1), self.aspect(content));
        let between =
            |low: f64, high: f64, k: usize| low + (high - low) * (k as f64 + 0.5) / POINTS as f64;
        let is_seen = |cell: &usize| {
            let place = [
                between(part[0], part[2], cell % POINTS),
                between(part[1], part[3], cell / POINTS) * first,
            ];
            let [x, y] = transform.at(place);
            (0.0..1.0).contains(&x) && (0.0..own).contains(&y)
        };
        let n_seen = (0..POINTS * POINTS).filter(is_seen).count();
        n_seen as f64 / (POINTS * POINTS) as f64
    }

    /// Counts the first photo's square on a photo; whether that was possible.
    fn count(
        &mut self,
        content: ContentHash,
        crop: Crop,
        transform: &Transform,
        followed: &mut Followed,
    ) -> Result<bool, PipelineError> {
        let plain = ReadingKey {
            content,
            settings: self.method.key().clone(),
            crop: CropKey::of(Some(crop)),
        };
        let Some(stored) = self.known.readings.get(&plain) else {
            return Ok(false);
        };
        let laid = ReadingKey {
            crop: CropKey::of_ground(crop, &self.ground_name(transform)),
            ..plain.clone()
        };
        if let Some(counted) = self.known.readings.get(&laid) {
            followed.instead.insert(plain, counted.reading.clone());
            return Ok(true);
        }
        self.read_sketch(content)?;
        let first = self.aspect(self.photos[0].1);
        let part = [crop.left, crop.top, crop.right, crop.bottom];
        let Some(sketch) = self.sketches.get(&content).and_then(Option::as_ref) else {
            return Ok(false);
        };
        let Some(GroundCover { cover, seen }) = ground_cover(sketch, transform, part, first) else {
            return Ok(false);
        };
        let n_analysed = (seen * self.area_px(content, transform, part, first))
            .round()
            .max(1.0);
        let reading = Reading {
            n_green: (cover * n_analysed).round() as u64,
            n_analysed: n_analysed as u64,
            ..stored.reading.clone()
        };
        let counted = StoredReading {
            reading: reading.clone(),
            ..stored.clone()
        };
        followed.readings.insert(laid, counted);
        followed.instead.insert(plain, reading);
        Ok(true)
    }

    /// Pixels of a photo that the part would take up, those beyond it too.
    fn area_px(
        &self,
        content: ContentHash,
        transform: &Transform,
        [left, top, right, bottom]: [f64; 4],
        first: f64,
    ) -> f64 {
        let corners = [[left, top], [right, top], [right, bottom], [left, bottom]];
        let corners = corners.map(|[x, y]| transform.at([x, y * first]));
        let twice: f64 = (0..4)
            .map(|k| {
                let ([x, y], [u, v]) = (corners[k], corners[(k + 1) % 4]);
                x * v - y * u
            })
            .sum();
        let [width, _] = self.size(content);
        0.5 * twice.abs() * width * width
    }

    /// A short name of the ground of the first photo as a photo shows it.
    fn ground_name(&self, transform: &Transform) -> String {
        let mut hasher = blake3::Hasher::new();
        hasher.update(&self.photos[0].1.0);
        for value in transform.rows().as_flattened() {
            hasher.update(&value.to_le_bytes());
        }
        hasher.finalize().to_hex()[..16].to_owned()
    }
}
