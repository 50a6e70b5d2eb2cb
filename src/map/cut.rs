//! Which pixels of a picture lie on a green.

use geo::bool_ops::BooleanOps;
use geo::{Area, Buffer, Coord, MultiPolygon, Polygon};

use super::{CellCounts, GroundView, SEEN_CELL_M};
use crate::course::Outline;
use crate::photo::PixelRect;

/// Corners of the polygon that stands for a circle.
const CIRCLE_CORNERS: usize = 72;

/// The part of a green that a picture shows, and the pixels that show it.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    view: GroundView,
    /// Metres on the plane of the outline.
    region: MultiPolygon<f64>,
    rect: PixelRect,
}

/// What of a green is looked at in a picture.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CutLimits {
    /// The edge of the green is left out by this many metres: what lies beyond it must not count where the picture's
    /// place errs.
    pub margin_m: f64,
    /// Only ground within so many metres of a place is looked at: the middle and the radius.
    pub circle: Option<([f64; 2], f64)>,
}

impl Cut {
    /// The part of a green that a picture shows; `None` where it shows none.
    pub fn of(outline: &Outline, view: &GroundView, limits: &CutLimits) -> Option<Cut> {
        let mut region = outline.in_metres().clone();
        if limits.margin_m > 0.0 {
            region = region.buffer(-limits.margin_m);
        }
        if let Some((middle, radius)) = limits.circle {
            region = region.intersection(&circle(middle, radius));
        }
        region = region.intersection(&view.footprint());
        let rect = bounds(&region, view)?;
        Some(Cut {
            view: view.clone(),
            region,
            rect,
        })
    }

    /// Pixels of the picture that hold all of it.
    pub fn rect(&self) -> PixelRect {
        self.rect
    }

    /// Its area in square metres.
    pub fn area_m2(&self) -> f64 {
        self.region.unsigned_area()
    }

    /// Ground that a pixel shows, in square metres.
    pub fn pixel_m2(&self) -> f64 {
        self.area_m2() / area_in_pixels(&self.region, &self.view).max(1.0)
    }

    /// One byte a pixel of [`Cut::rect`], row by row: 255 where the middle of the pixel lies on it, else 0.
    pub fn inside(&self) -> Vec<u8> {
        let (width, height) = (self.rect.width as usize, self.rect.height as usize);
        let mut inside = vec![0; width * height];
        let rings: Vec<Vec<[f64; 2]>> = rings(&self.region, &self.view)
            .map(|ring| {
                let from_rect =
                    |[x, y]: [f64; 2]| [x - f64::from(self.rect.x), y - f64::from(self.rect.y)];
                ring.into_iter().map(from_rect).collect()
            })
            .collect();
        let mut crossings = Vec::new();
        for (row, line) in inside.chunks_exact_mut(width).enumerate() {
            let y = row as f64 + 0.5;
            crossings.clear();
            for edge in rings.iter().flat_map(|ring| ring.windows(2)) {
                let ([x0, y0], [x1, y1]) = (edge[0], edge[1]);
                if (y0 <= y) != (y1 <= y) {
                    crossings.push(x0 + (y - y0) / (y1 - y0) * (x1 - x0));
                }
            }
            crossings.sort_by(f64::total_cmp);
            for span in crossings.chunks_exact(2) {
                // The first and last pixel whose middle lies between.
                let column = |x: f64| (x - 0.5).ceil().clamp(0.0, width as f64) as usize;
                let (from, to) = (column(span[0]), column(span[1]));
                if from < to {
                    line[from..to].fill(255);
                }
            }
        }
        inside
    }

    /// Counts pixels by cell: `analysed` and `green` are one byte a pixel of [`Cut::rect`], 0 for no.
    ///
    /// # Panics
    /// Where they are of another size.
    pub fn count(&self, analysed: &[u8], green: &[u8]) -> CellCounts {
        let width = self.rect.width as usize;
        let n_pixels = width * self.rect.height as usize;
        assert_eq!((analysed.len(), green.len()), (n_pixels, n_pixels));
        let mut cells = CellCounts {
            pixel_m2: self.pixel_m2(),
            ..CellCounts::default()
        };
        // Neighbouring pixels mostly share a cell: it is looked up when it changes.
        let mut current = ((0, 0), [0, 0]);
        for (at, (&analysed, &green)) in analysed.iter().zip(green).enumerate() {
            if analysed == 0 {
                continue;
            }
            let column = f64::from(self.rect.x) + (at % width) as f64 + 0.5;
            let row = f64::from(self.rect.y) + (at / width) as f64 + 0.5;
            let [east, north] = self.view.metres([column, row]);
            let index = |metres: f64| (metres / SEEN_CELL_M).floor() as i32;
            let cell = (index(east), index(north));
            if cell != current.0 {
                cells.add(current);
                current = (cell, [0, 0]);
            }
            current.1[0] += u32::from(green != 0);
            current.1[1] += 1;
        }
        cells.add(current);
        cells
    }
}

