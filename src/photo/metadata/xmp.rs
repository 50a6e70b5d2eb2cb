//! What drones write into the XMP packet (ISO 16684-1), and the date that editors keep there.
//!
//! Vendors use namespaces of their own and the same local names in them, as attributes or as elements; only the
//! local names are looked at. Some name the angles of the camera `CameraYawDegree` and so on, or plainly `Yaw`, `Pitch`
//! and `Roll`; plain ones count beside a height only, since handhelds may tell theirs too.

use roxmltree::{Document, Node, ParsingOptions};

use super::Drone;

/// Nodes of a packet that are looked at; real ones have some hundreds.
const MAX_NODES: u32 = 50_000;

/// What is read of an XMP packet.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Xmp {
    /// How the drone hung in the air.
    pub(super) drone: Option<Drone>,
    /// Horizontal error of its position, in metres.
    pub(super) error_m: Option<f64>,
    /// When the photo was taken, as written.
    pub(super) taken: Option<String>,
}

/// Reads a packet; what is no XML says nothing.
pub(super) fn read(packet: &[u8]) -> Xmp {
    let text = String::from_utf8_lossy(packet);
    let text = text
        .trim_start_matches('\u{feff}')
        .trim_matches(|c: char| c == '\0' || c.is_whitespace());
    let options = ParsingOptions {
        allow_dtd: false,
        nodes_limit: MAX_NODES,
        ..ParsingOptions::default()
    };
    let Ok(document) = Document::parse_with_options(text, options) else {
        return Xmp::default();
    };
    let value = |name: &str| document.descendants().find_map(|node| named(node, name));
    let number = |name: &str| {
        value(name)
            .and_then(|text| text.parse::<f64>().ok())
            .filter(|number| number.is_finite())
    };
    // Above the ground below goes before above the place of take-off.
    let above_ground = number("AboveGroundAltitude").filter(|metres| *metres > 0.0);
    let height_m = above_ground.or_else(|| number("RelativeAltitude"));
    let angle = |of_gimbal: &str, of_camera: &str, plain: &str| {
        number(of_gimbal)
            .or_else(|| number(of_camera))
            .or_else(|| number(plain).filter(|_| height_m.is_some()))
    };
    let drone = Drone {
        height_m,
        yaw_deg: angle("GimbalYawDegree", "CameraYawDegree", "Yaw")
            .or_else(|| number("FlightYawDegree"))
            .map(|degrees| degrees.rem_euclid(360.0)),
        pitch_deg: number("GimbalPitchDegree")
            .or_else(|| number("CameraPitchDegree"))
            .or_else(|| number("Pitch").filter(|pitch| height_m.is_some() && is_down(*pitch))),
        roll_deg: angle("GimbalRollDegree", "CameraRollDegree", "Roll"),
        // Both in pixels of the picture as it was calibrated, in whose middle the optical centre lies.
        focal_of_width: ratio(
            number("CalibratedFocalLength"),
            number("CalibratedOpticalCenterX").map(|middle| 2.0 * middle),
        ),
    };
    let error_m = number("RtkStdLat")
        .zip(number("RtkStdLon"))
        .map(|(north, east)| north.hypot(east))
        .filter(|error| *error > 0.0);
    Xmp {
        error_m,
        drone: (drone != Drone::default()).then_some(drone),
        taken: value("DateTimeOriginal")
            .or_else(|| value("DateCreated"))
            .map(str::to_owned),
    }
}

/// Whether a plain `Pitch` says that the camera looked down. Some count it from level, so that 0 is the horizon, others
/// from straight down; what is near 0 may be either, and is not known.
fn is_down(pitch_deg: f64) -> bool {
    (-135.0..=-45.0).contains(&pitch_deg)
}

fn ratio(part: Option<f64>, whole: Option<f64>) -> Option<f64> {
    let (part, whole) = part.zip(whole)?;
    (part > 0.0 && whole > 0.0).then(|| part / whole)
}

