//! From photos to visits: the same shot counts once, a burst of one spot weighs as one photo.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::Reading;
use crate::course::{Cover, GreenId, StationId};
use crate::photo::{ContentHash, Fingerprint, PhotoName, Taken, TakenFrom};

/// Photos of one green that follow each other within this time may show one spot. Walking to another spot,
/// stooping and framing takes longer.
const BURST_SECONDS: i64 = 20;

/// Two files of one shot carry the same time; editors may round it.
const SAME_MOMENT_SECONDS: i64 = 2;

/// One measured photo of a green.
#[derive(Debug, Clone)]
pub struct Shot {
    /// The photo.
    pub name: PhotoName,
    /// Its green.
    pub green: GreenId,
    /// Its station, where known.
    pub station: Option<StationId>,
    /// The bytes of its file.
    pub content: ContentHash,
    /// When it was taken.
    pub taken: Taken,
    /// Pixels of the whole picture: of two copies of one shot the larger is kept.
    pub n_pixels: u64,
    /// What was measured.
    pub reading: Reading,
    /// What it looks like from afar, where known.
    pub fingerprint: Option<Fingerprint>,
    /// Standard error of its cover for the faults of the photo, as a fraction; 0 in a good one.
    pub doubt: f64,
}

/// By what a visit is known: one green on one local date. In order of greens, then of dates.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct VisitKey {
    /// The green.
    pub green: GreenId,
    /// The local date.
    pub date: Date,
}

/// All photos of one green on one local date.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Visit {
    /// The green.
    pub green: GreenId,
    /// The local date.
    pub date: Date,
    /// Mean cover of the spots; weighted by area where `area_error` or `seen` is told.
    pub cover: Cover,
    /// Photos measured.
    pub n_photos: usize,
    /// Spots that they show.
    pub n_spots: usize,
    /// Standard deviation of cover between spots, as a fraction; `None` with one spot.
    pub sd: Option<f64>,
    /// Standard error for the faults of its photos, as a fraction. The photos of a visit share light, camera
    /// and hand, so their faults do not average out: it is the mean of the photos' own.
    pub doubt: f64,
    /// Share of the green that was seen from above, from 0 to 1, where its cover is from there; `None` where it is
    /// the mean over spots.
    #[serde(default)]
    pub seen: Option<f64>,
    /// Standard error of sampling, as a fraction, where its cover is the mean over spots weighted by the area that
    /// each stands for; `None` where all weigh alike.
    #[serde(default)]
    pub area_error: Option<f64>,
    /// What is known of it beside its cover; a marked visit is shown and not fitted.
    pub mark: Option<Mark>,
}

/// Why the cover of a visit does not tell how the turf has grown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// Sand lies on the leaves, by the log.
    Topdressed,
    /// Sand seems to lie on the leaves.
    LooksTopdressed,
    /// The leaves have turned colour; the turf is there.
    Turned,
}

impl Visit {
    /// By what it is known.
    pub fn key(&self) -> VisitKey {
        VisitKey {
            green: self.green.clone(),
            date: self.date,
        }
    }
}

/// What the shots of a season amount to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Settled {
    /// Photos that show the same shot as another, which is kept.
    pub duplicates: BTreeMap<PhotoName, PhotoName>,
    /// One per green and date, by green and date.
    pub visits: Vec<Visit>,
    /// The spots of each visit.
    pub spots: BTreeMap<VisitKey, Vec<SpotCover>>,
}

/// What the photos of one spot show.
#[derive(Debug, Clone, PartialEq)]
pub struct SpotCover {
    /// Its station, where it is one.
    pub station: Option<StationId>,
    /// Its photos, by time.
    pub photos: Vec<PhotoName>,
    /// Their mean cover, a fraction.
    pub cover: f64,
}

