//! From judged points to what the audit says: of the program, and of the cover of each visit.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Serialize;

use super::agreement::Agreement;
use super::corrected::{Accuracy, Corrected, corrected};
use super::tally::{Bias, GreenTo, Tally, bias, design_effect};
use super::wilson::{Interval, Share, Z};
use crate::course::{Cover, GreenId};
use crate::cover::{MOST_ERROR, Misread, VisitKey};

/// Visits with fewer judged points say too little of their own cover to be compared.
const FEWEST_POINTS: u64 = 6;

/// With as many visits judged, points of one visit are taken together when their likeness is reckoned with;
/// with fewer, those of one photo.
const MANY_VISITS: usize = 8;

/// A point that a person judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Its visit.
    pub visit: VisitKey,
    /// Its photo, by any number that tells photos apart.
    pub photo: usize,
    /// Whether the program calls it green.
    pub program: bool,
    /// Whether the person does.
    pub person: bool,
}

/// A visit as it was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitRead {
    /// Which it is.
    pub visit: VisitKey,
    /// Measured cover, a fraction.
    pub cover: f64,
    /// Its standard error from sampling, a fraction.
    pub standard_error: f64,
}

/// What an audit says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// Points judged, by what program and person said.
    pub tally: Tally,
    /// How many times as many points would be needed as if each told independently.
    pub design_effect: f64,
    /// The shares of green and of other points that the program calls rightly.
    pub accuracy: Accuracy,
    /// By how much it reads too high.
    pub bias: Bias,
    /// Over visits with at least six judged points: percent green to the program against percent green to
    /// the person, of the same points.
    pub agreement: Option<Agreement>,
    /// Mean measured cover of all visits, a fraction.
    pub mean_cover: f64,
    /// The same as it is used from now on; `None` where nothing is.
    pub mean_corrected: Option<Corrected>,
    /// The same without one error for all covers, that of the judged points together.
    pub mean_by_one_error: Option<Corrected>,
    /// By green and date.
    pub visits: Vec<VisitVerdict>,
}

/// A visit's cover as it was measured and as it is used.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VisitVerdict {
    /// The green.
    pub green: GreenId,
    /// The date.
    pub date: Date,
    /// Points judged on it.
    pub n_points: u64,
    /// Measured, a fraction.
    pub cover: f64,
    /// As it is used from now on: without what is known of the program's error; `None` where nothing is.
    pub corrected: Option<Corrected>,
}

/// What judged points say of the visits of a season; `None` of no points.
///
/// Points in one photo or visit are alike, so every interval is made for the number of independent points
/// that would tell as much. Which cover is used is not known here: [`Verdict::put_to_use`].
pub fn verdict(judged: &[Judged], visits: &[VisitRead]) -> Option<Verdict> {
    let mut tally = Tally::default();
    let mut by_visit: BTreeMap<&VisitKey, Tally> = BTreeMap::new();
    for point in judged {
        let green = GreenTo {
            program: point.program,
            person: point.person,
        };
        tally.add(green);
        by_visit.entry(&point.visit).or_default().add(green);
    }
    let value = |of: bool| if of { 1.0 } else { 0.0 };
    let difference = |point: &Judged| Some(value(point.program) - value(point.person));
    let effect = design_effect(&groups(judged, by_visit.len(), difference));
    let thinned = |share: Share, of: bool| {
        let right =
            |point: &Judged| (point.person == of).then(|| value(point.program == point.person));
        share.thinned(design_effect(&groups(judged, by_visit.len(), right)))
    };
    let accuracy = Accuracy {
        sensitivity: thinned(tally.sensitivity(), true),
        specificity: thinned(tally.specificity(), false),
    };
    let pairs: Vec<(f64, f64)> = by_visit
        .values()
        .filter(|tally| tally.n() >= FEWEST_POINTS)
        .filter_map(|tally| {
            let percent = |share: Share| Some(share.value()? * 100.0);
            Some((
                percent(tally.program_cover())?,
                percent(tally.person_cover())?,
            ))
        })
        .collect();
    let n = visits.len().max(1) as f64;
    let mean_cover = visits.iter().map(|visit| visit.cover).sum::<f64>() / n;
    let squares: f64 = visits
        .iter()
        .map(|visit| visit.standard_error.powi(2))
        .sum();
    Some(Verdict {
        tally,
        design_effect: effect,
        accuracy,
        bias: bias(&tally, effect)?,
        agreement: Agreement::of(&pairs),
        mean_cover,
        mean_corrected: None,
        mean_by_one_error: corrected(mean_cover, squares.sqrt() / n, &accuracy),
        visits: visits
            .iter()
            .map(|read| VisitVerdict {
                green: read.visit.green.clone(),
                date: read.visit.date,
                n_points: by_visit.get(&read.visit).map_or(0, Tally::n),
                cover: read.cover,
                corrected: None,
            })
            .collect(),
    })
}

