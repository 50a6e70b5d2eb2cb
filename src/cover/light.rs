//! How the light fell: the shares of a picture that are clipped and that lie in shadow.

/// Tells light from a sample of a picture's pixels.
#[derive(Debug, Clone)]
pub(super) struct Light {
    n_at_luma: [u32; 256],
    n_clipped: u32,
    n: u32,
}

/// Where a picture is this much darker than its own bright level, it counts as shadow.
///
/// Set on photos of young cereal rows on soil, 2017–2020: 0 to 0.02 of the picture under overcast skies, 0.1
/// to 0.4 in sun, where it takes what a person would point to as shadow and leaves sunlit leaves, which are
/// darker than soil but seldom by that much. Relative, because exposure follows the scene.
const SHADOW_TENTHS: u32 = 3;

impl Light {
    pub(super) fn new() -> Light {
        Light {
            n_at_luma: [0; 256],
            n_clipped: 0,
            n: 0,
        }
    }

    #[inline]
    pub(super) fn add(&mut self, [red, green, blue]: [u8; 3]) {
        let brightest = red.max(green).max(blue);
        self.n_clipped += u32::from(brightest == 255 || brightest == 0);
        self.n_at_luma[luma([red, green, blue]) as usize] += 1;
        self.n += 1;
    }

    /// Share of pixels with a channel at 255 or all at 0: their colour is lost.
    pub(super) fn clipped(&self) -> f64 {
        self.share(self.n_clipped)
    }

    /// Share of pixels whose luma is below three tenths of the bright level.
    pub(super) fn shadow(&self) -> f64 {
        let bright = self.bright_level();
        let in_shadow = |luma: &usize| 10 * (*luma as u32) < SHADOW_TENTHS * bright;
        let n_in_shadow = (0..256)
            .filter(in_shadow)
            .map(|luma| self.n_at_luma[luma])
            .sum();
        self.share(n_in_shadow)
    }

    /// The luma that 95 % of the pixels do not exceed: not the maximum, which a glint or a slate would set.
    fn bright_level(&self) -> u32 {
        let mut n_below = 0;
        let reached = |&n: &u32| {
            n_below += n;
            u64::from(n_below) * 20 >= u64::from(self.n) * 19
        };
        self.n_at_luma.iter().position(reached).unwrap_or(0) as u32
    }

    fn share(&self, n: u32) -> f64 {
        f64::from(n) / f64::from(self.n.max(1))
    }
}

/// Luma of a stored sRGB pixel, 0 to 255, with the weights of ITU-R BT.709 in 256ths.
#[inline]
pub(super) fn luma([red, green, blue]: [u8; 3]) -> u32 {
    (54 * u32::from(red) + 183 * u32::from(green) + 19 * u32::from(blue)) >> 8
}

#[cfg(test)]
mod tests {
    use super::*;

    fn light(parts: &[(u32, [u8; 3])]) -> Light {
        let mut light = Light::new();
        for &(n, pixel) in parts {
            (0..n).for_each(|_| light.add(pixel));
        }
        light
    }

    #[test]
    fn luma_spans_the_range_of_its_channels() {
        assert_eq!(luma([0; 3]), 0);
        assert_eq!(luma([255; 3]), 255);
        assert!(luma([0, 255, 0]) > luma([255, 0, 0]));
    }

    #[test]
    fn clipped_pixels_are_white_in_a_channel_or_black() {
        let light = light(&[
            (1, [255, 200, 180]),
            (2, [0, 0, 0]),
            (3, [0, 0, 1]),
            (4, [254, 254, 254]),
        ]);
        assert_eq!(light.clipped(), 0.3);
    }

    #[test]
    fn shadow_is_dark_beside_the_brightest_twentieth() {
        let sand_in_sun = [200, 190, 170];
        let leaf_in_sun = [80, 110, 60];
        let sand_in_shadow = [50, 52, 54];
        let glint = [255, 255, 255];
        let sunny = light(&[
            (500, sand_in_sun),
            (300, leaf_in_sun),
            (180, sand_in_shadow),
            (20, glint),
        ]);
        assert_eq!(sunny.shadow(), 0.18);
        // The same picture two stops darker.
        let darker = light(&[
            (500, [100, 95, 85]),
            (300, [40, 55, 30]),
            (180, [25, 26, 27]),
            (20, [128, 128, 128]),
        ]);
        assert_eq!(darker.shadow(), 0.18);
    }

    #[test]
    fn even_light_has_no_shadow_however_dim() {
        assert_eq!(light(&[(10, [9, 10, 8]), (10, [5, 6, 4])]).shadow(), 0.0);
        assert_eq!(light(&[(10, [0; 3])]).shadow(), 0.0);
    }
}