/// Sorts a season's shots into visits.
///
/// The same shot in two files counts once: the one with the better date, then with more pixels, then first
/// by name, is kept. Photos of one station, and photos of a green that follow each other quickly and look
/// alike, are averaged into one spot; the visit's cover is the plain mean over spots. The order of `shots`
/// does not matter.
pub fn settle(shots: &[Shot]) -> Settled {
    let mut by_green: BTreeMap<&GreenId, Vec<&Shot>> = BTreeMap::new();
    for shot in shots.iter().filter(|shot| shot.reading.n_analysed > 0) {
        by_green.entry(&shot.green).or_default().push(shot);
    }
    let mut settled = Settled::default();
    for shots in by_green.values_mut() {
        shots.sort_by(|a, b| preference(a).cmp(&preference(b)));
        let kept = without_copies(shots, &mut settled.duplicates);
        let mut by_date: BTreeMap<Date, Vec<&Shot>> = BTreeMap::new();
        for shot in kept {
            by_date.entry(shot.taken.date).or_default().push(shot);
        }
        for (date, shots) in by_date {
            let spots = spots(shots);
            let Some(visit) = visit(date, &spots) else {
                continue;
            };
            let covers = spots.iter().filter_map(|spot| spot_cover(spot)).collect();
            settled.spots.insert(visit.key(), covers);
            settled.visits.push(visit);
        }
    }
    settled
}

/// Shots that sort earlier are kept when two show the same.
fn preference(shot: &Shot) -> (TakenFrom, std::cmp::Reverse<u64>, &PhotoName) {
    (
        shot.taken.from,
        std::cmp::Reverse(shot.n_pixels),
        &shot.name,
    )
}

fn without_copies<'a>(
    shots: &[&'a Shot],
    duplicates: &mut BTreeMap<PhotoName, PhotoName>,
) -> Vec<&'a Shot> {
    let mut kept: Vec<&Shot> = Vec::new();
    for &shot in shots {
        match kept.iter().find(|original| is_copy(original, shot)) {
            Some(original) => {
                duplicates.insert(shot.name.clone(), original.name.clone());
            }
            None => kept.push(shot),
        }
    }
    kept
}

/// Only photos of one date can be copies, but for those that a messenger has sent: the same spot a week later may look
/// very much alike.
fn is_copy(original: &Shot, shot: &Shot) -> bool {
    if is_sent_later(original, shot) {
        return alike(original, shot, Fingerprint::is_same_shot);
    }
    if shot.taken.date != original.taken.date || was_another_moment(&original.taken, &shot.taken) {
        return false;
    }
    original.content == shot.content || alike(original, shot, Fingerprint::is_same_shot)
}

/// Whether a shot may be the other one sent on a later day: no larger, and dated by nothing but its name or file.
fn is_sent_later(original: &Shot, shot: &Shot) -> bool {
    shot.taken.date > original.taken.date
        && shot.n_pixels <= original.n_pixels
        && matches!(shot.taken.from, TakenFrom::FileName | TakenFrom::FileTime)
        && matches!(
            original.taken.from,
            TakenFrom::CameraWithOffset | TakenFrom::Camera | TakenFrom::Gps
        )
}

/// Whether the cameras' own clocks tell two shots apart.
fn was_another_moment(a: &Taken, b: &Taken) -> bool {
    let by_camera = |taken: &Taken| match taken.from {
        TakenFrom::CameraWithOffset | TakenFrom::Camera => taken.time,
        _ => None,
    };
    match (by_camera(a), by_camera(b)) {
        (Some(a), Some(b)) => a.duration_until(b).as_secs().abs() > SAME_MOMENT_SECONDS,
        _ => false,
    }
}

fn spot_cover(spot: &[&Shot]) -> Option<SpotCover> {
    Some(SpotCover {
        station: spot.first()?.station.clone(),
        photos: spot.iter().map(|shot| shot.name.clone()).collect(),
        cover: mean_cover(spot)?,
    })
}

fn visit(date: Date, spots: &[Vec<&Shot>]) -> Option<Visit> {
    let covers: Vec<f64> = spots.iter().filter_map(|spot| mean_cover(spot)).collect();
    let n_spots = covers.len();
    let mean = covers.iter().sum::<f64>() / n_spots as f64;
    let sd = (n_spots > 1).then(|| {
        let sum_of_squares: f64 = covers.iter().map(|cover| (cover - mean).powi(2)).sum();
        (sum_of_squares / (n_spots - 1) as f64).sqrt()
    });
    Some(Visit {
        green: spots.first()?.first()?.green.clone(),
        date,
        cover: Cover::from_fraction(mean.clamp(0.0, 1.0))?,
        n_photos: spots.iter().map(Vec::len).sum(),
        n_spots,
        sd,
        doubt: mean_doubt(spots),
        seen: None,
        area_error: None,
        mark: None,
    })
}

