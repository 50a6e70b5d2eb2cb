//! HEIC, through heifer. The container's crop, rotation and mirroring are applied by it; what the EXIF data
//! say of the orientation is for programs that cannot do that, and is left aside.

use heifer::heifer_isobmff::boxes::{ColorInfo, Property};
use heifer::heifer_isobmff::{BoxIter, Error as BoxError, HeifFile};

use super::{Limits, Stored, damaged, room, samples};
use crate::photo::profile::ColourTag;
use crate::photo::{Orientation, Unreadable};

/// A test compares it to Cargo.lock.
pub(super) const NAME: &str = "heifer 0.3.22";

/// Perceptual quantiser and hybrid log-gamma (ITU-T H.273, table 3): brightness beyond white.
const HDR_TRANSFERS: [u16; 2] = [16, 18];

pub(super) fn decode(
    bytes: &[u8],
    limits: &Limits,
    rgb: &mut Vec<u8>,
    mask: &mut Vec<u8>,
) -> Result<Stored, Unreadable> {
    let (bytes, tag) = open(bytes, limits)?;
    let options = heifer::Options {
        // Photos are spread over the threads, not the tiles of one.
        max_threads: 1,
        max_pixels: limits.max_pixels,
    };
    let image = heifer::decode_rgba8(bytes, &options).map_err(|error| match error {
        heifer::Error::Container(error) => container(error),
        heifer::Error::Unsupported(what) => Unreadable::Unsupported {
            format: format!("HEIC with {what}"),
        },
        other => damaged(other),
    })?;
    limits.check(image.width, image.height)?;
    let n_pixels = image.width as usize * image.height as usize;
    if image.data.len() != n_pixels * 4 {
        return Err(damaged("fewer pixels than the header says"));
    }
    let rgb = room(rgb, n_pixels * 3);
    let has_mask = if image.has_alpha {
        samples::to_rgb(&image.data, image::ColorType::Rgba8, rgb, mask)?
    } else {
        let (from, _) = image.data.as_chunks::<4>();
        let (to, _) = rgb.as_chunks_mut::<3>();
        for (to, [r, g, b, _]) in to.iter_mut().zip(from) {
            *to = [*r, *g, *b];
        }
        false
    };
    Ok(Stored {
        width: image.width,
        height: image.height,
        orientation: Orientation::Upright,
        tag,
        has_mask,
        jpeg_quality: None,
        decoder: NAME,
    })
}

/// Reads the boxes; the size is within the limits. Gives the file without what is appended.
pub(super) fn open<'a>(
    bytes: &'a [u8],
    limits: &Limits,
) -> Result<(&'a [u8], ColourTag), Unreadable> {
    let bytes = whole_boxes(bytes)?;
    let file = HeifFile::parse(bytes).map_err(container)?;
    check_kind(&file)?;
    check_size(&file, limits)?;
    Ok((bytes, colour_tag(&file)?))
}

/// The boxes at the top of the file, without what some programs append; every one must end within the file.
pub(crate) fn whole_boxes(bytes: &[u8]) -> Result<&[u8], Unreadable> {
    let (mut has_meta, mut has_data, mut end) = (false, false, 0);
    for item in BoxIter::new(bytes) {
        match item {
            Ok(item) => {
                has_meta |= item.header.box_type.0 == *b"meta";
                has_data |= item.header.box_type.0 == *b"mdat";
                end = item.offset + item.header.header_size as usize + item.content.len();
            }
            Err(_) if has_meta && has_data => break,
            Err(error) => return Err(container(error)),
        }
    }
    Ok(&bytes[..end])
}

/// Checks that the primary picture is coded in one piece or in tiles. Nested and overlaid pictures, which
/// no camera writes, could ask for work without end.
fn check_kind(file: &HeifFile<'_>) -> Result<(), Unreadable> {
    let kind = |id| Ok(file.item(id).map_err(container)?.item_type.0);
    let primary = kind(file.primary_id)?;
    let tiles = match &primary {
        b"grid" => file.referenced_items(file.primary_id, b"dimg"),
        _ => &[],
    };
    for kind in tiles.iter().map(|tile| kind(*tile)).chain([Ok(primary)]) {
        match &kind? {
            b"hvc1" | b"grid" => {}
            other => {
                return Err(Unreadable::Unsupported {
                    format: format!("HEIF with a picture of type {}", other.escape_ascii()),
                });
            }
        }
    }
    Ok(())
}

/// Checks the sizes that the primary picture and its parts declare, before anything is decoded.
fn check_size(file: &HeifFile<'_>, limits: &Limits) -> Result<(), Unreadable> {
    let id = file.primary_id;
    if let Some((width, height)) = file.image_size(id).map_err(container)? {
        limits.check(width, height)?;
    }
    if let Ok(grid) = file.grid(id) {
        limits.check(grid.output_width, grid.output_height)?;
        // A small picture out of very many large tiles would take hours.
        let tiles = file.referenced_items(id, b"dimg");
        let first = tiles.first().map(|tile| file.image_size(*tile));
        if let Some(Ok(Some((width, height)))) = first {
            limits.check(width, height)?;
            let all = u64::from(width) * u64::from(height) * tiles.len() as u64;
            let wanted = u64::from(grid.output_width) * u64::from(grid.output_height);
            if all > wanted.saturating_mul(4).saturating_add(1 << 24) {
                return Err(damaged("its tiles do not fit its size"));
            }
        }
    }
    Ok(())
}

/// The colour profile of the primary picture, else of its first tile, else their colour code points.
fn colour_tag(file: &HeifFile<'_>) -> Result<ColourTag, Unreadable> {
    let primary = file.primary_id;
    let first_tile = file.referenced_items(primary, b"dimg").first().copied();
    let mut tag = ColourTag::None;
    for id in std::iter::once(primary).chain(first_tile) {
        for property in file.item_properties(id).map_err(container)? {
            match property {
                Property::Color(ColorInfo::Icc(profile)) if !profile.is_empty() => {
                    return Ok(ColourTag::Icc(profile.clone()));
                }
                Property::Color(ColorInfo::Nclx {
                    primaries,
                    transfer,
                    ..
                }) if matches!(tag, ColourTag::None) => {
                    tag = ColourTag::CodePoints {
                        primaries: *primaries,
                        transfer: *transfer,
                    };
                }
                _ => {}
            }
        }
    }
    match tag {
        ColourTag::CodePoints { transfer, .. } if HDR_TRANSFERS.contains(&transfer) => {
            Err(Unreadable::Unsupported {
                format: "HEIC in high dynamic range (PQ or HLG)".to_owned(),
            })
        }
        tag => Ok(tag),
    }
}

/// The container's errors as reasons.
fn container(error: BoxError) -> Unreadable {
    match error {
        BoxError::UnexpectedEof => Unreadable::Truncated,
        other => damaged(other),
    }
}
