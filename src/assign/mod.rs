//! Which green a photo belongs to.
//!
//! Takes a photo's name and the course; gives a [`Place`] or a [`Reason`](crate::photo::Reason). Knows
//! nothing of pixels and touches no file.

use serde::{Deserialize, Serialize};

use crate::course::{Evidence, GreenId, StationId};

/// Where on the course a photo belongs, and what told it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    /// The green.
    pub green: GreenId,
    /// The station, where known.
    pub station: Option<StationId>,
    /// The strongest evidence for it.
    pub evidence: Evidence,
}
