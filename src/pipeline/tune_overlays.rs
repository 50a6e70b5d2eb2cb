//! Pictures by which a person judges a fitted rule.

use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, ImageEncoder};

use super::bench::Bench;
use super::{MeasureOptions, Tuning};
use crate::course::Crop;
use crate::cover::tune::spread;
use crate::cover::{Pixels, Rule, View, overlay};
use crate::photo::{FoundPhoto, PhotoName};

/// Photos that are shown: from first to last, so that bare ground and turf are among them.
const MOST_OVERLAYS: usize = 6;
const QUALITY: u8 = 90;

/// A JPEG for each of a few photos: as taken, and with only what the rule calls green in colour.
pub fn tune_overlays(
    tuning: &Tuning,
    options: &MeasureOptions,
) -> impl Iterator<Item = (PhotoName, Vec<u8>)> {
    let rule = Rule::Fitted(tuning.fitted.tuned.rule());
    let mut bench = Bench::default();
    spread(tuning.looked_at.len(), MOST_OVERLAYS)
        .into_iter()
        .filter_map(move |index| {
            let (photo, crop) = &tuning.looked_at[index];
            let jpeg = shown(photo, crop.as_ref(), &rule, options, &mut bench)?;
            Some((photo.name.clone(), jpeg))
        })
}

/// `None` where the photo has gone since it was looked at.
fn shown(
    photo: &FoundPhoto,
    crop: Option<&Crop>,
    rule: &Rule,
    options: &MeasureOptions,
    bench: &mut Bench,
) -> Option<Vec<u8>> {
    bench.read(photo).ok()?;
    let picture = bench.picture(&options.limits).ok()?;
    let view = View {
        analysed: picture
            .orientation
            .stored_rect(crop, picture.width, picture.height),
        orientation: picture.orientation,
    };
    let page = overlay(Pixels::of(&picture), view, rule);
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY)
        .write_image(
            page.as_raw(),
            page.width(),
            page.height(),
            ExtendedColorType::Rgb8,
        )
        .ok()?;
    Some(jpeg)
}
