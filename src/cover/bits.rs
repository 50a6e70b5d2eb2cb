//! Masks with one bit a pixel: 64 pixels in a word, the leftmost in the lowest bit.
//!
//! A vote among neighbours and the count of what is green then work on 64 pixels at a time.

use super::lanes::{Lanes, Work, highest_bits};

/// Pixels in a word.
pub(super) const PER_WORD: usize = 64;

/// Words that hold a row of `n` pixels.
pub(super) fn n_words(n: usize) -> usize {
    n.div_ceil(PER_WORD)
}

/// Writes the highest bit of each byte into `words`; bits beyond the last byte are 0.
///
/// # Panics
/// Where there are not just as many words as the bytes need.
#[inline(always)]
pub(super) fn pack(bytes: &[u8], words: &mut [u64]) {
    assert_eq!(words.len(), n_words(bytes.len()));
    let (whole, rest) = bytes.as_chunks::<PER_WORD>();
    for (bytes, word) in whole.iter().zip(words.iter_mut()) {
        *word = pack_word(bytes);
    }
    if let [.., last] = words
        && !rest.is_empty()
    {
        let mut bytes = [0; PER_WORD];
        bytes[..rest.len()].copy_from_slice(rest);
        *last = pack_word(&bytes);
    }
}

#[inline(always)]
fn pack_word(bytes: &[u8; PER_WORD]) -> u64 {
    let (sixteens, _) = bytes.as_chunks::<16>();
    let mut word = 0;
    for (sixteen, at) in sixteens.iter().zip(0..) {
        word |= u64::from(highest_bits(*sixteen)) << (16 * at);
    }
    word
}

/// Writes 255 for each bit that is set and 0 for the others.
pub(super) fn unpack(words: &[u64], bytes: &mut [u8]) {
    for (bytes, word) in bytes.chunks_mut(PER_WORD).zip(words) {
        for (at, byte) in bytes.iter_mut().enumerate() {
            *byte = if word >> at & 1 == 1 { 255 } else { 0 };
        }
    }
}

/// How many bits are set.
pub(super) fn count(words: &[u64], lanes: Lanes) -> u64 {
    lanes.run(Ones(words))
}

struct Ones<'a>(&'a [u64]);

impl Work for Ones<'_> {
    type Output = u64;

    #[inline(always)]
    fn run(self) -> u64 {
        // No closure: it would not be compiled for the wider instructions.
        let mut n = 0;
        for word in self.0 {
            n += u64::from(word.count_ones());
        }
        n
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn bytes_come_back_from_bits_and_are_counted(green: Vec<bool>) {
            let bytes: Vec<u8> = green.iter().map(|&green| 255 * u8::from(green)).collect();
            let mut words = vec![u64::MAX; n_words(bytes.len())];
            pack(&bytes, &mut words);
            let n_green = green.iter().filter(|&&green| green).count() as u64;
            for lanes in Lanes::all() {
                prop_assert_eq!(count(&words, lanes), n_green);
            }
            let mut back = vec![7; bytes.len()];
            unpack(&words, &mut back);
            prop_assert_eq!(back, bytes);
        }
    }
}
