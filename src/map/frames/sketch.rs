//! A photo made small: all that is compared of it.

use crate::cover::Pixels;
use crate::photo::Orientation;

/// Longer side of a sketch in cells: a cell is a few millimetres of turf, finer than photos can be laid over each other.
pub const SKETCH_SIDE: usize = 256;

/// A photo made small, upright, row by row from the upper left corner.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sketch {
    width: usize,
    height: usize,
    /// Share of green pixels in each cell, 0 to 255.
    green: Vec<u8>,
    /// Mean colour of each cell.
    rgb: Vec<[u8; 3]>,
}

impl Sketch {
    /// From its cells; `None` where there are none, or a plane does not hold `width` × `height` of them.
    pub fn new(
        (width, height): (usize, usize),
        green: Vec<u8>,
        rgb: Vec<[u8; 3]>,
    ) -> Option<Sketch> {
        let n_cells = width.checked_mul(height)?;
        let is_whole = n_cells > 0 && green.len() == n_cells && rgb.len() == n_cells;
        is_whole.then_some(Sketch {
            width,
            height,
            green,
            rgb,
        })
    }

    /// Of a photo whose green pixels are 255 in `mask`, all others 0. A photo smaller than a sketch stays as it is.
    ///
    /// # Panics
    /// Where `mask` does not hold a byte a pixel.
    pub fn of(pixels: Pixels<'_>, mask: &[u8], orientation: Orientation) -> Sketch {
        let (width, height) = (pixels.width() as usize, pixels.height() as usize);
        assert_eq!(mask.len(), width * height, "a byte a pixel");
        let long = width.max(height).max(1);
        let cells = |side: usize| (side * SKETCH_SIDE.min(long) / long).max(1);
        let (columns, rows) = (cells(width), cells(height));
        let mut green = Vec::with_capacity(columns * rows);
        let mut rgb = Vec::with_capacity(columns * rows);
        let mut sums = Columns::new(width, columns);
        let mut row_of_cells = 0;
        for (y, row) in pixels.rows(pixels.whole(), 1).enumerate() {
            sums.add(row.rgb.as_flattened(), &mask[y * width..][..width]);
            if y + 1 == (row_of_cells + 1) * height / rows {
                for [red, green_channel, blue, n_green, n] in sums.take() {
                    let mean = |sum: u32| ((sum + n / 2) / n) as u8;
                    rgb.push([mean(red), mean(green_channel), mean(blue)]);
                    green.push(mean(255 * n_green));
                }
                row_of_cells += 1;
            }
        }
        let (stored_columns, stored_rows) = (columns as u32, rows as u32);
        let mut upright = Vec::new();
        let (columns, rows) = orientation.make_upright::<3>(
            rgb.as_flattened(),
            stored_columns,
            stored_rows,
            &mut upright,
        );
        let rgb = upright.as_chunks::<3>().0.to_vec();
        let mut upright = Vec::new();
        orientation.make_upright::<1>(&green, stored_columns, stored_rows, &mut upright);
        Sketch {
            width: columns as usize,
            height: rows as usize,
            green: upright,
            rgb,
        }
    }

    /// Cells from left to right.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Cells from top to bottom.
    pub fn height(&self) -> usize {
        self.height
    }

    /// Height as a share of the width.
    pub fn aspect(&self) -> f64 {
        self.height as f64 / self.width as f64
    }

    /// Share of green in each cell, 0 to 255.
    pub fn green(&self) -> &[u8] {
        &self.green
    }

    /// Mean colour of each cell.
    pub fn rgb(&self) -> &[[u8; 3]] {
        &self.rgb
    }
}

/// Sums of some rows of pixels, put together into cells only when the rows end: a sum of each column by itself is what a
/// processor does many of at once.
struct Columns {
    channels: Vec<u16>,
    green: Vec<u16>,
    /// Rows in these sums.
    n_rows: u32,
    /// Red, green, blue, green pixels, and pixels.
    cells: Vec<[u32; 5]>,
}

impl Columns {
    /// More would overflow a sum.
    const MOST_ROWS: u32 = 256;

    fn new(width: usize, n_cells: usize) -> Columns {
        Columns {
            channels: vec![0; 3 * width],
            green: vec![0; width],
            n_rows: 0,
            cells: vec![[0; 5]; n_cells],
        }
    }

