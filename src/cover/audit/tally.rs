//! Points that a person judged against what the program said of them.

use serde::{Deserialize, Serialize};

use super::wilson::{Interval, Share};

/// What the program said of judged points, and what the person said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Tally {
    /// Green to both.
    pub both: u64,
    /// Green to the program alone.
    pub program_only: u64,
    /// Green to the person alone.
    pub person_only: u64,
    /// Green to neither.
    pub neither: u64,
}

/// Whether a point is green to each of the two who judge it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct GreenTo {
    /// Whether the program calls it green.
    pub program: bool,
    /// Whether the person does.
    pub person: bool,
}

impl Tally {
    /// Counts one more point.
    pub fn add(&mut self, point: GreenTo) {
        *match (point.program, point.person) {
            (true, true) => &mut self.both,
            (true, false) => &mut self.program_only,
            (false, true) => &mut self.person_only,
            (false, false) => &mut self.neither,
        } += 1;
    }

    /// Points judged.
    pub fn n(&self) -> u64 {
        self.both + self.program_only + self.person_only + self.neither
    }

    /// Points on which program and person agree.
    pub fn n_agreed(&self) -> u64 {
        self.both + self.neither
    }

    /// Share of points on which program and person agree.
    pub fn agreed(&self) -> Share {
        share(self.n_agreed(), self.n())
    }

    /// Of the points that the person calls green, those that the program does.
    pub fn sensitivity(&self) -> Share {
        share(self.both, self.both + self.person_only)
    }

    /// Of the points that the person does not call green, those that the program does not either.
    pub fn specificity(&self) -> Share {
        share(self.neither, self.neither + self.program_only)
    }

    /// Share of points that the program calls green.
    pub fn program_cover(&self) -> Share {
        share(self.both + self.program_only, self.n())
    }

    /// Share of points that the person calls green.
    pub fn person_cover(&self) -> Share {
        share(self.both + self.person_only, self.n())
    }
}

fn share(hits: u64, n: u64) -> Share {
    Share {
        hits: hits as f64,
        n: n as f64,
    }
}

/// By how much the program reads cover too high, as a fraction; below 0 where it reads too low.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Bias {
    /// Share of points green to the program less share of points green to the person.
    pub value: f64,
    /// Holds the truth 95 times in 100.
    pub interval: Interval,
}

/// The bias over judged points; `None` of no points.
///
/// `design_effect` is 1 for points that tell independently, and as much more as they do less.
///
/// The interval joins the Wilson intervals of the two shares, which are of the same points (Newcombe 1998,
/// Statistics in Medicine 17:2635–2650, method 10; formula from memory, its coverage is simulated in the
/// tests).
pub fn bias(tally: &Tally, design_effect: f64) -> Option<Bias> {
    let [a, b, c, d] = [
        tally.both,
        tally.program_only,
        tally.person_only,
        tally.neither,
    ]
    .map(|count| count as f64 / design_effect);
    let n = a + b + c + d;
    if n == 0.0 {
        return None;
    }
    let (program, person) = (
        tally.program_cover().thinned(design_effect),
        tally.person_cover().thinned(design_effect),
    );
    let (p1, p2) = (program.value()?, person.value()?);
    let (of_program, of_person) = (program.interval(), person.interval());
    let margins = (a + b) * (c + d) * (a + c) * (b + d);
    let cross = a * d - b * c;
    // How the two shares go together; a positive tie is drawn half a point towards none.
    let tie = match margins > 0.0 {
        false => 0.0,
        true if cross > n / 2.0 => (cross - n / 2.0) / margins.sqrt(),
        true if cross >= 0.0 => 0.0,
        true => cross / margins.sqrt(),
    };
    let joined = |one: f64, other: f64| {
        (one * one - 2.0 * tie * one * other + other * other)
            .max(0.0)
            .sqrt()
    };
    let value = p1 - p2;
    Some(Bias {
        value,
        interval: Interval {
            low: value - joined(p1 - of_program.low, of_person.high - p2),
            high: value + joined(of_program.high - p1, p2 - of_person.low),
        },
    })
}

