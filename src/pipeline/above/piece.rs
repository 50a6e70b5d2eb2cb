//! What of a photo from above shows a green, and what is counted there.

use std::borrow::Cow;

use crate::course::GreenId;
use crate::cover::{self, Lanes, Pixels, Reading, Rule};
use crate::ledger::StoredPart;
use crate::map::Cut;

/// The pixels that pieces are cut from.
#[derive(Clone, Copy)]
pub(super) struct Source<'p> {
    pub(super) width: u32,
    /// Red, green and blue of each pixel.
    pub(super) rgb: &'p [u8],
    /// A byte for each pixel, 0 for those that are no part of the photo; all are where there is none.
    pub(super) opaque: Option<&'p [u8]>,
}

/// What a photo from above shows of one green.
pub(in crate::pipeline) struct Piece<'a> {
    green: &'a GreenId,
    cut: &'a Cut,
    /// Red, green and blue of the pixels of the cut's rectangle.
    rgb: Vec<u8>,
    /// A byte for each: 0 for those that are not on the green or no part of the photo.
    opaque: Vec<u8>,
}

impl<'a> Piece<'a> {
    /// Copies the cut's rectangle of a picture; `None` where no pixel of it is left.
    pub(super) fn of(green: &'a GreenId, cut: &'a Cut, from: Source<'_>) -> Option<Piece<'a>> {
        let rect = cut.rect();
        let mut rgb = Vec::with_capacity(3 * rect.width as usize * rect.height as usize);
        let mut opaque = Vec::with_capacity(rgb.capacity() / 3);
        for row in rect.y..rect.y + rect.height {
            let first = row as usize * from.width as usize + rect.x as usize;
            let span = first..first + rect.width as usize;
            rgb.extend_from_slice(&from.rgb[3 * span.start..3 * span.end]);
            match from.opaque {
                Some(mask) => opaque.extend_from_slice(&mask[span]),
                None => opaque.resize(opaque.len() + span.len(), 255),
            }
        }
        for (opaque, inside) in opaque.iter_mut().zip(cut.inside()) {
            *opaque &= inside;
        }
        opaque.iter().any(|&byte| byte != 0).then_some(Piece {
            green,
            cut,
            rgb,
            opaque,
        })
    }

    /// Its pixels.
    pub(in crate::pipeline) fn pixels(&self) -> Pixels<'_> {
        let rect = self.cut.rect();
        Pixels::new(&self.rgb, rect.width, rect.height).masked(&self.opaque)
    }
}

/// What a photo from above gave.
pub(in crate::pipeline) struct CutUp {
    /// Of all greens together; nothing analysed where it shows none.
    pub(in crate::pipeline) reading: Reading,
    pub(in crate::pipeline) parts: Vec<StoredPart>,
}

/// What the greens of one photo amount to.
#[derive(Default)]
pub(super) struct Tally {
    parts: Vec<StoredPart>,
    /// Each with the pixels that were looked at.
    readings: Vec<Reading>,
}

impl Tally {
    pub(super) fn add(&mut self, piece: &Piece<'_>, rule: &Rule) {
        let pixels = piece.pixels();
        let rule = of_each_pixel(rule.on_photo(pixels, pixels.whole()));
        let reading = cover::measure(pixels, pixels.whole(), &rule);
        let mask = cover::mask(pixels, pixels.whole(), &rule, Lanes::best());
        let cells = piece.cut.count(&piece.opaque, &mask);
        let [n_green, n_analysed] = cells.total();
        self.readings.push(reading);
        self.parts.push(StoredPart {
            green: piece.green.clone(),
            n_green,
            n_analysed,
            cells: cells.to_bytes(),
        });
    }

    pub(super) fn finished(mut self) -> CutUp {
        self.parts.sort_by(|one, other| one.green.cmp(&other.green));
        CutUp {
            reading: together(&self.readings),
            parts: self.parts,
        }
    }
}

/// The reading of all greens of a photo: counts added, shares weighted by them.
fn together(readings: &[Reading]) -> Reading {
    let sum = |value: fn(&Reading) -> u64| readings.iter().map(value).sum::<u64>();
    let (n_green, n_analysed) = (sum(|one| one.n_green), sum(|one| one.n_analysed));
    let weighted = |value: fn(&Reading) -> f64| {
        let parts = readings
            .iter()
            .map(|one| value(one) * one.n_analysed as f64);
        parts.sum::<f64>() / n_analysed.max(1) as f64
    };
    let dark_green = readings
        .iter()
        .filter_map(|one| Some(one.dark_green_index? * one.n_green as f64));
    Reading {
        n_green,
        n_analysed,
        dark_green_index: (n_green > 0).then(|| dark_green.sum::<f64>() / n_green as f64),
        sharpness: weighted(|one| one.sharpness),
        clipped: weighted(|one| one.clipped),
        shadow: weighted(|one| one.shadow),
    }
}

/// The rule without a vote among neighbours: a vote is there for the noise of phones close to the turf; from above a
/// sprig is no wider than a pixel or two, and its neighbours would vote it out.
fn of_each_pixel(rule: Cow<'_, Rule>) -> Rule {
    match rule.into_owned() {
        Rule::Fitted(fitted) => Rule::Fitted(fitted.of_each_pixel()),
        rule => rule,
    }
}
