//! Pairs by how they came out.

use std::fmt;

use sprigcast::map::frames::{ChangeShares, Confidence};

use crate::Shot;

/// Further off than this, in widths, an alignment is wrong: 2 %, some 15 mm of the rendered stations.
const WRONG: f64 = 0.02;

/// A pair of photos and how one was laid over the other.
pub(crate) struct Judged<'a> {
    pub(crate) first: &'a Shot,
    pub(crate) second: &'a Shot,
    /// `None` where no transform was found at all; infinite for photos of two stations.
    pub(crate) error: Option<f64>,
    pub(crate) confidence: Option<Confidence>,
    /// Of the middle, in widths; `None` for photos of two stations.
    pub(crate) moved: Option<f64>,
    pub(crate) changed: Option<ChangeShares>,
    pub(crate) truly_changed: Option<ChangeShares>,
    pub(crate) milliseconds: f64,
}

impl Judged<'_> {
    fn is_taken(&self) -> bool {
        self.confidence
            .is_some_and(|confidence| confidence.is_sure())
    }

    fn is_right(&self) -> bool {
        self.error.is_some_and(|error| error <= WRONG)
    }

    fn is_of_one(&self) -> bool {
        self.first.station == self.second.station
    }

    fn visits_apart(&self) -> usize {
        self.second.visit - self.first.visit
    }

    /// The pair's gain of cover, points.
    fn gain(&self) -> f64 {
        self.second.cover - self.first.cover
    }
}

impl fmt::Display for Judged<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let confidence = self.confidence.map(|confidence| {
            format!(
                "{:3} of {:3} {:.2} error {:.4} overlap {:.2}",
                confidence.n_agree,
                confidence.n_sought,
                confidence.share(),
                confidence.error,
                confidence.overlap
            )
        });
        write!(
            f,
            "{} {} {:5} {:7} {:4.0} {:4.0} moved {:.2} off {:.4} {} {}",
            self.first.name,
            self.second.name,
            self.first.marks,
            self.first.sand,
            self.first.cover,
            self.second.cover,
            self.moved.unwrap_or(f64::NAN),
            self.error.unwrap_or(f64::NAN),
            confidence.unwrap_or_default(),
            match (self.is_taken(), self.is_right()) {
                (true, true) => "right",
                (true, false) => "WRONG",
                (false, true) => "missed",
                (false, false) => "refused",
            }
        )
    }
}

/// Rates by what sets pairs apart.
pub(crate) struct Table<'a>(pub(crate) &'a [Judged<'a>]);

impl fmt::Display for Table<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "{:32} {:>6} {:>6} {:>8} {:>6} {:>8} {:>8}",
            "pairs", "n", "right", "refused", "wrong", "missed", "error"
        )?;
        let all = self.0;
        let of_one = |judged: &&Judged| judged.is_of_one();
        self.line(f, "two stations", |judged| !judged.is_of_one())?;
        self.line(f, "one station", |judged| judged.is_of_one())?;
        for apart in 1..=8 {
            let label = format!("  {apart} visits apart");
            self.line(f, &label, |j| j.is_of_one() && j.visits_apart() == apart)?;
        }
        for visit in 2..=9 {
            let label = format!("  visit {visit} on the one before");
            self.line(f, &label, |j| {
                j.is_of_one() && j.visits_apart() == 1 && j.second.visit == visit
            })?;
        }
        for visit in 2..=9 {
            let label = format!("  visit {visit} on the first");
            self.line(f, &label, |j| {
                j.is_of_one() && j.first.visit == 1 && j.second.visit == visit
            })?;
        }
        for (low, high) in [(-5.0, 10.0), (10.0, 20.0), (20.0, 40.0), (40.0, 100.0)] {
            let label = format!("  cover gained {low:.0} to {high:.0}");
            self.line(f, &label, |j| {
                j.is_of_one() && (low..high).contains(&j.gain())
            })?;
        }
        for (low, high) in [(0.0, 0.05), (0.05, 0.1), (0.1, 0.15), (0.15, 1.0)] {
            let label = format!("  next visit, moved {low:.2} to {high:.2}");
            self.line(f, &label, |j| {
                j.is_of_one()
                    && j.visits_apart() == 1
                    && j.moved.is_some_and(|moved| (low..high).contains(&moved))
            })?;
        }
        for marks in ["none", "pegs", "frame"] {
            for sand in ["kept", "renewed"] {
                let label = format!("  next visit, {marks}, sand {sand}");
                self.line(f, &label, |j| {
                    j.is_of_one()
                        && j.visits_apart() == 1
                        && j.first.marks == marks
                        && j.first.sand == sand
                })?;
            }
        }
        for is_same in [true, false] {
            let label = if is_same { "same light" } else { "other light" };
            let label = format!("  next visit, {label}");
            self.line(f, &label, |j| {
                j.is_of_one()
                    && j.visits_apart() == 1
                    && (j.first.light == j.second.light) == is_same
            })?;
        }
        let times: Vec<f64> = all.iter().map(|judged| judged.milliseconds).collect();
        let mean = times.iter().sum::<f64>() / times.len().max(1) as f64;
        writeln!(f, "{mean:.0} ms a pair")?;
        let changes: Vec<(ChangeShares, ChangeShares)> = all
            .iter()
            .filter(of_one)
            .filter_map(|judged| Some((judged.changed?, judged.truly_changed?)))
            .collect();
        let mean_error = |of: fn(&ChangeShares) -> f64| {
            let errors = changes.iter().map(|(a, b)| (of(a) - of(b)).abs());
            100.0 * errors.sum::<f64>() / changes.len().max(1) as f64
        };
        writeln!(
            f,
            "shares of the middle against true masks and poses, mean error of {} pairs, points: gained {:.1}, lost {:.1}, kept {:.1}, bare {:.1}",
            changes.len(),
            mean_error(|shares| shares.gained),
            mean_error(|shares| shares.lost),
            mean_error(|shares| shares.kept),
            mean_error(|shares| shares.bare)
        )
    }
}

impl Table<'_> {
    fn line(
        &self,
        f: &mut fmt::Formatter<'_>,
        label: &str,
        is_of: impl Fn(&Judged) -> bool,
    ) -> fmt::Result {
        let of: Vec<&Judged> = self.0.iter().filter(|judged| is_of(judged)).collect();
        let count = |is: &dyn Fn(&Judged) -> bool| of.iter().filter(|judged| is(judged)).count();
        let right: Vec<f64> = of
            .iter()
            .filter(|judged| judged.is_taken() && judged.is_right())
            .filter_map(|judged| judged.error)
            .collect();
        let mean = right.iter().sum::<f64>() / right.len().max(1) as f64;
        writeln!(
            f,
            "{label:32} {:6} {:6} {:8} {:6} {:8} {:7.2}%",
            of.len(),
            right.len(),
            count(&|judged| !judged.is_taken()),
            count(&|judged| judged.is_taken() && !judged.is_right()),
            count(&|judged| !judged.is_taken() && judged.is_right()),
            100.0 * mean
        )
    }
}