/// How many times as many points are needed as if each told independently, from points that come in groups;
/// at least 1, and 1 of fewer than three groups.
///
/// Each group is the values of its points. The ratio of the variance of their mean between groups to that of
/// as many independent points (Kish 1965, Survey Sampling, chapter 5).
pub fn design_effect(groups: &[Vec<f64>]) -> f64 {
    let groups: Vec<&Vec<f64>> = groups.iter().filter(|group| !group.is_empty()).collect();
    let n: f64 = groups.iter().map(|group| group.len() as f64).sum();
    let k = groups.len() as f64;
    if groups.len() < 3 {
        return 1.0;
    }
    let all = || groups.iter().flat_map(|group| group.iter());
    let mean = all().sum::<f64>() / n;
    let alone = all().map(|value| (value - mean).powi(2)).sum::<f64>() / (n * n);
    let between: f64 = groups
        .iter()
        .map(|group| (group.iter().sum::<f64>() - mean * group.len() as f64).powi(2))
        .sum();
    let grouped = k / (k - 1.0) * between / (n * n);
    if alone > 0.0 {
        (grouped / alone).max(1.0)
    } else {
        1.0
    }
}

#[cfg(test)]
mod tests {
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    use super::*;

    fn tally(both: u64, program_only: u64, person_only: u64, neither: u64) -> Tally {
        Tally {
            both,
            program_only,
            person_only,
            neither,
        }
    }

    #[test]
    fn shares_are_of_the_right_points() {
        let tally = tally(40, 6, 4, 50);
        assert_eq!((tally.n(), tally.n_agreed()), (100, 90));
        assert_eq!(tally.sensitivity(), share(40, 44));
        assert_eq!(tally.specificity(), share(50, 56));
        let bias = bias(&tally, 1.0).unwrap();
        assert!((bias.value - 0.02).abs() < 1e-12);
        assert!(bias.interval.holds(0.0) && !bias.interval.holds(0.1));
    }

    #[test]
    fn the_interval_of_the_bias_holds_the_truth_19_times_in_20() {
        // Few and many wrong points, more of them on one side.
        let mut random = ChaCha8Rng::seed_from_u64(7);
        for (cover, missed, false_green, n) in [
            (0.5, 0.05, 0.05, 240),
            (0.2, 0.15, 0.02, 240),
            (0.7, 0.02, 0.3, 80),
            (0.05, 0.3, 0.01, 400),
        ] {
            let truth = (1.0 - cover) * false_green - cover * missed;
            let n_trials = 2000;
            let held = (0..n_trials)
                .filter(|_| {
                    let mut tally = Tally::default();
                    for _ in 0..n {
                        let person = random.random_bool(cover);
                        let is_wrong =
                            random.random_bool(if person { missed } else { false_green });
                        tally.add(GreenTo {
                            program: person != is_wrong,
                            person,
                        });
                    }
                    bias(&tally, 1.0).unwrap().interval.holds(truth)
                })
                .count();
            let share = held as f64 / f64::from(n_trials);
            assert!(
                (0.925..=0.985).contains(&share),
                "{cover} {missed}: {share}"
            );
        }
    }

    #[test]
    fn wholly_one_sided_points_give_an_interval_within_reason() {
        let all_agreed = bias(&tally(0, 0, 0, 50), 1.0).unwrap();
        assert_eq!(all_agreed.value, 0.0);
        assert!(all_agreed.interval.low > -0.15 && all_agreed.interval.high < 0.15);
        assert!(all_agreed.interval.half_width() > 0.0);
        assert_eq!(bias(&Tally::default(), 1.0), None);
    }

    #[test]
    fn points_that_are_alike_within_groups_tell_less() {
        let alike = vec![vec![1.0; 4], vec![0.0; 4], vec![1.0; 4], vec![0.0; 4]];
        let mixed = vec![vec![1.0, 0.0, 1.0, 0.0]; 4];
        assert!((design_effect(&alike) - 16.0 / 3.0).abs() < 1e-12);
        assert_eq!(design_effect(&mixed), 1.0);
        assert_eq!(design_effect(&[vec![1.0], vec![0.0]]), 1.0);
        assert_eq!(design_effect(&vec![vec![0.0; 3]; 5]), 1.0);
        let tally = tally(10, 3, 1, 10);
        let width = |effect| bias(&tally, effect).unwrap().interval.half_width();
        assert!(width(2.0) > width(1.0));
    }
}
