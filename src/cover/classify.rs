//! Rows of pixels through a rule: how many are green, and which.

use std::borrow::Cow;

use super::bits;
use super::fitted::{FittedRule, FittedTest};
use super::forms::ColourTest;
use super::lanes::{Lanes, Work};
use super::pixels::{Pixels, Row};
use super::table::ColourTable;
use super::vote::Vote;
use super::window::{Form, Window};
use crate::photo::PixelRect;

/// Which colours count as green.
#[derive(Debug, Clone)]
pub enum Rule {
    /// Between limits of hue and saturation.
    Window(Window),
    /// As a table says.
    Table(ColourTable),
    /// As fitted to a season: so far from the ground to the turf of its photo, by a vote among neighbours.
    Fitted(FittedRule),
}

/// `$work` with `$test` bound to whichever form of test the rule holds.
macro_rules! with_test {
    ($rule:expr, $test:ident => $work:expr) => {
        match $rule {
            Rule::Table($test) => $work,
            Rule::Fitted(FittedRule { test, .. }) => match test {
                FittedTest::Greenness($test) => $work,
                FittedTest::Plane($test) => $work,
            },
            Rule::Window(window) => match &window.form {
                Form::NarrowOpen($test) => $work,
                Form::Narrow($test) => $work,
                Form::Wide($test) => $work,
            },
        }
    };
}

impl Rule {
    /// The rule as it is for one photo: a fitted one is moved to the ground of the photo, others are the same
    /// for all. [`count`] and [`mask`] see to it themselves.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture.
    pub fn on_photo(&self, pixels: Pixels<'_>, rect: PixelRect) -> Cow<'_, Rule> {
        match self {
            Rule::Fitted(fitted) => Cow::Owned(Rule::Fitted(fitted.on_photo(pixels, rect))),
            Rule::Window(_) | Rule::Table(_) => Cow::Borrowed(self),
        }
    }

    /// By how much the colours of the photo that it was brought to are nearer to grey than the season's; 1 in most.
    pub(super) fn paleness(&self) -> f64 {
        match self {
            Rule::Fitted(fitted) => fitted.paleness,
            Rule::Window(_) | Rule::Table(_) => 1.0,
        }
    }

    /// Who decides over a pixel; itself alone where `None`.
    fn vote(&self) -> Option<Vote> {
        match self {
            Rule::Fitted(fitted) => Some(fitted.vote).filter(|&vote| vote != Vote::Alone),
            Rule::Window(_) | Rule::Table(_) => None,
        }
    }

    /// Whether counting row by row is quicker than by [`bits`].
    fn is_quicker_counted(&self, lanes: Lanes) -> bool {
        let is_simple = match self {
            Rule::Fitted(_) => false,
            Rule::Window(window) => !matches!(window.form, Form::Wide(_)),
            Rule::Table(_) => true,
        };
        is_simple && lanes != Lanes::PORTABLE
    }

    /// Whether a colour (red, green, blue) counts as green, neighbours aside.
    pub fn is_green(&self, pixel: [u8; 3]) -> bool {
        with_test!(self, test => test.is_green(pixel))
    }

    /// How many pixels of a row are green, neighbours aside.
    pub fn count_row(&self, row: &[[u8; 3]], lanes: Lanes) -> u64 {
        with_test!(self, test => lanes.run(Count { test, row }))
    }

    /// Writes 255 for each green pixel of a row and 0 for the others, transparent ones among them; neighbours
    /// aside.
    ///
    /// # Panics
    /// Where row and mask differ in length.
    pub fn mask_row(&self, row: Row<'_>, mask: &mut [u8], lanes: Lanes) {
        assert_eq!(row.rgb.len(), mask.len());
        with_test!(self, test => lanes.run(Mask { test, row: row.rgb, mask: &mut *mask }));
        hide_transparent(mask, row.opaque);
    }

    /// The same as [`bits`].
    fn bits_row(&self, row: Row<'_>, words: &mut [u64], lanes: Lanes) {
        let rgb = row.rgb;
        if lanes == Lanes::PORTABLE {
            with_test!(self, test => lanes.run(Bits::<_, false> { test, row: rgb, words: &mut *words }));
        } else {
            with_test!(self, test => lanes.run(Bits::<_, true> { test, row: rgb, words: &mut *words }));
        }
        hide_transparent_bits(words, row.opaque);
    }
}

/// How many pixels of a rectangle are green, and how many there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counts {
    /// Those that the rule calls green.
    pub n_green: u64,
    /// All that are not transparent.
    pub n_analysed: u64,
}

