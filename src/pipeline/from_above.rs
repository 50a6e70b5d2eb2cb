//! What photos from above amount to: the greens that they show on each date, and visits from them.

use std::collections::BTreeMap;

use super::above::cells_of;
use super::jobs::Usher;
use super::quality::{Judged, set_aside, sun_over, tilt_deg};
use crate::course::{Course, Cover};
use crate::cover::quality::{Facts, Fault, Quality, Usual, judge};
use crate::cover::{Reading, Shot, Visit, VisitKey, settle};
use crate::ledger::{Known, PhotoQuality, PhotoRow, Sighting, StoredPart, StoredReading};
use crate::map::Seen;
use crate::photo::{ContentHash, Fingerprint, Metadata, PhotoName, Reason, Taken};
use crate::season::Sun;

/// A visit's cover is that of the photos from above where these show at least this share of the green; else that of
/// the photos taken on it, where there are any.
const ENOUGH: f64 = 0.5;

/// Faults that are judged in a photo from above. The others are told by patterns of turf close at hand, or by things
/// that lie about on it, which from above are beside the greens.
const FAULTS: [Fault; 8] = [
    Fault::Filled,
    Fault::NoColour,
    Fault::TooDark,
    Fault::TooBright,
    Fault::Blurred,
    Fault::Tilted,
    Fault::Shadow,
    Fault::LowSun,
];

/// A photo from above that was measured.
pub(super) struct PhotoFromAbove {
    name: PhotoName,
    content: ContentHash,
    pub(super) taken: Taken,
    /// Of the greens that were planted by then, all together.
    pub(super) reading: Reading,
    /// The same by green.
    pub(super) parts: Vec<StoredPart>,
    n_pixels: u64,
    fingerprint: Option<Fingerprint>,
    quality: Option<Quality>,
    tilt_deg: Option<f64>,
    metadata: Metadata,
}

/// What the record tells of a photo from above, or why it is set aside.
pub(super) fn from_above(
    usher: &Usher<'_>,
    name: &PhotoName,
    known: &Known,
    (sighting, metadata): (&Sighting, &Metadata),
    stored: &StoredReading,
    taken: Option<Taken>,
) -> Result<PhotoFromAbove, Reason> {
    let place = usher.place(name);
    let size = known.size(&sighting.content);
    if let Some(reason) = usher.above().reason(metadata, size, &stored.parts, &place) {
        return Err(reason);
    }
    let taken = taken.ok_or(Reason::NoDate)?;
    let mut kept = Vec::new();
    let mut refused = None;
    let mut right = None;
    for part in &stored.parts {
        match usher.taken_of(name, taken.clone(), &part.green) {
            Ok(taken) => {
                right = Some(taken);
                kept.push(part.clone());
            }
            Err(reason) => refused = refused.or(Some(reason)),
        }
    }
    let Some(taken) = right else {
        return Err(refused.unwrap_or(Reason::OffTheGreens));
    };
    let sum = |value: fn(&StoredPart) -> u64| kept.iter().map(value).sum();
    Ok(PhotoFromAbove {
        name: name.clone(),
        content: sighting.content,
        taken,
        reading: Reading {
            n_green: sum(|part| part.n_green),
            n_analysed: sum(|part| part.n_analysed),
            ..stored.reading.clone()
        },
        parts: kept,
        n_pixels: known.n_pixels(&sighting.content),
        fingerprint: stored
            .fingerprint
            .as_deref()
            .and_then(Fingerprint::from_bytes),
        quality: stored.quality.clone(),
        tilt_deg: tilt_deg(metadata),
        metadata: metadata.clone(),
    })
}

/// What the photos from above of a season amount to.
#[derive(Default)]
pub(super) struct SettledFromAbove {
    pub(super) duplicates: BTreeMap<PhotoName, PhotoName>,
    pub(super) quality: BTreeMap<PhotoName, PhotoQuality>,
    pub(super) seen: BTreeMap<VisitKey, Seen>,
}

