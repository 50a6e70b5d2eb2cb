//! What the forecast is compared with: a logistic fitted by least squares to each green alone, by days after
//! planting.

use jiff::ToSpan;
use jiff::civil::Date;
use sprigcast::curve::{
    Ceiling, FixedCeiling, LogisticOutcome, Point, Scatter, Target, fit_logistic, invert,
};
use sprigcast::forecast::{Status, Told};

use super::score::{Case, case};
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
                    x: f64::from((visit.date - green.planted).get_days()),
                    y: visit.cover.fraction(),
                    weight: 1.0,
                })
                .collect();
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
            let day = |days: f64| {
                let days = (days as i64).clamp(-9999, 9999);
                green.planted.saturating_add(days.days())
            };
            let told = Told {
                status: Status::Growing,
                date: found.as_ref().map(|found| day(found.estimate.ceil())),
                early: found.as_ref().map(|found| day(found.wald.0.floor())),
                late: found.as_ref().map(|found| day(found.wald.1.ceil())),
                probability_full_this_season: None,
            };
            case(season, green, as_of, told)
        })
        .collect()
}