/// Counts the green pixels of `rect`; transparent pixels are no part of it.
///
/// # Panics
/// Where `rect` reaches beyond the picture.
pub fn count(pixels: Pixels<'_>, rect: PixelRect, rule: &Rule, lanes: Lanes) -> Counts {
    let rule = rule.on_photo(pixels, rect);
    let mut counts = Counts {
        n_green: 0,
        n_analysed: u64::from(rect.width) * u64::from(rect.height),
    };
    if pixels.all_opaque() && rule.is_quicker_counted(lanes) {
        let rows = pixels.rows(rect, 1);
        counts.n_green = rows.map(|row| rule.count_row(row.rgb, lanes)).sum();
        return counts;
    }
    each_row(pixels, rect, &rule, lanes, |_, words| {
        counts.n_green += bits::count(words, lanes);
    });
    if !pixels.all_opaque() {
        let opaque = pixels.rows(rect, 1).filter_map(|row| row.opaque);
        counts.n_analysed = opaque.map(n_set).sum();
    }
    counts
}

/// One byte a pixel of the whole picture: 255 where a pixel of `rect` is green, else 0.
///
/// # Panics
/// Where `rect` reaches beyond the picture.
pub fn mask(pixels: Pixels<'_>, rect: PixelRect, rule: &Rule, lanes: Lanes) -> Vec<u8> {
    let rule = rule.on_photo(pixels, rect);
    let width = pixels.width() as usize;
    let mut mask = vec![0; width * pixels.height() as usize];
    each_mask_row(pixels, rect, &rule, lanes, |y, row| {
        let first = (rect.y as usize + y) * width + rect.x as usize;
        mask[first..][..row.len()].copy_from_slice(row);
    });
    mask
}

/// One byte a pixel of `rect`: 255 where it is green, else 0; neighbours beyond it have no vote.
///
/// # Panics
/// Where `rect` reaches beyond the picture.
pub(super) fn mask_of(pixels: Pixels<'_>, rect: PixelRect, rule: &Rule, lanes: Lanes) -> Vec<u8> {
    let rule = rule.on_photo(pixels, rect);
    let mut mask = Vec::with_capacity(rect.width as usize * rect.height as usize);
    each_mask_row(pixels, rect, &rule, lanes, |_, row| {
        mask.extend_from_slice(row)
    });
    mask
}

/// Hands on the mask of each row of `rect`, neighbours heard: 255 is green, 0 is not or is transparent.
fn each_mask_row(
    pixels: Pixels<'_>,
    rect: PixelRect,
    rule: &Rule,
    lanes: Lanes,
    mut take: impl FnMut(usize, &[u8]),
) {
    let mut mask = vec![0; rect.width as usize];
    if rule.vote().is_some() {
        each_row(pixels, rect, rule, lanes, |y, words| {
            bits::unpack(words, &mut mask);
            take(y, &mask);
        });
    } else {
        for (y, row) in pixels.rows(rect, 1).enumerate() {
            rule.mask_row(row, &mut mask, lanes);
            take(y, &mask);
        }
    }
}

/// The same as [`bits`].
fn each_row(
    pixels: Pixels<'_>,
    rect: PixelRect,
    rule: &Rule,
    lanes: Lanes,
    mut take: impl FnMut(usize, &[u64]),
) {
    let rows: Vec<Row<'_>> = pixels.rows(rect, 1).collect();
    let vote = rule.vote().unwrap_or(Vote::Alone);
    let size = (rect.width as usize, rows.len());
    let judge = |y: usize, words: &mut [u64]| rule.bits_row(rows[y], words, lanes);
    vote.hold(size, lanes, judge, |y, words| {
        // Neighbours do not vote transparent pixels in.
        hide_transparent_bits(words, rows[y].opaque);
        take(y, words);
    });
}

fn hide_transparent(mask: &mut [u8], opaque: Option<&[u8]>) {
    if let Some(opaque) = opaque {
        for (mask, &opaque) in mask.iter_mut().zip(opaque) {
            *mask &= opaque;
        }
    }
}

fn hide_transparent_bits(words: &mut [u64], opaque: Option<&[u8]>) {
    let Some(opaque) = opaque else {
        return;
    };
    for (word, opaque) in words.iter_mut().zip(opaque.chunks(bits::PER_WORD)) {
        let mut shown = [0];
        let is_opaque: [u8; bits::PER_WORD] =
            std::array::from_fn(|at| 255 * u8::from(opaque.get(at).is_some_and(|&byte| byte != 0)));
        bits::pack(&is_opaque, &mut shown);
        *word &= shown[0];
    }
}

fn n_set(bytes: &[u8]) -> u64 {
    // Counts of one byte, as wide as what is counted; a chunk cannot overflow one.
    let count = |chunk: &[u8]| chunk.iter().map(|&byte| u8::from(byte != 0)).sum::<u8>();
    bytes.chunks(255).map(|chunk| u64::from(count(chunk))).sum()
}

