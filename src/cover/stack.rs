//! Strips of one size, one below the other in one JPEG file, put together and taken apart without decoding.
//!
//! A restart marker between two strips makes each independent of the others (ITU-T T.81, E.1.4), so the
//! strips of a visit are encoded once, where their photo is decoded, and only copied when a photo is added.
//! Each strip has a comment of its own by which it is known again.

use image::RgbImage;
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};

/// Strips that one file can take: JPEG writes the height in 16 bits.
pub const MOST_STRIPS: usize = (u16::MAX as u32 / STRIP_SIZE.1) as usize;

/// Columns and rows of a strip, whole units.
pub(super) const STRIP_SIZE: (u32, u32) = (1152, 224);
/// Columns and rows that are coded together.
const UNIT: (u32, u32) = (16, 8);

/// Grain of sand takes most of the bytes; at this quality leaves keep their edges.
const QUALITY: u8 = 80;

const START: [u8; 2] = [0xff, 0xd8];
const END: [u8; 2] = [0xff, 0xd9];
const FRAME: u8 = 0xc0;
const RESTART_INTERVAL: u8 = 0xdd;
const SCAN: u8 = 0xda;
const COMMENT: u8 = 0xfe;
const FIRST_RESTART: u8 = 0xd0;

/// One strip, encoded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strip {
    /// By which it is known again; at most 65,533 bytes are kept.
    pub note: String,
    /// Tables and frame, as they are for a strip alone.
    head: Vec<u8>,
    /// The coded pixels.
    scan: Vec<u8>,
}

impl Strip {
    /// Encodes a picture.
    ///
    /// # Panics
    /// Where it is not of the size of a strip.
    pub(super) fn of(picture: &RgbImage, note: String) -> Strip {
        assert_eq!(picture.dimensions(), STRIP_SIZE, "not a strip");
        let mut bytes = Vec::new();
        let mut encoder = Encoder::new(&mut bytes, QUALITY);
        // Colour of two neighbouring pixels together, which the detail has equal; not of rows, because decoders would
        // then mix those of two strips.
        encoder.set_sampling_factor(SamplingFactor::R_4_2_2);
        let (width, height) = (STRIP_SIZE.0 as u16, STRIP_SIZE.1 as u16);
        encoder
            .encode(picture.as_raw(), width, height, ColorType::Rgb)
            .expect("memory takes any picture");
        let (segments, scan) = segments(&bytes).expect("the encoder writes sound files");
        let head = segments
            .iter()
            .flat_map(|segment| segment.bytes.iter().copied())
            .collect();
        Strip {
            note,
            head,
            scan: scan.to_vec(),
        }
    }

    /// Whether both can stand in one file: they are encoded with the same tables.
    pub fn is_like(&self, other: &Strip) -> bool {
        self.head == other.head
    }
}

/// One JPEG of the strips in this order. Strips that another version encoded with other tables than the
/// first are left out, as are those beyond 255.
pub fn stack(strips: &[Strip]) -> Vec<u8> {
    let Some(first) = strips.first() else {
        return Vec::new();
    };
    let strips: Vec<&Strip> = strips
        .iter()
        .filter(|strip| strip.head == first.head)
        .take(MOST_STRIPS)
        .collect();
    let mut file = START.to_vec();
    for strip in &strips {
        let note = strip.note.as_bytes();
        segment(&mut file, COMMENT, &note[..note.len().min(65_533)]);
    }
    let (mut width, mut height) = STRIP_SIZE;
    let units = (width / UNIT.0 * (height / UNIT.1)) as u16;
    segment(&mut file, RESTART_INTERVAL, &units.to_be_bytes());
    (width, height) = (width, height * strips.len() as u32);
    let frame = file.len() + frame_at(&first.head);
    file.extend(&first.head);
    file[frame + 5..frame + 7].copy_from_slice(&(height as u16).to_be_bytes());
    file[frame + 7..frame + 9].copy_from_slice(&(width as u16).to_be_bytes());
    for (index, strip) in strips.iter().enumerate() {
        if index > 0 {
            file.extend([0xff, FIRST_RESTART + ((index - 1) % 8) as u8]);
        }
        file.extend(&strip.scan);
    }
    file.extend(END);
    file
}

/// The strips of a file that [`stack`] made; `None` of any other file.
pub fn unstack(file: &[u8]) -> Option<Vec<Strip>> {
    let (segments, scan) = segments(file)?;
    let notes: Vec<String> = segments
        .iter()
        .filter(|segment| segment.marker == COMMENT)
        .map(|segment| String::from_utf8_lossy(&segment.bytes[4..]).into_owned())
        .collect();
    let mut head: Vec<u8> = segments
        .iter()
        .filter(|segment| ![COMMENT, RESTART_INTERVAL].contains(&segment.marker))
        .flat_map(|segment| segment.bytes.iter().copied())
        .collect();
    let frame = segments
        .iter()
        .find(|segment| segment.marker == FRAME)
        .filter(|segment| segment.bytes.len() > 9)?;
    let size = [7, 5].map(|at| u16::from_be_bytes([frame.bytes[at], frame.bytes[at + 1]]));
    let (width, height) = STRIP_SIZE;
    if u32::from(size[0]) != width || u32::from(size[1]) != height * notes.len() as u32 {
        return None;
    }
    let at = frame_at(&head);
    head[at + 5..at + 7].copy_from_slice(&(height as u16).to_be_bytes());
    let scans = between_restarts(scan);
    (scans.len() == notes.len()).then(|| {
        let strips = notes.into_iter().zip(scans);
        strips
            .map(|(note, scan)| Strip {
                note,
                head: head.clone(),
                scan: scan.to_vec(),
            })
            .collect()
    })
}

