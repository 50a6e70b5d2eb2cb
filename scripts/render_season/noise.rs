//! Noise that depends on nothing but its arguments: the same place and seed give the same value on every run.

/// Mixes two whole coordinates and a seed into 32 well-stirred bits.
pub(crate) fn hash(x: i32, y: i32, seed: u32) -> u32 {
    let mut h = (x as u32).wrapping_mul(0x9E37_79B1)
        ^ (y as u32).wrapping_mul(0x85EB_CA77)
        ^ seed.wrapping_mul(0xC2B2_AE3D);
    h ^= h >> 15;
    h = h.wrapping_mul(0x2C1B_3C6D);
    h ^= h >> 12;
    h = h.wrapping_mul(0x297A_2D39);
    h ^ (h >> 15)
}

/// From 0 to 1, 1 excluded.
pub(crate) fn unit(bits: u32) -> f32 {
    (bits >> 8) as f32 * (1.0 / 16_777_216.0)
}

/// About normal with mean 0 and standard deviation 1, within ±3.45: the sum of four bytes.
pub(crate) fn bell(bits: u32) -> f32 {
    let sum = (bits & 255) + (bits >> 8 & 255) + (bits >> 16 & 255) + (bits >> 24);
    (sum as f32 - 510.0) * (1.0 / 147.8)
}

/// Smooth noise from −1 to 1 that changes over `wavelength`; both in the same unit as `x` and `y`.
pub(crate) fn smooth(x: f32, y: f32, wavelength: f32, seed: u32) -> f32 {
    let (u, v) = (x / wavelength, y / wavelength);
    let (i, j) = (floor(u), floor(v));
    let (fu, fv) = (i as f32, j as f32);
    let ease = |t: f32| t * t * (3.0 - 2.0 * t);
    let (su, sv) = (ease(u - fu), ease(v - fv));
    let at = |di: i32, dj: i32| unit(hash(i + di, j + dj, seed));
    let low = at(0, 0) + (at(1, 0) - at(0, 0)) * su;
    let high = at(0, 1) + (at(1, 1) - at(0, 1)) * su;
    2.0 * (low + (high - low) * sv) - 1.0
}

/// The whole number at or below `x`, for numbers that fit: quicker than `f32::floor` without SSE 4.1.
pub(crate) fn floor(x: f32) -> i32 {
    let whole = x as i32;
    whole - i32::from((whole as f32) > x)
}

/// Three octaves of [`smooth`], each half as long and half as strong; about −1 to 1.
pub(crate) fn rough(x: f32, y: f32, wavelength: f32, seed: u32) -> f32 {
    // Each octave's lattice is turned, or their lines would add up to a weave.
    let (x2, y2) = (0.8 * x - 0.6 * y, 0.6 * x + 0.8 * y);
    let (x3, y3) = (0.29 * x - 0.957 * y, 0.957 * x + 0.29 * y);
    (smooth(x, y, wavelength, seed)
        + 0.5 * smooth(x2, y2, wavelength * 0.5, seed ^ 0x51)
        + 0.25 * smooth(x3, y3, wavelength * 0.25, seed ^ 0xA2))
        / 1.4
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bell_has_mean_zero_and_unit_spread() {
        let values: Vec<f32> = (0..20_000).map(|i| bell(hash(i, 7, 3))).collect();
        let mean = values.iter().sum::<f32>() / values.len() as f32;
        let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f32>() / values.len() as f32;
        assert!(mean.abs() < 0.03, "mean {mean}");
        assert!((variance - 1.0).abs() < 0.05, "variance {variance}");
    }

    #[test]
    fn smooth_noise_is_continuous_across_its_lattice() {
        for i in -5..5 {
            let x = i as f32 * 10.0;
            let jump = (smooth(x - 0.001, 3.0, 10.0, 9) - smooth(x + 0.001, 3.0, 10.0, 9)).abs();
            assert!(jump < 0.001, "jump {jump} at {x}");
        }
    }
}
