//! An invented walk over some of the greens, and small pictures.

use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage};
use jiff::civil::{Time, date};

use super::season;
use crate::course::{Bushel, CubicMetres, DateStyle, DisplayUnits, StationId};
use crate::report::{
    Carry, Daylight, GreenReport, ReportData, ThinPlace, Thumbnail, VisitPoint, Walk, WalkStation,
    WalkStop,
};

/// A walk over six of the greens, the first three with stations.
pub(crate) fn walk() -> Walk {
    let season = season();
    let stop = |index: usize, green: &GreenReport| {
        let last = green.visits.last().copied();
        let station = |letter: char| WalkStation {
            id: StationId::new(&format!("{}-{letter}", green.id)).unwrap(),
            last: last
                .filter(|_| letter != 'C')
                .map(|visit| thumbnail(green, letter, visit)),
        };
        WalkStop {
            green: green.id.clone(),
            name: green.name.clone(),
            metres_from_last: (index > 0).then_some(140.0 + 33.0 * index as f64),
            last,
            n_photos: 4 + index % 3,
            why: match index % 3 {
                0 => "due".to_owned(),
                1 => "10 days since the last visit".to_owned(),
                _ => "photos differed much last time: two more".to_owned(),
            },
            carry: carry(&season, green),
            stations: match index {
                0..3 => ['A', 'B', 'C'].map(station).to_vec(),
                _ => Vec::new(),
            },
        }
    };
    let greens = season.greens[6..12].iter().enumerate();
    Walk {
        course: season.course.clone(),
        date: date(2027, 7, 13),
        units: DisplayUnits::Us,
        bushel: Some(Bushel::US),
        date_style: DateStyle::default(),
        stops: greens.map(|(index, green)| stop(index, green)).collect(),
        to_come: Vec::new(),
        daylight: vec![Daylight {
            from: Time::constant(8, 50, 0, 0),
            until: Time::constant(18, 20, 0, 0),
            sun_degrees: 25.0,
        }],
    }
}

/// Sprigs for what the season's work list has of a green, at the rate that its amounts have.
fn carry(season: &ReportData, green: &GreenReport) -> Option<Carry> {
    let thin = season.thin.iter().flatten();
    let places: Vec<ThinPlace> = thin
        .filter(|place| place.green == green.id)
        .cloned()
        .collect();
    let area_m2: f64 = places.iter().map(|place| place.area.0).sum();
    let sprigs = places.iter().all(|place| place.sprigs.is_some());
    (!places.is_empty()).then(|| Carry {
        sprigs: sprigs.then_some(CubicMetres(area_m2 * 0.010_37)),
        places,
    })
}

/// A small picture of sand and green, as much green as there is cover.
pub(crate) fn thumbnail(green: &GreenReport, letter: char, visit: VisitPoint) -> Thumbnail {
    let picture = RgbImage::from_fn(120, 90, |x, y| {
        let grain = (x * 7919 + y * 104_729 + x * y * 31) % 1000;
        let is_green = f64::from(grain) < visit.cover.fraction() * 1000.0;
        Rgb(if is_green {
            [92, 128, 58]
        } else {
            [206, 188, 150]
        })
    });
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, 70)
        .encode_image(&picture)
        .unwrap();
    Thumbnail {
        station: StationId::new(&format!("{}-{letter}", green.id)),
        date: visit.date,
        cover: Some(visit.cover),
        jpeg,
    }
}
