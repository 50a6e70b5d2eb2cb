//! From curve to date: when a green will be full, how sure that is, and the chance by a given day.
//!
//! Takes visits, planting date, goal and clock; gives a forecast per green. Knows nothing of photos or files.
