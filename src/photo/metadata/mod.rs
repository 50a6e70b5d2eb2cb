//! What a photo says of itself.

mod blocks;
pub(crate) mod exif;
mod name_date;
#[cfg(test)]
mod tests;
mod when;
mod xmp;

use jiff::Timestamp;
use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::mosaic::{Mosaic, MosaicFacts};
use crate::course::Position;

/// Reads what a photo says of itself from the bytes of its file, without decoding the picture and without its
/// name; times are brought into the course's `zone`.
///
/// Damaged data say what can be read of them, and never fail: see the fields for what counts as absent. Of
/// several dates the most trusted is taken, as [`TakenFrom`] orders them.
pub fn metadata(bytes: &[u8], zone: &TimeZone) -> Metadata {
    let blocks = blocks::Blocks::of(bytes);
    let exif = blocks.exif.as_deref().and_then(exif::parse);
    let packet = blocks
        .xmp
        .as_deref()
        .or_else(|| exif.as_ref().and_then(exif::tiff_xmp));
    let xmp = packet.map(xmp::read).unwrap_or_default();
    let fix = exif.as_ref().and_then(exif::fix).map(|fix| Fix {
        error_m: fix.error_m.or(xmp.error_m),
        ..fix
    });
    let mut metadata = Metadata {
        taken: when::taken(exif.as_ref(), &xmp, zone),
        changed: None,
        gps_time: exif.as_ref().and_then(when::gps_time),
        fix,
        camera: exif.as_ref().map(exif::camera).unwrap_or_default(),
        drone: xmp.drone,
        code: None,
        mosaic: None,
    };
    if metadata.taken.is_none() {
        metadata.changed = exif.as_ref().and_then(when::changed);
    }
    metadata
}

/// What an orthomosaic says of itself.
///
/// Its own date is that of its making, days after the flight, in most programs: a date in its name goes before it.
pub fn of_mosaic(mosaic: &Mosaic) -> Metadata {
    Metadata {
        taken: mosaic.written().map(|written| Taken {
            date: written.date(),
            time: None,
            instant: None,
            from: TakenFrom::Written,
        }),
        fix: mosaic.fix(),
        mosaic: Some(mosaic.facts()),
        ..Metadata::default()
    }
}

/// What a photo says of itself; whatever it does not say is `None`.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Metadata {
    /// When it was taken.
    pub taken: Option<Taken>,
    /// The day of its last change (DateTime), of a photo that does not say when it was taken. It is never taken for that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub changed: Option<Date>,
    /// When its position was found, by the satellites' clock: the same moment, or long before it where the receiver
    /// had no signal since.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gps_time: Option<Timestamp>,
    /// Where it was taken.
    pub fix: Option<Fix>,
    /// With what.
    pub camera: Camera,
    /// How the drone hung in the air.
    pub drone: Option<Drone>,
    /// Text of the code of a slate that it shows, where its pixels were looked at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub code: Option<String>,
    /// Of an orthomosaic: how it lies on the ground.
    #[serde(default)]
    pub mosaic: Option<MosaicFacts>,
}

/// When a photo was taken, on the course's clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Taken {
    /// Local date at the course.
    pub date: Date,
    /// Local time at the course; a file name may not tell it.
    pub time: Option<Time>,
    /// The instant, where the photo itself fixes it (an offset, or GPS time).
    pub instant: Option<Timestamp>,
    /// What told it.
    pub from: TakenFrom,
}

/// What told the date, the most trusted first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TakenFrom {
    /// DateTimeOriginal (else DateTimeDigitized, else the date of the XMP packet) with an offset from UTC.
    CameraWithOffset,
    /// The same without an offset, taken as the course's local time.
    Camera,
    /// GPS date and time, UTC.
    Gps,
    /// A date in the name of the file or of its folders.
    FileName,
    /// The date within an orthomosaic, of its making; a date in its name goes before it.
    Written,
    /// The file's modification time, only where the person asks for it.
    FileTime,
}

/// A GPS position.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Fix {
    /// WGS84.
    pub position: Position,
    /// Horizontal error as stated by the receiver (GPSHPositioningError, or a drone's own in its XMP packet), in
    /// metres.
    pub error_m: Option<f64>,
    /// Above sea level, in metres.
    pub altitude_m: Option<f64>,
}

/// Camera and lens.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Camera {
    /// Maker and model in one line.
    pub name: Option<String>,
    /// Serial number of the body, which tells two of one model apart; phones hardly ever write it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// Focal length in millimetres.
    pub focal_mm: Option<f64>,
    /// Focal length in 35 mm equivalent, millimetres.
    pub focal_35mm: Option<f64>,
    /// Digital zoom ratio, greater than 1 where used.
    pub zoom: Option<f64>,
}

/// How a drone hung in the air, from its XMP packet.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Drone {
    /// Height above the take-off point, in metres.
    pub height_m: Option<f64>,
    /// Heading of the camera, else of the craft: degrees clockwise from north, 0 to below 360.
    pub yaw_deg: Option<f64>,
    /// Camera pitch in degrees: −90 looks straight down.
    pub pitch_deg: Option<f64>,
    /// Camera roll in degrees.
    pub roll_deg: Option<f64>,
    /// Calibrated focal length as a multiple of the width of the picture.
    #[serde(default)]
    pub focal_of_width: Option<f64>,
}
