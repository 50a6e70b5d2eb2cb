//! Worlds that the engine's expectations were not set by: other rules of growth, other responses to
//! temperature, other places, other photos.

use super::climate::Climate;
use super::growth::{Form, Response};
use super::worlds::{Loss, PLAIN, SOUTH, TRANSITION, Washouts, World};

const MEDITERRANEAN: Climate = Climate {
    mean_c: 17.5,
    amplitude_c: 7.5,
    warmest_day: 214.0,
    day_sd_c: 2.2,
    persistence: 0.65,
    year_sd_c: 0.5,
    spell_sd_c: 0.7,
    range_c: 12.5,
};

const DEEP_SOUTH: Climate = Climate {
    mean_c: 22.0,
    amplitude_c: 6.5,
    warmest_day: 210.0,
    day_sd_c: 1.9,
    persistence: 0.65,
    year_sd_c: 0.4,
    spell_sd_c: 0.5,
    range_c: 10.0,
};

const STRIPPED_ON_DAY_23: Washouts = Washouts::Exactly {
    n: 3,
    day: 23,
    share: 0.4,
};

/// All of them.
pub(crate) fn all() -> Vec<World> {
    vec![
        World {
            name: "logistic, bell from 10 with its top at 33, three greens stripped on day 23",
            climate: TRANSITION,
            response: Response::Bell {
                min_c: 10.0,
                best_c: 33.0,
                max_c: 44.0,
            },
            start_sd: 0.3,
            pace_sd: 0.12,
            photo_sd: 0.06,
            washouts: STRIPPED_ON_DAY_23,
            loss: Loss::Stripped,
            ..PLAIN
        },
        World {
            name: "closes fast (Richards 1.8), Q10 response, deep south",
            climate: DEEP_SOUTH,
            response: Response::Exponential {
                q10: 1.8,
                stop_c: 10.0,
            },
            form: Form::Richards { theta: 1.8 },
            start: 0.04,
            days_to_full: 66.0,
            lag_days: 7.0,
            plant_from: 100,
            plant_to: 180,
            ..PLAIN
        },
        World {
            name: "closes slowly (Richards 0.6), base 13, Mediterranean",
            climate: MEDITERRANEAN,
            response: Response::Linear {
                base_c: 13.0,
                cap_c: 32.0,
            },
            form: Form::Richards { theta: 0.6 },
            start: 0.025,
            days_to_full: 58.0,
            pace_sd: 0.14,
            plant_from: 130,
            plant_to: 175,
            washouts: STRIPPED_ON_DAY_23,
            ..PLAIN
        },
        World {
            name: "slow edges, photos that scatter alike at any cover, scatter not told",
            response: Response::Bell {
                min_c: 9.0,
                best_c: 30.0,
                max_c: 42.0,
            },
            form: Form::Edges {
                share: 0.25,
                pace: 0.8,
            },
            photo_ends: 1.0,
            photo_sd: 0.05,
            scatter_told: false,
            start_sd: 0.35,
            ..PLAIN
        },
        World {
            name: "planted in July, bell from 12 with its top at 34",
            response: Response::Bell {
                min_c: 12.0,
                best_c: 34.0,
                max_c: 43.0,
            },
            days_to_full: 56.0,
            photo_sd: 0.06,
            plant_from: 185,
            plant_to: 198,
            washouts: STRIPPED_ON_DAY_23,
            loss: Loss::Stripped,
            ..PLAIN
        },
        World {
            name: "spreads at a steady pace (power 2.6), photos miss 2 % of full cover, bad visits",
            climate: SOUTH,
            response: Response::Linear {
                base_c: 10.0,
                cap_c: 35.0,
            },
            form: Form::Spread { power: 2.6 },
            start: 0.015,
            days_to_full: 64.0,
            shown: (0.01, 0.985),
            bad_visit: 0.05,
            missed_visit: 0.05,
            week_sd: 0.05,
            plant_from: 120,
            plant_to: 170,
            ..PLAIN
        },
    ]
}
