//! The colours of many photos in one small table, for fitting a window to them.

use super::colour::Hsv;
use super::pixels::Pixels;
use crate::photo::PixelRect;

/// Bins of hue, one degree each.
pub(super) const HUES: usize = 360;
/// Bins of saturation, one percent each.
pub(super) const SATURATIONS: usize = 100;
/// Bins of value, 32 levels each.
pub(super) const VALUES: usize = 8;

/// Pixels of a photo that are counted, at most.
const GRID: u64 = 100_000;

/// How many sampled pixels have which hue, saturation and value.
///
/// Bins are one degree by one percent by an eighth of the brightness, so that a window with limits in whole
/// degrees and percents holds whole bins, but for the colours exactly on its upper limits. Grey pixels, which
/// have no hue, are counted apart.
#[derive(Clone, PartialEq, Eq)]
pub struct ColourHistogram {
    /// By hue, then saturation, then value.
    counts: Vec<u32>,
    n_grey: u64,
}

/// One bin of a [`ColourHistogram`]: the lower ends of its ranges.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bin {
    /// Whole degrees, 0 to 359.
    pub hue: usize,
    /// Whole percents, 0 to 99; 100 % is in the last bin.
    pub saturation: usize,
    /// Eighths of the brightness, 0 to 7.
    pub value: usize,
}

impl ColourHistogram {
    /// Holds nothing.
    pub fn new() -> ColourHistogram {
        ColourHistogram {
            counts: vec![0; HUES * SATURATIONS * VALUES],
            n_grey: 0,
        }
    }

    /// Of an even grid of at most 100,000 pixels of `rect`, so that every photo weighs about the same.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture.
    pub fn of(pixels: Pixels<'_>, rect: PixelRect) -> ColourHistogram {
        let mut histogram = ColourHistogram::new();
        for pixel in pixels.grid(rect, GRID) {
            histogram.add(pixel);
        }
        histogram
    }

    /// Counts one pixel: red, green, blue.
    pub fn add(&mut self, pixel: [u8; 3]) {
        match Bin::of(pixel) {
            Some(bin) => self.counts[bin.index()] += 1,
            None => self.n_grey += 1,
        }
    }

    /// Adds the pixels of another.
    pub fn merge(&mut self, other: &ColourHistogram) {
        for (count, other) in self.counts.iter_mut().zip(&other.counts) {
            *count += other;
        }
        self.n_grey += other.n_grey;
    }

    /// Pixels in a bin.
    pub fn count(&self, bin: Bin) -> u32 {
        self.counts[bin.index()]
    }

    /// The bins that hold pixels, by hue, saturation and value, with how many.
    pub fn filled(&self) -> impl Iterator<Item = (Bin, u32)> {
        self.counts
            .iter()
            .enumerate()
            .filter(|&(_, &count)| count > 0)
            .map(|(index, &count)| (Bin::at(index), count))
    }

    /// Grey pixels, black and white among them.
    pub fn n_grey(&self) -> u64 {
        self.n_grey
    }

    /// All pixels.
    pub fn n_pixels(&self) -> u64 {
        self.n_grey
            + self
                .counts
                .iter()
                .map(|&count| u64::from(count))
                .sum::<u64>()
    }

    /// Some 10 to 30 kilobytes for a photo: the grey count, then for each filled bin how many bins were passed over
    /// and its count, all as LEB128 numbers.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = Vec::new();
        write_number(&mut bytes, self.n_grey);
        let mut next = 0;
        for (bin, count) in self.filled() {
            write_number(&mut bytes, (bin.index() - next) as u64);
            write_number(&mut bytes, u64::from(count));
            next = bin.index() + 1;
        }
        bytes
    }

    /// What [`ColourHistogram::to_bytes`] wrote; `None` where the bytes are not that.
    pub fn from_bytes(mut bytes: &[u8]) -> Option<ColourHistogram> {
        let mut histogram = ColourHistogram::new();
        histogram.n_grey = read_number(&mut bytes)?;
        let mut next = 0_usize;
        while !bytes.is_empty() {
            let passed = usize::try_from(read_number(&mut bytes)?).ok()?;
            let index = next.checked_add(passed)?;
            let count = u32::try_from(read_number(&mut bytes)?).ok()?;
            *histogram.counts.get_mut(index)? = count;
            next = index + 1;
        }
        Some(histogram)
    }
}

impl Default for ColourHistogram {
    fn default() -> ColourHistogram {
        ColourHistogram::new()
    }
}

