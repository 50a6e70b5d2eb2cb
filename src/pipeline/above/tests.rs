//! Flights whose poses and ground are known, and an orthomosaic that another program has counted.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use nalgebra::{Rotation3, Vector3};

use super::*;
use crate::course::{CoverLimits, Plane, Position};
use crate::cover::Window;
use crate::map::SEEN_CELL_M;
use crate::photo::{Camera, Colour, Drone, Fix, Format, Orientation, PixelRect};

const LEAF: [u8; 3] = [60, 130, 40];
const SAND: [u8; 3] = [205, 190, 160];

/// Metres per degree of latitude and longitude at 36.1° N (WGS84, pyproj).
const PER_DEGREE: [f64; 2] = [110_960.0, 90_049.7];

fn degrees([east, north]: [f64; 2]) -> Position {
    Position {
        latitude: 36.1 + north / PER_DEGREE[0],
        longitude: -79.4 + east / PER_DEGREE[1],
    }
}

/// Greens of 24 × 22 m: G03 at 0, G07 at 30 metres east of 36.1 N, 79.4 W.
fn course(folder: &Path) -> Course {
    let features = [("G03", 0.0), ("G07", 30.0)].map(|(id, west)| {
        let corners = [[0.0, 0.0], [24.0, 0.0], [24.0, 22.0], [0.0, 22.0], [0.0, 0.0]];
        let ring = corners.map(|[x, y]| {
            let at = degrees([west + x, y]);
            format!("[{:.9},{:.9}]", at.longitude, at.latitude)
        });
        format!(
            r#"{{"type":"Feature","properties":{{"green":"{id}"}},"geometry":{{"type":"Polygon","coordinates":[[{}]]}}}}"#,
            ring.join(",")
        )
    });
    let outlines = format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",")
    );
    let text = "[course]\nname = \"Pennywhistle Bend\"\n\n[[green]]\nid = \"G03\"\nplanted = 2026-05-18\n\n\
                [[green]]\nid = \"G07\"\nplanted = 2026-05-20\n";
    std::fs::write(folder.join("course.toml"), text).unwrap();
    std::fs::write(folder.join("greens.geojson"), outlines).unwrap();
    Course::read(folder).unwrap()
}

fn rule() -> Rule {
    let limits = CoverLimits {
        hue: [65.0, 150.0],
        saturation: [10.0, 100.0],
    };
    Rule::Window(Window::new(&limits).unwrap())
}

/// How a camera hung: where in metres east and north of the corner of G03, how high, and its angles in degrees.
struct Shot {
    at: [f64; 2],
    height_m: f64,
    yaw: f64,
    pitch: f64,
    roll: f64,
}

const SIZE: (u32, u32) = (1000, 750);
/// Of 24 mm on film, by the diagonal of 4 : 3.
const FOCAL_PX: f64 = 24.0 / 43.266_615 * 1250.0;

impl Shot {
    fn metadata(&self) -> Metadata {
        Metadata {
            fix: Some(Fix {
                position: degrees(self.at),
                error_m: Some(0.01),
                altitude_m: None,
            }),
            camera: Camera {
                focal_35mm: Some(24.0),
                ..Camera::default()
            },
            drone: Some(Drone {
                height_m: Some(self.height_m),
                yaw_deg: Some(self.yaw),
                pitch_deg: Some(self.pitch),
                roll_deg: Some(self.roll),
                ..Drone::default()
            }),
            ..Metadata::default()
        }
    }

    /// What the camera sees of ground that is turf where `is_turf` says so of metres on `plane`. Rays are turned one
    /// angle after the other, from a camera that looks north and level.
    fn picture(&self, plane: &Plane, is_turf: impl Fn([f64; 2]) -> bool) -> Vec<u8> {
        let turn = Rotation3::from_axis_angle(&-Vector3::z_axis(), self.yaw.to_radians())
            * Rotation3::from_axis_angle(&Vector3::x_axis(), self.pitch.to_radians())
            * Rotation3::from_axis_angle(&Vector3::y_axis(), self.roll.to_radians());
        let [east, north] = plane.metres(degrees(self.at));
        let mut rgb = Vec::new();
        for row in 0..SIZE.1 {
            for column in 0..SIZE.0 {
                let x = (f64::from(column) + 0.5 - 500.0) / FOCAL_PX;
                let y = (f64::from(row) + 0.5 - 375.0) / FOCAL_PX;
                let ray = turn * Vector3::new(x, 1.0, -y);
                let far = -self.height_m / ray.z;
                let ground = [east + ray.x * far, north + ray.y * far];
                rgb.extend(if is_turf(ground) { LEAF } else { SAND });
            }
        }
        rgb
    }

    fn cut(&self, course: &Course, rgb: &[u8]) -> CutUp {
        let picture = Picture {
            width: SIZE.0,
            height: SIZE.1,
            rgb,
            mask: None,
            orientation: Orientation::Upright,
            colour: &Colour::default(),
            format: Format::Jpeg,
            jpeg_quality: None,
            decoder: "none",
        };
        Above::of(course).cut_picture(&picture, &self.metadata(), &rule())
    }

