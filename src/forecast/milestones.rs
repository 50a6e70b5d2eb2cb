//! Days on the way to full cover by which work is planned: half cover, and the first mowing.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::answer::Setting;
use super::document::rounded;
use super::engine::Draw;
use super::level::LEVEL;
use super::spread::Spread;
use super::{CoverPoint, Status};
use crate::course::{Cover, Goal};

/// When a green passes a cover short of full.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Milestone {
    /// Which.
    pub what: MilestoneKind,
    /// Its cover.
    pub cover_percent: f64,
    /// The middle of the expectation; a past day where it is passed. `None` where no date can be named.
    pub date: Option<Date>,
    /// Start of the interval.
    pub early: Option<Date>,
    /// End of the interval; `None` where no end can be named.
    pub late: Option<Date>,
    /// Share of such intervals that hold the date that comes true.
    pub level: f64,
}

/// What a milestone is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MilestoneKind {
    /// Half of the ground is green.
    Half,
    /// The course begins to mow, as its file says.
    Mowing,
}

impl MilestoneKind {
    /// In a word or two, to stand before a date.
    pub fn words(self) -> &'static str {
        match self {
            MilestoneKind::Half => "half cover",
            MilestoneKind::Mowing => "first mowing",
        }
    }
}

/// The covers whose days are drawn: full first, half second, as the curve wants them, then any other.
pub(super) fn levels(goal: Goal) -> Vec<f64> {
    let mut levels = vec![goal.full_cover.fraction(), HALF];
    levels.extend(goal.mow_at.map(Cover::fraction));
    levels
}

const HALF: f64 = 0.5;

/// The milestones of the `idx`th green, the lowest cover first. After a loss on the day `loss` they are told anew where
/// more likely than not it took the green below them, and as they came before it elsewhere.
pub(super) fn milestones(
    setting: &Setting<'_>,
    draws: &[Draw],
    idx: usize,
    visits: &[CoverPoint],
    (status, loss): (Status, Option<usize>),
) -> Vec<Milestone> {
    let half = Cover::from_fraction(HALF)
        .filter(|half| *half < setting.goal.full_cover)
        .map(|half| (MilestoneKind::Half, half));
    let mowing = setting
        .goal
        .mow_at
        .map(|cover| (MilestoneKind::Mowing, cover));
    let mut wanted: Vec<(usize, (MilestoneKind, Cover))> = half
        .map(|half| (1, half))
        .into_iter()
        .chain(mowing.map(|mowing| (2, mowing)))
        .collect();
    wanted.sort_by(|a, b| a.1.1.fraction().total_cmp(&b.1.1.fraction()));
    wanted
        .into_iter()
        .map(|(place, (what, cover))| {
            let times = draws.iter().map(|draw| draw.reached[idx][place]);
            let mut times: Vec<f64> = times.collect();
            if let Some(loss) = loss {
                let is_after = |time: &f64| *time >= loss as f64;
                let is_anew = 2 * times.iter().filter(|time| is_after(time)).count() > times.len();
                times.retain(|time| is_after(time) == is_anew);
            }
            let spread = Spread::new(times);
            let this_season = setting.chance_this_season(draws, |draw| draw.reached[idx][place]);
            let whole = setting.full_cover(&spread, setting.growth.first, this_season);
            // Nobody should plan on a date of a green that has stopped, unless it lies behind it.
            let stopped = status == Status::Stalled && visits.iter().all(|v| v.cover < cover);
            let told = |date: Option<Date>| date.filter(|_| !stopped);
            Milestone {
                what,
                cover_percent: rounded(cover.percent(), 3),
                // A green that nobody has seen has a window, not a date of its own.
                date: told(whole.date).filter(|_| !visits.is_empty()),
                early: told(whole.early),
                late: told(whole.late),
                level: LEVEL,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::forecast::testing::{course, green, weekly};
    use crate::forecast::{GreenForecast, Options, Visits, season};

    fn forecast(mow_at: f64, percent: &[f64]) -> GreenForecast {
        let planted = date(2027, 5, 18);
        let mut course = course(vec![green("G07", planted)]);
        course.goal.mow_at = Cover::from_percent(mow_at);
        let id = course.greens[0].id.clone();
        let visits = Visits::from([(id, weekly(planted, percent))]);
        let mut document = season(&course, &visits, &Options::default());
        document.greens.remove(0)
    }

    #[test]
    fn half_cover_mowing_and_full_cover_come_in_this_order() {
        let green = forecast(70.0, &[4.0, 9.0, 18.0, 33.0]);
        let [half, mowing] = green.milestones.as_slice() else {
            panic!("{:?}", green.milestones);
        };
        assert_eq!((half.what, half.cover_percent), (MilestoneKind::Half, 50.0));
        assert_eq!(
            (mowing.what, mowing.cover_percent),
            (MilestoneKind::Mowing, 70.0)
        );
        assert!(half.date < mowing.date && mowing.date < green.full_cover.date);
        for milestone in &green.milestones {
            assert!(milestone.early <= milestone.date && milestone.date <= milestone.late);
        }
        // From 33 % at 0.115 a day on the logistic, half cover takes six days.
        let days = super::super::dates::days_between(date(2027, 6, 15), half.date.unwrap());
        assert!((4..=9).contains(&days), "{half:?}");
    }

    #[test]
    fn a_milestone_that_is_passed_lies_between_the_visits_that_show_it() {
        let green = forecast(30.0, &[4.0, 9.0, 18.0, 40.0, 62.0]);
        let mowing = green.milestones[0];
        assert_eq!(mowing.what, MilestoneKind::Mowing);
        let between = date(2027, 6, 8)..=date(2027, 6, 15);
        assert!(between.contains(&mowing.date.unwrap()), "{mowing:?}");
    }

    #[test]
    fn a_green_that_stopped_keeps_what_it_passed_and_gets_no_other_date() {
        let green = forecast(80.0, &[5.0, 20.0, 45.0, 62.0, 63.0, 62.0]);
        assert_eq!(green.status, Status::Stalled);
        assert!(green.milestones[0].date.is_some());
        assert_eq!(green.milestones[1].late, None);
        assert_eq!(green.milestones[1].date, None);
    }
}
