//! From the front-most thing at a sample to its light: sun and its shadows, sky and how much of it is hidden.

use crate::ground::GroundMap;
use crate::light::{Light, Person};
use crate::plants::{Kind, Paint, mix};
use crate::raster::{Fragment, Fragments};
use crate::scene::Scene;
use crate::shadow::ShadowMap;

/// Lights the samples of one picture.
pub(crate) struct Shader<'a> {
    light: Light,
    person: Option<Person>,
    fragments: &'a Fragments,
    shadows: Option<&'a ShadowMap>,
    ground: &'a GroundMap,
    paints: &'a [Paint],
    canopy: Canopy,
}

impl<'a> Shader<'a> {
    pub(crate) fn new(
        scene: &Scene,
        fragments: &'a Fragments,
        shadows: Option<&'a ShadowMap>,
        ground: &'a GroundMap,
        paints: &'a [Paint],
    ) -> Shader<'a> {
        Shader {
            light: scene.light,
            person: scene.person,
            fragments,
            shadows,
            ground,
            paints,
            canopy: Canopy::new(fragments),
        }
    }

    /// Linear light from the sample at column `u`, row `v`.
    pub(crate) fn colour(&self, u: usize, v: usize) -> [f32; 3] {
        let view = &self.fragments.view;
        let fragment = &self.fragments.samples[v * view.width + u];
        let [x, y] = self.fragments.place(u, v);
        let open = self.canopy.open_sky(u, v, fragment.z);
        // Under clouds the bright part of the sky is hidden as the rest of it is.
        let mut sunlit = self
            .shadows
            .map_or(open, |shadows| shadows.sunlit([x, y, fragment.z]));
        if let Some(person) = &self.person {
            sunlit *= person.sunlit([x, y], self.light.to_sun);
        }
        match self.paints.get(fragment.paint as usize) {
            Some(paint) => self.plant(fragment, paint, sunlit, open),
            None => self.sand([x, y], self.canopy.depth(u, v, fragment.z), sunlit, open),
        }
    }

    /// `depth` is how far the canopy around stands above the place, mm.
    fn sand(&self, [x, y]: [f32; 2], depth: f32, sunlit: f32, open: f32) -> [f32; 3] {
        let spot = self.ground.at(x, y);
        let rgb = self
            .ground
            .reflectance(x, y, self.fragments.view.sample_mm(), &spot);
        // Under old turf lie dead leaves and stolons.
        let rgb = mix(
            rgb,
            [0.085, 0.068, 0.040],
            (0.16 * (depth - 2.0)).clamp(0.0, 0.75),
        );
        let scale = 1.0 / (1.0 + spot.slope[0].powi(2) + spot.slope[1].powi(2)).sqrt();
        let normal = [-spot.slope[0] * scale, -spot.slope[1] * scale, scale];
        let facing = dot(normal, self.light.to_sun).max(0.0);
        self.add_up(rgb, facing * sunlit, open, 0.0)
    }

    fn plant(&self, fragment: &Fragment, paint: &Paint, sunlit: f32, open: f32) -> [f32; 3] {
        let along = f32::from(fragment.along) / 255.0;
        let across = f32::from(fragment.across) / 127.0;
        let mut rgb = mix(paint.base, paint.tip, (along * 2.2).min(1.0));
        if paint.kind == Kind::Leaf {
            // The midrib is pale; fine veins run along the blade.
            let midrib = (-(across / 0.16).powi(2)).exp();
            let veins = 1.0 + 0.07 * (across * 15.0).sin();
            rgb = rgb.map(|c| c * veins * (1.0 + 0.22 * midrib));
        }
        let [nx, ny] = fragment.normal.map(|n| f32::from(n) / 127.0);
        let normal = [nx, ny, (1.0 - nx * nx - ny * ny).max(0.02).sqrt()];
        let facing = dot(normal, self.light.to_sun);
        let is_thin = matches!(paint.kind, Kind::Leaf);
        let half = halfway(self.light.to_sun);
        let shine =
            dot(normal, half).max(0.0).powi(22) * 0.085 * paint.gloss * facing.max(0.0).sqrt();
        if facing < 0.0 && is_thin {
            // Lit from behind: light that passes a leaf is yellower than light it throws back.
            let through = [rgb[0] * 0.75, rgb[1] * 0.72, rgb[2] * 0.35];
            return self.add_up(through, -facing * sunlit, open, 0.0);
        }
        self.add_up(rgb, facing.max(0.0) * sunlit, open, shine * sunlit)
    }

    /// Light thrown back: `direct` is the share of the sun, `open` the share of the sky; `shine` mirrors the sun.
    fn add_up(&self, rgb: [f32; 3], direct: f32, open: f32, shine: f32) -> [f32; 3] {
        // What the canopy hides of the sky it partly gives back as green light.
        let level = self.light.on_level_ground();
        let hidden = 1.0 - open;
        let green = [0.050, 0.085, 0.026];
        [0, 1, 2].map(|c| {
            let ambient =
                self.light.sky[c] * open + level[c] * hidden * green[c] * (0.35 + 0.65 * open);
            rgb[c] * (self.light.sun[c] * direct + ambient + 0.05 * level[c] * open)
                + shine * self.light.sun[c]
                + 0.02 * self.light.sky[c] * open
        })
    }
}