    fn add(&mut self, channels: &[u8], mask: &[u8]) {
        if self.n_rows == Columns::MOST_ROWS {
            self.put_together();
        }
        for (sum, &channel) in self.channels.iter_mut().zip(channels) {
            *sum += u16::from(channel);
        }
        for (sum, &green) in self.green.iter_mut().zip(mask) {
            *sum += u16::from(green & 1);
        }
        self.n_rows += 1;
    }

    fn put_together(&mut self) {
        let (pixels, _) = self.channels.as_chunks::<3>();
        let (width, n_cells) = (pixels.len(), self.cells.len());
        let mut begin = 0;
        for (cell, at) in self.cells.iter_mut().zip(1..) {
            let end = at * width / n_cells;
            for (pixel, &green) in pixels[begin..end].iter().zip(&self.green[begin..end]) {
                for (sum, &channel) in cell.iter_mut().zip(pixel) {
                    *sum += u32::from(channel);
                }
                cell[3] += u32::from(green);
            }
            cell[4] += (end - begin) as u32 * self.n_rows;
            begin = end;
        }
        self.channels.fill(0);
        self.green.fill(0);
        self.n_rows = 0;
    }

    /// The cells of the rows since they were last taken.
    fn take(&mut self) -> Vec<[u32; 5]> {
        self.put_together();
        let n_cells = self.cells.len();
        std::mem::replace(&mut self.cells, vec![[0; 5]; n_cells])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_is_the_mean_of_its_pixels_and_upright() {
        // 512 × 256 pixels: the left half dark and green, the right half light and not.
        let rgb: Vec<u8> = (0..512 * 256)
            .flat_map(|k| {
                if k % 512 < 256 {
                    [10, 60, 10]
                } else {
                    [200; 3]
                }
            })
            .collect();
        let mask: Vec<u8> = (0..512 * 256)
            .map(|k| if k % 512 < 256 { 255 } else { 0 })
            .collect();
        let pixels = Pixels::new(&rgb, 512, 256);
        let sketch = Sketch::of(pixels, &mask, Orientation::Rotate90);
        assert_eq!((sketch.width(), sketch.height()), (128, 256));
        // Turned clockwise, what was left is above.
        assert_eq!((sketch.green()[0], sketch.rgb()[0]), (255, [10, 60, 10]));
        let last = 128 * 256 - 1;
        assert_eq!((sketch.green()[last], sketch.rgb()[last]), (0, [200; 3]));
    }

    #[test]
    fn cells_of_uneven_size_are_the_means_of_their_pixels() {
        let (width, height) = (611_usize, 397_usize);
        let rgb: Vec<[u8; 3]> = (0..width * height)
            .map(|at| [7919, 104_729, 1_299_709].map(|factor| ((at * factor) >> 5) as u8))
            .collect();
        let mask: Vec<u8> = rgb
            .iter()
            .map(|pixel| 255 * u8::from(pixel[0] > 99))
            .collect();
        let pixels = Pixels::new(rgb.as_flattened(), width as u32, height as u32);
        let sketch = Sketch::of(pixels, &mask, Orientation::Upright);
        let (columns, rows) = (sketch.width(), sketch.height());
        assert_eq!((columns, rows), (256, 397 * 256 / 611));
        for cell in 0..columns * rows {
            let (column, row) = (cell % columns, cell / columns);
            let xs = column * width / columns..(column + 1) * width / columns;
            let ys = row * height / rows..(row + 1) * height / rows;
            let places = || {
                ys.clone()
                    .flat_map(|y| xs.clone().map(move |x| y * width + x))
            };
            let n = places().count();
            let mean =
                |of: &dyn Fn(usize) -> usize| ((places().map(of).sum::<usize>() + n / 2) / n) as u8;
            let expected = [0, 1, 2].map(|channel| mean(&|at| usize::from(rgb[at][channel])));
            assert_eq!(sketch.rgb()[cell], expected);
            let green = places().filter(|&at| mask[at] == 255).count();
            assert_eq!(sketch.green()[cell], ((255 * green + n / 2) / n) as u8);
        }
    }

    #[test]
    fn a_small_photo_stays_as_it_is() {
        let pixels = Pixels::new(&[1, 2, 3, 4, 5, 6], 2, 1);
        let sketch = Sketch::of(pixels, &[255, 0], Orientation::Upright);
        assert_eq!(sketch.green(), [255, 0]);
        assert_eq!(sketch.rgb(), [[1, 2, 3], [4, 5, 6]]);
    }
}
