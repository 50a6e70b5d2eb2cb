//! What the telling of green from ground gets wrong, the same way on every visit of a season.
//!
//! No number of photos makes it smaller: the same rule looks at all of them. Only an audit does.

use std::collections::BTreeMap;

use crate::course::Cover;

/// How far off a rule of colour reads: cover c shows as c + (1 − c) × shown − c × missed, all of them fractions.
///
/// Either is signed: photos of thin leaves may show too little at low cover, and those of dense turf, whose gaps lie
/// in green shade, too much.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Misread {
    /// By how much bare ground reads too high.
    pub shown: Rate,
    /// By how much full cover reads too low.
    pub missed: Rate,
}

/// A share of ground that is misread; by default none, for certain.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Rate {
    /// The share, a fraction.
    pub value: f64,
    /// Its standard error, a fraction.
    pub standard_error: f64,
    /// Who says so.
    pub source: Source,
}

/// Where a rate of misreading is known from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Source {
    /// Cover was measured elsewhere; nothing is said of it.
    #[default]
    NotAsked,
    /// What is usual for the rule.
    Usual,
    /// Points of this season that a person judged.
    Audit,
}

/// A point of an audit that was judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compared {
    /// Any number that tells its visit from others.
    pub visit: usize,
    /// Cover of the visit as measured, a fraction.
    pub measured: f64,
    /// Whether the program calls it green.
    pub program: bool,
    /// Whether the person does.
    pub person: bool,
}

/// Standard errors of the rates where no audit tells them: as large as the error of drawn photos of nearly full turf,
/// and as that of photos of thin rows of cereals.
const USUAL_SE: f64 = 0.03;

/// Fewer points tell nothing of a season.
const LEAST_POINTS: usize = 30;

/// Where cover would have to be stretched by more than this, or pressed together by as much, there is no telling
/// cover from what is read.
const MOST_STRETCH: f64 = 2.0;

/// What lies between bare and full is known to this at the worst: no share scatters more about its mean.
pub const MOST_ERROR: f64 = 0.5;

/// Standard errors that all visits share, as fractions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ErrorAtEnds {
    /// Of bare ground.
    pub bare: f64,
    /// Of full cover.
    pub full: f64,
}

impl Misread {
    /// What is expected of a rule that nobody has audited: no bias that is known, and an error that is a guess.
    pub fn usual() -> Misread {
        Misread {
            shown: Rate::USUAL,
            missed: Rate::USUAL,
        }
    }

    /// What an audit found, by a line through the differences between program and person against the cover of their
    /// visits (least squares; standard errors allow for points of one visit being alike, sandwich estimator of
    /// Liang & Zeger 1986, Biometrika 73:13–22). One sensitivity and specificity for all covers would not do: thin
    /// leaves are missed more often than turf is.
    ///
    /// A rate takes the place of the usual one where the audit found it clearly other than 0, or knows it better than
    /// that. Where neither is clearly other than 0 nothing is corrected: what was found is error. Fewer than 30 points
    /// tell nothing.
    pub fn of_audit(points: &[Compared]) -> Misread {
        let judged = (points.len() >= LEAST_POINTS).then(|| fitted(points));
        let Some([shown, missed]) = judged.flatten() else {
            return Misread::usual();
        };
        // Where one end of the line is sure it is the line that was found.
        let is_sure = shown.is_sure() || missed.is_sure();
        let found = Misread {
            shown: shown.or_usual(is_sure),
            missed: missed.or_usual(is_sure),
        };
        if (1.0 / MOST_STRETCH..=MOST_STRETCH).contains(&found.stretch()) {
            return found;
        }
        // Such a rule tells little; its cover stands as it is, and its faults are its error.
        let as_error = |rate: Rate| Rate {
            value: 0.0,
            standard_error: rate.value.hypot(rate.standard_error).min(MOST_ERROR),
            ..rate
        };
        Misread {
            shown: as_error(found.shown),
            missed: as_error(found.missed),
        }
    }

    /// Cover without the error that is known, held to 0 … 1.
    pub fn freed(&self, measured: Cover) -> Cover {
        let cover = measured.fraction() * self.stretch() - self.shown.value;
        Cover::from_fraction(cover.clamp(0.0, 1.0)).unwrap_or(measured)
    }

    /// By how much a difference of cover grows when it is freed of the error.
    pub fn stretch(&self) -> f64 {
        1.0 + self.shown.value + self.missed.value
    }

    /// Standard error of cover that is freed, a fraction, for what is not known of the misreading. Visits share
    /// it: it does not average out between them.
    pub fn standard_error(&self, freed: Cover) -> f64 {
        let ends = self.at_the_ends();
        let share = freed.fraction();
        ((1.0 - share) * ends.bare)
            .hypot(share * ends.full)
            .min(MOST_ERROR)
    }

    /// The same on bare and on full ground.
    pub fn at_the_ends(&self) -> ErrorAtEnds {
        ErrorAtEnds {
            bare: self.shown.standard_error,
            full: self.missed.standard_error,
        }
    }

