//! Cover freed of the errors that an audit found.

use serde::{Deserialize, Serialize};

use super::wilson::{Interval, Share, Z};

/// What an audit says of the program's eye.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Accuracy {
    /// Of green points, those called green.
    pub sensitivity: Share,
    /// Of points that are not green, those not called green.
    pub specificity: Share,
}

impl Accuracy {
    /// Whether the program and the person agree more often than any two would by chance: at the lower ends of both
    /// 95 % intervals too.
    pub fn tells_apart(&self) -> bool {
        let low = |share: Share| share.interval().low;
        low(self.sensitivity) + low(self.specificity) > 1.0
    }
}

/// Cover as it would have been read without error, as a fraction.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Corrected {
    /// Most likely.
    pub cover: f64,
    /// Holds the truth 95 times in 100.
    pub interval: Interval,
}

/// Corrects a measured cover, a fraction with its standard error (0 where it was not sampled), by what an
/// audit found; `None` where green or other points were not judged at all, or where the program is not shown to tell
/// them apart better than chance.
///
/// c = (p + specificity − 1) / (sensitivity + specificity − 1), held to 0 … 1 (Rogan & Gladen 1978, Am. J.
/// Epidemiol. 107:71–76). The interval is that of Lang & Reiczigel (2014, Preventive Veterinary Medicine
/// 113:13–22), which keeps what it promises where few points were judged or none was wrong; in place of its
/// binomial term for p stands the standard error of p. Formula from memory; its coverage is simulated in the
/// tests. It rests on the audit's errors being those of the photos that are corrected.
pub fn corrected(measured: f64, standard_error: f64, accuracy: &Accuracy) -> Option<Corrected> {
    let (sensitivity, specificity) = (accuracy.sensitivity.value()?, accuracy.specificity.value()?);
    if !accuracy.tells_apart() {
        return None;
    }
    let youden = sensitivity + specificity - 1.0;
    // One point added on either side of each share, as the interval's authors do.
    let added = |share: Share| ((share.hits + 1.0) / (share.n + 2.0), share.n + 2.0);
    let (se, n_se) = added(accuracy.sensitivity);
    let (sp, n_sp) = added(accuracy.specificity);
    let width = se + sp - 1.0;
    let middle = (measured + sp - 1.0) / width;
    let (of_se, of_sp) = (se * (1.0 - se) / n_se, sp * (1.0 - sp) / n_sp);
    let shift = 2.0 * Z * Z * (middle * of_se - (1.0 - middle) * of_sp);
    let variance = standard_error.powi(2) + middle.powi(2) * of_se + (1.0 - middle).powi(2) * of_sp;
    let half = Z * variance.sqrt() / width;
    let share = |value: f64| value.clamp(0.0, 1.0);
    let cover = share((measured + specificity - 1.0) / youden);
    Some(Corrected {
        cover,
        interval: Interval {
            low: share(middle + shift - half).min(cover),
            high: share(middle + shift + half).max(cover),
        },
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    use super::*;

    fn accuracy(se: (f64, f64), sp: (f64, f64)) -> Accuracy {
        let share = |(hits, n)| Share { hits, n };
        Accuracy {
            sensitivity: share(se),
            specificity: share(sp),
        }
    }

    #[test]
    fn what_was_misread_is_put_back() {
        // True cover 0.4, 9 of 10 leaves seen, 1 in 20 grains of sand taken for a leaf: 0.39 is read.
        let audit = accuracy((90.0, 100.0), (190.0, 200.0));
        let corrected = corrected(0.4 * 0.9 + 0.6 * 0.05, 0.0, &audit).unwrap();
        assert!((corrected.cover - 0.4).abs() < 1e-12);
        assert!(corrected.interval.holds(0.4) && corrected.interval.half_width() < 0.08);
    }

    #[test]
    fn a_wilful_program_cannot_be_corrected() {
        assert_eq!(
            corrected(0.5, 0.0, &accuracy((5.0, 10.0), (5.0, 10.0))),
            None
        );
        // Better than chance by so little that it may be chance.
        assert_eq!(
            corrected(0.5, 0.0, &accuracy((12.0, 20.0), (11.0, 20.0))),
            None
        );
        assert_eq!(
            corrected(0.5, 0.0, &accuracy((0.0, 0.0), (5.0, 10.0))),
            None
        );
    }

    #[test]
    fn the_interval_holds_the_truth_about_19_times_in_20() {
        let mut random = ChaCha8Rng::seed_from_u64(11);
        for (cover, se, sp, n) in [
            (0.5, 0.92, 0.95, 240),
            (0.1, 0.8, 0.99, 240),
            (0.9, 0.97, 0.85, 120),
        ] {
            let spread = 0.02;
            let n_trials = 2000;
            let held = (0..n_trials)
                .filter(|_| {
                    let mut count = |n: u32, p: f64| {
                        let hits = (0..n).filter(|_| random.random_bool(p)).count();
                        (hits as f64, f64::from(n))
                    };
                    let audit = accuracy(count(n / 2, se), count(n / 2, sp));
                    let read = cover * se + (1.0 - cover) * (1.0 - sp);
                    let measured = read + spread * crate::random::normal(&mut random);
                    corrected(measured, spread, &audit)
                        .unwrap()
                        .interval
                        .holds(cover)
                })
                .count();
            let share = held as f64 / f64::from(n_trials);
            assert!((0.92..=0.99).contains(&share), "{cover}: {share}");
        }
    }

    proptest! {
        #[test]
        fn corrected_cover_is_a_share_and_lies_in_its_interval(
            measured in 0.0..=1.0, error in 0.0..0.1, se in 60_u32..=100, sp in 60_u32..=100
        ) {
            let audit = accuracy((f64::from(se), 100.0), (f64::from(sp), 100.0));
            let Corrected { cover, interval } = corrected(measured, error, &audit).unwrap();
            prop_assert!((0.0..=1.0).contains(&cover) && interval.holds(cover));
            let more = corrected((measured + 0.1).min(1.0), error, &audit).unwrap();
            prop_assert!(more.cover >= cover);
        }
    }
}
