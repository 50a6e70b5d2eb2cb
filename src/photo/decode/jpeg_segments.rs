//! The segments of a JPEG file (ITU-T T.81, annex B): what they hold beside the picture, and whether the
//! picture is all there.

use memchr::memchr;

/// What the segments before the picture say.
#[derive(Debug, Default)]
pub(crate) struct Segments<'a> {
    /// The frame header.
    pub(crate) frame: Option<Frame>,
    /// Where the entropy-coded data of the first scan begins.
    pub(crate) scan: Option<usize>,
    /// Components of the first scan.
    pub(crate) n_in_scan: u8,
    /// Sum of the ten finest steps to which the first table rounds brightness.
    pub(crate) steps: Option<u32>,
    /// EXIF data, from its TIFF header on.
    pub(crate) exif: Option<&'a [u8]>,
    /// XMP packet.
    pub(crate) xmp: Option<&'a [u8]>,
    /// Pieces of the colour profile: number of the piece, how many there are, bytes.
    icc: Vec<(u8, u8, &'a [u8])>,
}

/// A frame header.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Frame {
    /// Which kind: 0 baseline, 2 progressive, …
    pub(crate) kind: u8,
    /// Bits a sample.
    pub(crate) precision: u8,
    /// Pixels.
    pub(crate) width: u16,
    /// Pixels.
    pub(crate) height: u16,
    /// Colours that it is made of.
    pub(crate) n_components: u8,
}

const SOI: u8 = 0xD8;
const EOI: u8 = 0xD9;
const SOS: u8 = 0xDA;
const DQT: u8 = 0xDB;
const APP1: u8 = 0xE1;
const APP2: u8 = 0xE2;

const EXIF_HEADER: &[u8] = b"Exif\0\0";
const XMP_HEADER: &[u8] = b"http://ns.adobe.com/xap/1.0/\0";
const ICC_HEADER: &[u8] = b"ICC_PROFILE\0";