impl CellCounts {
    fn add(&mut self, (cell, [n_green, n_analysed]): ((i32, i32), [u32; 2])) {
        if n_analysed > 0 {
            let counts = self.counts.entry(cell).or_default();
            counts[0] += n_green;
            counts[1] += n_analysed;
        }
    }
}

fn circle([x, y]: [f64; 2], radius: f64) -> Polygon<f64> {
    let corner = |n: usize| {
        let (sin, cos) = (n as f64 / CIRCLE_CORNERS as f64 * std::f64::consts::TAU).sin_cos();
        Coord {
            x: x + radius * cos,
            y: y + radius * sin,
        }
    };
    Polygon::new((0..CIRCLE_CORNERS).map(corner).collect(), Vec::new())
}

/// The closed rings of a region in pixels.
fn rings<'r>(
    region: &'r MultiPolygon<f64>,
    view: &'r GroundView,
) -> impl Iterator<Item = Vec<[f64; 2]>> + 'r {
    let all = region
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    all.map(move |ring| ring.coords().map(|at| view.pixel([at.x, at.y])).collect())
}

fn area_in_pixels(region: &MultiPolygon<f64>, view: &GroundView) -> f64 {
    let polygon = |polygon: &Polygon<f64>| {
        let ring = |ring: &geo::LineString<f64>| {
            let to_pixel = |at: &Coord<f64>| {
                let [x, y] = view.pixel([at.x, at.y]);
                Coord { x, y }
            };
            ring.coords()
                .map(to_pixel)
                .collect::<geo::LineString<f64>>()
        };
        let holes = polygon.interiors().iter().map(ring).collect();
        Polygon::new(ring(polygon.exterior()), holes)
    };
    region.iter().map(|one| polygon(one).unsigned_area()).sum()
}

