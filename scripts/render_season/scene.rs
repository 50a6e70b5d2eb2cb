//! One look at one piece of ground: from what grew there to linear light per pixel, and which pixels are green.

use crate::ground::{Ground, GroundMap, GroundStyle};
use crate::light::{Light, Person};
use crate::marks::Marks;
use crate::noise::{hash, unit};
use crate::plants::{self, Day, Grass, Kind, Paint, Window};
use crate::raster::{Band, Fragments, View};
use crate::shade::Shader;
use crate::shadow::ShadowMap;
use crate::stand::Stand;

/// What is in front of the camera, and how it is lit.
pub(crate) struct Scene<'a> {
    pub(crate) stand: &'a Stand,
    /// Growth days since planting; `None` before anything was planted.
    pub(crate) age: Option<f32>,
    pub(crate) grass: Grass,
    pub(crate) mown_mm: Option<f32>,
    /// 0 starved, 1 well fed.
    pub(crate) feed: f32,
    pub(crate) ground: GroundStyle,
    pub(crate) ground_seed: u32,
    /// Sand brushed in since: raises the ground.
    pub(crate) topdressing_mm: f32,
    pub(crate) light: Light,
    pub(crate) person: Option<Person>,
    pub(crate) marks: Marks,
}

/// The scene as the lens sees it, before any fault of the camera.
pub(crate) struct Rendered {
    pub(crate) width: usize,
    pub(crate) rows: usize,
    /// Linear RGB by row.
    pub(crate) pixels: Vec<[f32; 3]>,
    /// Whether the front-most thing at the pixel's centre is a living leaf or a green stolon.
    pub(crate) is_green: Vec<bool>,
}

impl Rendered {
    /// Green pixels in a rectangle (left, top, right, bottom in fractions), in percent.
    pub(crate) fn cover_percent(&self, [left, top, right, bottom]: [f64; 4]) -> f64 {
        let edge = |share: f64, size: usize| (share * size as f64).round() as usize;
        let (first, end) = (edge(left, self.width), edge(right, self.width));
        let mut n_green = 0_usize;
        let mut n_all = 0_usize;
        for row in edge(top, self.rows)..edge(bottom, self.rows) {
            let of_row = &self.is_green[row * self.width..][first..end];
            n_green += of_row.iter().filter(|&&green| green).count();
            n_all += of_row.len();
        }
        100.0 * n_green as f64 / n_all.max(1) as f64
    }
}

/// The tallest thing that can reach into the picture or throw a shadow into it, and how far.
const MARGIN_MM: f32 = 70.0;
/// Pictures of up to this many samples get nine a pixel; larger ones are sharp enough with one.
const MOST_FINE_SAMPLES: usize = 18_000_000;

/// Renders a scene into `view.width` × `view.rows` pixels.
pub(crate) fn render(scene: &Scene, view: &View) -> Rendered {
    let fine = if view.width * view.rows * 9 <= MOST_FINE_SAMPLES {
        3
    } else {
        1
    };
    let samples = View {
        width: view.width * fine,
        rows: view.rows * fine,
        ..*view
    };
    let window = window_of(view);
    let ground = GroundMap::new(
        Ground::new(scene.ground, scene.ground_seed),
        window.low,
        window.high,
    );
    let sand = |x: f32, y: f32| ground.height(x, y) + scene.topdressing_mm;
    let mut fragments = Fragments::new(samples, sand);
    let mut shadows = scene
        .light
        .casts_shadows()
        .then(|| ShadowMap::new(scene.light.to_sun, window.low, window.high));
    let mut put = |band: &Band| {
        fragments.draw(band);
        if let Some(shadows) = &mut shadows {
            shadows.draw(band);
        }
    };
    let mut paints = Vec::new();
    if let Some(age) = scene.age {
        let day = Day {
            age,
            grass: scene.grass,
            mown_mm: scene.mown_mm,
            feed: scene.feed,
            window,
        };
        paints = plants::bands(scene.stand, &day, |x, y| ground.height(x, y), &mut put);
    }
    strew_litter(scene.ground_seed, &window, sand, &mut paints, &mut put);
    scene.marks.lay(sand, &mut paints, &mut put);
    let shader = Shader::new(scene, &fragments, shadows.as_ref(), &ground, &paints);
    gather(view, fine, &fragments, &paints, &shader)
}

/// One depth pass alone: the cover of a scene in percent, quickly.
pub(crate) fn cover_only(scene: &Scene, view: &View) -> f64 {
    let window = window_of(view);
    let ground = GroundMap::new(
        Ground::new(scene.ground, scene.ground_seed),
        window.low,
        window.high,
    );
    let mut fragments = Fragments::new(*view, |x, y| ground.height(x, y) + scene.topdressing_mm);
    let Some(age) = scene.age else { return 0.0 };
    let day = Day {
        age,
        grass: scene.grass,
        mown_mm: scene.mown_mm,
        feed: scene.feed,
        window,
    };
    let paints = plants::bands(
        scene.stand,
        &day,
        |x, y| ground.height(x, y),
        |band| fragments.draw(band),
    );
    let n_green = fragments
        .samples
        .iter()
        .filter(|s| is_green(s.paint, &paints))
        .count();
    100.0 * n_green as f64 / fragments.samples.len() as f64
}

