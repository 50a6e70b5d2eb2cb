//! The tests of one pixel that the loops over pixels are built from.

/// Says of one colour (red, green, blue) whether it counts as green.
pub(super) trait ColourTest {
    fn is_green(&self, pixel: [u8; 3]) -> bool;
}

/// A fraction p/q between 0 and 1 that 8-bit channels can form: q ≤ 255.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ratio {
    pub(super) p: u16,
    pub(super) q: u16,
}

impl Ratio {
    pub(super) const ONE: Ratio = Ratio { p: 1, q: 1 };
    /// The smallest above 0.
    pub(super) const LEAST: Ratio = Ratio { p: 1, q: 255 };

    /// The smallest that is not below n/d, in lowest terms.
    pub(super) fn at_least(n: i64, d: i64) -> Ratio {
        Ratio::nearest(|q| (n * i64::from(q) + d - 1) / d, Ratio::is_below)
    }

    /// The greatest that is not above n/d, in lowest terms.
    pub(super) fn at_most(n: i64, d: i64) -> Ratio {
        Ratio::nearest(|q| n * i64::from(q) / d, |a, b| b.is_below(a))
    }

    /// The best among the best of each denominator; the smaller denominator among equals.
    fn nearest(p_of: impl Fn(u16) -> i64, better: impl Fn(Ratio, Ratio) -> bool) -> Ratio {
        let candidate = |q| Ratio {
            p: p_of(q) as u16,
            q,
        };
        (2..=255).fold(candidate(1), |best, q| {
            let next = candidate(q);
            if better(next, best) { next } else { best }
        })
    }

    fn is_below(self, other: Ratio) -> bool {
        u32::from(self.p) * u32::from(other.q) < u32::from(other.p) * u32::from(self.q)
    }

    pub(super) fn max(self, other: Ratio) -> Ratio {
        if self.is_below(other) { other } else { self }
    }

    /// More than 0 where saturation is below this.
    #[inline(always)]
    fn missing_to(self, is: &Channels) -> u16 {
        (self.p * is.value).saturating_sub(self.q * is.chroma)
    }

    /// More than 0 where saturation is above this.
    #[inline(always)]
    fn beyond(self, is: &Channels) -> u16 {
        (self.q * is.chroma).saturating_sub(self.p * is.value)
    }
}

/// Weights of red, green and blue that add to 0: 0 or more is one side of a plane through the grey axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Coefficients(pub(super) [i16; 3]);

impl Coefficients {
    pub(super) fn negated(self) -> Coefficients {
        Coefficients(self.0.map(|weight| -weight))
    }

    /// Whether the weighted sum of any colour fits 16 bits with its sign: 128 × 255 does.
    pub(super) fn fits_narrow(self) -> bool {
        self.0.iter().all(|weight| weight.abs() <= 128)
    }
}

/// What the tests look at. All of it fits 16 bits with its sign, the width that vector instructions work at
/// whatever the processor.
///
/// The loops over pixels are vectorised only for some of the ways in which this could be written; try the
/// benchmark `photo` with any other.
struct Channels {
    red: i16,
    green: i16,
    blue: i16,
    /// Greatest less least.
    chroma: u16,
    /// The greatest; 1 for black, so that black fails every lower limit of saturation above 0, as grey does.
    value: u16,
}

impl Channels {
    #[inline(always)]
    fn of([red, green, blue]: [u8; 3]) -> Channels {
        let (red, green, blue) = (i16::from(red), i16::from(green), i16::from(blue));
        let max = red.max(green).max(blue);
        let min = red.min(green).min(blue);
        Channels {
            red,
            green,
            blue,
            chroma: (max - min) as u16,
            value: max.max(1) as u16,
        }
    }
}

/// A window in signed arithmetic on differences to blue; two products a hue limit.
///
/// Without `UPPER` there is no upper limit of saturation to test.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Narrow<const UPPER: bool> {
    /// Weights of red − blue and green − blue.
    hue: [[i16; 2]; 2],
    low: Ratio,
    high: Ratio,
}

