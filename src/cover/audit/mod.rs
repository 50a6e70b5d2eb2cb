//! The audit: random points for a person to judge, and what the answers say of the measured cover.
//!
//! Takes the cover and the number of photos of each visit; gives places to look at, and from answers the
//! errors of the program with their intervals, cover freed of them, and the agreement. Pictures of points
//! for people are made here too. Knows nothing of files, pages or the ledger.

mod agreement;
mod answers;
mod corrected;
mod points;
mod sheet;
mod tally;
mod verdict;
mod view;
mod wilson;

pub use agreement::Agreement;
pub use answers::{Answer, Answers, AnswersError, are_answers, read_answers};
pub use corrected::{Accuracy, Corrected, corrected};
pub use points::{Plan, Spot, Stratum, draw, points_needed};
pub use sheet::{PER_SHEET, sheet};
pub use tally::{Bias, GreenTo, Tally, bias, design_effect};
pub use verdict::{Judged, Verdict, VisitRead, VisitVerdict, verdict};
pub use view::{SIDE, point_view};
pub(crate) use wilson::Z;
pub use wilson::{Interval, Share};
