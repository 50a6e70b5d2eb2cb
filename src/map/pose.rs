//! How a camera hung over the ground, by what its photo says of itself.

use nalgebra::{Matrix3, Vector3};

use super::GroundView;
use crate::course::{Plane, Position};
use crate::photo::Metadata;

/// Diagonal of a frame of 35 mm film, in millimetres: equivalent focal lengths refer to it (CIPA DC-008, tag
/// FocalLengthIn35mmFilm).
const FILM_DIAGONAL_MM: f64 = 43.266_615;

/// Pictures wider than this are cut from a sensor of 4 : 3, whose width they keep, while the equivalent focal length
/// stays that of the sensor (common practice, no source).
const WIDEST_SENSOR: f64 = 1.52;

/// A camera over flat ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Where it hung.
    pub at: Position,
    /// Above the ground, in metres.
    pub height_m: f64,
    /// Which way the upper edge of the picture pointed, in degrees clockwise from north.
    pub yaw_deg: f64,
    /// −90 looks straight down.
    pub pitch_deg: f64,
    /// Turn about the line of sight, clockwise as seen from behind the camera.
    pub roll_deg: f64,
    /// Focal length in pixels.
    pub focal_px: f64,
}

impl Pose {
    /// The pose that a photo of `size` pixels states; `None` where it does not state all of it: position, height,
    /// heading, pitch and focal length.
    pub fn of(metadata: &Metadata, size: (u32, u32)) -> Option<Pose> {
        let drone = metadata.drone?;
        Some(Pose {
            at: metadata.fix?.position,
            height_m: drone.height_m.filter(|height| *height > 0.0)?,
            yaw_deg: drone.yaw_deg?,
            pitch_deg: drone.pitch_deg?,
            roll_deg: drone.roll_deg.unwrap_or(0.0),
            focal_px: focal_px(metadata, size)?,
        })
    }

    /// How far it looked off straight down, in degrees.
    pub fn tilt_deg(&self) -> f64 {
        (self.pitch_deg + 90.0).abs()
    }

    /// The ground that a picture of `size` pixels shows, taken as flat; `None` where part of it shows the sky.
    pub fn view(&self, plane: &Plane, size: (u32, u32)) -> Option<GroundView> {
        let [ahead, right, up] = self.axes();
        let (width, height) = (f64::from(size.0), f64::from(size.1));
        // A pixel looks along `ahead` + x `right` − y `up`, x and y counted from the middle in focal lengths.
        let across = right / self.focal_px;
        let down = -up / self.focal_px;
        let first = ahead - across * (width / 2.0) - down * (height / 2.0);
        let corners = [(0.0, 0.0), (width, 0.0), (0.0, height), (width, height)];
        let looks_down = |(u, v): (f64, f64)| (first + across * u + down * v).z < -1e-3;
        if !corners.into_iter().all(looks_down) {
            return None;
        }
        let [east, north] = plane.metres(self.at);
        // It meets the ground `height_m` further down: where its own z is that, with the sign turned.
        let column = |along: Vector3<f64>| {
            Vector3::new(
                self.height_m * along.x - east * along.z,
                self.height_m * along.y - north * along.z,
                -along.z,
            )
        };
        let matrix = Matrix3::from_columns(&[column(across), column(down), column(first)]);
        GroundView::from_matrix(matrix, size)
    }

    /// Unit vectors (east, north, up) along the line of sight, to the right and to the upper edge of the picture.
    fn axes(&self) -> [Vector3<f64>; 3] {
        let (sin_yaw, cos_yaw) = self.yaw_deg.to_radians().sin_cos();
        let (sin_pitch, cos_pitch) = self.pitch_deg.to_radians().sin_cos();
        let (sin_roll, cos_roll) = self.roll_deg.to_radians().sin_cos();
        let ahead = Vector3::new(sin_yaw * cos_pitch, cos_yaw * cos_pitch, sin_pitch);
        let level = Vector3::new(cos_yaw, -sin_yaw, 0.0);
        let upright = level.cross(&ahead);
        [
            ahead,
            level * cos_roll - upright * sin_roll,
            upright * cos_roll + level * sin_roll,
        ]
    }
}

/// Focal length in pixels: as calibrated, else from the equivalent of 35 mm film by diagonals.
fn focal_px(metadata: &Metadata, (width, height): (u32, u32)) -> Option<f64> {
    let zoom = metadata.camera.zoom.unwrap_or(1.0);
    let (width, height) = (f64::from(width), f64::from(height));
    if let Some(of_width) = metadata.drone.and_then(|drone| drone.focal_of_width) {
        return Some(of_width * width * zoom);
    }
    let of_film = metadata.camera.focal_35mm? / FILM_DIAGONAL_MM;
    let (long, short) = (width.max(height), width.min(height));
    let short = if long > WIDEST_SENSOR * short {
        0.75 * long
    } else {
        short
    };
    Some(of_film * long.hypot(short) * zoom)
}

#[cfg(test)]
mod tests {
    use geo::Area;
    use proptest::prelude::*;

