//! From blades and stolons in space to what is front-most at each sample of the picture.
//!
//! Space is millimetres: x east, y north, z up. The picture is samples: u to the right, v down.

/// Where the camera is and how many samples its picture has.
#[derive(Debug, Clone, Copy)]
pub(crate) struct View {
    /// The place under the lens.
    pub(crate) centre: [f32; 2],
    /// Direction of the picture's top, radians anticlockwise from north.
    pub(crate) heading: f32,
    /// Height of the lens.
    pub(crate) height: f32,
    /// Width of the ground seen.
    pub(crate) field: f32,
    /// How far the camera leans, as slopes to the right and to the top.
    pub(crate) lean: [f32; 2],
    /// Samples across.
    pub(crate) width: usize,
    /// Samples down.
    pub(crate) rows: usize,
}

impl View {
    /// Millimetres of ground between samples.
    pub(crate) fn sample_mm(&self) -> f32 {
        self.field / self.width as f32
    }

    /// Where a point in space falls: u, v and samples per millimetre there.
    fn project(&self, point: [f32; 3], (sin, cos): (f32, f32)) -> [f32; 3] {
        let (dx, dy) = (point[0] - self.centre[0], point[1] - self.centre[1]);
        let (right, up) = (dx * cos + dy * sin, dy * cos - dx * sin);
        let depth = self.height - point[2] + self.lean[0] * right + self.lean[1] * up;
        let scale = self.height / depth / self.sample_mm();
        [
            self.width as f32 / 2.0 + right * scale,
            self.rows as f32 / 2.0 - up * scale,
            scale,
        ]
    }

    /// The place on the plane z = 0 seen at `u`, `v`.
    pub(crate) fn ground(&self, u: f32, v: f32) -> [f32; 2] {
        self.ground_turned(u, v, self.heading.sin_cos())
    }

    /// The matrix that takes a place in the picture (u, v, 1) to the ground (x, y, 1), up to a factor.
    pub(crate) fn ground_matrix(&self) -> [[f32; 3]; 3] {
        let (sin, cos) = self.heading.sin_cos();
        let (mm, h) = (self.sample_mm(), self.height);
        let (half_width, half_rows) = (self.width as f32 / 2.0, self.rows as f32 / 2.0);
        // right = mm (u − half width), up = mm (half rows − v), both stretched by h / w.
        let w = [
            -self.lean[0] * mm,
            self.lean[1] * mm,
            h + self.lean[0] * mm * half_width - self.lean[1] * mm * half_rows,
        ];
        let right = [mm * h, 0.0, -mm * h * half_width];
        let up = [0.0, -mm * h, mm * h * half_rows];
        let row = |centre: f32, r: f32, u: f32| {
            [0, 1, 2].map(|k: usize| centre * w[k] + r * right[k] + u * up[k])
        };
        [
            row(self.centre[0], cos, -sin),
            row(self.centre[1], sin, cos),
            w,
        ]
    }

    fn ground_turned(&self, u: f32, v: f32, (sin, cos): (f32, f32)) -> [f32; 2] {
        let right = (u - self.width as f32 / 2.0) * self.sample_mm();
        let up = (self.rows as f32 / 2.0 - v) * self.sample_mm();
        let stretch = self.height / (self.height - self.lean[0] * right - self.lean[1] * up);
        let (right, up) = (right * stretch, up * stretch);
        [
            self.centre[0] + right * cos - up * sin,
            self.centre[1] + right * sin + up * cos,
        ]
    }
}

/// Front-most thing at a sample.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fragment {
    /// Height, mm.
    pub(crate) z: f32,
    /// Index of its paint; [`Fragment::GROUND`] for the ground.
    pub(crate) paint: u32,
    /// East and north parts of the unit normal, times 127.
    pub(crate) normal: [i8; 2],
    /// Along the thing from base to tip, 0 to 255.
    pub(crate) along: u8,
    /// Across it, −127 to 127.
    pub(crate) across: i8,
}

