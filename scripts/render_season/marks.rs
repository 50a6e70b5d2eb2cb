//! What marks a station on the ground: nothing, two pegs, or a frame of pipe laid on it. Lengths are millimetres.

use crate::plants::{Kind, Paint};
use crate::raster::Band;

/// How a station is marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Marks {
    None,
    /// Two white pegs as wide as a coin, at opposite corners.
    Pegs,
    /// A white frame of pipe, which two hidden pegs bring to the same place each time.
    Frame,
}

impl Marks {
    pub(crate) const ALL: [Marks; 3] = [Marks::None, Marks::Pegs, Marks::Frame];

    pub(crate) fn word(self) -> &'static str {
        match self {
            Marks::None => "none",
            Marks::Pegs => "pegs",
            Marks::Frame => "frame",
        }
    }

    /// Lays the marks on the sand.
    pub(crate) fn lay(
        self,
        height: impl Fn(f32, f32) -> f32,
        paints: &mut Vec<Paint>,
        put: &mut impl FnMut(&Band),
    ) {
        let paint = paints.len() as u32;
        paints.push(Paint {
            kind: Kind::Plastic,
            base: [0.70, 0.70, 0.67],
            tip: [0.66, 0.66, 0.63],
            gloss: 0.3,
        });
        let [x, y] = [262.0, 188.0];
        let lengths: Vec<[[f32; 2]; 2]> = match self {
            Marks::None => Vec::new(),
            Marks::Pegs => vec![[[-x, -y], [18.0 - x, -y]], [[x, y], [x, y + 18.0]]],
            Marks::Frame => vec![
                [[-x, -y], [x, -y]],
                [[x, -y], [x, y]],
                [[x, y], [-x, y]],
                [[-x, y], [-x, -y]],
            ],
        };
        let half_width = if self == Marks::Pegs { 10.0 } else { 10.5 };
        for [from, to] in lengths {
            let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
            let length = dx.hypot(dy);
            let end = |[x, y]: [f32; 2]| [x, y, height(x, y) + 12.0];
            put(&Band {
                ends: [end(from), end(to)],
                half_widths: [half_width; 2],
                normal: [0.0, 0.0, 1.0],
                side: [-dy / length, dx / length, 0.0],
                fold: 0.9,
                along: [0.0, 1.0],
                paint,
            });
        }
    }
}
