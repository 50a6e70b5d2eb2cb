//! Deviates from a seeded generator, the same on every machine.

use std::f64::consts::TAU;

use rand::{Rng, RngExt};

/// A standard normal deviate (Box & Muller 1958, Annals of Mathematical Statistics 29:610–611).
pub(crate) fn normal(rng: &mut impl Rng) -> f64 {
    let u = 1.0 - rng.random::<f64>();
    let v: f64 = rng.random();
    (-2.0 * u.ln()).sqrt() * (TAU * v).cos()
}