    /// Whether cover is other than it was read.
    pub fn corrects(&self) -> bool {
        self.shown.value != 0.0 || self.missed.value != 0.0
    }

    /// Whether an audit told at least one of the rates.
    pub fn is_audited(&self) -> bool {
        [self.shown, self.missed]
            .iter()
            .any(|rate| rate.source == Source::Audit)
    }
}

impl Rate {
    const USUAL: Rate = Rate {
        value: 0.0,
        standard_error: USUAL_SE,
        source: Source::Usual,
    };

    /// Whether it is clearly other than 0.
    fn is_sure(self) -> bool {
        self.value.abs() > 2.0 * self.standard_error
    }

    /// Itself where it is clearly other than 0, or known better than what is usual and part of a line that is sure; else
    /// no more than an error, the usual one where that is smaller.
    fn or_usual(self, of_sure_line: bool) -> Rate {
        let knows_better = self.standard_error <= USUAL_SE;
        if self.is_sure() || (of_sure_line && knows_better) {
            return self;
        }
        let error = self.value.hypot(self.standard_error);
        if error <= USUAL_SE {
            Rate {
                value: 0.0,
                standard_error: error,
                ..self
            }
        } else {
            Rate::USUAL
        }
    }
}

/// The line through the differences: its value on bare ground, and minus that on full. `None` where the points do not
/// tell the two apart.
fn fitted(points: &[Compared]) -> Option<[Rate; 2]> {
    let row = |point: &Compared| [1.0 - point.measured, -point.measured];
    let difference = |point: &Compared| f64::from(i8::from(point.program) - i8::from(point.person));
    // The normal equations.
    let (mut xx, mut xy, mut yy, mut right) = (0.0, 0.0, 0.0, [0.0; 2]);
    for point in points {
        let [x, y] = row(point);
        xx += x * x;
        xy += x * y;
        yy += y * y;
        right[0] += x * difference(point);
        right[1] += y * difference(point);
    }
    let determinant = xx * yy - xy * xy;
    if determinant < 1e-6 {
        return None;
    }
    let solve = |[p, q]: [f64; 2]| {
        [
            (yy * p - xy * q) / determinant,
            (xx * q - xy * p) / determinant,
        ]
    };
    let [shown, missed] = solve(right);

    let mut of_visit: BTreeMap<usize, [f64; 2]> = BTreeMap::new();
    let mut squares = 0.0;
    for point in points {
        let [x, y] = row(point);
        let rest = difference(point) - x * shown - y * missed;
        squares += rest * rest;
        let sum = of_visit.entry(point.visit).or_default();
        sum[0] += x * rest;
        sum[1] += y * rest;
    }
    // As if one more point had been wrong: an audit without a fault does not know that there is none.
    let variance = (squares + 1.0) / points.len() as f64;
    let n_visits = of_visit.len() as f64;
    let few_visits = n_visits / (n_visits - 1.0).max(0.5);
    let (mut of_shown, mut of_missed) = (0.0, 0.0);
    for &sum in of_visit.values() {
        let [a, b] = solve(sum);
        of_shown += few_visits * a * a;
        of_missed += few_visits * b * b;
    }
    let rate = |value: f64, alike: f64, apart: f64| Rate {
        value,
        standard_error: alike.max(apart).sqrt().min(MOST_ERROR),
        source: Source::Audit,
    };
    Some([
        rate(shown, of_shown, variance * yy / determinant),
        rate(missed, of_missed, variance * xx / determinant),
    ])
}

#[cfg(test)]
mod tests {
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    use super::*;

    fn percent(value: f64) -> Cover {
        Cover::from_percent(value).unwrap()
    }

    /// An audit of so many points, spread over sixteen visits from bare to full, of a rule that misreads.
    fn audit(n: usize, shown: f64, missed: f64, random: &mut ChaCha8Rng) -> Vec<Compared> {
        (0..n)
            .map(|point| {
                let visit = point % 16;
                let cover = visit as f64 / 15.0;
                let person = random.random_bool(cover);
                let program = if person {
                    random.random_bool(1.0 - missed)
                } else {
                    random.random_bool(shown)
                };
                Compared {
                    visit,
                    measured: cover + (1.0 - cover) * shown - cover * missed,
                    program,
                    person,
                }
            })
            .collect()
    }

    #[test]
    fn what_is_misread_is_found_within_its_standard_errors() {
        let mut random = ChaCha8Rng::seed_from_u64(5);
        let (shown, missed) = (0.06, 0.10);
        let n_audits = 400;
        let (mut n_held, mut sum) = (0, 0.0);
        for _ in 0..n_audits {
            let found = Misread::of_audit(&audit(1200, shown, missed, &mut random));
            // True 40 % reads as this; its 95 % interval should hold 40 %.
            let read = percent(100.0 * (0.4 + 0.6 * shown - 0.4 * missed));
            let freed = found.freed(read);
            sum += freed.percent();
            let half = 1.96 * found.standard_error(freed);
            n_held += u32::from((freed.fraction() - 0.4).abs() <= half);
        }
        let mean = sum / f64::from(n_audits);
        assert!((mean - 40.0).abs() < 0.7, "{mean}");
        // The rates' errors partly make up for each other in the middle: a little more than 95 in 100.
        let held = f64::from(n_held) / f64::from(n_audits);
        assert!((0.93..=1.0).contains(&held), "{held}");
    }