struct Count<'a, T> {
    test: &'a T,
    row: &'a [[u8; 3]],
}

impl<T: ColourTest> Work for Count<'_, T> {
    type Output = u64;

    #[inline(always)]
    fn run(self) -> u64 {
        let mut n_green = 0;
        // No closures: they would not be compiled for the wider instructions. 16-bit counts, as wide as the
        // arithmetic of the tests; a chunk cannot overflow one.
        for chunk in self.row.chunks(4096) {
            let mut n_in_chunk = 0_u16;
            // Taking pixels apart here is what lets the loop be vectorised.
            for &[red, green, blue] in chunk {
                n_in_chunk += u16::from(self.test.is_green([red, green, blue]));
            }
            n_green += u64::from(n_in_chunk);
        }
        n_green
    }
}

struct Mask<'a, T> {
    test: &'a T,
    row: &'a [[u8; 3]],
    mask: &'a mut [u8],
}

impl<T: ColourTest> Work for Mask<'_, T> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        for (&[red, green, blue], mask) in self.row.iter().zip(self.mask) {
            *mask = if self.test.is_green([red, green, blue]) {
                255
            } else {
                0
            };
        }
    }
}

/// With `APART` the channels of some pixels are first put into rows of their own, which instructions that shuffle
/// bytes do so well that it pays.
struct Bits<'a, T, const APART: bool> {
    test: &'a T,
    row: &'a [[u8; 3]],
    words: &'a mut [u64],
}

