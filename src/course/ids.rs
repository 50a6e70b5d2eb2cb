//! Ids of greens and stations: what is written in the course file and in folder and file names.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Id of a green or plot, such as `G07`. Never empty; compared without regard to case.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct GreenId(String);

/// Id of a station, such as `G07-A`. Never empty; compared without regard to case.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct StationId(String);

macro_rules! id {
    ($name:ident) => {
        impl $name {
            /// Returns `None` where `text` is empty after trimming.
            pub fn new(text: &str) -> Option<$name> {
                let text = text.trim();
                (!text.is_empty()).then(|| $name(text.to_owned()))
            }

            /// The id as written in the course file.
            pub fn as_str(&self) -> &str {
                &self.0
            }

            /// Whether `text` names this id, letters of either case alike.
            pub fn matches(&self, text: &str) -> bool {
                self.0.to_lowercase() == text.trim().to_lowercase()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }
    };
}

id!(GreenId);
id!(StationId);