/// Judges photos from above, leaves out what is the same shot, and puts the others together by green and date;
/// visits from them are added to `visits` or take the place of those from photos on the ground.
pub(super) fn settle_from_above(
    course: &Course,
    photos: Vec<PhotoFromAbove>,
    rows: &mut [PhotoRow],
    visits: &mut Vec<Visit>,
) -> SettledFromAbove {
    let mut settled = SettledFromAbove::default();
    let mut doubts: BTreeMap<PhotoName, f64> = BTreeMap::new();
    let mut reasons = BTreeMap::new();
    for (name, judged) in judged(course, &photos) {
        match judged.doubt {
            Ok(doubt) => {
                doubts.insert(name.clone(), doubt);
            }
            Err(reason) => {
                reasons.insert(name.clone(), reason);
            }
        }
        settled.quality.insert(name, judged.quality);
    }
    let kept: Vec<&PhotoFromAbove> = photos
        .iter()
        .filter(|photo| !reasons.contains_key(&photo.name))
        .collect();
    set_aside(reasons, rows);
    let shots: Vec<Shot> = kept.iter().flat_map(|photo| shots(photo)).collect();
    settled.duplicates = settle(&shots).duplicates;
    let counted = kept
        .into_iter()
        .filter(|photo| !settled.duplicates.contains_key(&photo.name));
    let mut doubt_of: BTreeMap<VisitKey, Vec<f64>> = BTreeMap::new();
    for photo in counted {
        let doubt = doubts.get(&photo.name).copied().unwrap_or(0.0);
        for part in &photo.parts {
            let Some(cells) = cells_of(part) else {
                continue;
            };
            let visit = VisitKey {
                green: part.green.clone(),
                date: photo.taken.date,
            };
            settled.seen.entry(visit.clone()).or_default().add(&cells);
            doubt_of.entry(visit).or_default().push(doubt);
        }
    }
    for (visit, seen) in &settled.seen {
        let doubts = doubt_of.get(visit).map_or(&[][..], Vec::as_slice);
        let doubt = doubts.iter().sum::<f64>() / doubts.len().max(1) as f64;
        add_visit(course, visit, seen, doubt, visits);
    }
    visits.sort_by(|one, other| (&one.green, one.date).cmp(&(&other.green, other.date)));
    settled
}

/// Photos from above are judged among themselves.
fn judged(course: &Course, photos: &[PhotoFromAbove]) -> BTreeMap<PhotoName, Judged> {
    let judged_by = |photo: &PhotoFromAbove| -> Option<(Facts, Option<Sun>)> {
        let sun = sun_over(course, &photo.metadata, &photo.taken);
        let facts = Facts {
            sun_height_deg: sun.map(|sun| sun.height_deg),
            tilt_deg: photo.tilt_deg,
            ..Facts::of_pixels(photo.quality.clone()?, &photo.reading)
        };
        Some((facts, sun))
    };
    let known: Vec<(&PhotoFromAbove, (Facts, Option<Sun>))> = photos
        .iter()
        .filter_map(|photo| Some((photo, judged_by(photo)?)))
        .collect();
    let usual = Usual::of(known.iter().map(|(_, (facts, _))| facts));
    let judged = known.into_iter().map(|(photo, judged_by)| {
        let mut judgement = judge(&judged_by.0, &usual);
        judgement
            .findings
            .retain(|finding| FAULTS.contains(&finding.fault));
        (photo.name.clone(), Judged::of(judged_by, judgement))
    });
    judged.collect()
}

/// As many shots as it shows greens, by which the same photo in two files is found.
fn shots(photo: &PhotoFromAbove) -> Vec<Shot> {
    let shot = |part: &StoredPart| Shot {
        name: photo.name.clone(),
        green: part.green.clone(),
        station: None,
        content: photo.content,
        taken: photo.taken.clone(),
        n_pixels: photo.n_pixels,
        reading: photo.reading.clone(),
        fingerprint: photo.fingerprint.clone(),
        doubt: 0.0,
    };
    photo.parts.iter().map(shot).collect()
}

/// Standard error of cover, as a fraction, for pixels that show leaves and ground at once: they count as one or the
/// other, mostly as what there is more of.
///
/// The 96 photos of the sample season, whose pixels are 0.95 mm wide, averaged over squares of 4, 8 and 16 of them are
/// off by 2.6, 3.9 and 5.3 points (mean), whole ones by 1.8 (`scripts/mixed_pixels.py`). What is added grows about as
/// the square root of the pixel, and is least on bare and full ground. It is no scatter: above half cover it makes
/// cover higher, by 11 points at 80 % and pixels of 8 mm.
pub(super) fn of_mixed_pixels(pixel_m: f64, cover: Cover) -> f64 {
    /// At half cover and pixels of a millimetre.
    const AT_A_MILLIMETRE: f64 = 0.02;
    let share = cover.fraction();
    AT_A_MILLIMETRE * (pixel_m * 1000.0).sqrt() * (0.5 + 2.0 * share * (1.0 - share))
}

fn add_visit(
    course: &Course,
    VisitKey { green, date }: &VisitKey,
    seen: &Seen,
    doubt: f64,
    visits: &mut Vec<Visit>,
) {
    let found = course
        .outlines
        .of(green)
        .and_then(|outline| seen.cover(outline));
    let Some(found) = found else { return };
    let Some(cover) = Cover::from_fraction(found.cover.clamp(0.0, 1.0)) else {
        return;
    };
    let same = |visit: &&mut Visit| visit.green == *green && visit.date == *date;
    let on_the_ground = visits.iter_mut().find(same);
    let from_above = |n_photos: usize| Visit {
        green: green.clone(),
        date: *date,
        cover,
        n_photos: n_photos + seen.n_pictures(),
        n_spots: seen.n_pictures(),
        sd: None,
        doubt: doubt.hypot(of_mixed_pixels(seen.pixel_m(), cover)),
        seen: Some(found.share),
        area_error: None,
        mark: None,
    };
    match on_the_ground {
        Some(visit) if found.share >= ENOUGH => *visit = from_above(visit.n_photos),
        Some(visit) => visit.n_photos += seen.n_pictures(),
        None => visits.push(from_above(0)),
    }
}
