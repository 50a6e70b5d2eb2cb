//! Which places the sun reaches past blades and stolons.

use crate::raster::{Band, scan};

/// Heights of the nearest thing towards the sun, on a plane slid along its rays: a point below is in shadow.
pub(crate) struct ShadowMap {
    slide: [f32; 2],
    origin: [f32; 2],
    width: usize,
    rows: usize,
    heights: Vec<f32>,
}

const SHADOW_STEP_MM: f32 = 0.6;

impl ShadowMap {
    /// `to_sun` is a unit vector; the map covers the rectangle from `low` to `high`.
    pub(crate) fn new(to_sun: [f32; 3], low: [f32; 2], high: [f32; 2]) -> ShadowMap {
        let z = to_sun[2].max(0.12);
        let count = |axis: usize| ((high[axis] - low[axis]) / SHADOW_STEP_MM).ceil() as usize + 2;
        let (width, rows) = (count(0), count(1));
        ShadowMap {
            slide: [to_sun[0] / z, to_sun[1] / z],
            origin: low,
            width,
            rows,
            heights: vec![f32::NEG_INFINITY; width * rows],
        }
    }

    fn place(&self, point: [f32; 3]) -> [f32; 3] {
        let u = (point[0] - point[2] * self.slide[0] - self.origin[0]) / SHADOW_STEP_MM;
        let v = (point[1] - point[2] * self.slide[1] - self.origin[1]) / SHADOW_STEP_MM;
        [u, v, 1.0 / SHADOW_STEP_MM]
    }

    /// Lets a band throw its shadow.
    pub(crate) fn draw(&mut self, band: &Band) {
        let (from, to) = (self.place(band.ends[0]), self.place(band.ends[1]));
        let widths = band.half_widths.map(|w| (w / SHADOW_STEP_MM).max(0.55));
        let [z0, z1] = [band.ends[0][2], band.ends[1][2]];
        let heights = &mut self.heights;
        scan(&from, &to, widths, [self.width, self.rows], |at, t, _| {
            heights[at] = heights[at].max(z0 + (z1 - z0) * t);
        });
    }

    /// Share of the sun that reaches a point, 0 to 1, softened over a step of the map.
    pub(crate) fn sunlit(&self, point: [f32; 3]) -> f32 {
        const BIAS_MM: f32 = 0.55;
        let [u, v, _] = self.place(point);
        let (u, v) = (u - 0.5, v - 0.5);
        if u < 0.0 || v < 0.0 || u >= (self.width - 1) as f32 || v >= (self.rows - 1) as f32 {
            return 1.0;
        }
        let (i, j) = (u as usize, v as usize);
        let (fu, fv) = (u - i as f32, v - j as f32);
        let lit = |at: usize| {
            if self.heights[at] > point[2] + BIAS_MM {
                0.0
            } else {
                1.0
            }
        };
        let at = j * self.width + i;
        let low = lit(at) + (lit(at + 1) - lit(at)) * fu;
        let high = lit(at + self.width) + (lit(at + self.width + 1) - lit(at + self.width)) * fu;
        low + (high - low) * fv
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_blade_shades_the_ground_on_the_side_away_from_the_sun() {
        let to_sun = [0.6, 0.0, 0.8];
        let mut map = ShadowMap::new(to_sun, [-50.0, -50.0], [50.0, 50.0]);
        map.draw(&Band {
            ends: [[0.0, -20.0, 8.0], [0.0, 20.0, 8.0]],
            half_widths: [2.0, 2.0],
            normal: [0.0, 0.0, 1.0],
            side: [1.0, 0.0, 0.0],
            fold: 0.0,
            along: [0.0, 1.0],
            paint: 0,
        });
        assert!(map.sunlit([-6.0, 0.0, 0.0]) < 0.1, "8 mm up, 6 mm aside");
        assert!(map.sunlit([6.0, 0.0, 0.0]) > 0.9);
        assert!(
            map.sunlit([0.0, 0.0, 8.0]) > 0.9,
            "the blade does not shade itself"
        );
    }
}