/// The value that a node gives to a name, as an attribute or as an element.
fn named<'a>(node: Node<'a, '_>, name: &str) -> Option<&'a str> {
    let as_element =
        || (node.is_element() && node.tag_name().name() == name).then(|| node.text())?;
    node.attributes()
        .find(|attribute| attribute.name() == name)
        .map(|attribute| attribute.value())
        .or_else(as_element)
        .map(str::trim)
        .filter(|value| !value.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    const PACKET: &str = r#"<x:xmpmeta xmlns:x="adobe:ns:meta/">
      <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description
      xmlns:d="http://example.com/d/" d:RelativeAltitude="+30.10" d:GimbalPitchDegree="-89.90"
      d:GimbalYawDegree="-17.5" d:GimbalRollDegree="+0.00" d:FlightYawDegree="100"/>
      </rdf:RDF></x:xmpmeta>"#;

    #[test]
    fn attributes_of_any_namespace_are_read() {
        assert_eq!(
            read(PACKET.as_bytes()).drone,
            Some(Drone {
                height_m: Some(30.1),
                yaw_deg: Some(342.5),
                pitch_deg: Some(-89.9),
                roll_deg: Some(0.0),
                focal_of_width: None,
            })
        );
    }

    #[test]
    fn a_calibrated_lens_and_the_error_of_a_surveying_receiver_are_read() {
        let packet = r#"<r xmlns:v="v" v:CalibratedFocalLength="3666.67"
          v:CalibratedOpticalCenterX="2736" v:RtkStdLat="0.012" v:RtkStdLon="0.016"/>"#;
        let xmp = read(packet.as_bytes());
        let focal = xmp.drone.unwrap().focal_of_width.unwrap();
        assert!((focal - 3666.67 / 5472.0).abs() < 1e-12);
        assert!((xmp.error_m.unwrap() - 0.02).abs() < 1e-12);
    }

    #[test]
    fn elements_are_read_and_the_craft_stands_in_for_the_camera() {
        let packet = r#"<r xmlns:v="v"><v:FlightYawDegree> 271.5 </v:FlightYawDegree>
          <v:RelativeAltitude/><v:GimbalPitchDegree>down</v:GimbalPitchDegree></r>"#;
        assert_eq!(
            read(packet.as_bytes()).drone,
            Some(Drone {
                yaw_deg: Some(271.5),
                ..Drone::default()
            })
        );
    }

    #[test]
    fn angles_of_the_camera_by_other_names_are_read_beside_a_height() {
        let read = |attributes: &str| {
            let packet = format!("<r xmlns:Camera=\"c\" xmlns:d=\"d\" {attributes}/>");
            read(packet.as_bytes()).drone
        };
        let expected = Drone {
            height_m: Some(30.0),
            yaw_deg: Some(90.0),
            pitch_deg: Some(-90.0),
            roll_deg: Some(0.0),
            focal_of_width: None,
        };
        let plain = r#"Camera:Yaw="90.0" Camera:Pitch="-90.0" Camera:Roll="0""#;
        for (angles, height) in [
            (plain, r#"Camera:AboveGroundAltitude="30.0""#),
            (plain, r#"d:RelativeAltitude="30.0""#),
            (
                r#"d:CameraYawDegree="90.0" d:CameraPitchDegree="-90.0" d:CameraRollDegree="0""#,
                r#"d:RelativeAltitude="+30.0""#,
            ),
        ] {
            assert_eq!(read(&format!("{angles} {height}")), Some(expected));
        }
        assert_eq!(read(plain), None, "a phone may tell its angles");
        // Counted from level or from straight down: nobody knows.
        let level = plain.replace("-90.0", "0.0");
        let found = read(&format!(r#"{level} Camera:AboveGroundAltitude="30.0""#)).unwrap();
        assert_eq!((found.height_m, found.pitch_deg), (Some(30.0), None));
    }

    #[test]
    fn padding_is_passed_over_and_what_is_no_xml_says_nothing() {
        let padded = format!("\u{feff}{PACKET}\n   \0\0\0");
        assert!(read(padded.as_bytes()).drone.is_some());
        for packet in [&b""[..], b"\xFF\xFE\0", b"<a", b"RelativeAltitude=30"] {
            assert_eq!(read(packet), Xmp::default());
        }
        let bomb = r#"<!DOCTYPE b [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><r d="&b;"/>"#;
        assert_eq!(read(bomb.as_bytes()), Xmp::default());
    }

    #[test]
    fn a_packet_without_flight_data_is_no_drone() {
        let packet = r#"<r xmlns:p="p" p:DateCreated="2027-06-14T10:15:30-04:00"/>"#;
        let xmp = read(packet.as_bytes());
        assert_eq!(xmp.drone, None);
        assert_eq!(xmp.taken.as_deref(), Some("2027-06-14T10:15:30-04:00"));
    }
}