/// The pixels of the picture that hold a region; `None` where it holds no pixel.
fn bounds(region: &MultiPolygon<f64>, view: &GroundView) -> Option<PixelRect> {
    let (width, height) = view.size();
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for pixel in rings(region, view).flatten() {
        for axis in 0..2 {
            low[axis] = low[axis].min(pixel[axis]);
            high[axis] = high[axis].max(pixel[axis]);
        }
    }
    let span = |axis: usize, length: u32| {
        let from = low[axis].floor().clamp(0.0, f64::from(length)) as u32;
        let to = high[axis].ceil().clamp(0.0, f64::from(length)) as u32;
        (low[axis] < high[axis] && from < to).then(|| (from, to - from))
    };
    let (x, width) = span(0, width)?;
    let (y, height) = span(1, height)?;
    Some(PixelRect {
        x,
        y,
        width,
        height,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::course::{GreenId, Owner, Plane, Position};
    use crate::map::Pose;

    const COURSE: Position = Position {
        latitude: 36.1,
        longitude: -79.4,
    };

    /// 20 m east to west, 12 m south to north, with a hole of 4 × 4 m in its middle.
    fn outline() -> Outline {
        let plane = Plane::around(COURSE);
        let ring = |x: f64, y: f64| {
            let corners = [[-x, -y], [x, -y], [x, y], [-x, y]].map(|corner| {
                let at = plane.position(corner);
                (at.longitude, at.latitude)
            });
            geo::LineString::from(corners.to_vec())
        };
        let shape = Polygon::new(ring(10.0, 6.0), vec![ring(2.0, 2.0)]);
        let green = Owner::Green(GreenId::new("G07").unwrap());
        Outline::new(green, MultiPolygon::new(vec![shape])).unwrap()
    }

    fn view(yaw_deg: f64, pitch_deg: f64) -> GroundView {
        let pose = Pose {
            at: COURSE,
            height_m: 30.0,
            yaw_deg,
            pitch_deg,
            roll_deg: 0.0,
            focal_px: 600.0,
        };
        pose.view(&Plane::around(COURSE), (800, 600)).unwrap()
    }

    #[test]
    fn pixels_inside_have_the_area_of_the_green() {
        for (yaw, pitch) in [(0.0, -90.0), (33.0, -90.0), (200.0, -84.0)] {
            let cut = Cut::of(&outline(), &view(yaw, pitch), &CutLimits::default()).unwrap();
            assert!((cut.area_m2() - (240.0 - 16.0)).abs() < 0.01);
            let n_inside = cut.inside().iter().filter(|&&byte| byte != 0).count();
            let area = n_inside as f64 * cut.pixel_m2();
            assert!((area - 224.0).abs() < 0.5, "{yaw} {pitch}: {area}");
        }
    }

    #[test]
    fn every_pixel_is_inside_where_its_middle_is() {
        use geo::Contains;
        let cut = Cut::of(&outline(), &view(33.0, -75.0), &CutLimits::default()).unwrap();
        let (inside, rect) = (cut.inside(), cut.rect());
        for (at, &byte) in inside.iter().enumerate().step_by(7) {
            let (x, y) = (at as u32 % rect.width, at as u32 / rect.width);
            let middle = [f64::from(rect.x + x) + 0.5, f64::from(rect.y + y) + 0.5];
            let [x, y] = cut.view.metres(middle);
            assert_eq!(
                byte != 0,
                cut.region.contains(&Coord { x, y }),
                "{middle:?}"
            );
        }
    }

    #[test]
    fn counted_cells_lie_where_their_ground_is() {
        let cut = Cut::of(&outline(), &view(120.0, -85.0), &CutLimits::default()).unwrap();
        let inside = cut.inside();
        // Green is what lies east of the middle.
        let rect = cut.rect();
        let green: Vec<u8> = (0..inside.len())
            .map(|at| {
                let x = f64::from(rect.x) + (at as u32 % rect.width) as f64 + 0.5;
                let y = f64::from(rect.y) + (at as u32 / rect.width) as f64 + 0.5;
                u8::from(cut.view.metres([x, y])[0] >= 0.0)
            })
            .collect();
        let cells = cut.count(&inside, &green);
        for (&(column, _), &[n_green, n]) in &cells.counts {
            assert_eq!(n_green, if column >= 0 { n } else { 0 });
        }
        assert_eq!(cells.counts.len(), 40 * 24 - 8 * 8);
        assert!((cells.seen_m2() - 224.0).abs() < 0.5);
    }

    #[test]
    fn edges_and_what_is_far_from_the_middle_are_left_out() {
        let limits = CutLimits {
            margin_m: 1.0,
            circle: None,
        };
        let cut = Cut::of(&outline(), &view(0.0, -90.0), &limits).unwrap();
        // 18 × 10 without the hole, whose corners are rounded when it grows by a metre.
        let hole = 6.0 * 6.0 - (4.0 - std::f64::consts::PI);
        assert!(
            (cut.area_m2() - (180.0 - hole)).abs() < 0.1,
            "{}",
            cut.area_m2()
        );
        let limits = CutLimits {
            margin_m: 0.0,
            circle: Some(([0.0, 0.0], 5.0)),
        };
        let cut = Cut::of(&outline(), &view(0.0, -90.0), &limits).unwrap();
        assert!((cut.area_m2() - (25.0 * std::f64::consts::PI - 16.0)).abs() < 0.15);
        let wide = CutLimits {
            margin_m: 7.0,
            circle: None,
        };
        assert_eq!(Cut::of(&outline(), &view(0.0, -90.0), &wide), None);
    }

    #[test]
    fn a_picture_of_other_ground_shows_nothing() {
        let pose = Pose {
            at: Position {
                latitude: 36.101,
                ..COURSE
            },
            height_m: 30.0,
            yaw_deg: 0.0,
            pitch_deg: -90.0,
            roll_deg: 0.0,
            focal_px: 600.0,
        };
        let far = pose.view(&outline().plane(), (800, 600)).unwrap();
        assert_eq!(Cut::of(&outline(), &far, &CutLimits::default()), None);
    }
}
