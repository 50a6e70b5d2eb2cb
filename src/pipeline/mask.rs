//! One black and white picture per photo: what counted as green.

use std::path::Path;

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder, ImageResult};

use super::PipelineError;
use crate::cover::{self, Lanes, Pixels, Rule};
use crate::files::write_whole;
use crate::photo::{PhotoName, Picture, PixelRect};

/// Writes the mask of a photo as an 8-bit PNG: 255 is green, 0 is not or lies outside the crop; upright and
/// as large as the photo, named as the photo with `.png` added.
pub(super) fn write_mask(
    folder: &Path,
    name: &PhotoName,
    picture: &Picture<'_>,
    rect: PixelRect,
    rule: &Rule,
) -> Result<(), PipelineError> {
    let mask = cover::mask(Pixels::of(picture), rect, rule, Lanes::best());
    let mut upright = Vec::new();
    let size =
        picture
            .orientation
            .make_upright::<1>(&mask, picture.width, picture.height, &mut upright);
    let path = folder.join(format!("{name}.png"));
    let png = grey_png(&upright, size).map_err(|error| PipelineError::Encode {
        path: path.clone(),
        error,
    })?;
    Ok(write_whole(&path, &png)?)
}

fn grey_png(grey: &[u8], (width, height): (u32, u32)) -> ImageResult<Vec<u8>> {
    let mut png = Vec::new();
    PngEncoder::new_with_quality(&mut png, CompressionType::Fast, FilterType::NoFilter)
        .write_image(grey, width, height, ExtendedColorType::L8)?;
    Ok(png)
}
