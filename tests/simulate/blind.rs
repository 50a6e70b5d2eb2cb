//! The next blind test: worlds to be run once, when the expectations of the engine have changed and stand again.

use super::growth::{Form, Response};
use super::worlds::{COOL, Loss, PLAIN, Washouts, World};

/// All of them.
pub(crate) fn all() -> Vec<World> {
    vec![
        World {
            name: "new green spreads only after nine days, base 9, some stripped",
            response: Response::Linear {
                base_c: 9.0,
                cap_c: 33.0,
            },
            form: Form::Ripening { days: 9.0 },
            start: 0.035,
            days_to_full: 58.0,
            pace_sd: 0.12,
            photo_sd: 0.055,
            week_sd: 0.06,
            ceiling: (0.985, 1.0),
            washouts: Washouts::Chance(0.1),
            loss: Loss::Stripped,
            plant_from: 135,
            plant_to: 175,
            ..PLAIN
        },
        World {
            name: "uneven cells, planted late in June in a cool place, bell response, shorter days slow growth",
            climate: COOL,
            response: Response::Bell {
                min_c: 6.0,
                best_c: 28.0,
                max_c: 40.0,
            },
            short_days: 0.04,
            form: Form::Cells {
                start_sd: 0.5,
                pace_sd: 0.12,
            },
            days_to_full: 52.0,
            photo_sd: 0.06,
            missed_visit: 0.05,
            plant_from: 168,
            plant_to: 185,
            ..PLAIN
        },
    ]
}