/// Spots weigh alike, as for cover.
fn mean_doubt(spots: &[Vec<&Shot>]) -> f64 {
    let of_spot = |spot: &Vec<&Shot>| {
        spot.iter().map(|shot| shot.doubt).sum::<f64>() / spot.len().max(1) as f64
    };
    spots.iter().map(of_spot).sum::<f64>() / spots.len().max(1) as f64
}

fn mean_cover(spot: &[&Shot]) -> Option<f64> {
    let covers: Option<Vec<f64>> = spot
        .iter()
        .map(|shot| shot.reading.cover().map(Cover::fraction))
        .collect();
    let covers = covers?;
    Some(covers.iter().sum::<f64>() / covers.len() as f64)
}

/// Groups the shots of one visit by the spot that they show.
fn spots(mut shots: Vec<&Shot>) -> Vec<Vec<&Shot>> {
    shots.sort_by(|a, b| (a.taken.time, &a.name).cmp(&(b.taken.time, &b.name)));
    let mut spots: Vec<Vec<&Shot>> = Vec::new();
    for shot in shots {
        let same_spot = spots.iter_mut().find(|spot| match &shot.station {
            Some(station) => spot[0].station.as_ref() == Some(station),
            None => spot
                .last()
                .is_some_and(|last| last.station.is_none() && is_burst(last, shot)),
        });
        match same_spot {
            Some(spot) => spot.push(shot),
            None => spots.push(vec![shot]),
        }
    }
    spots
}

fn is_burst(earlier: &Shot, later: &Shot) -> bool {
    let (Some(start), Some(end)) = (earlier.taken.time, later.taken.time) else {
        return false;
    };
    let seconds = start.duration_until(end).as_secs();
    seconds <= BURST_SECONDS && alike(earlier, later, Fingerprint::is_same_spot)
}

fn alike(a: &Shot, b: &Shot, test: fn(&Fingerprint, &Fingerprint) -> bool) -> bool {
    match (&a.fingerprint, &b.fingerprint) {
        (Some(a), Some(b)) => test(a, b),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    /// A shot of this day of June, 2027, with a pattern drawn by `seed`.
    fn shot(name: &str, day: i8, from: TakenFrom, n_pixels: u64, seed: u32) -> Shot {
        let cell = |at: u32| {
            let mixed = (at + 1_000 * seed).wrapping_mul(0x9E37_79B9);
            ((mixed ^ (mixed >> 15)).wrapping_mul(0x85EB_CA6B) >> 24) as u8
        };
        let pattern: Vec<u8> = (0..1024).map(cell).collect();
        Shot {
            name: PhotoName(name.to_owned()),
            green: GreenId::new("G07").unwrap(),
            station: None,
            content: ContentHash::of(name.as_bytes()),
            taken: Taken {
                date: date(2027, 6, day),
                time: None,
                instant: None,
                from,
            },
            n_pixels,
            reading: Reading {
                n_green: 50,
                n_analysed: 100,
                dark_green_index: None,
                sharpness: 0.1,
                clipped: 0.0,
                shadow: 0.0,
            },
            fingerprint: Fingerprint::from_bytes(&pattern),
            doubt: 0.0,
        }
    }

    #[test]
    fn a_photo_that_is_sent_a_day_later_makes_no_visit() {
        let original = shot("G07/IMG_22.jpg", 15, TakenFrom::Camera, 600_000, 1);
        let settled = |sent: Shot| settle(&[original.clone(), sent]);
        let sent = shot(
            "G07/IMG-20270616-WA0001.jpg",
            16,
            TakenFrom::FileName,
            270_000,
            1,
        );
        let found = settled(sent.clone());
        assert_eq!(found.duplicates.get(&sent.name), Some(&original.name));
        assert_eq!(found.visits.len(), 1);
        // Another spot, a camera's own date, a larger file, and what was sent before are photos of their own.
        for other in [
            shot("b.jpg", 16, TakenFrom::FileName, 270_000, 2),
            shot("b.jpg", 16, TakenFrom::Camera, 270_000, 1),
            shot("b.jpg", 16, TakenFrom::FileName, 900_000, 1),
            shot("b.jpg", 14, TakenFrom::FileName, 270_000, 1),
        ] {
            assert_eq!(settled(other).visits.len(), 2);
        }
    }
}
