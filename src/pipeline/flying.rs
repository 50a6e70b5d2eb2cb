//! Photos of drones that do not say how they hung. Cut by outlines they cannot be, and as samples of a green they would
//! count with all the surroundings that they show.

use std::collections::BTreeSet;

use super::above::has_pose;
use crate::photo::Metadata;

/// The cameras of a season that fly, by the photos that say so.
#[derive(Debug, Clone, Default)]
pub(super) struct Flying {
    /// Maker and model. Nobody walks with one of them.
    cameras: BTreeSet<String>,
}

impl Flying {
    /// By what all photos of a season say of themselves.
    pub(super) fn of<'m>(photos: impl Iterator<Item = &'m Metadata>) -> Flying {
        let flying = photos.filter(|metadata| has_pose(metadata) || is_flight(metadata));
        Flying {
            cameras: flying
                .filter_map(|metadata| metadata.camera.name.clone())
                .collect(),
        }
    }

    /// Whether a photo is from a camera that flies and does not say all of height, heading, pitch, lens and place.
    pub(super) fn is_without_pose(&self, metadata: &Metadata) -> bool {
        let camera = metadata.camera.name.as_ref();
        let flies = is_flight(metadata) || camera.is_some_and(|name| self.cameras.contains(name));
        flies && metadata.mosaic.is_none() && !has_pose(metadata)
    }
}

/// Whether it says anything of how it hung in the air.
fn is_flight(metadata: &Metadata) -> bool {
    metadata.drone.is_some_and(|drone| {
        let told = [
            drone.height_m,
            drone.yaw_deg,
            drone.pitch_deg,
            drone.roll_deg,
        ];
        told.iter().any(Option::is_some)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::course::Position;
    use crate::photo::{Camera, Drone, Fix};

    fn photo(camera: &str, drone: Option<Drone>) -> Metadata {
        Metadata {
            camera: Camera {
                name: Some(camera.to_owned()),
                focal_35mm: Some(24.0),
                ..Camera::default()
            },
            fix: Some(Fix {
                position: Position {
                    latitude: 36.1,
                    longitude: -79.4,
                },
                error_m: None,
                altitude_m: Some(250.0),
            }),
            drone,
            ..Metadata::default()
        }
    }

    #[test]
    fn a_camera_that_flew_once_is_not_carried() {
        let posed = Drone {
            height_m: Some(20.0),
            yaw_deg: Some(0.0),
            pitch_deg: Some(-90.0),
            ..Drone::default()
        };
        let on_the_ground = Drone {
            height_m: Some(-3.0),
            ..posed
        };
        let season = [photo("Heron", Some(posed)), photo("Fernhill", None)];
        let flying = Flying::of(season.iter());
        assert!(!flying.is_without_pose(&season[0]));
        assert!(flying.is_without_pose(&photo("Heron", None)));
        assert!(flying.is_without_pose(&photo("Kite", Some(on_the_ground))));
        assert!(!flying.is_without_pose(&season[1]));
        // An editor's calibration of a lens is no flight.
        let calibrated = Drone {
            focal_of_width: Some(0.7),
            ..Drone::default()
        };
        assert!(!flying.is_without_pose(&photo("Fernhill", Some(calibrated))));
        assert!(!Flying::default().is_without_pose(&photo("Heron", None)));
    }
}
