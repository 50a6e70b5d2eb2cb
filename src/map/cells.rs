//! A green in cells.

use geo::bool_ops::BooleanOps;
use geo::{Area, BoundingRect, Centroid, MultiPolygon, Rect, coord};
use jiff::civil::Date;

use super::kriging::{Estimate, Kriging};
use super::thin::{ThinArea, thin_areas};
use super::variogram::mean;
use super::{Growth, Seen, Variogram};
use crate::course::{GreenId, Outline, Position};
use crate::cover::VisitKey;

/// Slivers of a cell at the edge that are smaller than this share of it are left out.
const LEAST_SHARE: f64 = 0.02;

/// The cover of one photo, or of the photos of one station, at its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Metres east and north on the plane of the green's outline.
    pub at: [f64; 2],
    /// 0 to 1.
    pub cover: f64,
}

/// How a green is mapped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapOptions {
    /// Side of a cell in metres.
    pub cell_m: f64,
    /// Cells further from every photo are not estimated, in metres.
    pub reach_m: f64,
    /// A thin area lags its green by at least this fraction of cover.
    pub margin: f64,
    /// … or will be full so many days later.
    pub late_days: f64,
    /// Thin areas smaller than this are not worth the walk, in square metres.
    pub least_area_m2: f64,
    /// What is as full as this is not thin, however much it lags: the goal.
    pub full: f64,
}

impl Default for MapOptions {
    fn default() -> MapOptions {
        MapOptions {
            cell_m: 2.0,
            reach_m: 10.0,
            margin: 0.10,
            late_days: 7.0,
            least_area_m2: 4.0,
            full: 0.95,
        }
    }
}

/// A cell of a green.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Column and row on the grid of the green, eastwards and northwards.
    pub index: (i32, i32),
    /// What of the cell lies on the green, in metres on its plane.
    pub shape: MultiPolygon<f64>,
    /// Of that, square metres.
    pub area_m2: f64,
    /// Middle of that, metres.
    pub middle: [f64; 2],
    /// Metres to the nearest photo.
    pub nearest_m: f64,
    /// Cover, from 0 to 1, and its standard error; `None` where no photo is near.
    pub cover: Option<Estimate>,
}

/// Cover of a green weighted by area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AreaMean {
    /// Over the cells that were estimated, 0 to 1, with its standard error.
    pub cover: Estimate,
    /// Share of the green's area that these cells make up.
    pub seen: f64,
}

/// The map of one green on one date.
#[derive(Debug, Clone, PartialEq)]
pub struct GreenMap {
    /// The green.
    pub green: GreenId,
    /// The date of the photos.
    pub date: Date,
    /// Where photos were taken.
    pub samples: Vec<Sample>,
    /// Pictures from above, whose pixels the cells have their cover from.
    pub n_from_above: usize,
    /// South to north, west to east.
    pub cells: Vec<Cell>,
    /// `None` where no cell is near a photo.
    pub mean: Option<AreaMean>,
    /// The largest need first.
    pub thin: Vec<ThinArea>,
}

/// What a map of a green is made from.
#[derive(Debug, Clone, Copy)]
pub struct MapSource<'a> {
    /// The green's outline.
    pub outline: &'a Outline,
    /// The green and the date.
    pub visit: &'a VisitKey,
    /// Cover of the photos of that date.
    pub samples: &'a [Sample],
    /// How alike the cover of two places is.
    pub variogram: Variogram,
    /// How the green's cover grows: it tells which parts will be full later.
    pub growth: Option<&'a Growth>,
    /// How it is mapped.
    pub options: MapOptions,
}

/// Maps a green from the cover of the photos of one date.
pub fn map_green(source: &MapSource<'_>) -> GreenMap {
    let kriging = Kriging::new(source.samples, source.variogram);
    let mut cells = cut(source.outline.in_metres(), source.options.cell_m);
    source.estimate(&mut cells, kriging.as_ref());
    let mean = kriging.and_then(|kriging| area_mean(&kriging, &cells));
    source.finished(cells, mean, 0)
}

/// Maps a green from pictures from above on one date: the cells that they show have the cover of their pixels. The
/// others are estimated from photos of the same date, as [`map_green`] does; the cover of the green is that of the
/// cells that were seen.
pub fn map_seen(source: &MapSource<'_>, seen: &Seen) -> GreenMap {
    let mut cells = seen.cells(source.outline, source.options.cell_m);
    let mean = super::seen::mean(&cells).map(|found| AreaMean {
        cover: Estimate {
            cover: found.cover,
            se: se_of_mean(&cells),
        },
        seen: found.share,
    });
    let kriging = Kriging::new(source.samples, source.variogram);
    source.estimate(&mut cells, kriging.as_ref());
    source.finished(cells, mean, seen.n_pictures())
}

