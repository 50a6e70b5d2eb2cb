//! Visits whose photos lie unevenly: their cover weighted by the area that each spot stands for.

use std::collections::{BTreeMap, BTreeSet};

use rayon::iter::{IntoParallelRefMutIterator, ParallelIterator};

use crate::assign::{Clues, USUAL_ERROR_M};
use crate::course::{Course, Cover, GreenId, Outline, StationId};
use crate::cover::{SpotCover, Visit, VisitKey};
use crate::map::{ByArea, PairSet, Pieces, Spot};
use crate::photo::Fix;

/// The spots of each visit.
type Spots = BTreeMap<VisitKey, Vec<SpotCover>>;

/// The positions that the photos of a station had, day by day: one errs by metres.
type Stations<'s> = BTreeMap<(&'s GreenId, &'s StationId), Vec<Vec<Fix>>>;

/// Gives each visit the cover weighted by area where that is surer than the mean over spots, with its standard error.
///
/// Cover is as measured: weights add up to one, so that freeing the visit from what an audit found comes after it,
/// as with the mean. How alike the cover of two places is, the visits of the whole season tell.
pub(super) fn weigh_by_area(course: &Course, clues: &Clues, spots: &Spots, visits: &mut [Visit]) {
    let stations = stations(clues, spots);
    let placed: BTreeMap<&VisitKey, Vec<Spot>> = spots
        .iter()
        .filter_map(|(visit, spots)| {
            let outline = course.outlines.of(&visit.green)?;
            let place = |spot| placed(outline, clues, &stations, &visit.green, spot);
            Some((visit, spots.iter().map(place).collect()))
        })
        .collect();
    let mut pairs = PairSet::default();
    for spots in placed.values() {
        pairs.add(&spots.iter().filter_map(Spot::sample).collect::<Vec<_>>());
    }
    let shape = pairs.shape();
    let greens: BTreeSet<&GreenId> = placed.keys().map(|visit| &visit.green).collect();
    let pieces: BTreeMap<&GreenId, Pieces> = greens
        .into_iter()
        .filter_map(|green| {
            let outline = course.outlines.of(green)?;
            Some((green, Pieces::of(outline, shape.variogram(0.5))?))
        })
        .collect();
    visits.par_iter_mut().for_each(|visit| {
        let key = visit.key();
        let (Some(spots), Some(pieces)) = (placed.get(&key), pieces.get(&visit.green)) else {
            return;
        };
        let found = pieces.cover(spots, shape.variogram(visit.cover.fraction()));
        if let Some(found) = found.filter(ByArea::is_better)
            && let Some(cover) = Cover::from_fraction(found.cover.cover)
        {
            visit.cover = cover;
            visit.area_error = Some(found.cover.se);
        }
    });
}

fn stations<'s>(clues: &Clues, spots: &'s Spots) -> Stations<'s> {
    let mut stations = Stations::new();
    for (VisitKey { green, .. }, spots) in spots {
        for spot in spots {
            if let Some(station) = &spot.station {
                let of_station = stations.entry((green, station)).or_default();
                of_station.push(fixes(clues, spot));
            }
        }
    }
    stations
}

fn fixes(clues: &Clues, spot: &SpotCover) -> Vec<Fix> {
    let fixes = spot.photos.iter().filter_map(|photo| clues.fix(photo));
    fixes.collect()
}

/// The middle of its positions of a day, whose errors are as good as one; of a station that of all days, whose errors
/// are each other's.
fn placed(
    outline: &Outline,
    clues: &Clues,
    stations: &Stations<'_>,
    green: &GreenId,
    spot: &SpotCover,
) -> Spot {
    let of_day = |fixes: &[Fix]| -> Option<([f64; 2], f64)> {
        let n = fixes.len() as f64;
        let places = fixes.iter().map(|fix| outline.plane().metres(fix.position));
        let at = places.fold([0.0; 2], |sum, at| [sum[0] + at[0] / n, sum[1] + at[1] / n]);
        let errors = fixes.iter().map(|fix| fix.error_m.unwrap_or(USUAL_ERROR_M));
        let error = errors.sum::<f64>() / n;
        (n > 0.0).then_some((at, error))
    };
    let days: Vec<([f64; 2], f64)> = match &spot.station {
        Some(station) => {
            let of_station = stations.get(&(green, station));
            let days = of_station.into_iter().flatten();
            days.filter_map(|fixes| of_day(fixes)).collect()
        }
        None => of_day(&fixes(clues, spot)).into_iter().collect(),
    };
    let n = days.len() as f64;
    let at = days.iter().fold([0.0; 2], |sum, (at, _)| {
        [sum[0] + at[0] / n, sum[1] + at[1] / n]
    });
    let variance = days.iter().map(|(_, error)| error * error).sum::<f64>() / n;
    Spot {
        at: (n > 0.0).then(|| (at, (variance / n).sqrt())),
        cover: spot.cover,
    }
}