impl Fragment {
    pub(crate) const GROUND: u32 = u32::MAX;
}

/// A length of blade or stolon, seen as a band.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Band {
    pub(crate) ends: [[f32; 3]; 2],
    pub(crate) half_widths: [f32; 2],
    /// Unit normal of its middle line, and unit vector to its left side.
    pub(crate) normal: [f32; 3],
    pub(crate) side: [f32; 3],
    /// How much the normal leans to the sides at the edges: 0 flat; 1 round.
    pub(crate) fold: f32,
    pub(crate) along: [f32; 2],
    pub(crate) paint: u32,
}

/// Samples of one picture.
pub(crate) struct Fragments {
    pub(crate) view: View,
    pub(crate) samples: Vec<Fragment>,
    /// Sine and cosine of the heading.
    turn: (f32, f32),
}

impl Fragments {
    /// Bare ground of these heights (place → mm).
    pub(crate) fn new(view: View, height: impl Fn(f32, f32) -> f32) -> Fragments {
        let turn = view.heading.sin_cos();
        let mut samples = Vec::with_capacity(view.width * view.rows);
        for row in 0..view.rows {
            for column in 0..view.width {
                let [x, y] = view.ground_turned(column as f32 + 0.5, row as f32 + 0.5, turn);
                samples.push(Fragment {
                    z: height(x, y),
                    paint: Fragment::GROUND,
                    normal: [0, 0],
                    along: 0,
                    across: 0,
                });
            }
        }
        Fragments {
            view,
            samples,
            turn,
        }
    }

    /// The place on the plane z = 0 at the middle of a sample.
    pub(crate) fn place(&self, column: usize, row: usize) -> [f32; 2] {
        self.view
            .ground_turned(column as f32 + 0.5, row as f32 + 0.5, self.turn)
    }

    /// Draws a band where it is higher than what is there.
    pub(crate) fn draw(&mut self, band: &Band) {
        let from = self.view.project(band.ends[0], self.turn);
        let to = self.view.project(band.ends[1], self.turn);
        let widths = [band.half_widths[0] * from[2], band.half_widths[1] * to[2]];
        let [z0, z1] = [band.ends[0][2], band.ends[1][2]];
        let thickness = band.fold * band.half_widths[0];
        let samples = &mut self.samples;
        scan(
            &from,
            &to,
            widths,
            [self.view.width, self.view.rows],
            |at, t, q| {
                let z = z0 + (z1 - z0) * t - thickness * 0.6 * q * q;
                let sample = &mut samples[at];
                if z <= sample.z {
                    return;
                }
                let lean = q * band.fold;
                let n = [0, 1, 2].map(|axis| band.normal[axis] + lean * band.side[axis]);
                let scale = 127.0 / (n[0] * n[0] + n[1] * n[1] + n[2] * n[2]).sqrt().max(1e-6);
                *sample = Fragment {
                    z,
                    paint: band.paint,
                    normal: [(n[0] * scale) as i8, (n[1] * scale) as i8],
                    along: (255.0 * (band.along[0] + (band.along[1] - band.along[0]) * t)) as u8,
                    across: (127.0 * q) as i8,
                };
            },
        );
    }
}

