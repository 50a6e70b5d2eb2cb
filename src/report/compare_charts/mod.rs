//! Pictures of a comparison: means with letters, curves by level, what each rate costs.

mod cost;
mod levels;
mod line;
mod means;

pub use cost::cost_chart;
pub use levels::levels_chart;
pub use means::means_chart;

/// Width of a chart that has a page or a sheet for itself.
const WIDTH: f64 = 640.0;
/// Room for a letter of a name.
const LETTER: f64 = 7.4;