impl std::fmt::Debug for ColourHistogram {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("ColourHistogram")
            .field("n_pixels", &self.n_pixels())
            .field("n_filled", &self.filled().count())
            .finish_non_exhaustive()
    }
}

impl Bin {
    /// The bin of a colour; `None` for grey.
    pub fn of(pixel: [u8; 3]) -> Option<Bin> {
        let hsv = Hsv::of(pixel);
        // Rounding must not put a colour on a whole number into the bin below it.
        let whole = |x: f64| (x + 1e-9) as usize;
        Some(Bin {
            hue: whole(hsv.hue?) % HUES,
            saturation: whole(100.0 * hsv.saturation).min(SATURATIONS - 1),
            value: usize::from(pixel[0].max(pixel[1]).max(pixel[2])) * VALUES / 256,
        })
    }

    fn index(self) -> usize {
        (self.hue * SATURATIONS + self.saturation) * VALUES + self.value
    }

    fn at(index: usize) -> Bin {
        Bin {
            hue: index / VALUES / SATURATIONS,
            saturation: index / VALUES % SATURATIONS,
            value: index % VALUES,
        }
    }
}

/// Seven bits a byte, the low ones first; the high bit says that more follow.
fn write_number(bytes: &mut Vec<u8>, mut number: u64) {
    while number >= 0x80 {
        bytes.push(number as u8 | 0x80);
        number >>= 7;
    }
    bytes.push(number as u8);
}

fn read_number(bytes: &mut &[u8]) -> Option<u64> {
    let mut number = 0;
    for shift in (0..64).step_by(7) {
        let (&byte, rest) = bytes.split_first()?;
        *bytes = rest;
        number |= u64::from(byte & 0x7f) << shift;
        if byte < 0x80 {
            return Some(number);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn histogram(pixels: &[[u8; 3]]) -> ColourHistogram {
        let mut histogram = ColourHistogram::new();
        pixels.iter().for_each(|&pixel| histogram.add(pixel));
        histogram
    }

    #[test]
    fn colours_on_a_limit_are_in_the_bin_above_it() {
        // Hue 62.4° and 45°, saturation 40 % and 7/25.
        let bins = [
            (Bin::of([240, 250, 0]), 62, 99, 7),
            (Bin::of([100, 90, 60]), 45, 40, 3),
            (Bin::of([0, 200, 0]), 120, 99, 6),
            (Bin::of([255, 254, 0]), 59, 99, 7),
            (Bin::of([255, 0, 1]), 359, 99, 7),
        ];
        for (bin, hue, saturation, value) in bins {
            assert_eq!(
                bin,
                Some(Bin {
                    hue,
                    saturation,
                    value
                })
            );
        }
        assert_eq!(Bin::of([77, 77, 77]), None);
    }

    #[test]
    fn a_photo_is_sampled_evenly() {
        let rgb = [[60, 120, 40], [60, 120, 40], [9, 9, 9], [200, 150, 100]];
        let pixels = Pixels::new(rgb.as_flattened(), 2, 2);
        let histogram = ColourHistogram::of(pixels, pixels.whole());
        assert_eq!((histogram.n_pixels(), histogram.n_grey()), (4, 1));
        let filled: Vec<_> = histogram
            .filled()
            .map(|(bin, count)| (bin.hue, count))
            .collect();
        assert_eq!(filled, [(30, 1), (105, 2)]);
    }

    #[test]
    fn other_bytes_are_not_taken_for_a_histogram() {
        assert_eq!(ColourHistogram::from_bytes(&[]), None);
        assert_eq!(ColourHistogram::from_bytes(&[0, 1]), None);
        assert_eq!(ColourHistogram::from_bytes(&[0x80; 12]), None);
        let mut beyond = vec![0];
        write_number(&mut beyond, 10_000_000);
        write_number(&mut beyond, 1);
        assert_eq!(ColourHistogram::from_bytes(&beyond), None);
    }

    proptest! {
        #[test]
        fn bytes_bring_a_histogram_back(pixels: Vec<[u8; 3]>) {
            let histogram = histogram(&pixels);
            prop_assert_eq!(histogram.n_pixels(), pixels.len() as u64);
            prop_assert_eq!(
                ColourHistogram::from_bytes(&histogram.to_bytes()),
                Some(histogram)
            );
        }

        #[test]
        fn merging_is_counting_together(some: Vec<[u8; 3]>, more: Vec<[u8; 3]>) {
            let mut merged = histogram(&some);
            merged.merge(&histogram(&more));
            prop_assert_eq!(merged, histogram(&[some, more].concat()));
        }
    }
}
