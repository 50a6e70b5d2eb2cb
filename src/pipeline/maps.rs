//! From a season to a map of each green.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::Season;
use super::from_above::of_mixed_pixels;
use crate::course::{Course, Cover, GreenId, Outline, Position, StationId, VolumeUnit};
use crate::cover::VisitKey;
use crate::forecast::ForecastDocument;
use crate::ledger::{CellRow, GreenRow, MapRows, PhotoOutcome, ThinAreaRow};
use crate::map::{
    GreenMap, Growth, MapOptions, MapSource, PairSet, Sample, Seen, map_green, map_seen,
};
use crate::report::{ThinLine, thin_lines};

/// The maps of a season, and why greens have none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Maps {
    /// In the order of the course file.
    pub greens: Vec<GreenMap>,
    /// A sentence each.
    pub notes: Vec<String>,
}

/// Side of a cell where pixels were seen from above and nobody says otherwise, in metres.
const SEEN_MAP_M: f64 = 1.0;

/// The cover of photos by place, of each visit.
type Places = BTreeMap<VisitKey, Vec<SampleOfStation>>;

/// The cover of one photo at its place, and the station that it shows.
type SampleOfStation = (Sample, Option<StationId>);

/// Maps every green on the date of its last visit that has photos with a position.
///
/// Photos after `as_of` are left out. `cell_m` is the side of a cell in metres; where it is not said, 2 m between
/// photos and 1 m where pixels were seen from above. The variogram is that of all visits of the season together.
///
/// Which parts will be full later than their green the `forecast` tells; without it only those are listed that lag.
pub fn maps(
    course: &Course,
    season: &Season,
    forecast: Option<&ForecastDocument>,
    as_of: Option<Date>,
    cell_m: Option<f64>,
) -> Maps {
    let options = MapOptions {
        full: course.goal.full_cover.fraction(),
        ..MapOptions::default()
    };
    let mut maps = Maps::default();
    if course.outlines.is_empty() {
        maps.notes.push(format!(
            "No outlines: draw the greens into {} (WGS 84, property `green` = id), then run again",
            course.folder.join("greens.geojson").display()
        ));
        return maps;
    }
    let mut visits = samples(course, season);
    visits.retain(|visit, _| as_of.is_none_or(|as_of| visit.date <= as_of));
    let mut pairs = PairSet::default();
    for samples in visits.values() {
        pairs.add(samples);
    }
    let shape = pairs.shape();
    for green in &course.greens {
        let Some(outline) = course.outlines.of(&green.id) else {
            continue;
        };
        let Some(last) = LastVisit::of(&visits, season, &green.id, as_of) else {
            maps.notes.push(format!(
                "{}: no measured photo has a position; switch location on for the camera",
                green.id
            ));
            continue;
        };
        let growth = forecast.and_then(|forecast| growth(forecast, &last.visit));
        let usual_side = if last.seen.is_some() {
            SEEN_MAP_M
        } else {
            options.cell_m
        };
        let source = MapSource {
            outline,
            visit: &last.visit,
            samples: last.samples,
            variogram: shape.variogram(mean_cover(last.samples)),
            growth: growth.as_ref(),
            options: MapOptions {
                cell_m: cell_m.unwrap_or(usual_side),
                ..options
            },
        };
        let mut map = match last.seen {
            Some(seen) => map_seen(&source, seen),
            None => map_green(&source),
        };
        speak_of_visit(&mut map, season, last.seen);
        if map.samples.len() == 1 && map.n_from_above == 0 {
            maps.notes.push(format!(
                "{}: one photo with a position only, so nothing is known of its parts",
                green.id
            ));
        }
        maps.greens.push(map);
    }
    maps
}

/// The expected cover of a green, day by day, seen from the day of its map.
fn growth(forecast: &ForecastDocument, visit: &VisitKey) -> Option<Growth> {
    let of_green = forecast.of(&visit.green)?;
    let first = of_green.track.first()?.date;
    let today = usize::try_from((visit.date - first).get_days()).ok()?;
    let covers = of_green.track.iter();
    let covers = covers.map(|day| day.middle_percent / 100.0).collect();
    Growth::new(covers, today)
}

/// Gives a map the cover and the error of its visit, which all else tells of that green and day: one quantity has one
/// number. Where too little was seen for a visit the map's own stands, as unsure as coarse pixels make it.
fn speak_of_visit(map: &mut GreenMap, season: &Season, seen: Option<&Seen>) {
    let Some(mean) = &mut map.mean else { return };
    let mut visits = season.visits_of(&map.green);
    if let Some(visit) = visits.find(|visit| visit.date == map.date) {
        mean.cover.cover = visit.cover.fraction();
        mean.cover.se = season.standard_error(visit);
        return;
    }
    if let Some(seen) = seen
        && let Some(cover) = Cover::from_fraction(mean.cover.cover.clamp(0.0, 1.0))
    {
        mean.cover.se = mean.cover.se.hypot(of_mixed_pixels(seen.pixel_m(), cover));
    }
}

/// The mean over the photos of a visit, 0 of none.
fn mean_cover(samples: &[Sample]) -> f64 {
    samples.iter().map(|one| one.cover).sum::<f64>() / samples.len().max(1) as f64
}

/// The last visit of a green that tells where its cover is, with what tells it.
struct LastVisit<'s> {
    visit: VisitKey,
    samples: &'s [Sample],
    seen: Option<&'s Seen>,
}