impl<T: ColourTest, const APART: bool> Work for Bits<'_, T, APART> {
    type Output = ();

    #[allow(
        clippy::needless_range_loop,
        reason = "iterators over four slices are vectorised less well"
    )]
    #[inline(always)]
    fn run(self) {
        // Judged a byte each, as wide as vector instructions deliver them, and packed while they are at hand.
        const AT_ONCE: usize = 16 * bits::PER_WORD;
        let mut bytes = [0; AT_ONCE];
        let (mut reds, mut greens, mut blues) = ([0; AT_ONCE], [0; AT_ONCE], [0; AT_ONCE]);
        let words = self.words.chunks_mut(AT_ONCE / bits::PER_WORD);
        for (row, words) in self.row.chunks(AT_ONCE).zip(words) {
            let n = row.len();
            let bytes = &mut bytes[..n];
            if APART {
                // As long as the row, and walked over by one index: so written, both loops are vectorised.
                let (reds, greens, blues) = (&mut reds[..n], &mut greens[..n], &mut blues[..n]);
                for at in 0..n {
                    let [red, green, blue] = row[at];
                    reds[at] = red;
                    greens[at] = green;
                    blues[at] = blue;
                }
                for at in 0..n {
                    let is_green = self.test.is_green([reds[at], greens[at], blues[at]]);
                    bytes[at] = 255 * u8::from(is_green);
                }
            } else {
                for (&[red, green, blue], byte) in row.iter().zip(bytes.iter_mut()) {
                    *byte = 255 * u8::from(self.test.is_green([red, green, blue]));
                }
            }
            bits::pack(bytes, words);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::LazyLock;

    use proptest::prelude::*;

    use super::*;
    use crate::course::CoverLimits;
    use crate::photo::{Colour, Format, Orientation, Picture};

    /// One rule for each form of test.
    static RULES: LazyLock<[Rule; 4]> = LazyLock::new(|| {
        let window =
            |hue, saturation| Rule::Window(Window::new(&CoverLimits { hue, saturation }).unwrap());
        [
            window([45.0, 120.0], [10.0, 100.0]),
            window([44.5, 110.5], [7.5, 93.3]),
            window([51.3, 133.7], [10.0, 90.0]),
            Rule::Table(ColourTable::of(|[red, green, blue]| {
                2 * u16::from(green) > u16::from(red) + u16::from(blue)
            })),
        ]
    });

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn rows_of_any_length_are_counted_pixel_by_pixel(row: Vec<[u8; 3]>) {
            for rule in RULES.iter() {
                let green: Vec<bool> = row.iter().map(|&pixel| rule.is_green(pixel)).collect();
                let n_green = green.iter().filter(|&&green| green).count() as u64;
                let expected: Vec<u8> = green.iter().map(|&green| 255 * u8::from(green)).collect();
                for lanes in Lanes::all() {
                    prop_assert_eq!(rule.count_row(&row, lanes), n_green);
                    let mut mask = vec![7; row.len()];
                    rule.mask_row(Row { rgb: &row, opaque: None }, &mut mask, lanes);
                    prop_assert_eq!(&mask, &expected);
                }
            }
        }
    }

    proptest! {
        #[test]
        fn a_fitted_rule_counts_what_neighbours_decide_pixel_by_pixel(
            width in 1_usize..150,
            rgb in proptest::collection::vec(any::<[u8; 3]>(), 1..900),
            blurred: bool,
            some_transparent: bool,
        ) {
            let n_rows = rgb.len().div_ceil(width);
            let mut rgb: Vec<[u8; 3]> = (0..n_rows * width).map(|i| rgb[i % rgb.len()]).collect();
            if blurred {
                // Even colour: little noise, so that pixels decide alone.
                let first = rgb[0];
                rgb.iter_mut().skip(5).for_each(|pixel| *pixel = first);
            }
            let opaque: Vec<u8> = (0..rgb.len()).map(|i| 255 * u8::from(i % 5 != 3)).collect();
            let mut pixels = Pixels::new(rgb.as_flattened(), width as u32, n_rows as u32);
            if some_transparent {
                pixels = pixels.masked(&opaque);
            }
            let season = Rule::Fitted(crate::cover::tune::fit(&[]).rule());
            let rule = season.on_photo(pixels, pixels.whole());
            let reach = rule.vote().map_or(0, |vote| vote.side() as i64 / 2);
            let green = |x: i64, y: i64| {
                let (x, y) = (x.clamp(0, width as i64 - 1), y.clamp(0, n_rows as i64 - 1));
                let at = y as usize * width + x as usize;
                rule.is_green(rgb[at]) && (!some_transparent || opaque[at] != 0)
            };
            let decide = |at: i64| {
                let (x, y) = (at % width as i64, at / width as i64);
                let square = (-reach..=reach).flat_map(|dy| (-reach..=reach).map(move |dx| (dx, dy)));
                let n_green = square.filter(|(dx, dy)| green(x + dx, y + dy)).count() as i64;
                let is_shown = !some_transparent || opaque[at as usize] != 0;
                255 * u8::from(is_shown && 2 * n_green > (2 * reach + 1).pow(2))
            };
            let expected: Vec<u8> = (0..rgb.len() as i64).map(decide).collect();
            for lanes in Lanes::all() {
                prop_assert_eq!(&mask(pixels, pixels.whole(), &season, lanes), &expected);
                let counts = count(pixels, pixels.whole(), &season, lanes);
                prop_assert_eq!(counts.n_green, n_set(&expected));
            }
        }
    }

    #[test]
    fn long_rows_do_not_overflow_the_count() {
        let rule = Rule::Window(Window::published());
        let row = vec![[60, 120, 40]; 200_001];
        for lanes in Lanes::all() {
            assert_eq!(rule.count_row(&row, lanes), 200_001);
        }
    }

    #[test]
    fn a_mask_is_black_outside_the_rectangle() {
        const GREEN: [u8; 3] = [60, 120, 40];
        const SAND: [u8; 3] = [200, 190, 185];
        let rgb = [
            [GREEN, GREEN, GREEN, GREEN],
            [GREEN, SAND, GREEN, GREEN],
            [GREEN, GREEN, SAND, GREEN],
            [GREEN, GREEN, GREEN, GREEN],
        ];
        let pixels = Pixels::new(rgb.as_flattened().as_flattened(), 4, 4);
        let rect = PixelRect {
            x: 1,
            y: 1,
            width: 2,
            height: 2,
        };
        let rule = Rule::Window(Window::published());
        let expected = [[0, 0, 0, 0], [0, 0, 255, 0], [0, 255, 0, 0], [0, 0, 0, 0]];
        assert_eq!(
            mask(pixels, rect, &rule, Lanes::best()),
            expected.as_flattened()
        );
        let n_green = |rect| count(pixels, rect, &rule, Lanes::best()).n_green;
        assert_eq!((n_green(rect), n_green(pixels.whole())), (2, 14));
    }

    #[test]
    fn transparent_pixels_are_neither_green_nor_analysed() {
        let picture = Picture {
            width: 3,
            height: 2,
            rgb: [[60, 120, 40]; 6].as_flattened(),
            mask: Some(&[255, 0, 255, 0, 0, 255]),
            orientation: Orientation::Upright,
            colour: &Colour::default(),
            format: Format::Png,
            jpeg_quality: None,
            decoder: "none",
        };
        let pixels = Pixels::of(&picture);
        let everything = Rule::Table(ColourTable::of(|_| true));
        for rule in RULES.iter().chain([&everything]) {
            let counts = count(pixels, pixels.whole(), rule, Lanes::best());
            assert_eq!((counts.n_green, counts.n_analysed), (3, 3));
            assert_eq!(
                mask(pixels, pixels.whole(), rule, Lanes::best()),
                [255, 0, 255, 0, 0, 255]
            );
        }
    }
}
