//! Pixels counted by cells of a green, as one picture from above shows them.

use std::collections::BTreeMap;

/// Side of the cells that pixels are counted in, in metres: small enough for any map, large enough that a cell holds
/// a hundred pixels of 5 cm.
pub const SEEN_CELL_M: f64 = 0.5;

/// How many pixels of each cell were looked at and how many of them are green.
///
/// Cells are columns eastwards and rows northwards of [`SEEN_CELL_M`] on the plane of the green's outline.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CellCounts {
    /// Ground that a pixel shows, in square metres.
    pub pixel_m2: f64,
    /// Green and all analysed pixels, by column and row.
    pub counts: BTreeMap<(i32, i32), [u32; 2]>,
}

/// Bytes of a cell: column, row, green and analysed pixels.
const CELL_BYTES: usize = 16;

impl CellCounts {
    /// Green and all analysed pixels of all cells.
    pub fn total(&self) -> [u64; 2] {
        let sum = |which: usize| {
            let counts = self.counts.values();
            counts.map(|counts| u64::from(counts[which])).sum()
        };
        [sum(0), sum(1)]
    }

    /// Ground that was looked at, in square metres.
    pub fn seen_m2(&self) -> f64 {
        self.total()[1] as f64 * self.pixel_m2
    }

    /// A form to be kept: the size of a pixel, then 16 bytes a cell, all little-endian.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = self.pixel_m2.to_le_bytes().to_vec();
        for ((column, row), [n_green, n_analysed]) in &self.counts {
            bytes.extend(column.to_le_bytes());
            bytes.extend(row.to_le_bytes());
            bytes.extend(n_green.to_le_bytes());
            bytes.extend(n_analysed.to_le_bytes());
        }
        bytes
    }

    /// From [`CellCounts::to_bytes`]; `None` where the bytes are none of it.
    pub fn from_bytes(bytes: &[u8]) -> Option<CellCounts> {
        let (size, cells) = bytes.split_first_chunk::<8>()?;
        let (cells, rest) = cells.as_chunks::<CELL_BYTES>();
        if !rest.is_empty() {
            return None;
        }
        let counts = cells.iter().map(|cell| {
            let (words, _) = cell.as_chunks::<4>();
            let index = (i32::from_le_bytes(words[0]), i32::from_le_bytes(words[1]));
            let counts = [u32::from_le_bytes(words[2]), u32::from_le_bytes(words[3])];
            (index, counts)
        });
        Some(CellCounts {
            pixel_m2: f64::from_le_bytes(*size),
            counts: counts.collect(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_comes_back() {
        let cells = CellCounts {
            pixel_m2: 6.4e-5,
            counts: BTreeMap::from([((-3, 0), [7, 4000]), ((12, -5), [0, 31])]),
        };
        assert_eq!(
            CellCounts::from_bytes(&cells.to_bytes()),
            Some(cells.clone())
        );
        assert_eq!(cells.total(), [7, 4031]);
        assert_eq!(CellCounts::from_bytes(&cells.to_bytes()[1..]), None);
        assert_eq!(CellCounts::from_bytes(&[]), None);
    }
}