fn dot(a: [f32; 3], b: [f32; 3]) -> f32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Halfway between the sun and a lens straight above.
fn halfway(to_sun: [f32; 3]) -> [f32; 3] {
    let sum = [to_sun[0], to_sun[1], to_sun[2] + 1.0];
    let length = dot(sum, sum).sqrt();
    sum.map(|c| c / length)
}

/// Mean height of what is around each place, near and farther.
struct Canopy {
    cell: usize,
    width: usize,
    near: Vec<f32>,
    far: Vec<f32>,
}

impl Canopy {
    fn new(fragments: &Fragments) -> Canopy {
        let view = &fragments.view;
        let cell = ((1.5 / view.sample_mm()).round() as usize).max(1);
        let (width, rows) = (view.width.div_ceil(cell), view.rows.div_ceil(cell));
        let mut heights = vec![0.0_f32; width * rows];
        let mut counts = vec![0.0_f32; width * rows];
        for (row, samples) in fragments.samples.chunks_exact(view.width).enumerate() {
            let of_row = (row / cell) * width;
            for (column, sample) in samples.iter().enumerate() {
                heights[of_row + column / cell] += sample.z;
                counts[of_row + column / cell] += 1.0;
            }
        }
        for (height, count) in heights.iter_mut().zip(&counts) {
            *height /= count;
        }
        let cell_mm = cell as f32 * view.sample_mm();
        let blur = |mm: f32| {
            let reach = ((mm / cell_mm).round() as usize).max(1);
            box_blur(&box_blur(&heights, width, rows, reach), width, rows, reach)
        };
        Canopy {
            cell,
            width,
            near: blur(2.5),
            far: blur(9.0),
        }
    }

    /// How far the canopy within a centimetre or two stands above a height, on average.
    fn depth(&self, u: usize, v: usize, z: f32) -> f32 {
        self.far[(v / self.cell) * self.width + u / self.cell] - z
    }

    /// Share of the sky that a point of height `z` sees, 0 to 1.
    fn open_sky(&self, u: usize, v: usize, z: f32) -> f32 {
        let at = (v / self.cell) * self.width + u / self.cell;
        let near = (self.near[at] - z).max(0.0);
        let far = (self.far[at] - z).max(0.0);
        (-0.17 * near - 0.10 * far).exp()
    }
}

/// Mean over a square of `2 reach + 1` cells, edges repeated.
pub(crate) fn box_blur(values: &[f32], width: usize, rows: usize, reach: usize) -> Vec<f32> {
    let pass = |from: &[f32], n_lines: usize, length: usize, step: usize, next: usize| {
        let mut to = vec![0.0_f32; from.len()];
        let share = 1.0 / (2 * reach + 1) as f32;
        for line in 0..n_lines {
            let at = |k: isize| from[line * next + k.clamp(0, length as isize - 1) as usize * step];
            let reach = reach as isize;
            let mut sum: f32 = (-reach..=reach).map(at).sum();
            for k in 0..length {
                to[line * next + k * step] = sum * share;
                sum += at(k as isize + reach + 1) - at(k as isize - reach);
            }
        }
        to
    };
    let across = pass(values, rows, width, 1, width);
    pass(&across, width, rows, width, 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blurring_keeps_a_level_field_level_and_spreads_a_spike() {
        assert!(
            box_blur(&[2.5; 35], 7, 5, 2)
                .iter()
                .all(|v| (v - 2.5).abs() < 1e-5)
        );
        let mut spike = vec![0.0; 81];
        spike[40] = 9.0;
        let blurred = box_blur(&spike, 9, 9, 1);
        assert!((blurred[40] - 1.0).abs() < 1e-5 && (blurred[30] - 1.0).abs() < 1e-5);
        assert_eq!(blurred[0], 0.0);
    }
}