impl<'s> LastVisit<'s> {
    fn of(
        visits: &'s BTreeMap<VisitKey, Vec<Sample>>,
        season: &'s Season,
        green: &GreenId,
        as_of: Option<Date>,
    ) -> Option<LastVisit<'s>> {
        let is_known = |date: &Date| as_of.is_none_or(|as_of| *date <= as_of);
        let keys = visits.keys().chain(season.seen.keys());
        let of_green = keys.filter(|visit| visit.green == *green);
        let date = of_green.map(|visit| visit.date).filter(is_known).max()?;
        let visit = VisitKey {
            green: green.clone(),
            date,
        };
        Some(LastVisit {
            samples: visits.get(&visit).map_or(&[][..], Vec::as_slice),
            seen: season.seen.get(&visit),
            visit,
        })
    }
}

/// Samples by green and date; photos of one station are one sample, at the mean of all positions that its photos
/// have in the whole season, since one position errs by metres.
fn samples(course: &Course, season: &Season) -> BTreeMap<VisitKey, Vec<Sample>> {
    let mut places = Places::new();
    let mut stations: BTreeMap<StationId, Vec<[f64; 2]>> = BTreeMap::new();
    for row in &season.photos {
        let (Some(green), Some(date), Some(position)) = (&row.green, row.date, row.position) else {
            continue;
        };
        let PhotoOutcome::Measured { reading, .. } = &row.outcome else {
            continue;
        };
        let (Some(outline), Some(cover)) = (course.outlines.of(green), reading.cover()) else {
            continue;
        };
        let at = on_plane(outline, position);
        if let Some(station) = &row.station {
            stations.entry(station.clone()).or_default().push(at);
        }
        let sample = Sample {
            at,
            cover: season.misread.freed(cover).fraction(),
        };
        let visit = VisitKey {
            green: green.clone(),
            date,
        };
        let of_visit = places.entry(visit).or_default();
        of_visit.push((sample, row.station.clone()));
    }
    let settled = |of_visit: Vec<SampleOfStation>| {
        let mut by_station: BTreeMap<StationId, Vec<f64>> = BTreeMap::new();
        let mut all = Vec::new();
        for (sample, station) in of_visit {
            match station {
                Some(station) => by_station.entry(station).or_default().push(sample.cover),
                None => all.push(sample),
            }
        }
        for (station, covers) in by_station {
            let at = stations
                .get(&station)
                .map_or([0.0; 2], |fixes| middle(fixes));
            let cover = covers.iter().sum::<f64>() / covers.len() as f64;
            all.push(Sample { at, cover });
        }
        all
    };
    places
        .into_iter()
        .map(|(visit, of_visit)| (visit, settled(of_visit)))
        .collect()
}

fn on_plane(outline: &Outline, position: Position) -> [f64; 2] {
    outline.plane().metres(position)
}

fn middle(places: &[[f64; 2]]) -> [f64; 2] {
    let n = places.len().max(1) as f64;
    [0, 1].map(|axis| places.iter().map(|at| at[axis]).sum::<f64>() / n)
}

impl Maps {
    /// The maps as layers of the ledger.
    pub fn rows(&self, course: &Course) -> MapRows {
        let mut rows = MapRows::default();
        for outline in course.outlines.iter() {
            let map = self
                .greens
                .iter()
                .find(|map| Some(&map.green) == outline.owner.green());
            let mean = map.and_then(|map| map.mean);
            rows.greens.push(GreenRow {
                name: outline.owner.label().to_owned(),
                shape: outline.shape().clone(),
                area_m2: outline.area().0,
                date: map.map(|map| map.date),
                cover_percent: mean.map(|mean| mean.cover.cover * 100.0),
                se_percent: mean.map(|mean| mean.cover.se * 100.0),
                seen_percent: mean.map(|mean| mean.seen * 100.0),
            });
            if let Some(map) = map {
                add_cells(&mut rows, outline, map);
            }
        }
        rows.thin_areas = thin_rows(course, &self.greens);
        rows
    }
}

fn add_cells(rows: &mut MapRows, outline: &Outline, map: &GreenMap) {
    let plane = outline.plane();
    for cell in &map.cells {
        rows.cells.push(CellRow {
            green: map.green.clone(),
            date: map.date,
            shape: plane.on_the_ground(&cell.shape),
            area_m2: cell.area_m2,
            cover_percent: cell.cover.map(|found| found.cover * 100.0),
            se_percent: cell.cover.map(|found| found.se * 100.0),
            nearest_photo_m: cell.nearest_m.is_finite().then_some(cell.nearest_m),
            middle: plane.position(cell.middle),
        });
    }
}

/// Thin areas in order of work.
fn thin_rows(course: &Course, maps: &[GreenMap]) -> Vec<ThinAreaRow> {
    let row = |(idx, line): (usize, &ThinLine<'_>)| {
        let thin = line.thin;
        let plane = course.outlines.of(&line.green.id)?.plane();
        let sprigs = line.sprigs();
        Some(ThinAreaRow {
            order: idx + 1,
            green: line.green.id.clone(),
            area: line.number,
            date: line.map.date,
            shape: plane.on_the_ground(&thin.shape),
            side: thin.side.words().to_owned(),
            area_m2: thin.area_m2,
            cover_percent: thin.cover * 100.0,
            lag_points: thin.lag * 100.0,
            why: thin.why.word().to_owned(),
            days_later: thin.days_later,
            sprigs_m3: sprigs.map(|volume| volume.0),
            sprigs_bu: sprigs.and_then(|volume| volume.in_unit(VolumeUnit::Bushel, course.bushel)),
            middle: thin.position,
        })
    };
    thin_lines(course, maps)
        .iter()
        .enumerate()
        .filter_map(row)
        .collect()
}
