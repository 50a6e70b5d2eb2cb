//! The worlds in which forecasts are judged.

use super::climate::Climate;
use super::growth::{Form, Response};

/// What a washout takes.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Loss {
    /// A share of the cover everywhere.
    Even,
    /// Nearly all cover on a share of the ground.
    Stripped,
}

/// How many greens are washed out.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Washouts {
    /// Each green at this chance, on any day of the 10th to the 54th.
    Chance(f64),
    /// This many, each losing this share on this day after planting.
    Exactly {
        /// Greens.
        n: usize,
        /// Day after planting.
        day: i64,
        /// Share of the ground or of the cover.
        share: f64,
    },
}

/// The rules of one world.
#[derive(Debug, Clone, Copy)]
pub(crate) struct World {
    pub(crate) name: &'static str,
    pub(crate) climate: Climate,
    pub(crate) response: Response,
    /// Share of growth that each hour of daylight short of [`LONG_DAY`] takes; daylight is that of 36° N.
    pub(crate) short_days: f64,
    pub(crate) form: Form,
    /// Cover just after planting, and how it differs between greens (log standard deviation).
    pub(crate) start: f64,
    pub(crate) start_sd: f64,
    /// Whether greens are planted at different sprig rates.
    pub(crate) rates_differ: bool,
    /// Days of 25 °C from planting to 95 %, and how they differ between greens and seasons (log).
    pub(crate) days_to_full: f64,
    pub(crate) pace_sd: f64,
    pub(crate) season_pace_sd: f64,
    pub(crate) lag_days: f64,
    pub(crate) lag_sd: f64,
    /// Range of ceilings.
    pub(crate) ceiling: (f64, f64),
    /// Log standard deviation of a week's growth, the same for all greens.
    pub(crate) week_sd: f64,
    /// Standard deviation of a day's push to one green's growth (kept by 0.85 from day to day).
    pub(crate) own_day_sd: f64,
    /// Standard deviation of a photo at half cover.
    pub(crate) photo_sd: f64,
    /// Share of that for bare and full ground.
    pub(crate) photo_ends: f64,
    /// What a photo shows of bare and of full ground.
    pub(crate) shown: (f64, f64),
    /// Whether the table of cover tells how many photos there were and how they scatter.
    pub(crate) scatter_told: bool,
    pub(crate) washouts: Washouts,
    pub(crate) loss: Loss,
    /// Chance that all greens look thinner at a visit, as after topdressing.
    pub(crate) bad_visit: f64,
    /// Chance that a green is not visited.
    pub(crate) missed_visit: f64,
    /// First planting lies between these days of the year.
    pub(crate) plant_from: u16,
    pub(crate) plant_to: u16,
    /// A night below this after August ends growth.
    pub(crate) freeze_c: f64,
    pub(crate) n_greens: usize,
}

/// Hours of daylight under which growth may slow.
pub(crate) const LONG_DAY: f64 = 14.5;

pub(crate) const TRANSITION: Climate = Climate {
    mean_c: 15.5,
    amplitude_c: 11.0,
    warmest_day: 204.0,
    day_sd_c: 3.4,
    persistence: 0.7,
    year_sd_c: 0.6,
    spell_sd_c: 0.9,
    range_c: 11.5,
};

pub(crate) const SOUTH: Climate = Climate {
    mean_c: 19.5,
    amplitude_c: 8.5,
    warmest_day: 208.0,
    day_sd_c: 2.4,
    persistence: 0.7,
    year_sd_c: 0.5,
    spell_sd_c: 0.6,
    range_c: 10.5,
};

pub(crate) const COOL: Climate = Climate {
    mean_c: 13.0,
    amplitude_c: 10.5,
    warmest_day: 202.0,
    day_sd_c: 3.8,
    persistence: 0.72,
    year_sd_c: 0.8,
    spell_sd_c: 1.2,
    range_c: 12.0,
};

pub(crate) const PLAIN: World = World {
    name: "logistic, linear response",
    climate: TRANSITION,
    response: Response::Linear {
        base_c: 10.0,
        cap_c: 32.0,
    },
    short_days: 0.0,
    form: Form::Logistic,
    start: 0.03,
    start_sd: 0.25,
    rates_differ: true,
    days_to_full: 60.0,
    pace_sd: 0.10,
    season_pace_sd: 0.10,
    lag_days: 4.0,
    lag_sd: 1.5,
    ceiling: (1.0, 1.0),
    week_sd: 0.0,
    own_day_sd: 0.02,
    photo_sd: 0.05,
    photo_ends: 0.2,
    shown: (0.0, 1.0),
    scatter_told: true,
    washouts: Washouts::Chance(0.08),
    loss: Loss::Even,
    bad_visit: 0.0,
    missed_visit: 0.0,
    plant_from: 125,
    plant_to: 165,
    freeze_c: -1.0,
    n_greens: 18,
};

