//! The season around the greens: weather, degree days, sun, season's end.
//!
//! Takes files of weather and dates; gives clocks. Knows nothing of photos or cover.
