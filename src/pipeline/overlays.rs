//! The large picture of one photo, and the line of text above a small one.

use std::path::Path;

use super::PipelineError;
use super::jobs::Belongs;
use super::jpeg::jpeg;
use crate::course::{DateStyle, file_part};
use crate::cover::{self, Pixels, Reading, Rule, View};
use crate::files::write_whole;
use crate::photo::PhotoName;

/// Writes the overlay of a photo as JPEG: below `folder`, in a folder for its green and one for the date where
/// they are known, named as the photo.
pub(super) fn write_overlay(
    folder: &Path,
    belongs: Option<&Belongs>,
    name: &PhotoName,
    pixels: Pixels<'_>,
    view: View,
    rule: &Rule,
) -> Result<(), PipelineError> {
    let page = cover::overlay(pixels, view, rule);
    let mut path = folder.to_owned();
    if let Some(belongs) = belongs {
        path.push(file_part(belongs.place.green.as_str()));
        path.push(belongs.taken.date.to_string());
    }
    path.push(format!("{}.jpg", file_part(&name.0)));
    let bytes = jpeg(&page, 85).map_err(|error| PipelineError::Encode {
        path: path.clone(),
        error,
    })?;
    Ok(write_whole(&path, &bytes)?)
}

/// What stands above a photo on the contact sheet of its visit.
pub(super) fn caption(
    name: &PhotoName,
    Belongs { place, taken, .. }: &Belongs,
    reading: &Reading,
    dates: DateStyle,
) -> String {
    let station = place.station.as_ref().map(|station| station.as_str());
    let mut words = vec![station.unwrap_or(place.green.as_str()).to_owned()];
    words.push(match taken.time {
        Some(time) => format!("{}, {}", dates.full(taken.date), dates.time(time)),
        None => dates.full(taken.date),
    });
    words.push(match reading.cover() {
        Some(cover) => format!("{:.1}% green", cover.percent()),
        None => "nothing to look at".to_owned(),
    });
    words.push(name.to_string());
    words.join("   ")
}