fn is_green(paint: u32, paints: &[Paint]) -> bool {
    paints
        .get(paint as usize)
        .is_some_and(|paint| paint.kind.is_green())
}

fn window_of(view: &View) -> Window {
    let (w, h) = (view.width as f32, view.rows as f32);
    let corners = [[0.0, 0.0], [w, 0.0], [0.0, h], [w, h]].map(|[u, v]| view.ground(u, v));
    let least = |axis: usize| {
        corners
            .iter()
            .map(|c| c[axis])
            .fold(f32::INFINITY, f32::min)
            - MARGIN_MM
    };
    let most = |axis: usize| {
        corners
            .iter()
            .map(|c| c[axis])
            .fold(f32::NEG_INFINITY, f32::max)
            + MARGIN_MM
    };
    Window {
        low: [least(0), least(1)],
        high: [most(0), most(1)],
    }
}

/// Pebbles, bits of bark and leaf, each in its place for good.
fn strew_litter(
    seed: u32,
    window: &Window,
    height: impl Fn(f32, f32) -> f32,
    paints: &mut Vec<Paint>,
    put: &mut impl FnMut(&Band),
) {
    const CELL_MM: f32 = 30.0;
    let cells = |axis: usize| {
        let (low, high) = (window.low[axis] / CELL_MM, window.high[axis] / CELL_MM);
        low.floor() as i32..high.ceil() as i32
    };
    for j in cells(1) {
        for i in cells(0) {
            let draw = |k: u32| unit(hash(i, j, seed ^ k.wrapping_mul(0x9E37_79B9)));
            let lot = draw(1);
            let (kind, half_width, length) = match lot {
                l if l < 0.012 => (
                    Kind::Pebble,
                    1.4 + 3.4 * draw(2).powi(3),
                    2.0 + 3.0 * draw(3),
                ),
                l if l < 0.19 => (
                    Kind::Fleck,
                    0.25 + 0.5 * draw(2),
                    1.5 + 6.5 * draw(3).powi(2),
                ),
                _ => continue,
            };
            let (x, y) = (
                (i as f32 + draw(4)) * CELL_MM,
                (j as f32 + draw(5)) * CELL_MM,
            );
            let angle = std::f32::consts::TAU * draw(6);
            let along = [angle.cos(), angle.sin()];
            let z = height(x, y)
                + if kind == Kind::Pebble {
                    0.5 * half_width
                } else {
                    0.35
                };
            let colour = match kind {
                Kind::Pebble => plants::mix([0.34, 0.30, 0.25], [0.20, 0.155, 0.12], draw(7)),
                _ => plants::mix([0.055, 0.038, 0.024], [0.19, 0.125, 0.065], draw(7)),
            };
            let end = [
                x + along[0] * length,
                y + along[1] * length,
                z + 0.4 * draw(8),
            ];
            put(&Band {
                ends: [[x, y, z], end],
                half_widths: [half_width, half_width * (0.6 + 0.4 * draw(9))],
                normal: [0.0, 0.0, 1.0],
                side: [-along[1], along[0], 0.0],
                fold: if kind == Kind::Pebble { 1.0 } else { 0.4 },
                along: [0.0, 1.0],
                paint: paints.len() as u32,
            });
            paints.push(Paint {
                kind,
                base: colour,
                tip: colour,
                gloss: 0.2,
            });
        }
    }
}

/// Averages the samples of each pixel; its middle one tells whether it is green.
fn gather(
    view: &View,
    fine: usize,
    fragments: &Fragments,
    paints: &[Paint],
    shader: &Shader,
) -> Rendered {
    let n_pixels = view.width * view.rows;
    let mut pixels = Vec::with_capacity(n_pixels);
    let mut is_green_at = Vec::with_capacity(n_pixels);
    let share = 1.0 / (fine * fine) as f32;
    for row in 0..view.rows {
        for column in 0..view.width {
            let mut sum = [0.0_f32; 3];
            for v in row * fine..(row + 1) * fine {
                for u in column * fine..(column + 1) * fine {
                    let rgb = shader.colour(u, v);
                    sum = [sum[0] + rgb[0], sum[1] + rgb[1], sum[2] + rgb[2]];
                }
            }
            pixels.push(sum.map(|c| c * share));
            let middle = (row * fine + fine / 2) * fragments.view.width + column * fine + fine / 2;
            is_green_at.push(is_green(fragments.samples[middle].paint, paints));
        }
    }
    Rendered {
        width: view.width,
        rows: view.rows,
        pixels,
        is_green: is_green_at,
    }
}
