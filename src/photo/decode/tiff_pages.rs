//! Which page of a TIFF is the photo: the largest. Others are previews, thumbnails and masks of it.

use std::borrow::Cow;

/// Pages that are looked at: a chain of them may close to a ring.
const MOST_PAGES: usize = 64;

const WIDTH: u16 = 256;
const HEIGHT: u16 = 257;
const SHORT: u16 = 3;
const LONG: u16 = 4;

/// The file with its largest page first, which is the one that decoders read; as it is where that is so already, or
/// where it is no TIFF of 32 bits.
pub(super) fn largest_first(bytes: &[u8]) -> Cow<'_, [u8]> {
    let Some(order) = Order::of(bytes) else {
        return Cow::Borrowed(bytes);
    };
    let Some((first, largest)) = order.first_and_largest(bytes) else {
        return Cow::Borrowed(bytes);
    };
    if first == largest {
        return Cow::Borrowed(bytes);
    }
    let mut moved = bytes.to_vec();
    moved[4..8].copy_from_slice(&match order {
        Order::Little => largest.to_le_bytes(),
        Order::Big => largest.to_be_bytes(),
    });
    Cow::Owned(moved)
}

/// The order of bytes in numbers.
#[derive(Debug, Clone, Copy)]
enum Order {
    Little,
    Big,
}

impl Order {
    fn of(bytes: &[u8]) -> Option<Order> {
        match bytes.first_chunk()? {
            b"II*\0" => Some(Order::Little),
            b"MM\0*" => Some(Order::Big),
            _ => None,
        }
    }

    fn short(self, bytes: &[u8], at: usize) -> Option<u16> {
        let stored = *bytes.get(at..)?.first_chunk()?;
        Some(match self {
            Order::Little => u16::from_le_bytes(stored),
            Order::Big => u16::from_be_bytes(stored),
        })
    }

    fn long(self, bytes: &[u8], at: usize) -> Option<u32> {
        let stored = *bytes.get(at..)?.first_chunk()?;
        Some(match self {
            Order::Little => u32::from_le_bytes(stored),
            Order::Big => u32::from_be_bytes(stored),
        })
    }

    /// Where the first and the largest page are told of; of pages of one size the first counts.
    fn first_and_largest(self, bytes: &[u8]) -> Option<(u32, u32)> {
        let first = self.long(bytes, 4)?;
        let (mut largest, mut most) = (first, 0);
        let mut page = first;
        for _ in 0..MOST_PAGES {
            let Some((n_pixels, next)) = self.page(bytes, page as usize) else {
                break;
            };
            if n_pixels > most {
                (largest, most) = (page, n_pixels);
            }
            if next == 0 {
                break;
            }
            page = next;
        }
        Some((first, largest))
    }

    /// Pixels of the page told of at a place, and where the next is told of: 0 after the last.
    fn page(self, bytes: &[u8], at: usize) -> Option<(u64, u32)> {
        let n_entries = usize::from(self.short(bytes, at)?);
        let entries = at + 2;
        let (mut width, mut height) = (0, 0);
        for entry in (entries..).step_by(12).take(n_entries) {
            let number = || match self.short(bytes, entry + 2)? {
                SHORT => self.short(bytes, entry + 8).map(u64::from),
                LONG => self.long(bytes, entry + 8).map(u64::from),
                _ => None,
            };
            match self.short(bytes, entry)? {
                WIDTH => width = number()?,
                HEIGHT => height = number()?,
                _ => {}
            }
        }
        let next = self.long(bytes, entries + 12 * n_entries).unwrap_or(0);
        Some((width * height, next))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file that tells of pages of these sizes, without their pixels.
    fn pages(sizes: &[(u16, u32)], order: Order) -> Vec<u8> {
        let short = |number: u16| match order {
            Order::Little => number.to_le_bytes(),
            Order::Big => number.to_be_bytes(),
        };
        let long = |number: u32| match order {
            Order::Little => number.to_le_bytes(),
            Order::Big => number.to_be_bytes(),
        };
        let mut bytes = match order {
            Order::Little => b"II*\0".to_vec(),
            Order::Big => b"MM\0*".to_vec(),
        };
        bytes.extend(long(8));
        for (page, &(width, height)) in sizes.iter().enumerate() {
            bytes.extend(short(2));
            for part in [
                short(WIDTH),
                short(SHORT),
                [0; 2],
                short(1),
                short(width),
                [0; 2],
            ] {
                bytes.extend(part);
            }
            bytes.extend(short(HEIGHT));
            bytes.extend(short(LONG));
            bytes.extend(long(1));
            bytes.extend(long(height));
            let is_last = page + 1 == sizes.len();
            bytes.extend(long(if is_last { 0 } else { bytes.len() as u32 + 4 }));
        }
        bytes
    }

    #[test]
    fn the_largest_page_comes_first() {
        for order in [Order::Little, Order::Big] {
            let file = pages(&[(160, 120), (4000, 3000), (800, 600)], order);
            let moved = largest_first(&file);
            let at = order.long(&moved, 4).unwrap() as usize;
            assert_eq!(order.page(&file, at).unwrap().0, 12_000_000);
            assert_eq!(moved[8..], file[8..]);
        }
    }

    #[test]
    fn a_file_whose_photo_is_first_and_what_is_no_file_stay_as_they_are() {
        let file = pages(&[(4000, 3000), (4000, 3000), (160, 120)], Order::Little);
        let ring = *b"II*\0\x08\0\0\0\0\0\x08\0\0\0";
        for bytes in [
            &file[..],
            &file[..30],
            &ring[..],
            &b"II*\0"[..],
            &b"no file"[..],
        ] {
            assert!(matches!(largest_first(bytes), Cow::Borrowed(same) if same == bytes));
        }
    }
}