/// Calls `mark(index, along 0..1, across −1..1)` for each sample whose centre lies in the band between two
/// projected points.
pub(crate) fn scan(
    from: &[f32; 3],
    to: &[f32; 3],
    half_widths: [f32; 2],
    [width, rows]: [usize; 2],
    mut mark: impl FnMut(usize, f32, f32),
) {
    let (du, dv) = (to[0] - from[0], to[1] - from[1]);
    let length = (du * du + dv * dv).sqrt().max(1e-4);
    let (tu, tv) = (du / length, dv / length);
    let widest = half_widths[0].max(half_widths[1]);
    // Round joints: a band reaches a little past its ends.
    let past = (0.5 * widest).min(0.35 * length);
    let [u_low, u_high] = [from[0].min(to[0]) - widest, from[0].max(to[0]) + widest];
    let [v_low, v_high] = [from[1].min(to[1]) - widest, from[1].max(to[1]) + widest];
    if u_high < 0.0 || v_high < 0.0 || u_low > width as f32 || v_low > rows as f32 {
        return;
    }
    let per_length = 1.0 / length;
    let swell = (half_widths[1] - half_widths[0]) * per_length;
    for row in first_centre(v_low)..first_centre(v_high).min(rows) {
        let y = row as f32 + 0.5 - from[1];
        // On this row, where is the middle line near enough, and where is it neither behind nor beyond?
        let (mut left, mut right) = (u_low, u_high);
        if tv.abs() > 0.05 {
            let (middle, half) = (from[0] + y * tu / tv, widest / tv.abs());
            (left, right) = (left.max(middle - half), right.min(middle + half));
        }
        if tu.abs() > 0.05 {
            let (a, b) = ((-past - y * tv) / tu, (length + past - y * tv) / tu);
            (left, right) = (left.max(from[0] + a.min(b)), right.min(from[0] + a.max(b)));
        }
        for column in first_centre(left)..first_centre(right).min(width) {
            let x = column as f32 + 0.5 - from[0];
            let ahead = (x * tu + y * tv).clamp(0.0, length);
            let aside = x * tv - y * tu;
            let half = half_widths[0] + swell * ahead;
            if aside.abs() <= half {
                mark(
                    row * width + column,
                    ahead * per_length,
                    aside / half.max(1e-4),
                );
            }
        }
    }
}

/// The first sample whose centre is at or after `place`.
fn first_centre(place: f32) -> usize {
    let place = (place - 0.5).max(0.0);
    let whole = place as usize;
    whole + usize::from((whole as f32) < place)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view() -> View {
        View {
            centre: [12.0, -7.0],
            heading: 0.4,
            height: 900.0,
            field: 950.0,
            lean: [0.03, -0.02],
            width: 400,
            rows: 300,
        }
    }

    #[test]
    fn projecting_a_place_on_the_ground_and_back_returns_it() {
        let view = view();
        for place in [[0.0, 0.0], [130.0, -90.0], [-300.0, 210.0]] {
            let [u, v, _] = view.project([place[0], place[1], 0.0], view.heading.sin_cos());
            let back = view.ground(u, v);
            assert!((back[0] - place[0]).abs() < 0.01 && (back[1] - place[1]).abs() < 0.01);
        }
    }

    #[test]
    fn the_matrix_leads_to_the_same_ground() {
        let view = view();
        let [x, y, w] = view.ground_matrix();
        for (u, v) in [(0.0, 0.0), (400.0, 0.0), (13.0, 250.0)] {
            let along = |row: [f32; 3]| row[0] * u + row[1] * v + row[2];
            let place = view.ground(u, v);
            assert!((along(x) / along(w) - place[0]).abs() < 0.01);
            assert!((along(y) / along(w) - place[1]).abs() < 0.01);
        }
    }

    #[test]
    fn a_band_marks_the_samples_whose_centres_it_covers() {
        // The slow obvious way: ask each sample's centre for its distance.
        let (from, to) = ([3.2, 4.1, 1.0], [17.9, 11.6, 1.0]);
        let mut fast = vec![false; 24 * 18];
        scan(&from, &to, [2.0, 2.0], [24, 18], |at, _, _| fast[at] = true);
        let (du, dv) = (to[0] - from[0], to[1] - from[1]);
        let length = f32::hypot(du, dv);
        for row in 0..18 {
            for column in 0..24 {
                let (x, y) = (column as f32 + 0.5 - from[0], row as f32 + 0.5 - from[1]);
                let ahead = (x * du + y * dv) / length;
                let aside = (x * dv - y * du) / length;
                if (0.0..=length).contains(&ahead) {
                    assert_eq!(
                        fast[row * 24 + column],
                        aside.abs() <= 2.0,
                        "at {column}, {row}"
                    );
                }
            }
        }
    }
}