impl<'a> Segments<'a> {
    /// Reads the segments up to the first scan; stops where the file does.
    pub(crate) fn of(bytes: &'a [u8]) -> Segments<'a> {
        let mut segments = Segments::default();
        let mut at = 0;
        while let Some((marker, after)) = next_marker(bytes, at) {
            if marker == EOI {
                break;
            }
            if has_no_length(marker) {
                at = after;
                continue;
            }
            let Some((payload, end)) = segment(bytes, after) else {
                break;
            };
            match marker {
                SOS => {
                    segments.scan = Some(end);
                    segments.n_in_scan = payload.first().copied().unwrap_or(0);
                    break;
                }
                APP1 => {
                    if let Some(exif) = payload.strip_prefix(EXIF_HEADER) {
                        segments.exif.get_or_insert(exif);
                    } else if let Some(xmp) = payload.strip_prefix(XMP_HEADER) {
                        segments.xmp.get_or_insert(xmp);
                    }
                }
                APP2 => {
                    if let Some([number, of, piece @ ..]) = payload.strip_prefix(ICC_HEADER) {
                        segments.icc.push((*number, *of, piece));
                    }
                }
                DQT => segments.steps = segments.steps.or_else(|| finest_steps(payload)),
                _ if is_frame(marker) => {
                    if let [precision, h1, h0, w1, w0, n_components, ..] = *payload {
                        segments.frame.get_or_insert(Frame {
                            kind: marker & 0x0F,
                            precision,
                            width: u16::from_be_bytes([w1, w0]),
                            n_components,
                            height: u16::from_be_bytes([h1, h0]),
                        });
                    }
                }
                _ => {}
            }
            at = end;
        }
        segments
    }

    /// The colour profile, put together (ICC.1:2022, annex B.4); `None` where pieces are missing.
    pub(crate) fn icc(&self) -> Option<Vec<u8>> {
        let mut pieces = self.icc.clone();
        pieces.sort_by_key(|(number, ..)| *number);
        let is_whole = !pieces.is_empty()
            && pieces.iter().enumerate().all(|(index, (number, of, _))| {
                usize::from(*number) == index + 1 && usize::from(*of) == pieces.len()
            });
        is_whole.then(|| {
            pieces
                .iter()
                .flat_map(|(.., piece)| *piece)
                .copied()
                .collect()
        })
    }

    /// Whether there is any piece of a colour profile.
    pub(crate) fn has_icc(&self) -> bool {
        !self.icc.is_empty()
    }
}

/// Sum of the ten finest of the 64 steps of the table with the number 0 in a segment of tables, where it is there
/// (B.2.4.1). Coarser steps end at 255, however little is kept.
fn finest_steps(mut tables: &[u8]) -> Option<u32> {
    while let Some((&kind, rest)) = tables.split_first() {
        let bytes = if kind >> 4 == 0 { 1 } else { 2 };
        let (table, after) = rest.split_at_checked(64 * bytes)?;
        if kind & 0x0F == 0 {
            let step = |bytes: &[u8]| {
                let add = |sum: u32, byte: &u8| (sum << 8) | u32::from(*byte);
                bytes.iter().fold(0, add)
            };
            let mut steps: Vec<u32> = table.chunks_exact(bytes).map(step).collect();
            steps.sort_unstable();
            return Some(steps.iter().take(10).sum());
        }
        tables = after;
    }
    None
}

/// The file without stray bytes between its segments, which harm nothing but make strict decoders stop.
pub(super) fn without_stray_bytes(bytes: &[u8]) -> Vec<u8> {
    let mut clean = Vec::with_capacity(bytes.len());
    let mut at = 0;
    while let Some((marker, after)) = next_marker(bytes, at) {
        let end = if has_no_length(marker) {
            after
        } else if let Some((_, end)) = segment(bytes, after) {
            end
        } else {
            break;
        };
        if marker == SOS {
            clean.extend_from_slice(&bytes[after - 2..]);
            break;
        }
        clean.extend_from_slice(&[0xFF, marker]);
        clean.extend_from_slice(&bytes[after..end]);
        at = end;
    }
    clean
}

/// Whether the picture whose first scan begins at `scan` is all there, that is, whether its end marker is.
///
/// Decoders fill what is missing with grey instead. A marker cannot occur within entropy-coded data, so that
/// a file that ends in an end marker is whole, which needs no search. Where something follows (phones append
/// a video or a second picture) the markers are walked: 0.5 ms for 5 MB.
pub(crate) fn is_complete(bytes: &[u8], scan: usize) -> bool {
    let data = bytes.get(scan..).unwrap_or_default();
    if data.ends_with(&[0xFF, EOI]) {
        return true;
    }
    let mut at = 0;
    while let Some((marker, after)) = next_marker(data, at) {
        if marker == EOI {
            return true;
        }
        at = if has_no_length(marker) {
            after
        } else {
            match segment(data, after) {
                Some((_, end)) => end,
                None => return false,
            }
        };
    }
    false
}

/// Bytes of 0 in a row that no packed data of a photo holds: a piece of the file was never written.
const MOST_ZEROS: usize = 1024;

/// Where the entropy-coded data from `scan` on ends, restart markers being part of it: at the next marker, or with the
/// file. `None` where a piece of it is missing by its look: a long run of zeros, restart markers out of their order.
pub(super) fn end_of_data(bytes: &[u8], scan: usize) -> Option<usize> {
    let mut restart = 0;
    let mut at = scan;
    while let Some(length) = memchr(0xFF, bytes.get(at..)?) {
        if has_run_of_zeros(&bytes[at..at + length]) {
            return None;
        }
        at += length + 1;
        match bytes.get(at)? {
            0x00 => at += 1,
            0xFF => {}
            marker if !is_restart(*marker) => return Some(at - 1),
            marker if marker & 7 == restart => {
                restart = (restart + 1) & 7;
                at += 1;
            }
            _ => return None,
        }
    }
    Some(bytes.len())
}

pub(super) fn has_run_of_zeros(bytes: &[u8]) -> bool {
    // Of so many bytes in a row one is among those at every so manyth place.
    let mut every = bytes.iter().skip(MOST_ZEROS - 1).step_by(MOST_ZEROS);
    every.any(|byte| *byte == 0)
        && bytes
            .split(|byte| *byte != 0)
            .any(|zeros| zeros.len() >= MOST_ZEROS)
}

/// The next marker from `at` on and the place after it; 0xFF 0x00 stands for a byte of data.
fn next_marker(bytes: &[u8], mut at: usize) -> Option<(u8, usize)> {
    loop {
        at += memchr(0xFF, bytes.get(at..)?)? + 1;
        match bytes.get(at)? {
            0x00 => at += 1,
            0xFF => {}
            marker => return Some((*marker, at + 1)),
        }
    }
}

/// The payload of the segment whose length field is at `at`, and where it ends.
fn segment(bytes: &[u8], at: usize) -> Option<(&[u8], usize)> {
    let length = u16::from_be_bytes(*bytes.get(at..)?.first_chunk()?);
    let end = at + usize::from(length);
    Some((bytes.get(at + 2..end)?, end))
}

fn is_restart(marker: u8) -> bool {
    matches!(marker, 0xD0..=0xD7)
}

fn has_no_length(marker: u8) -> bool {
    matches!(marker, 0x01 | 0xD0..=0xD7 | SOI | EOI)
}

/// SOF0 to SOF15, among which three codes mean something else.
fn is_frame(marker: u8) -> bool {
    matches!(marker, 0xC0..=0xCF) && !matches!(marker, 0xC4 | 0xC8 | 0xCC)
}
