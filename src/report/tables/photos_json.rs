//! The table of photos as JSON and GeoJSON: its columns, and what a cell has no room for.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::photos::photos_table;
use crate::course::Cover;
use crate::ledger::{PhotoOutcome, PhotoPart, PhotoQuality, PhotoRow};
use crate::photo::PhotoName;
use crate::report::geojson::collection;

/// An object a photo with the columns of [`photos_table`]; beside them why it was set aside in words under
/// `explanation`, and under `parts` what a photo from above tells of each green. `faults` is a list, and `photo`
/// the path as it is.
pub fn photos_json(photos: &[PhotoRow], qualities: &BTreeMap<PhotoName, PhotoQuality>) -> Value {
    let mut rows = photos_table(photos, qualities).json();
    let objects = rows.as_array_mut().into_iter().flatten();
    for (object, photo) in objects.zip(photos) {
        let judged = qualities.get(&photo.photo);
        object["photo"] = json!(photo.photo);
        object["faults"] = json!(judged.map(|judged| {
            let findings = judged.judgement.findings.iter();
            findings
                .map(|finding| finding.fault.code())
                .collect::<Vec<_>>()
        }));
        object["explanation"] = match &photo.outcome {
            PhotoOutcome::SetAside(reason) => json!(reason.to_string()),
            PhotoOutcome::Measured { .. } => Value::Null,
        };
        let parts = photo.outcome.parts().iter();
        object["parts"] = parts.map(part).collect();
    }
    rows
}

/// The same as points where they were taken (RFC 7946); `null` geometry where no position is known.
pub fn photos_geojson(photos: &[PhotoRow], qualities: &BTreeMap<PhotoName, PhotoQuality>) -> Value {
    let mut rows = photos_json(photos, qualities);
    let objects = rows.as_array_mut().into_iter().flatten();
    let features = objects.zip(photos).map(|(object, photo)| {
        let geometry = photo.position.map(|position| {
            json!({
                "type": "Point",
                "coordinates": [position.longitude, position.latitude],
            })
        });
        json!({ "type": "Feature", "geometry": geometry, "properties": object.take() })
    });
    collection(features)
}

/// What a photo from above tells of one green.
fn part(part: &PhotoPart) -> Value {
    let cover = Cover::from_counts(part.n_green, part.n_analysed);
    json!({
        "green": part.green,
        "cover_percent": cover.map(|cover| cover.percent()),
        "analysed_pixels": part.n_analysed,
    })
}
