//! Photos for the tests of this room.

use jiff::SignedDuration;
use jiff::civil::{Time, date};

use super::Seen;
use crate::photo::PhotoName;

/// A photo taken so many seconds after midnight of Jun 14, 2027, by a clock that may run over it.
pub(super) fn taken(name: &str, seconds: i64) -> Seen {
    let midnight = date(2027, 6, 14).to_datetime(Time::midnight());
    let at = midnight + SignedDuration::from_secs(seconds);
    Seen {
        name: PhotoName(name.to_owned()),
        camera: None,
        serial: None,
        date: at.date(),
        time: Some(at.time()),
        gps_time: None,
        fix: None,
        code: None,
    }
}
