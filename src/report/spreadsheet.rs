//! `cover.csv` and `photos.csv`: comma-separated, quoted as RFC 4180 says, lines ended by a line feed, a
//! point as the decimal mark, cells empty where nothing is known.

use std::collections::BTreeMap;

use csv::Writer;
use jiff::civil::Date;

use super::VisitPoint;
use crate::course::GreenId;
use crate::ledger::{PhotoOutcome, PhotoQuality, PhotoRow};
use crate::photo::PhotoName;

const COVER_COLUMNS: [&str; 5] = ["green", "date", "cover_percent", "photos", "sd_percent"];

const PHOTO_COLUMNS: [&str; 31] = [
    "photo",
    "green",
    "station",
    "date",
    "time",
    "outcome",
    "reason",
    "cover_percent",
    "hue_low",
    "hue_high",
    "saturation_low",
    "saturation_high",
    "analysed_pixels",
    "dark_green_index",
    "sharpness",
    "clipped_percent",
    "shadow_percent",
    "latitude",
    "longitude",
    "quality",
    "faults",
    "wider_points",
    "sun_height_deg",
    "tilt_deg",
    "dark_percent",
    "white_percent",
    "smooth_patch_percent",
    "roughness",
    "green_hue_deg",
    "green_saturation_percent",
    "greens",
];

/// The bytes of `cover.csv`: a line for every green and visit, in the order given.
///
/// Ids of greens are the course file's own, where none may begin like a formula; they are written as they are.
pub fn cover_csv<'a>(visits: impl IntoIterator<Item = (&'a GreenId, &'a VisitPoint)>) -> Vec<u8> {
    let mut lines = Lines::headed(&COVER_COLUMNS);
    for (green, visit) in visits {
        lines.add([
            green.to_string(),
            iso(visit.date),
            fixed(visit.cover.percent(), 2),
            visit.n_photos.to_string(),
            or_empty(visit.sd_percent, |sd| fixed(sd, 2)),
        ]);
    }
    lines.into_bytes()
}

/// The bytes of `photos.csv`: a line for every photo, in the order given.
///
/// A photo's name comes from whoever sent the photo. Where a spreadsheet would take it for a formula (it
/// begins with `=`, `+`, `-`, `@`, a tab or a carriage return) it is written as `./` and the name: still the
/// same path below the photo folder, and text to every spreadsheet.
pub fn photos_csv<'a>(
    photos: impl IntoIterator<Item = &'a PhotoRow>,
    qualities: &BTreeMap<PhotoName, PhotoQuality>,
) -> Vec<u8> {
    let mut lines = Lines::headed(&PHOTO_COLUMNS);
    for photo in photos {
        let judged = qualities.get(&photo.photo);
        let looked_at = judged.map(|judged| &judged.quality);
        let greens = looked_at.and_then(|quality| quality.greens.as_ref());
        let (reason, reading, limits) = match &photo.outcome {
            PhotoOutcome::Measured {
                reading, limits, ..
            } => ("", Some(reading), limits.as_ref()),
            PhotoOutcome::SetAside(reason) => (reason.code(), None, None),
        };
        let cover = reading.and_then(|reading| reading.cover());
        let dark_green_index = reading.and_then(|reading| reading.dark_green_index);
        lines.add([
            harmless_path(&photo.photo),
            or_empty(green_of(photo), GreenId::to_string),
            or_empty(photo.station.as_ref(), |station| station.to_string()),
            or_empty(photo.date, iso),
            or_empty(photo.time, |time| time.strftime("%H:%M:%S").to_string()),
            photo.outcome.word().to_owned(),
            reason.to_owned(),
            or_empty(cover, |cover| fixed(cover.percent(), 2)),
            or_empty(limits, |limits| limits.hue[0].to_string()),
            or_empty(limits, |limits| limits.hue[1].to_string()),
            or_empty(limits, |limits| limits.saturation[0].to_string()),
            or_empty(limits, |limits| limits.saturation[1].to_string()),
            or_empty(reading, |reading| reading.n_analysed.to_string()),
            or_empty(dark_green_index, |index| fixed(index, 4)),
            or_empty(reading, |reading| fixed(reading.sharpness, 4)),
            or_empty(reading, |reading| fixed(reading.clipped * 100.0, 2)),
            or_empty(reading, |reading| fixed(reading.shadow * 100.0, 2)),
            // The seventh decimal of a degree is a centimetre.
            or_empty(photo.position, |position| fixed(position.latitude, 7)),
            or_empty(photo.position, |position| fixed(position.longitude, 7)),
            or_empty(judged, |judged| {
                judged.judgement.decision().word().to_owned()
            }),
            or_empty(judged, PhotoQuality::faults),
            or_empty(judged.and_then(PhotoQuality::wider_points), |points| {
                fixed(points, 2)
            }),
            or_empty(judged.and_then(|judged| judged.sun_deg), |[height, _]| {
                fixed(height, 1)
            }),
            or_empty(judged.and_then(|judged| judged.tilt_deg), |tilt| {
                fixed(tilt, 1)
            }),
            or_empty(looked_at, |quality| fixed(quality.black * 100.0, 2)),
            or_empty(looked_at, |quality| fixed(quality.white * 100.0, 2)),
            or_empty(looked_at, |quality| fixed(quality.patch.share * 100.0, 2)),
            or_empty(looked_at, |quality| fixed(quality.roughness, 4)),
            or_empty(greens, |greens| fixed(greens.hue_deg, 1)),
            or_empty(greens, |greens| fixed(greens.saturation * 100.0, 1)),
            greens_of(photo),
        ]);
    }
    lines.into_bytes()
}

