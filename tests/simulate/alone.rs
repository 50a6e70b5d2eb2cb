//! What the forecast is compared with: a logistic fitted by least squares to each green alone, by days after
//! planting.

use jiff::civil::Date;
use sprigcast::curve::{
    Ceiling, FixedCeiling, LogisticOutcome, Point, Scatter, Target, fit_logistic, invert,
};

use super::score::{Case, days};
use super::season::Season;

/// Every green of the season as of this date; a green that cannot be fitted has neither date nor interval.
pub(crate) fn cases(season: &Season, as_of: Date) -> Vec<Case> {
    season
        .course
        .greens
        .iter()
        .map(|green| {
            let points: Vec<Point> = season.visits[&green.id]
                .iter()
                .filter(|visit| visit.date <= as_of)
                .map(|visit| Point {
                    x: days(green.planted, visit.date),
                    y: visit.cover.fraction(),
                    weight: 1.0,
                })
                .collect();
            let truth = season.full[&green.id];
            let found = match fit_logistic(&points, Ceiling::Fixed(1.0)) {
                LogisticOutcome::Fitted(curve) => {
                    Scatter::of_fit(&curve.fit, 0.8).ok().and_then(|scatter| {
                        let target = Target::Mean(0.95);
                        invert(
                            &FixedCeiling(1.0),
                            &curve.fit,
                            &target,
                            (0.0, 400.0),
                            scatter,
                        )
                        .ok()
                    })
                }
                _ => None,
            };
            let due = truth.map(|truth| days(green.planted, truth));
            Case {
                error: due
                    .zip(found.as_ref())
                    .map(|(due, found)| found.estimate.ceil() - due),
                held: due.zip(found.as_ref()).is_some_and(|(due, found)| {
                    found.wald.0.floor() <= due && due <= found.wald.1.ceil()
                }),
                before: due
                    .zip(found.as_ref())
                    .is_some_and(|(due, found)| due < found.wald.0.floor()),
                width: found.map(|found| found.wald.1 - found.wald.0),
                ahead: truth.map_or(f64::NAN, |truth| days(as_of, truth)),
                closed: truth.is_some(),
                said_season_ends: false,
                probability: None,
            }
        })
        .collect()
}
