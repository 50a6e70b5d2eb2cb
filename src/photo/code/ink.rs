//! Ink and paper, told apart by what is around each pixel.

/// 0 for ink and 255 for paper: ink is darker than the geometric mean of the pixels up to `reach` away. Shade
/// multiplies light, so that where its edge runs through the code, paper in the shade and ink in the sun still lie on
/// either side of that mean.
///
/// Windows are held to 641,601 pixels, whose sums fit.
pub(super) fn ink(grey: &[u8], width: usize, reach: usize) -> Vec<u8> {
    const FURTHEST: usize = 400;
    let (height, reach) = (grey.len() / width.max(1), reach.min(FURTHEST));
    // Thousandths; four levels are added for the light that glass and haze scatter, which black is never without.
    let logs: [u32; 256] = std::array::from_fn(|level| ((level as f64 + 4.0).ln() * 1e3) as u32);
    let log = |at: usize| logs[usize::from(grey[at])];
    // Sums over everything above and left of a place. Those of a large picture pass the largest number and begin again
    // at 0; the differences of a window are right all the same.
    let stride = width + 1;
    let mut sums = vec![0_u32; stride * (height + 1)];
    for y in 0..height {
        let mut row = 0_u32;
        for x in 0..width {
            row = row.wrapping_add(log(y * width + x));
            sums[(y + 1) * stride + x + 1] = sums[y * stride + x + 1].wrapping_add(row);
        }
    }
    let is_ink = |at: usize| {
        let (x, y) = (at % width, at / width);
        let (left, top) = (x.saturating_sub(reach), y.saturating_sub(reach));
        let (right, below) = ((x + reach + 1).min(width), (y + reach + 1).min(height));
        let sum = sums[below * stride + right]
            .wrapping_add(sums[top * stride + left])
            .wrapping_sub(sums[top * stride + right])
            .wrapping_sub(sums[below * stride + left]);
        let n = ((right - left) * (below - top)) as u32;
        log(at) * n < sum
    };
    (0..grey.len())
        .map(|at| if is_ink(at) { 0 } else { 255 })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_too_large_for_its_sums_is_read_like_a_small_one() {
        let striped = |width: usize, height: usize| -> Vec<u8> {
            (0..width * height)
                .map(|at| {
                    if (at % width / 4).is_multiple_of(2) {
                        60
                    } else {
                        250
                    }
                })
                .collect()
        };
        let (small, large) = (
            ink(&striped(1000, 8), 1000, 9),
            ink(&striped(1000, 1000), 1000, 9),
        );
        assert_eq!(large[992_000..], small[..]);
    }

    #[test]
    fn a_shadow_across_ink_and_paper_hides_neither() {
        // Columns of ink and paper by turns, two wide; the right half in the shade.
        let grey: Vec<u8> = (0..24 * 6)
            .map(|at| at % 24)
            .map(|x| {
                let light = if x / 2 % 2 == 0 { 60 } else { 220 };
                if x < 12 { light } else { light / 3 }
            })
            .collect();
        let wrong = ink(&grey, 24, 3)
            .iter()
            .enumerate()
            .filter(|(at, value)| (**value == 0) != (at % 24 / 2 % 2 == 0))
            .filter(|(at, _)| !(10..14).contains(&(at % 24)))
            .count();
        assert_eq!(wrong, 0);
        assert!(ink(&[], 0, 3).is_empty());
    }
}
