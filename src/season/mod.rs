//! The season around the greens: weather, degree days, possible futures.
//!
//! Takes the text of a weather file and of the log; gives daily temperatures without gaps, degree days, the sun
//! at a place, the seasons that may follow, and what was done to the greens. Knows nothing of photos or cover.

mod degree_days;
mod evapotranspiration;
mod futures;
mod hidden;
mod log;
mod more_weather;
mod no_reading;
mod normals;
mod sun;
mod usual;
mod weather;
mod weather_columns;
mod weather_csv;

pub use degree_days::DegreeDays;
pub use evapotranspiration::{Air, DayAndPlace, Sunshine};
pub use futures::{futures, temperatures};
pub use hidden::{HIDDEN_DAYS, hides_leaves};
pub use log::{Log, LogEntry, LogError, What, read_log_csv};
pub use more_weather::{
    EvapotranspirationBy, MoreWeather, USUAL_ELEVATION_M, evapotranspiration, read_more_weather,
};
pub use normals::futures_of_normals;
pub use sun::{Sun, hours_above, sun_at};
pub use weather::{Day, Weather};
pub use weather_csv::{WeatherCsvError, read_weather_csv};

/// Between two walks of a season there are never so many days; a winter is shorter too.
pub const LONG_GAP_DAYS: i32 = 240;