/// The notes of the strips of a file of which only the beginning is at hand; as far as it reaches.
pub fn notes(beginning: &[u8]) -> Vec<String> {
    let mut rest = beginning.strip_prefix(&START).unwrap_or_default();
    let mut notes = Vec::new();
    while let Some((segment, after)) = next_segment(rest) {
        if segment.marker != COMMENT {
            break;
        }
        notes.push(String::from_utf8_lossy(&segment.bytes[4..]).into_owned());
        rest = after;
    }
    notes
}

/// A marker with what belongs to it.
struct Segment<'a> {
    marker: u8,
    /// With marker and length.
    bytes: &'a [u8],
}

fn segment(file: &mut Vec<u8>, marker: u8, content: &[u8]) {
    file.extend([0xff, marker]);
    file.extend((content.len() as u16 + 2).to_be_bytes());
    file.extend(content);
}

fn next_segment(bytes: &[u8]) -> Option<(Segment<'_>, &[u8])> {
    let &[0xff, marker, high, low, ..] = bytes else {
        return None;
    };
    let (segment, rest) =
        bytes.split_at_checked(2 + usize::from(u16::from_be_bytes([high, low])))?;
    (segment.len() >= 4).then_some((
        Segment {
            marker,
            bytes: segment,
        },
        rest,
    ))
}

/// All segments up to the coded pixels, and these.
fn segments(file: &[u8]) -> Option<(Vec<Segment<'_>>, &[u8])> {
    let mut rest = file.strip_prefix(&START)?.strip_suffix(&END)?;
    let mut segments = Vec::new();
    loop {
        let (segment, after) = next_segment(rest)?;
        let is_last = segment.marker == SCAN;
        segments.push(segment);
        rest = after;
        if is_last {
            return Some((segments, rest));
        }
    }
}

/// Where the frame begins in a run of segments.
fn frame_at(head: &[u8]) -> usize {
    let mut rest = head;
    while let Some((segment, after)) = next_segment(rest) {
        if segment.marker == FRAME {
            break;
        }
        rest = after;
    }
    head.len() - rest.len()
}

/// Coded pixels cut at the restart markers; a byte of 255 within them is always followed by 0.
fn between_restarts(scan: &[u8]) -> Vec<&[u8]> {
    let mut parts = Vec::new();
    let mut begin = 0;
    for at in memchr::memchr_iter(0xff, scan) {
        let is_restart = scan
            .get(at + 1)
            .is_some_and(|code| (FIRST_RESTART..FIRST_RESTART + 8).contains(code));
        if is_restart {
            parts.push(&scan[begin..at]);
            begin = at + 2;
        }
    }
    parts.push(&scan[begin..]);
    parts
}

#[cfg(test)]
mod tests {
    use image::codecs::jpeg::JpegEncoder;
    use image::{ImageFormat, Rgb};

    use super::*;

    fn picture(seed: u32) -> RgbImage {
        RgbImage::from_fn(STRIP_SIZE.0, STRIP_SIZE.1, |x, y| {
            let noise = (x * 7919 + y * 104_729 + seed * 31).wrapping_mul(2_654_435_761) >> 24;
            Rgb([noise as u8, (x / 5) as u8, (y + seed) as u8])
        })
    }

    fn strips(n: u32) -> Vec<Strip> {
        (0..n)
            .map(|seed| Strip::of(&picture(seed), format!("strip {seed}, 46 °")))
            .collect()
    }

    fn decoded(file: &[u8]) -> RgbImage {
        image::load_from_memory_with_format(file, ImageFormat::Jpeg)
            .unwrap()
            .into_rgb8()
    }

    #[test]
    fn a_stack_shows_just_what_its_strips_show_alone() {
        // More than eight: restart markers begin again.
        let strips = strips(11);
        let whole = decoded(&stack(&strips));
        assert_eq!(whole.dimensions(), (STRIP_SIZE.0, 11 * STRIP_SIZE.1));
        for (index, strip) in strips.iter().enumerate() {
            let alone = decoded(&stack(std::slice::from_ref(strip)));
            let row = alone.as_raw().len();
            assert!(
                whole.as_raw()[index * row..][..row] == **alone.as_raw(),
                "strip {index}"
            );
        }
    }

    #[test]
    fn a_stack_comes_apart_into_the_same_strips() {
        let strips = strips(9);
        let file = stack(&strips);
        assert_eq!(unstack(&file).unwrap(), strips);
        let expected: Vec<String> = strips.iter().map(|strip| strip.note.clone()).collect();
        assert_eq!(notes(&file[..600]), expected);
    }

    #[test]
    fn other_files_are_no_stack() {
        let mut alone = Vec::new();
        JpegEncoder::new(&mut alone)
            .encode_image(&picture(1))
            .unwrap();
        assert_eq!(unstack(&alone), None);
        let whole = stack(&strips(2));
        for length in [0, 1, 2, 40, whole.len() - 3] {
            assert_eq!(unstack(&whole[..length]), None, "{length}");
        }
        assert_eq!(unstack(b"no picture"), None);
        assert!(stack(&[]).is_empty());
    }
}
