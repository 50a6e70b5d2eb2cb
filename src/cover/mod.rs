//! Pixels to percent cover, photos to visits.
//!
//! Takes RGB pixels and a [`Rule`] of colour; gives a [`Reading`] per photo, and visits from the readings.
//! Knows nothing of files, the ledger, or curves.

pub mod audit;
mod bits;
mod classify;
mod colour;
mod exposure;
mod fitted;
mod forms;
mod greenness;
mod greens;
mod ground;
mod lanes;
mod lettering;
mod light;
mod marked;
mod measure;
mod misread;
mod overlay;
mod pale;
mod pixels;
pub mod quality;
mod reading;
mod settings;
mod sharpness;
pub mod signs;
mod softened;
mod stack;
mod strip;
mod table;
pub mod tune;
mod visit;
mod vote;
mod window;

pub use classify::{Counts, Rule, count, mask};
pub use colour::Hsv;
pub use exposure::Brightness;
pub use fitted::{FittedLimits, FittedRule, Plane, PlaneError};
pub use greenness::Greenness;
pub use lanes::Lanes;
pub use lettering::{LINE_HEIGHT, Weight, write_line};
pub use marked::View;
pub use measure::measure;
pub use misread::{Compared, ErrorAtEnds, MOST_ERROR, Misread, Rate, Source};
pub use overlay::overlay;
pub use pixels::{Pixels, Row};
pub use reading::Reading;
pub use settings::{RuleSettings, Settings, SettingsKey};
pub use stack::{MOST_STRIPS, Strip, notes as stack_notes, stack, unstack};
pub use strip::strip;
pub use table::ColourTable;
pub use visit::{Mark, Settled, Shot, SpotCover, Visit, VisitKey, settle};
pub use window::{Window, WindowError};