impl MapSource<'_> {
    /// Fills the cells that have no cover yet and are near a photo.
    fn estimate(&self, cells: &mut [Cell], kriging: Option<&Kriging<'_>>) {
        for cell in cells.iter_mut().filter(|cell| cell.cover.is_none()) {
            cell.nearest_m = nearest(self.samples, cell.middle);
            if cell.nearest_m <= self.options.reach_m {
                cell.cover = kriging
                    .and_then(|kriging| kriging.mean_over(&[(cell.middle, 1.0)]))
                    .map(|found| Estimate {
                        cover: found.cover.clamp(0.0, 1.0),
                        ..found
                    });
            }
        }
    }

    /// The map with its thin areas.
    fn finished(&self, cells: Vec<Cell>, mean: Option<AreaMean>, n_from_above: usize) -> GreenMap {
        let level = mean.map_or_else(|| self::mean(self.samples), |mean| Some(mean.cover.cover));
        let thin = match level {
            Some(level) => thin_areas(self.outline, &cells, level, self.growth, &self.options),
            None => Vec::new(),
        };
        GreenMap {
            green: self.visit.green.clone(),
            date: self.visit.date,
            samples: self.samples.to_vec(),
            n_from_above,
            cells,
            mean,
            thin,
        }
    }
}

/// Of the mean over cells that err independently of each other.
fn se_of_mean(cells: &[Cell]) -> f64 {
    let (mut variance, mut area) = (0.0, 0.0);
    for cell in cells {
        if let Some(found) = cell.cover {
            variance += (cell.area_m2 * found.se).powi(2);
            area += cell.area_m2;
        }
    }
    variance.sqrt() / f64::max(area, f64::MIN_POSITIVE)
}

/// Cells on a grid through the middle of the outline.
pub(super) fn cut(shape: &MultiPolygon<f64>, side: f64) -> Vec<Cell> {
    let Some(bounds) = shape.bounding_rect() else {
        return Vec::new();
    };
    let index = |metres: f64| (metres / side).floor() as i32;
    let (min, max) = (bounds.min(), bounds.max());
    let mut cells = Vec::new();
    for row in index(min.y)..=index(max.y) {
        for column in index(min.x)..=index(max.x) {
            let (west, south) = (f64::from(column) * side, f64::from(row) * side);
            let square = Rect::new(
                coord! { x: west, y: south },
                coord! { x: west + side, y: south + side },
            );
            let part = shape.intersection(&square.to_polygon());
            let area_m2 = part.unsigned_area();
            if let Some(middle) = part.centroid()
                && area_m2 >= LEAST_SHARE * side * side
            {
                cells.push(Cell {
                    index: (column, row),
                    shape: part,
                    area_m2,
                    middle: [middle.x(), middle.y()],
                    nearest_m: f64::INFINITY,
                    cover: None,
                });
            }
        }
    }
    cells
}

fn nearest(samples: &[Sample], at: [f64; 2]) -> f64 {
    samples
        .iter()
        .map(|sample| (sample.at[0] - at[0]).hypot(sample.at[1] - at[1]))
        .fold(f64::INFINITY, f64::min)
}

fn area_mean(kriging: &Kriging<'_>, cells: &[Cell]) -> Option<AreaMean> {
    let seen_cells = || cells.iter().filter(|cell| cell.cover.is_some());
    let seen: f64 = seen_cells().map(|cell| cell.area_m2).sum();
    let all: f64 = cells.iter().map(|cell| cell.area_m2).sum();
    if seen <= 0.0 {
        return None;
    }
    let places: Vec<([f64; 2], f64)> = seen_cells()
        .map(|cell| (cell.middle, cell.area_m2 / seen))
        .collect();
    let cover = kriging.mean_over(&places)?;
    Some(AreaMean {
        cover: Estimate {
            cover: cover.cover.clamp(0.0, 1.0),
            ..cover
        },
        seen: seen / all,
    })
}

impl Cell {
    /// The middle of the cell on the ground.
    pub fn position(&self, outline: &Outline) -> Position {
        outline.plane().position(self.middle)
    }
}

#[cfg(test)]
mod tests {
    use geo::Polygon;
    use jiff::civil::date;

    use super::*;
    use crate::course::{Owner, Plane};
    use crate::map::{PairSet, Side, Why};

    /// 24 m east to west, 20 m south to north.
    fn outline() -> Outline {
        let plane = Plane::around(Position {
            latitude: 36.1,
            longitude: -79.4,
        });
        let corners = [[-12.0, -10.0], [12.0, -10.0], [12.0, 10.0], [-12.0, 10.0]];
        let ring = corners.map(|corner| {
            let at = plane.position(corner);
            (at.longitude, at.latitude)
        });
        let shape = MultiPolygon::new(vec![Polygon::new(ring.to_vec().into(), Vec::new())]);
        Outline::new(Owner::Green(GreenId::new("G07").unwrap()), shape).unwrap()
    }