    /// Metres that a pixel in the middle of the picture shows.
    fn pixel_m(&self) -> f64 {
        self.height_m / FOCAL_PX
    }
}

/// Three photos over G03 and one between the greens, turned and tilted.
const FLIGHT: [Shot; 4] = [
    Shot {
        at: [12.0, 11.0],
        height_m: 30.0,
        yaw: 0.0,
        pitch: -90.0,
        roll: 0.0,
    },
    Shot {
        at: [10.0, 13.0],
        height_m: 22.0,
        yaw: 137.0,
        pitch: -89.9,
        roll: 0.0,
    },
    Shot {
        at: [13.0, 8.0],
        height_m: 28.0,
        yaw: 315.0,
        pitch: -82.0,
        roll: 3.0,
    },
    Shot {
        at: [27.0, 11.0],
        height_m: 40.0,
        yaw: 45.0,
        pitch: -88.0,
        roll: -2.0,
    },
];

fn cells(cut: &CutUp, green: &str) -> CellCounts {
    let part = cut.parts.iter().find(|part| part.green.as_str() == green);
    cells_of(part.unwrap()).unwrap()
}

/// Where along one axis turf ends and sand begins, cell by cell across the other: from the share of turf in the cells
/// at the edge. `axis` 0 looks along columns.
fn edges(cells: &CellCounts, axis: usize, edge: f64) -> Vec<f64> {
    let mut sums: BTreeMap<i32, Vec<(i32, f64)>> = BTreeMap::new();
    for (&(column, row), &[n_green, n]) in &cells.counts {
        let (along, across) = if axis == 0 {
            (column, row)
        } else {
            (row, column)
        };
        // Cells at the edge of what was seen are seen in part.
        let whole = 0.9 * SEEN_CELL_M * SEEN_CELL_M;
        if f64::from(n) * cells.pixel_m2 >= whole {
            let share = f64::from(n_green) / f64::from(n);
            sums.entry(across).or_default().push((along, share));
        }
    }
    let middle = (edge / SEEN_CELL_M).floor() as i32;
    let mut found = Vec::new();
    for along in sums.into_values() {
        let near: Vec<(i32, f64)> = along
            .into_iter()
            .filter(|(at, _)| (at - middle).abs() <= 2)
            .collect();
        if near.len() == 5 {
            let first = f64::from(middle - 2) * SEEN_CELL_M;
            let turf: f64 = near.iter().map(|(_, share)| share * SEEN_CELL_M).sum();
            found.push(first + turf);
        }
    }
    found
}

#[test]
fn a_flight_of_known_poses_is_recovered_to_two_pixels_of_ground() {
    let folder = tempfile::tempdir().unwrap();
    let course = course(folder.path());
    let mut n_edges = 0;
    for (green, west) in [("G03", 0.0), ("G07", 30.0)] {
        let outline = course.outlines.of(&GreenId::new(green).unwrap()).unwrap();
        let plane = outline.plane();
        for shot in &FLIGHT {
            // Edges that pass near the foot of the camera, within the green.
            let [east, north] = plane.metres(degrees([
                shot.at[0].clamp(west + 5.0, west + 19.0),
                shot.at[1],
            ]));
            for (axis, edge) in [(0, east + 0.137), (1, north - 0.221)] {
                let rgb = shot.picture(&plane, |at| at[axis] < edge);
                let cut = shot.cut(&course, &rgb);
                if !cut.parts.iter().any(|part| part.green.as_str() == green) {
                    continue;
                }
                for found in edges(&cells(&cut, green), axis, edge) {
                    n_edges += 1;
                    let off = (found - edge).abs() / shot.pixel_m();
                    assert!(off <= 2.0, "{green}, axis {axis}: off by {off} pixels");
                }
            }
        }
    }
    assert!(n_edges > 100, "only {n_edges} edges were seen");
}

#[test]
fn one_photo_over_two_greens_gives_each_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let course = course(folder.path());
    let shot = &FLIGHT[3];
    let between = course.outlines.plane().unwrap();
    let middle = between.metres(degrees([27.0, 11.0]))[0];
    // Full turf west of the middle of the gap, bare sand east of it.
    let rgb = shot.picture(&between, |at| at[0] < middle);
    let cut = shot.cut(&course, &rgb);
    let shares: Vec<(&str, f64)> = cut
        .parts
        .iter()
        .map(|part| {
            (
                part.green.as_str(),
                part.n_green as f64 / part.n_analysed as f64,
            )
        })
        .collect();
    assert_eq!(shares, [("G03", 1.0), ("G07", 0.0)]);
    let sum: u64 = cut.parts.iter().map(|part| part.n_analysed).sum();
    assert_eq!(cut.reading.n_analysed, sum);
    // Nothing beside the greens was looked at: 6 m between them, and what is seen at a slant.
    let seen = cells(&cut, "G03").seen_m2() + cells(&cut, "G07").seen_m2();
    assert!((200.0..24.0 * 22.0 * 2.0).contains(&seen), "{seen}");
}

