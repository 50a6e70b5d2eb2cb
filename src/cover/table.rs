//! A table of one bit for each of the 2²⁴ colours: any rule of colour, however it was arrived at.

use super::forms::ColourTest;

const COLOURS: usize = 1 << 24;

/// Says of every 8-bit colour whether it counts as green. Takes 2 MiB.
#[derive(Clone, PartialEq, Eq)]
pub struct ColourTable {
    bits: Box<[u64]>,
}

impl ColourTable {
    /// Asks `is_green` about every colour: red, green, blue.
    pub fn of(is_green: impl Fn([u8; 3]) -> bool) -> ColourTable {
        let word = |word: usize| {
            (0..64).fold(0, |bits, bit| {
                let [.., red, green, blue] = (64 * word + bit).to_be_bytes();
                bits | u64::from(is_green([red, green, blue])) << bit
            })
        };
        ColourTable {
            bits: (0..COLOURS / 64).map(word).collect(),
        }
    }

    /// Whether a colour (red, green, blue) counts as green.
    pub fn contains(&self, pixel: [u8; 3]) -> bool {
        self.is_green(pixel)
    }

    /// How many colours count as green.
    pub fn n_green(&self) -> u64 {
        self.bits
            .iter()
            .map(|word| u64::from(word.count_ones()))
            .sum()
    }

    /// BLAKE3 hash of the table: the same for the same colours.
    pub fn hash(&self) -> blake3::Hash {
        let mut hasher = blake3::Hasher::new();
        for word in &self.bits {
            hasher.update(&word.to_le_bytes());
        }
        hasher.finalize()
    }
}

impl std::fmt::Debug for ColourTable {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "ColourTable({} of {COLOURS} colours)", self.n_green())
    }
}

impl ColourTest for ColourTable {
    #[inline(always)]
    fn is_green(&self, [red, green, blue]: [u8; 3]) -> bool {
        let code = u32::from_be_bytes([0, red, green, blue]);
        self.bits[code as usize >> 6] >> (code & 63) & 1 == 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::Window;

    #[test]
    fn a_table_of_a_window_says_what_the_window_says() {
        let window = Window::published();
        let table = ColourTable::of(|pixel| window.contains(pixel));
        for code in (0..COLOURS as u32).step_by(7) {
            let [_, red, green, blue] = code.to_be_bytes();
            let pixel = [red, green, blue];
            assert_eq!(table.contains(pixel), window.contains(pixel), "{pixel:?}");
        }
    }

    #[test]
    fn green_colours_are_counted() {
        let table = ColourTable::of(|[red, green, blue]| red < 10 && green >= 250 && blue == 7);
        assert_eq!(table.n_green(), 10 * 6);
    }

    #[test]
    fn the_hash_tells_tables_apart() {
        let dark = ColourTable::of(|[_, green, _]| green < 100);
        let darker = ColourTable::of(|[_, green, _]| green < 99);
        assert_eq!(dark.hash(), dark.clone().hash());
        assert_ne!(dark.hash(), darker.hash());
    }
}
