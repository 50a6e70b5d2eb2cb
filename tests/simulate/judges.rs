//! Worlds that nothing was chosen by: they were written before the engine's expectations were last looked at, and
//! are run only to judge what came of it.

use super::growth::{Form, Response};
use super::worlds::{COOL, Loss, PLAIN, SOUTH, Washouts, World};

/// All of them.
pub(crate) fn all() -> Vec<World> {
    vec![
        World {
            name: "rows that widen, bell response, some thinned",
            response: Response::Bell {
                min_c: 7.0,
                best_c: 29.0,
                max_c: 41.0,
            },
            form: Form::Rows { gap_sd: 0.35 },
            days_to_full: 58.0,
            photo_sd: 0.05,
            week_sd: 0.05,
            own_day_sd: 0.03,
            washouts: Washouts::Chance(0.1),
            ..PLAIN
        },
        World {
            name: "long tail, growth slows with the day's length, south",
            climate: SOUTH,
            response: Response::Linear {
                base_c: 11.0,
                cap_c: 33.0,
            },
            short_days: 0.06,
            form: Form::LongTail { power: 4.5 },
            start: 0.035,
            days_to_full: 62.0,
            photo_sd: 0.06,
            pace_sd: 0.12,
            plant_from: 130,
            plant_to: 180,
            loss: Loss::Stripped,
            ..PLAIN
        },
        World {
            name: "rows, planted in July in a cool place, growth slows with the day's length",
            climate: COOL,
            response: Response::Linear {
                base_c: 8.0,
                cap_c: 32.0,
            },
            short_days: 0.06,
            form: Form::Rows { gap_sd: 0.25 },
            days_to_full: 50.0,
            photo_sd: 0.06,
            plant_from: 182,
            plant_to: 200,
            ..PLAIN
        },
    ]
}