impl Verdict {
    /// Puts to each of the visits that were judged, in the same order, and to their mean the cover that tables, maps and
    /// forecasts have from now on, with its 95 % interval.
    pub fn put_to_use(&mut self, misread: &Misread, visits: &[VisitRead]) {
        let used = |measured: f64, standard_error: f64| {
            let freed = misread.freed(Cover::from_fraction(measured)?);
            let of_sampling = misread.stretch() * standard_error;
            let half = Z * of_sampling
                .hypot(misread.standard_error(freed))
                .min(MOST_ERROR);
            let share = |value: f64| value.clamp(0.0, 1.0);
            let cover = freed.fraction();
            Some(Corrected {
                cover,
                interval: Interval {
                    low: share(cover - half),
                    high: share(cover + half),
                },
            })
        };
        for (told, read) in self.visits.iter_mut().zip(visits) {
            told.corrected = used(read.cover, read.standard_error);
        }
        let covers: Option<Vec<f64>> = self
            .visits
            .iter()
            .map(|visit| Some(visit.corrected?.cover))
            .collect();
        let Some(covers) = covers.filter(|covers| !covers.is_empty()) else {
            return;
        };
        let n = covers.len() as f64;
        let squares: f64 = visits.iter().map(|read| read.standard_error.powi(2)).sum();
        // Held to 0 … 1 each, the visits' mean may be other than the mean freed.
        let mean = covers.iter().sum::<f64>() / n;
        self.mean_corrected = used(self.mean_cover, squares.sqrt() / n).map(|of_mean| {
            let moved = |value: f64| (value + mean - of_mean.cover).clamp(0.0, 1.0);
            Corrected {
                cover: mean,
                interval: Interval {
                    low: moved(of_mean.interval.low),
                    high: moved(of_mean.interval.high),
                },
            }
        });
    }
}

/// The values of points that are likely alike, together.
fn groups(
    judged: &[Judged],
    n_visits: usize,
    value: impl Fn(&Judged) -> Option<f64>,
) -> Vec<Vec<f64>> {
    let mut groups: BTreeMap<(&VisitKey, usize), Vec<f64>> = BTreeMap::new();
    for point in judged {
        let photo = if n_visits >= MANY_VISITS {
            0
        } else {
            point.photo
        };
        if let Some(value) = value(point) {
            groups.entry((&point.visit, photo)).or_default().push(value);
        }
    }
    groups.into_values().collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::cover::Rate;

    fn visit(day: i8) -> VisitKey {
        VisitKey {
            green: GreenId::new("G07").unwrap(),
            date: date(2027, 6, day),
        }
    }

    /// Ten points a visit: of every ten green ones the program misses one; sand is never taken for green.
    fn season() -> (Vec<Judged>, Vec<VisitRead>) {
        let mut judged = Vec::new();
        let mut visits = Vec::new();
        for day in 1..=10_i8 {
            for point in 0..10 {
                let person = point < day;
                judged.push(Judged {
                    visit: visit(day),
                    photo: usize::try_from(point % 2).unwrap(),
                    program: person && point > 0,
                    person,
                });
            }
            visits.push(VisitRead {
                visit: visit(day),
                cover: f64::from(day - 1) / 10.0,
                standard_error: 0.0,
            });
        }
        (judged, visits)
    }

    #[test]
    fn a_program_that_misses_leaves_reads_too_low_and_is_put_right() {
        let (judged, visits) = season();
        let verdict = verdict(&judged, &visits).unwrap();
        assert_eq!(verdict.tally.n(), 100);
        assert_eq!(
            (verdict.tally.person_only, verdict.tally.program_only),
            (10, 0)
        );
        assert!((verdict.bias.value + 0.1).abs() < 1e-12);
        assert!(verdict.bias.interval.high < 0.0);
        let sensitivity = verdict.accuracy.sensitivity.value().unwrap();
        assert!((sensitivity - 45.0 / 55.0).abs() < 1e-12);
        assert_eq!(verdict.accuracy.specificity.value(), Some(1.0));
        assert!((verdict.mean_by_one_error.unwrap().cover - 0.55).abs() < 1e-12);
        let agreement = verdict.agreement.unwrap();
        assert_eq!(agreement.n, 10);
        assert!((agreement.mean_difference + 10.0).abs() < 1e-9);
        assert_eq!(verdict.visits.len(), 10);
        assert!(verdict.visits.iter().all(|visit| visit.n_points == 10));
    }

    #[test]
    fn the_mean_that_is_told_is_the_mean_of_what_is_used() {
        let (judged, visits) = season();
        let mut verdict = verdict(&judged, &visits).unwrap();
        assert_eq!(verdict.mean_corrected, None);
        assert!(verdict.visits.iter().all(|visit| visit.corrected.is_none()));
        let missed = Rate {
            value: 0.1,
            standard_error: 0.02,
            ..Rate::default()
        };
        let misread = Misread {
            missed,
            ..Misread::default()
        };
        verdict.put_to_use(&misread, &visits);
        let used = verdict
            .visits
            .iter()
            .map(|visit| visit.corrected.unwrap().cover);
        let used: f64 = used.sum::<f64>() / visits.len() as f64;
        let mean = verdict.mean_corrected.unwrap();
        assert!((mean.cover - used).abs() < 1e-12 && (used - 0.495).abs() < 1e-12);
        // 1.96 × 0.02 × 0.495.
        assert!(
            (mean.interval.half_width() - 0.019_4).abs() < 1e-4,
            "{mean:?}"
        );
        assert!((verdict.mean_by_one_error.unwrap().cover - 0.55).abs() < 1e-12);
    }

    #[test]
    fn the_order_of_points_changes_nothing() {
        let (mut judged, visits) = season();
        let one = verdict(&judged, &visits);
        judged.reverse();
        assert_eq!(verdict(&judged, &visits), one);
        assert_eq!(verdict(&[], &visits), None);
    }

    #[test]
    fn one_bad_visit_among_good_ones_widens_every_interval() {
        let (mut judged, visits) = season();
        let even = verdict(&judged, &visits).unwrap();
        // As many points wrong as before, all of them on one visit.
        for point in &mut judged {
            let day = point.visit.date.day();
            point.program = point.person && day != 10;
        }
        let uneven = verdict(&judged, &visits).unwrap();
        assert_eq!(uneven.tally, even.tally);
        assert!(uneven.design_effect > 2.0 && even.design_effect == 1.0);
        assert!(uneven.bias.interval.half_width() > even.bias.interval.half_width());
    }
}
