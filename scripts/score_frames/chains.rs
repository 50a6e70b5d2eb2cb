//! Stations followed from visit to visit: how far the ground has drifted, and whether the cover of a fixed square
//! changes more truly than that of a fixed part of the picture.

use std::collections::BTreeMap;
use std::fmt;

use rayon::prelude::*;
use sprigcast::map::frames::{Linked, Transform, align, chain, ground_cover};

use crate::{Shot, largest_error};

/// The part of the first photo whose cover is followed.
const PART: [f64; 4] = [0.2, 0.2, 0.8, 0.8];

/// What was found at one visit of one station.
struct Step {
    visit: usize,
    /// In widths; `None` where it was left unaligned.
    drift: Option<f64>,
    /// Of the first photo's square, as masks and poses tell it; `None` where the photo misses part of it.
    truth: Option<f64>,
    /// Of the same square as laid; of the plain part of the picture where unaligned.
    laid: f64,
    /// Of the plain part of the picture.
    plain: f64,
    /// Both by the true mask, so that only where is counted makes a difference.
    true_laid: f64,
    true_plain: f64,
}

pub(crate) struct Chains(Vec<Vec<Step>>);

impl Chains {
    pub(crate) fn of(shots: &[Shot]) -> Chains {
        let mut stations: BTreeMap<&str, Vec<&Shot>> = BTreeMap::new();
        for shot in shots {
            stations.entry(&shot.station).or_default().push(shot);
        }
        let stations: Vec<Vec<&Shot>> = stations.into_values().collect();
        Chains(stations.par_iter().map(|shots| follow(shots)).collect())
    }
}

fn follow(shots: &[&Shot]) -> Vec<Step> {
    let linked = chain(shots.len(), |earlier, later| {
        align(&shots[earlier].prepared, &shots[later].prepared)
    });
    let first = shots[0];
    let aspect = first.sketch.aspect();
    let steps = shots.iter().zip(linked).map(|(shot, linked)| {
        let truth = shot
            .to_ground
            .inverse()
            .map(|back| back.after(&first.to_ground));
        let truth = truth.unwrap_or(Transform::identity());
        let same = Transform::identity();
        let cover = |sketch, transform: &Transform| ground_cover(sketch, transform, PART, aspect);
        let plain = cover(&shot.sketch, &same).map_or(0.0, |cover| cover.cover);
        let laid_by = |sketch| {
            let cover = linked.and_then(|Linked { transform, .. }| cover(sketch, &transform));
            cover.map(|cover| cover.cover)
        };
        let laid = laid_by(&shot.sketch);
        let true_plain = cover(&shot.truth, &same).map_or(0.0, |cover| cover.cover);
        Step {
            visit: shot.visit,
            drift: linked.map(|linked| largest_error(&linked.transform, &truth, aspect)),
            truth: cover(&shot.truth, &truth)
                .filter(|cover| cover.seen > 0.98)
                .map(|cover| cover.cover),
            laid: laid.unwrap_or(plain),
            plain,
            true_laid: laid_by(&shot.truth).unwrap_or(true_plain),
            true_plain,
        }
    });
    steps.collect()
}

impl fmt::Display for Chains {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "{:>5} {:>8} {:>8} {:>6} {:>11} {:>11}",
            "visit", "stations", "followed", "wrong", "mean drift", "worst drift"
        )?;
        for visit in 2..=9 {
            let steps = self.0.iter().flatten().filter(|step| step.visit == visit);
            let all: Vec<&Step> = steps.collect();
            let drifts: Vec<f64> = all.iter().filter_map(|step| step.drift).collect();
            let mean = drifts.iter().sum::<f64>() / drifts.len().max(1) as f64;
            let worst = drifts
                .iter()
                .fold(0.0_f64, |worst, &drift| worst.max(drift));
            let n_wrong = drifts.iter().filter(|&&drift| drift > 0.03).count();
            writeln!(
                f,
                "{visit:5} {:8} {:8} {n_wrong:6} {:10.2}% {:10.2}%",
                all.len(),
                drifts.len(),
                100.0 * mean,
                100.0 * worst
            )?;
        }
        type Cover = fn(&Step) -> f64;
        let judged: [(&str, Cover, Cover); 2] = [
            ("as judged", |step| step.laid, |step| step.plain),
            (
                "by true masks",
                |step| step.true_laid,
                |step| step.true_plain,
            ),
        ];
        for (how, laid, plain) in judged {
            let [laid, plain] = [laid, plain].map(|cover| self.errors(cover));
            for (what, k) in [
                ("cover of the first photo's square", 0),
                ("its change from visit to visit", 1),
            ] {
                writeln!(
                    f,
                    "{what}, {how}: {} followed, mean error {:.2} points laid, {:.2} plain; root mean square {:.2} and {:.2}",
                    laid[k].len(),
                    mean_absolute(&laid[k]),
                    mean_absolute(&plain[k]),
                    root_mean_square(&laid[k]),
                    root_mean_square(&plain[k])
                )?;
            }
        }
        Ok(())
    }
}

impl Chains {
    /// Errors of the covers of all photos that were followed, and of the changes between them.
    fn errors(&self, cover: fn(&Step) -> f64) -> [Vec<f64>; 2] {
        let (mut covers, mut changes) = (Vec::new(), Vec::new());
        for station in &self.0 {
            let mut before = None;
            for step in station {
                let error = match (step.drift, step.truth) {
                    (Some(_), Some(truth)) => Some(cover(step) - truth),
                    _ => None,
                };
                // The first photo is its own square.
                covers.extend(error.filter(|_| step.visit > 1));
                if let (Some(before), Some(error)) = (before, error) {
                    changes.push(error - before);
                }
                before = error;
            }
        }
        [covers, changes]
    }
}

fn mean_absolute(errors: &[f64]) -> f64 {
    100.0 * errors.iter().map(|error| error.abs()).sum::<f64>() / errors.len().max(1) as f64
}

fn root_mean_square(errors: &[f64]) -> f64 {
    let squares = errors.iter().map(|error| error * error).sum::<f64>();
    100.0 * (squares / errors.len().max(1) as f64).sqrt()
}