    use super::*;
    use crate::photo::{Camera, Drone, Fix};

    const COURSE: Position = Position {
        latitude: 36.1,
        longitude: -79.4,
    };

    fn pose(yaw_deg: f64, pitch_deg: f64, roll_deg: f64) -> Pose {
        Pose {
            at: COURSE,
            height_m: 30.0,
            yaw_deg,
            pitch_deg,
            roll_deg,
            focal_px: 3000.0,
        }
    }

    fn metres(pose: &Pose, pixel: [f64; 2]) -> [f64; 2] {
        let plane = Plane::around(COURSE);
        pose.view(&plane, (4000, 3000)).unwrap().metres(pixel)
    }

    fn is_at(found: [f64; 2], expected: [f64; 2]) -> bool {
        (found[0] - expected[0]).hypot(found[1] - expected[1]) < 1e-9
    }

    #[test]
    fn looking_down_the_upper_edge_points_where_the_camera_is_headed() {
        assert!(is_at(
            metres(&pose(0.0, -90.0, 0.0), [2000.0, 1500.0]),
            [0.0, 0.0]
        ));
        assert!(is_at(
            metres(&pose(0.0, -90.0, 0.0), [2000.0, 0.0]),
            [0.0, 15.0]
        ));
        assert!(is_at(
            metres(&pose(90.0, -90.0, 0.0), [2000.0, 0.0]),
            [15.0, 0.0]
        ));
        assert!(is_at(
            metres(&pose(90.0, -90.0, 0.0), [4000.0, 1500.0]),
            [0.0, -20.0]
        ));
        // Some cameras write half a turn of roll and the opposite heading.
        assert!(is_at(
            metres(&pose(270.0, -90.0, 180.0), [2000.0, 0.0]),
            [15.0, 0.0]
        ));
    }

    #[test]
    fn a_tilted_camera_looks_ahead() {
        let ahead = metres(&pose(0.0, -80.0, 0.0), [2000.0, 1500.0]);
        assert!(is_at(ahead, [0.0, 30.0 * 10.0_f64.to_radians().tan()]));
        let steep = Pose {
            focal_px: 1000.0,
            ..pose(0.0, -30.0, 0.0)
        };
        assert_eq!(steep.view(&Plane::around(COURSE), (4000, 3000)), None);
    }

    /// The camera of a real photo in 16 : 9 from a sensor of 6.17 × 4.63 mm: 3.61 mm, said to be 20 mm of film. At
    /// 39.8 m a pixel of the sensor's 1.54 µm is 17.0 mm on the ground.
    #[test]
    fn a_wide_picture_is_cut_from_a_taller_sensor() {
        let metadata = Metadata {
            fix: Some(Fix {
                position: COURSE,
                error_m: None,
                altitude_m: None,
            }),
            camera: Camera {
                focal_mm: Some(3.61),
                focal_35mm: Some(20.0),
                ..Camera::default()
            },
            drone: Some(Drone {
                height_m: Some(39.8),
                yaw_deg: Some(45.0),
                pitch_deg: Some(-89.9),
                roll_deg: Some(0.0),
                ..Drone::default()
            }),
            ..Metadata::default()
        };
        let pose = Pose::of(&metadata, (4000, 2250)).unwrap();
        let view = pose.view(&Plane::around(COURSE), (4000, 2250)).unwrap();
        assert!(
            (view.pixel_size_m() / 0.0170 - 1.0).abs() < 0.02,
            "{}",
            view.pixel_size_m()
        );
        let blind = Metadata {
            fix: None,
            ..metadata
        };
        assert_eq!(Pose::of(&blind, (4000, 2250)), None);
    }

    proptest! {
        /// The same picture, by another way: each corner's ray is turned and followed to the ground.
        #[test]
        fn corners_are_where_their_rays_meet_the_ground(
            yaw in 0.0..360.0_f64, pitch in -90.0..-70.0_f64, roll in -10.0..10.0_f64,
        ) {
            use nalgebra::Rotation3;
            let pose = pose(yaw, pitch, roll);
            // A camera that looks north and level, right is east: roll about its sight, then pitch, then heading.
            let turn = Rotation3::from_axis_angle(&-Vector3::z_axis(), yaw.to_radians())
                * Rotation3::from_axis_angle(&Vector3::x_axis(), pitch.to_radians())
                * Rotation3::from_axis_angle(&Vector3::y_axis(), roll.to_radians());
            for (u, v) in [(0.0, 0.0), (4000.0, 0.0), (4000.0, 3000.0), (700.0, 2900.0)] {
                let ray = turn * Vector3::new((u - 2000.0) / 3000.0, 1.0, -(v - 1500.0) / 3000.0);
                let far = -30.0 / ray.z;
                prop_assert!(is_at(metres(&pose, [u, v]), [ray.x * far, ray.y * far]));
            }
            let view = pose.view(&Plane::around(COURSE), (4000, 3000)).unwrap();
            prop_assert!(view.footprint().unsigned_area() >= 40.0 * 30.0 - 1e-6);
        }
    }
}