/// All worlds, the plainest first.
pub(crate) fn all() -> Vec<World> {
    let bell = Response::Bell {
        min_c: 8.0,
        best_c: 31.0,
        max_c: 43.0,
    };
    vec![
        PLAIN,
        World {
            name: "logistic, bell response, stripped washouts",
            response: bell,
            week_sd: 0.08,
            own_day_sd: 0.04,
            photo_sd: 0.06,
            ceiling: (0.985, 1.0),
            washouts: Washouts::Chance(0.12),
            loss: Loss::Stripped,
            ..PLAIN
        },
        World {
            name: "cells, bell response",
            response: bell,
            form: Form::Cells {
                start_sd: 0.5,
                pace_sd: 0.12,
            },
            start: 0.04,
            loss: Loss::Stripped,
            photo_sd: 0.04,
            ceiling: (0.99, 1.0),
            ..PLAIN
        },
        World {
            name: "discs, Q10 response",
            response: Response::Exponential {
                q10: 2.0,
                stop_c: 11.0,
            },
            form: Form::Discs,
            start: 0.02,
            days_to_full: 62.0,
            photo_sd: 0.05,
            climate: SOUTH,
            plant_from: 115,
            plant_to: 170,
            ..PLAIN
        },
        World {
            name: "contact grid, linear response",
            response: Response::Linear {
                base_c: 12.0,
                cap_c: 30.0,
            },
            form: Form::Contact,
            days_to_full: 130.0,
            start: 0.02,
            photo_sd: 0.04,
            ceiling: (0.97, 1.0),
            ..PLAIN
        },
        World {
            name: "gompertz, bell response",
            response: bell,
            form: Form::Gompertz,
            start: 0.03,
            days_to_full: 64.0,
            photo_sd: 0.05,
            week_sd: 0.06,
            ..PLAIN
        },
        World {
            name: "logistic, cool place, wide spread, noisy photos",
            climate: COOL,
            response: Response::Linear {
                base_c: 8.0,
                cap_c: 34.0,
            },
            start_sd: 0.4,
            pace_sd: 0.18,
            photo_sd: 0.08,
            days_to_full: 50.0,
            lag_days: 9.0,
            lag_sd: 2.0,
            own_day_sd: 0.05,
            bad_visit: 0.06,
            missed_visit: 0.06,
            ..PLAIN
        },
        World {
            name: "bermuda pace in the south, one sprig rate",
            climate: SOUTH,
            response: Response::Bell {
                min_c: 10.0,
                best_c: 33.0,
                max_c: 45.0,
            },
            form: Form::Cells {
                start_sd: 0.3,
                pace_sd: 0.08,
            },
            rates_differ: false,
            days_to_full: 50.0,
            start: 0.05,
            lag_days: 6.0,
            photo_sd: 0.04,
            plant_from: 130,
            plant_to: 185,
            ..PLAIN
        },
        World {
            name: "late planting, bell response",
            response: bell,
            plant_from: 178,
            plant_to: 205,
            ceiling: (0.985, 1.0),
            week_sd: 0.05,
            washouts: Washouts::Chance(0.1),
            ..PLAIN
        },
        World {
            name: "late planting, linear response, cells",
            form: Form::Cells {
                start_sd: 0.4,
                pace_sd: 0.10,
            },
            plant_from: 170,
            plant_to: 200,
            days_to_full: 56.0,
            loss: Loss::Stripped,
            ..PLAIN
        },
        World {
            name: "slow logistic, bell response, noisy photos",
            response: bell,
            days_to_full: 74.0,
            pace_sd: 0.15,
            start_sd: 0.35,
            photo_sd: 0.09,
            washouts: Washouts::Chance(0.15),
            week_sd: 0.06,
            plant_from: 120,
            plant_to: 170,
            ..PLAIN
        },
        World {
            name: "slow cells, linear response, noisy photos",
            form: Form::Cells {
                start_sd: 0.6,
                pace_sd: 0.15,
            },
            days_to_full: 68.0,
            pace_sd: 0.12,
            photo_sd: 0.09,
            washouts: Washouts::Chance(0.15),
            loss: Loss::Stripped,
            plant_from: 120,
            plant_to: 180,
            ..PLAIN
        },
    ]
}