    fn mapped(samples: &[Sample]) -> GreenMap {
        grown(samples, None)
    }

    fn grown(samples: &[Sample], growth: Option<&Growth>) -> GreenMap {
        let mut pairs = PairSet::default();
        pairs.add(samples);
        map_green(&MapSource {
            outline: &outline(),
            visit: &VisitKey {
                green: GreenId::new("G07").unwrap(),
                date: date(2027, 7, 5),
            },
            samples,
            variogram: pairs.variogram(0.6),
            growth,
            options: MapOptions::default(),
        })
    }

    fn at(x: f64, y: f64, cover: f64) -> Sample {
        Sample { at: [x, y], cover }
    }

    #[test]
    fn the_cells_of_a_green_have_its_area() {
        let map = mapped(&[at(0.0, 0.0, 0.5)]);
        let area: f64 = map.cells.iter().map(|cell| cell.area_m2).sum();
        assert!((area / outline().area().0 - 1.0).abs() < 1e-6, "{area}");
    }

    #[test]
    fn no_cell_is_estimated_where_no_photo_is_near() {
        let map = mapped(&[at(-11.0, -9.0, 0.5)]);
        for cell in &map.cells {
            assert_eq!(cell.cover.is_some(), cell.nearest_m <= 10.0, "{cell:?}");
        }
        let seen = map.mean.unwrap().seen;
        assert!((0.1..0.4).contains(&seen), "{seen}");
        assert_eq!(mapped(&[]).mean, None);
    }

    #[test]
    fn photos_crowded_on_one_side_do_not_bend_the_cover_of_the_green() {
        let mut samples = vec![at(-8.0, 0.0, 0.9), at(8.0, 0.0, 0.3)];
        for n in 0..6 {
            samples.push(at(-8.0 + 0.3 * f64::from(n), 0.5, 0.9));
        }
        let map = mapped(&samples);
        let plain = samples.iter().map(|sample| sample.cover).sum::<f64>() / 8.0;
        let weighted = map.mean.unwrap().cover.cover;
        assert!(plain > 0.8 && weighted < 0.72, "{plain} {weighted}");
    }

    #[test]
    fn a_thin_corner_is_found_with_its_side_and_area() {
        let mut samples = Vec::new();
        for x in [-9.0, -3.0, 3.0, 9.0] {
            for y in [-7.0, 0.0, 7.0] {
                let is_thin = x > 5.0 && y > 5.0;
                samples.push(at(x, y, if is_thin { 0.1 } else { 0.85 }));
            }
        }
        let map = mapped(&samples);
        assert_eq!(map.thin.len(), 1, "{:?}", map.thin);
        let thin = &map.thin[0];
        assert_eq!(thin.side, Side::NorthEast);
        assert!((10.0..90.0).contains(&thin.area_m2), "{}", thin.area_m2);
        assert!(thin.cover < map.mean.unwrap().cover.cover - 0.1);
    }

    #[test]
    fn a_corner_that_will_not_be_full_when_the_green_is_is_listed_with_its_days() {
        let mut samples = Vec::new();
        for x in [-9.0, -3.0, 3.0, 9.0] {
            for y in [-7.0, 0.0, 7.0] {
                let is_behind = x > 5.0 && y > 5.0;
                samples.push(at(x, y, if is_behind { 0.84 } else { 0.91 }));
            }
        }
        assert_eq!(mapped(&samples).thin, [], "less than ten points behind");
        let growth = |points_a_day: f64| {
            let day = |day: i32| (0.90 + 0.01 * points_a_day * f64::from(day - 60)).clamp(0.0, 1.0);
            Growth::new((0..120).map(day).collect(), 60).unwrap()
        };
        let map = grown(&samples, Some(&growth(0.4)));
        assert_eq!(map.thin.len(), 1, "{:?}", map.thin);
        let thin = &map.thin[0];
        assert_eq!((thin.side, thin.why), (Side::NorthEast, Why::Late));
        let days = thin.days_later.unwrap();
        assert!(
            (days - thin.lag / 0.004).abs() < 0.01,
            "{days} {}",
            thin.lag
        );
        assert!(days >= 7.0, "{days}");
        // Where the green grows two points a day the same corner is three days behind.
        assert_eq!(grown(&samples, Some(&growth(2.0))).thin, []);
        // Listed for its points, it is told by how many days it will be later.
        samples[11].cover = 0.4;
        let thin = &grown(&samples, Some(&growth(2.0))).thin[0];
        assert_eq!(thin.why, Why::Both);
    }

    #[test]
    fn an_even_green_has_no_thin_area() {
        let mut samples = Vec::new();
        for (n, x) in [-9.0, -3.0, 3.0, 9.0].into_iter().enumerate() {
            samples.push(at(x, 0.0, 0.60 + 0.02 * n as f64));
        }
        assert_eq!(mapped(&samples).thin, []);
    }
}
