//! Green that is smoother than any blades are: dyed sand, mulch, a crust of algae, a broad leaf.

use super::cells::Cell;
use crate::cover::classify::Rule;
use crate::cover::pixels::Pixels;
use crate::photo::PixelRect;

/// Squares along the longer side, at most: a centimetre wide where the photo shows a metre, so that some fit between
/// young leaves, and none into a blade.
const MOST_SQUARES: u32 = 88;
/// … and at least: fewer tell no texture.
const LEAST_SQUARES: u32 = 24;
/// Pixels along a side of a square, at least.
const LEAST_SIDE: u32 = 9;
/// Pixels that are looked at along a side of a square.
const SAMPLES: u32 = 9;

/// Standard deviation of luma within a square, as a share of its luma, below which no blades are in it. Of drawn turf
/// under clouds one green square in a thousand is as smooth, of turf in sun none.
const SMOOTH: f64 = 0.04;

/// Share of a photo that is green and smooth, 0 to 1, from every second square of a chequerboard; 0 in photos of less
/// than 24 squares along the longer side.
///
/// `rule` is that of the photo.
///
/// # Panics
/// Where `rect` reaches beyond the picture.
pub fn smooth_green(pixels: Pixels<'_>, rect: PixelRect, rule: &Rule) -> f64 {
    let longer = rect.width.max(rect.height);
    let side = (longer / MOST_SQUARES).max(LEAST_SIDE);
    if longer / side < LEAST_SQUARES {
        return 0.0;
    }
    let (columns, rows) = (rect.width / side, rect.height / side);
    let (mut n, mut n_smooth) = (0_u32, 0_u32);
    for row in 0..rows {
        for column in (row % 2..columns).step_by(2) {
            let square = PixelRect {
                x: rect.x + column * side,
                y: rect.y + row * side,
                width: side,
                height: side,
            };
            let cell = Cell::of(pixels, square, SAMPLES);
            let is_smooth = cell.sd < SMOOTH * cell.luma;
            n += 1;
            n_smooth += u32::from(is_smooth && rule.is_green(cell.colour()));
        }
    }
    f64::from(n_smooth) / f64::from(n.max(1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::Window;

    const LEAF: [u8; 3] = [70, 130, 50];
    const SAND: [u8; 3] = [196, 178, 150];

    /// A photo whose upper part is of one colour with grains of light of so many levels, and the rest sand.
    fn share(width: u32, colour: [u8; 3], grain: u32) -> f64 {
        let height = width * 3 / 4;
        let rgb: Vec<[u8; 3]> = (0..width * height)
            .map(|at| {
                let colour = if at / width < height / 4 {
                    colour
                } else {
                    SAND
                };
                let level = (at.wrapping_mul(0x9E37_79B9) >> 16) % (grain + 1);
                colour.map(|channel| channel + level as u8)
            })
            .collect();
        let pixels = Pixels::new(rgb.as_flattened(), width, height);
        let rule = Rule::Window(Window::published());
        smooth_green(pixels, pixels.whole(), &rule)
    }

    #[test]
    fn smooth_green_is_found_and_rough_green_and_smooth_sand_are_not() {
        for width in [240, 800] {
            let dyed = share(width, LEAF, 6);
            assert!((dyed - 0.25).abs() < 0.03, "{width}: {dyed}");
            assert_eq!(share(width, LEAF, 40), 0.0);
            assert_eq!(share(width, SAND, 6), 0.0);
        }
    }

    #[test]
    fn a_tiny_photo_tells_no_texture() {
        assert_eq!(share(160, LEAF, 0), 0.0);
    }
}