/// The green of a photo, where it shows one.
fn green_of(photo: &PhotoRow) -> Option<&GreenId> {
    match photo.outcome.parts() {
        [] => photo.green.as_ref(),
        [only] => Some(&only.green),
        _ => None,
    }
}

/// The greens that a photo from above shows.
fn greens_of(photo: &PhotoRow) -> String {
    let parts = photo.outcome.parts().iter();
    let greens: Vec<&str> = parts.map(|part| part.green.as_str()).collect();
    greens.join(" ")
}

/// Lines of equal length, in memory.
struct Lines {
    writer: Writer<Vec<u8>>,
}

impl Lines {
    fn headed(columns: &[&str]) -> Lines {
        let mut lines = Lines {
            writer: Writer::from_writer(Vec::new()),
        };
        lines.write(columns);
        lines
    }

    fn add<const N: usize>(&mut self, cells: [String; N]) {
        self.write(&cells);
    }

    fn write(&mut self, cells: &[impl AsRef<[u8]>]) {
        self.writer
            .write_record(cells)
            .expect("memory takes every byte, and every line has as many cells as the first");
    }

    fn into_bytes(self) -> Vec<u8> {
        self.writer
            .into_inner()
            .expect("memory takes every byte that is left to write")
    }
}

fn harmless_path(photo: &PhotoName) -> String {
    let taken_for_formula = photo.0.starts_with(['=', '+', '-', '@', '\t', '\r']);
    if taken_for_formula {
        format!("./{photo}")
    } else {
        photo.to_string()
    }
}

fn or_empty<T>(value: Option<T>, show: impl FnOnce(T) -> String) -> String {
    value.map(show).unwrap_or_default()
}

fn iso(date: Date) -> String {
    date.to_string()
}

fn fixed(value: f64, decimals: usize) -> String {
    format!("{value:.decimals$}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;

    fn text(bytes: Vec<u8>) -> String {
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn cover_has_a_line_for_every_green_and_visit() {
        let season = example::season();
        let visits = season
            .greens
            .iter()
            .take(4)
            .flat_map(|green| green.visits.iter().map(|visit| (&green.id, visit)));
        insta::assert_snapshot!(text(cover_csv(visits)));
    }

    #[test]
    fn photos_are_told_with_all_that_is_known_and_nothing_that_is_not() {
        insta::assert_snapshot!(text(photos_csv(
            &example::photo_rows(),
            &example::photo_quality()
        )));
    }

    #[test]
    fn a_name_that_looks_like_a_formula_stays_a_path_and_becomes_text() {
        for start in ["=", "+", "-", "@", "\t", "\r"] {
            let name = format!("{start}1+cmd|' /C calc'!A0.jpg");
            let shown = harmless_path(&PhotoName(name.clone()));
            assert_eq!(shown, format!("./{name}"));
        }
        let ordinary = PhotoName("G07/=1.jpg".to_owned());
        assert_eq!(harmless_path(&ordinary), "G07/=1.jpg");
    }

    #[test]
    fn quotes_commas_and_line_breaks_in_names_come_back_as_they_were() {
        let mut photo = example::photo_rows().swap_remove(0);
        photo.photo = PhotoName("G07/a \"good\", one\n⛳.jpg".to_owned());
        let bytes = photos_csv([&photo], &BTreeMap::new());
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let record = reader.records().next().unwrap().unwrap();
        assert_eq!(record.get(0), Some(photo.photo.0.as_str()));
        assert_eq!(record.len(), PHOTO_COLUMNS.len());
    }
}