    #[test]
    fn a_few_points_do_not_beat_the_usual_error_unless_they_find_much_wrong() {
        let mut random = ChaCha8Rng::seed_from_u64(6);
        let few = Misread::of_audit(&audit(24, 0.03, 0.03, &mut random));
        assert_eq!(few, Misread::usual());
        assert!(!few.is_audited());
        let wrong = Misread::of_audit(&audit(240, 0.4, 0.0, &mut random));
        assert!(
            wrong.shown.source == Source::Audit && wrong.shown.value > 0.2,
            "{wrong:?}"
        );
        assert_eq!(Misread::of_audit(&[]), Misread::usual());
    }

    #[test]
    fn an_audit_without_a_fault_moves_nothing_and_is_not_certain() {
        let mut random = ChaCha8Rng::seed_from_u64(7);
        let right = Misread::of_audit(&audit(480, 0.0, 0.0, &mut random));
        assert_eq!(right.freed(percent(37.0)).percent(), 37.0);
        assert!(right.is_audited());
        let ErrorAtEnds { bare, full } = right.at_the_ends();
        assert!((0.001..USUAL_SE).contains(&bare) && (0.001..USUAL_SE).contains(&full));
    }

    #[test]
    fn leaves_missed_while_thin_do_not_raise_full_cover() {
        // A third of the leaves is missed where a tenth is green, none where nearly all is.
        let mut points = Vec::new();
        for visit in 0..12 {
            for point in 0..40 {
                let (cover, n_missed) = if visit < 6 { (4, 1) } else { (36, 0) };
                let person = point < cover;
                points.push(Compared {
                    visit,
                    measured: f64::from(cover - n_missed) / 40.0,
                    program: person && point >= n_missed,
                    person,
                });
            }
        }
        let found = Misread::of_audit(&points);
        assert!((found.freed(percent(7.5)).percent() - 10.0).abs() < 0.1);
        assert!((found.freed(percent(90.0)).percent() - 90.0).abs() < 0.1);
    }

    #[test]
    fn a_rule_that_tells_nothing_is_not_corrected_but_mistrusted() {
        let mut random = ChaCha8Rng::seed_from_u64(8);
        let misread = Misread::of_audit(&audit(960, 0.75, 0.75, &mut random));
        assert_eq!(misread.freed(percent(50.0)).percent(), 50.0);
        assert!(misread.standard_error(percent(50.0)) > 0.3);
    }

    #[test]
    fn no_error_is_larger_than_a_share_can_have() {
        // Five points, all of them misread.
        let wrong = |visit| Compared {
            visit,
            measured: 0.1 * visit as f64,
            program: true,
            person: false,
        };
        let points: Vec<Compared> = (0..5).map(wrong).collect();
        let found = Misread::of_audit(&points);
        let ErrorAtEnds { bare, full } = found.at_the_ends();
        assert!(bare <= 0.5 && full <= 0.5, "{found:?}");
        assert!(found.standard_error(percent(50.0)) <= 0.5);
    }

    #[test]
    fn what_is_not_clearly_an_error_corrects_nothing() {
        let mut random = ChaCha8Rng::seed_from_u64(9);
        let mut n_corrected = 0;
        for _ in 0..200 {
            let found = Misread::of_audit(&audit(240, 0.0, 0.02, &mut random));
            n_corrected += u32::from(found.corrects());
            let ends = found.at_the_ends();
            assert!(ends.bare <= USUAL_SE && ends.full <= USUAL_SE, "{found:?}");
        }
        // Of so small an error an audit of this size seldom is sure.
        assert!(n_corrected < 60, "{n_corrected}");
        // A few slips are none of the program's.
        let slip = |visit| Compared {
            visit,
            measured: 0.1 + 0.15 * visit as f64,
            program: false,
            person: true,
        };
        let slips: Vec<Compared> = (0..5).map(slip).collect();
        assert_eq!(Misread::of_audit(&slips), Misread::usual());
    }

    #[test]
    fn the_usual_error_moves_nothing() {
        let usual = Misread::usual();
        assert_eq!(usual.freed(percent(37.0)).percent(), 37.0);
        assert!((usual.standard_error(percent(0.0)) - USUAL_SE).abs() < 1e-12);
        assert!((usual.standard_error(percent(100.0)) - USUAL_SE).abs() < 1e-12);
        assert!(!usual.is_audited() && !Misread::default().is_audited());
    }
}