#[test]
fn a_photo_taken_at_a_slant_is_told_and_not_cut() {
    let folder = tempfile::tempdir().unwrap();
    let course = course(folder.path());
    let shot = Shot {
        pitch: -60.0,
        ..FLIGHT[0]
    };
    let cut = shot.cut(&course, &[128; 1000 * 750 * 3]);
    assert!(cut.parts.is_empty());
    let size = Some(PixelSize {
        width: SIZE.0,
        height: SIZE.1,
    });
    let above = Above::of(&course);
    let no_place = Err(Reason::NoGreen);
    assert_eq!(
        above.reason(&shot.metadata(), size, &cut.parts, &no_place),
        Some(Reason::NotOverhead)
    );
    let far = Shot {
        at: [500.0, 500.0],
        ..FLIGHT[0]
    };
    assert_eq!(
        above.reason(&far.metadata(), size, &[], &no_place),
        Some(Reason::OffTheGreens)
    );
}

#[test]
fn another_outline_is_another_key() {
    let folder = tempfile::tempdir().unwrap();
    let one = Above::of(&course(folder.path())).key().clone();
    assert_eq!(Above::of(&course(folder.path())).key(), &one);
    let text = std::fs::read_to_string(folder.path().join("greens.geojson")).unwrap();
    std::fs::write(
        folder.path().join("greens.geojson"),
        text.replacen("36.1001", "36.1002", 2),
    )
    .unwrap();
    let other = Course::read(folder.path()).unwrap();
    assert_ne!(Above::of(&other).key(), &one);
}

fn fixture(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/mosaics")
        .join(name)
}

/// Cells counted by `scripts/make_mosaic_fixtures.py`, which wrote the picture with rasterio and found the cell of
/// each pixel with pyproj: green, column, row, turf pixels, all pixels.
fn counted() -> BTreeMap<(String, i32, i32), [u32; 2]> {
    let mut reader = csv::Reader::from_path(fixture("course_cells.csv")).unwrap();
    let rows = reader.deserialize::<(String, i32, i32, u32, u32)>();
    rows.map(|row| {
        let (green, column, row, n_green, n) = row.unwrap();
        ((green, column, row), [n_green, n])
    })
    .collect()
}

#[test]
fn an_orthomosaic_by_another_program_is_recovered_to_half_a_point() {
    let folder = tempfile::tempdir().unwrap();
    let course = course(folder.path());
    let counted = counted();
    let mut mosaic = Mosaic::open(&fixture("course.tif")).unwrap();
    let cut = Above::of(&course).cut_mosaic(&mut mosaic, &rule()).unwrap();
    let mut n_cells = 0;
    let mut totals = BTreeMap::new();
    for part in &cut.parts {
        let cells = cells_of(part).unwrap();
        let green = part.green.to_string();
        for (&(column, row), &[n_green, n]) in &cells.counts {
            let expected = counted.get(&(green.clone(), column, row));
            let [turf, all] = *expected.unwrap_or(&[0, 0]);
            let total: &mut [[f64; 2]; 2] = totals.entry(green.clone()).or_default();
            for (sum, value) in total
                .as_flattened_mut()
                .iter_mut()
                .zip([n_green, n, turf, all])
            {
                *sum += f64::from(value);
            }
            // Slivers at the outline are not judged: there a pixel more or less is many points.
            if all >= 200 {
                n_cells += 1;
                let found = 100.0 * f64::from(n_green) / f64::from(n);
                let truth = 100.0 * f64::from(turf) / f64::from(all);
                assert!(
                    (found - truth).abs() <= 0.5,
                    "{green} {column} {row}: {found} {truth}"
                );
            }
        }
    }
    assert!(n_cells > 3_900, "{n_cells}");
    for (green, [[n_green, n], [turf, all]]) in totals {
        let off = 100.0 * (n_green / n - turf / all);
        assert!(off.abs() <= 0.05, "{green}: {off}");
    }
}

#[test]
fn a_fine_orthomosaic_is_thinned_and_says_the_same() {
    assert_eq!(
        step(PixelRect {
            x: 0,
            y: 0,
            width: 6000,
            height: 6000
        }),
        1
    );
    assert_eq!(
        step(PixelRect {
            x: 0,
            y: 0,
            width: 6001,
            height: 6000
        }),
        2
    );
    assert_eq!(
        step(PixelRect {
            x: 0,
            y: 0,
            width: 40_000,
            height: 40_000
        }),
        7
    );
    let folder = tempfile::tempdir().unwrap();
    let course = course(folder.path());
    let mosaic = Mosaic::open(&fixture("course.tif")).unwrap();
    let green = GreenId::new("G03").unwrap();
    let outline = course.outlines.of(&green).unwrap();
    let wanted = mosaic_rect(&mosaic, outline).unwrap();
    let view = |step: u32| {
        let size = (wanted.width.div_ceil(step), wanted.height.div_ceil(step));
        mosaic_view(&mosaic, outline, wanted, step, size).unwrap()
    };
    // The fourth pixel of the thinned picture is the tenth of the whole one.
    let [whole, thinned] = [view(1).metres([9.5, 6.5]), view(3).metres([3.5, 2.5])];
    assert!((whole[0] - thinned[0]).hypot(whole[1] - thinned[1]) < 1e-6);
}