impl<const UPPER: bool> Narrow<UPPER> {
    pub(super) fn new(hue: [Coefficients; 2], low: Ratio, high: Ratio) -> Narrow<UPPER> {
        debug_assert!(hue.iter().all(|edge| edge.fits_narrow()));
        Narrow {
            hue: hue.map(|Coefficients([red, green, _])| [red, green]),
            low,
            high,
        }
    }
}

impl Narrow<false> {
    /// The weights of red − blue and green − blue of both limits of hue, and the lower limit of saturation.
    pub(super) fn parts(&self) -> ([[i16; 2]; 2], Ratio) {
        (self.hue, self.low)
    }
}

impl<const UPPER: bool> ColourTest for Narrow<UPPER> {
    #[inline(always)]
    fn is_green(&self, pixel: [u8; 3]) -> bool {
        let is = Channels::of(pixel);
        let (red, green) = (is.red - is.blue, is.green - is.blue);
        let [[a, b], [c, d]] = self.hue;
        // No sign bit in either sum: both are 0 or more.
        let in_hue = ((a * red + b * green) | (c * red + d * green)) >= 0;
        let mut short = self.low.missing_to(&is);
        if UPPER {
            short |= self.high.beyond(&is);
        }
        // `&` rather than `&&`: a branch would keep the loop from being vectorised.
        in_hue & (short == 0)
    }
}

/// A window in unsigned arithmetic, for any limits: positive weights against negative ones.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Wide {
    hue: [Balance; 2],
    low: Ratio,
    high: Ratio,
}

/// Weights of red, green and blue on either side of ≥.
#[derive(Debug, Clone, PartialEq)]
struct Balance {
    more: [u16; 3],
    less: [u16; 3],
}

impl Wide {
    pub(super) fn new(hue: [Coefficients; 2], low: Ratio, high: Ratio) -> Wide {
        let hue = hue.map(|edge| Balance {
            more: edge.0.map(|weight| weight.max(0).unsigned_abs()),
            less: edge.0.map(|weight| weight.min(0).unsigned_abs()),
        });
        Wide { hue, low, high }
    }
}

impl ColourTest for Wide {
    #[inline(always)]
    fn is_green(&self, pixel: [u8; 3]) -> bool {
        let is = Channels::of(pixel);
        let (red, green, blue) = (is.red as u16, is.green as u16, is.blue as u16);
        let sum = |[a, b, c]: [u16; 3]| a * red + b * green + c * blue;
        let short = |edge: &Balance| sum(edge.less).saturating_sub(sum(edge.more));
        let short_of_any = short(&self.hue[0])
            | short(&self.hue[1])
            | self.low.missing_to(&is)
            | self.high.beyond(&is);
        short_of_any == 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ratios_are_the_nearest_that_channels_can_form() {
        assert_eq!(Ratio::at_least(0, 7), Ratio { p: 0, q: 1 });
        assert_eq!(Ratio::at_least(3, 4), Ratio { p: 3, q: 4 });
        assert_eq!(Ratio::at_most(300, 400), Ratio { p: 3, q: 4 });
        assert_eq!(Ratio::at_least(1, 1000), Ratio::LEAST);
        assert_eq!(Ratio::at_most(1, 1000), Ratio { p: 0, q: 1 });
        assert_eq!(Ratio::at_most(9999, 10_000), Ratio { p: 254, q: 255 });
        assert_eq!(Ratio::at_least(9999, 10_000), Ratio::ONE);
        // The neighbours of 1/600 · 43 in the Farey sequence of order 255.
        let (below, above) = (Ratio::at_most(43, 600), Ratio::at_least(43, 600));
        assert_eq!(
            u32::from(above.p) * u32::from(below.q) - u32::from(below.p) * u32::from(above.q),
            1
        );
    }
}
