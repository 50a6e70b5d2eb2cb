//! Invented photos: one of each outcome, and what was found wrong with one.

use std::collections::BTreeMap;

use jiff::civil::{Time, date};

use crate::course::{CoverLimits, GreenId, Position, StationId};
use crate::cover::Reading;
use crate::cover::quality::{
    Effect, Fault, Finding, Grain, GreenColours, Judgement, Patch, Quality,
};
use crate::ledger::{PhotoOutcome, PhotoQuality, PhotoRow};
use crate::photo::{PhotoName, Reason};

/// Photos of each outcome, and one whose name would be a formula.
pub(crate) fn photo_rows() -> Vec<PhotoRow> {
    let measured = PhotoRow {
        photo: PhotoName("G07/G07-A_2027-06-13.jpg".to_owned()),
        green: GreenId::new("G07"),
        station: StationId::new("G07-A"),
        date: Some(date(2027, 6, 13)),
        time: Some(Time::constant(9, 5, 30, 0)),
        outcome: PhotoOutcome::Measured {
            reading: Reading {
                n_green: 3_456_789,
                n_analysed: 12_192_768,
                dark_green_index: Some(0.412_345),
                sharpness: 182.25,
                clipped: 0.0012,
                shadow: 0.04,
            },
            limits: Some(CoverLimits {
                hue: [62.5, 158.0],
                saturation: [12.0, 100.0],
            }),
            parts: Vec::new(),
        },
        position: Some(Position {
            latitude: 36.1,
            longitude: -79.399_512_34,
        }),
        missing_since: None,
    };
    let formula = PhotoRow {
        photo: PhotoName("=HYPERLINK(\"x\").jpg".to_owned()),
        station: None,
        time: None,
        position: None,
        ..measured.clone()
    };
    let aside = PhotoRow {
        photo: PhotoName("G03/IMG_0412.jpg".to_owned()),
        green: GreenId::new("G03"),
        date: None,
        outcome: PhotoOutcome::SetAside(Reason::NoDate),
        ..formula.clone()
    };
    vec![measured, aside, formula]
}

/// What was found wrong with the first of the photos: low sun and a shoe.
pub(crate) fn photo_quality() -> BTreeMap<PhotoName, PhotoQuality> {
    let finding = |fault, number, effect| Finding {
        fault,
        number,
        effect,
    };
    let quality = PhotoQuality {
        quality: Quality {
            middle_luma: 0.41,
            black: 0.0125,
            white: 0.001,
            colour: 96,
            ground: Some([0.1, -0.3]),
            turf: None,
            roughness: 0.1834,
            patch: Patch {
                share: 0.061,
                luma: 0.2,
                blueness: 0.9,
            },
            grain: Some(Grain {
                size: 0.008,
                fine: 0.3,
            }),
            greens: Some(GreenColours {
                hue_deg: 98.25,
                saturation: 0.452,
                classes: vec![0; 36],
            }),
            smooth_green: 0.0,
            filled: 0.0,
            shaded_green: 0.0,
            least_green: Some(-0.03),
            greenest: None,
            green_ground: 0.0,
            paler: 0.0,
            jpeg_quality: Some(92),
        },
        sun_deg: Some([21.34, 92.0]),
        tilt_deg: None,
        judgement: Judgement {
            findings: vec![
                finding(Fault::SmoothPatch, 0.061, Effect::Wider(4.3)),
                finding(Fault::LowSun, 21.34, Effect::Told),
            ],
        },
    };
    let photo = PhotoName("G07/G07-A_2027-06-13.jpg".to_owned());
    [(photo, quality)].into()
}
