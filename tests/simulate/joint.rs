//! Chances that were told against what came: of each green, and of all of them together.

use jiff::ToSpan;
use jiff::civil::Date;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use sprigcast::forecast::ForecastDocument;

use super::score;
use super::season::Season;

/// A chance and whether what it was of came about.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Told {
    pub(crate) chance: f64,
    pub(crate) came: bool,
}

/// What a forecast says of the opening and of the last green, against the truth.
#[derive(Debug, Clone, Default)]
pub(crate) struct Joint {
    /// Every green in time for the opening.
    pub(crate) all: Vec<Told>,
    /// One green in time.
    pub(crate) each: Vec<Told>,
    /// Whether the interval of the last green's date held it, where all greens closed.
    pub(crate) last_held: Vec<bool>,
}

/// An opening date that knows nothing of the season: two to twelve weeks after the forecast, the sooner the later
/// the forecast is made.
pub(crate) fn opening(season: &Season, weeks: i64, seed: u64) -> Date {
    let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x0BE4);
    let (least, most) = (7 + 7 * (8 - weeks) / 2, 84 - 10 * (weeks - 4));
    score::as_of(season, weeks).saturating_add(rng.random_range(least..=most).days())
}

impl Joint {
    pub(crate) fn of(season: &Season, document: &ForecastDocument) -> Joint {
        let Some(by) = season.course.goal.open_by else {
            return Joint::default();
        };
        let in_time = |full: &Option<Date>| full.is_some_and(|full| full <= by);
        let mut joint = Joint::default();
        for green in &document.greens {
            // A green that has stopped is told no chance: none is meant.
            let chance = green
                .chance
                .first()
                .map_or(0.0, |chance| chance.probability);
            joint.each.push(Told {
                chance,
                came: in_time(&season.full[&green.green]),
            });
        }
        if let Some(all) = &document.all_greens {
            if let Some(chance) = all.chance.first() {
                joint.all.push(Told {
                    chance: chance.probability,
                    came: season.full.values().all(in_time),
                });
            }
            let full: Option<Vec<Date>> = season.full.values().copied().collect();
            if let Some(last) = full.and_then(|full| full.into_iter().max()) {
                let (early, late) = (all.full_cover.early, all.full_cover.late);
                joint.last_held.push(
                    early.is_some_and(|early| early <= last)
                        && late.is_none_or(|late| last <= late),
                );
            }
        }
        joint
    }

    pub(crate) fn extend(&mut self, other: Joint) {
        self.all.extend(other.all);
        self.each.extend(other.each);
        self.last_held.extend(other.last_held);
    }
}

/// Ends of the classes of chances, upwards.
const CLASSES: [f64; 7] = [0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.01];

/// A table of chances against what came, a line a class, and their Brier score with that of the base rate.
pub(crate) fn reliability(told: &[Told]) -> String {
    let mut text = String::from("  chance told      n  mean  came\n");
    let mut from = 0.0;
    for to in CLASSES {
        let class: Vec<&Told> = told
            .iter()
            .filter(|told| (from..to).contains(&told.chance))
            .collect();
        let n = class.len() as f64;
        let mean = class.iter().map(|told| told.chance).sum::<f64>() / n;
        let came = class.iter().filter(|told| told.came).count() as f64 / n;
        text.push_str(&format!(
            "  {:3.0} to {:3.0} % {:7} {:5.1} {:5.1}\n",
            100.0 * from,
            100.0 * to.min(1.0),
            class.len(),
            100.0 * mean,
            100.0 * came
        ));
        from = to;
    }
    let n = told.len() as f64;
    let rate = told.iter().filter(|told| told.came).count() as f64 / n;
    let brier = told
        .iter()
        .map(|told| (told.chance - f64::from(u8::from(told.came))).powi(2))
        .sum::<f64>()
        / n;
    let mean = told.iter().map(|told| told.chance).sum::<f64>() / n;
    text.push_str(&format!(
        "  all          {:7} {:5.1} {:5.1}   Brier score {brier:.4}, of the base rate {:.4}\n",
        told.len(),
        100.0 * mean,
        100.0 * rate,
        rate * (1.0 - rate)
    ));
    text
}
