//! `photos.csv`: a line for every photo.

use std::collections::BTreeMap;

use super::{Cell, Column, Table, date, exact, number, text, time, whole};
use crate::course::GreenId;
use crate::ledger::{PhotoOutcome, PhotoQuality, PhotoRow};
use crate::photo::PhotoName;

pub(super) const COLUMNS: &[Column] = &[
    text("photo", "path below the photo folder"),
    text("green", "id of the green it was given to"),
    text("station", "id of the station"),
    date("date", "local date"),
    time("time", "local time"),
    text("outcome", "`measured` or `set_aside`"),
    text("reason", "why it was set aside"),
    number(
        "cover_percent",
        2,
        "green pixels, percent of those analysed",
    ),
    exact("hue_low", "window of the colour rule, degrees"),
    exact("hue_high", "window of the colour rule, degrees"),
    exact("saturation_low", "window of the colour rule, percent"),
    exact("saturation_high", "window of the colour rule, percent"),
    whole("analysed_pixels", "pixels in the crop"),
    number(
        "dark_green_index",
        4,
        "dark green colour index of the green pixels, 0 to 1",
    ),
    number("sharpness", 4, "fine detail against coarse, 0 and more"),
    number(
        "clipped_percent",
        2,
        "pixels with a channel at its end, percent",
    ),
    number("shadow_percent", 2, "pixels in shadow, percent"),
    // The seventh decimal of a degree is a centimetre.
    number("latitude", 7, "WGS 84 degrees"),
    number("longitude", 7, "WGS 84 degrees"),
    text("quality", "`keep`, `keep_wider` or `set_aside`"),
    text("faults", "what speaks against it"),
    number(
        "wider_points",
        2,
        "standard error that the faults add, points of cover",
    ),
    number("sun_height_deg", 1, "sun above the horizon, degrees"),
    number("tilt_deg", 1, "camera from straight down, degrees"),
    number("dark_percent", 2, "pixels too dark to tell, percent"),
    number("white_percent", 2, "pixels blown out, percent"),
    number(
        "smooth_patch_percent",
        2,
        "largest patch without texture, percent of the photo",
    ),
    number("roughness", 4, "usual step between neighbouring pixels"),
    number("green_hue_deg", 1, "hue of the green pixels, degrees"),
    number(
        "green_saturation_percent",
        1,
        "saturation of the green pixels, percent",
    ),
    text(
        "greens",
        "greens that a photo from above shows; where several, `green` is empty and the cover is of all together",
    ),
];

/// Photos in the order given.
///
/// A photo's name comes from whoever sent the photo. Where a spreadsheet would take it for a formula (it
/// begins with `=`, `+`, `-`, `@`, a tab or a carriage return) it is written as `./` and the name: still the
/// same path below the photo folder, and text to every spreadsheet.
pub fn photos_table<'a>(
    photos: impl IntoIterator<Item = &'a PhotoRow>,
    qualities: &BTreeMap<PhotoName, PhotoQuality>,
) -> Table {
    let mut table = Table::headed(COLUMNS);
    for photo in photos {
        let judged = qualities.get(&photo.photo);
        let looked_at = judged.map(|judged| &judged.quality);
        let greens = looked_at.and_then(|quality| quality.greens.as_ref());
        let (reason, reading, limits) = match &photo.outcome {
            PhotoOutcome::Measured {
                reading, limits, ..
            } => (None, Some(reading), limits.as_ref()),
            PhotoOutcome::SetAside(reason) => (Some(reason.code()), None, None),
        };
        let cover = reading.and_then(|reading| reading.cover());
        let percent = |share: Option<f64>| Cell::from(share.map(|share| share * 100.0));
        table.add([
            Cell::Text(harmless_path(&photo.photo)),
            Cell::text(green_of(photo)),
            Cell::text(photo.station.as_ref()),
            photo.date.into(),
            photo.time.into(),
            Cell::Text(photo.outcome.word().to_owned()),
            Cell::text(reason),
            cover.map(|cover| cover.percent()).into(),
            limits.map(|limits| limits.hue[0]).into(),
            limits.map(|limits| limits.hue[1]).into(),
            limits.map(|limits| limits.saturation[0]).into(),
            limits.map(|limits| limits.saturation[1]).into(),
            reading.map(|reading| reading.n_analysed).into(),
            reading.and_then(|reading| reading.dark_green_index).into(),
            reading.map(|reading| reading.sharpness).into(),
            percent(reading.map(|reading| reading.clipped)),
            percent(reading.map(|reading| reading.shadow)),
            photo.position.map(|position| position.latitude).into(),
            photo.position.map(|position| position.longitude).into(),
            Cell::text(judged.map(|judged| judged.judgement.decision().word())),
            Cell::text(
                judged
                    .map(PhotoQuality::faults)
                    .filter(|faults| !faults.is_empty()),
            ),
            judged.and_then(PhotoQuality::wider_points).into(),
            judged
                .and_then(|judged| judged.sun_deg)
                .map(|[height, _]| height)
                .into(),
            judged.and_then(|judged| judged.tilt_deg).into(),
            percent(looked_at.map(|quality| quality.black)),
            percent(looked_at.map(|quality| quality.white)),
            percent(looked_at.map(|quality| quality.patch.share)),
            looked_at.map(|quality| quality.roughness).into(),
            greens.map(|greens| greens.hue_deg).into(),
            percent(greens.map(|greens| greens.saturation)),
            Cell::text(greens_of(photo)),
        ]);
    }
    table
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
fn greens_of(photo: &PhotoRow) -> Option<String> {
    let parts = photo.outcome.parts().iter();
    let greens: Vec<&str> = parts.map(|part| part.green.as_str()).collect();
    (!greens.is_empty()).then(|| greens.join(" "))
}

fn harmless_path(photo: &PhotoName) -> String {
    let taken_for_formula = photo.0.starts_with(['=', '+', '-', '@', '\t', '\r']);
    if taken_for_formula {
        format!("./{photo}")
    } else {
        photo.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::super::Marks;
    use super::*;
    use crate::report::example;

    #[test]
    fn photos_are_told_with_all_that_is_known_and_nothing_that_is_not() {
        let table = photos_table(&example::photo_rows(), &example::photo_quality());
        insta::assert_snapshot!(String::from_utf8(table.csv(Marks::CommaPoint)).unwrap());
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
        let bytes = photos_table([&photo], &BTreeMap::new()).csv(Marks::CommaPoint);
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let record = reader.records().next().unwrap().unwrap();
        assert_eq!(record.get(0), Some(photo.photo.0.as_str()));
        assert_eq!(record.len(), COLUMNS.len());
    }
}
