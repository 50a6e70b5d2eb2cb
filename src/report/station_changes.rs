//! What changed at the stations, in words.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::course::StationId;
use crate::map::frames::ChangeShares;
use crate::photo::PhotoName;

/// What changed at a station between two of its photos.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StationChange {
    /// Date of the earlier photo.
    pub since: Date,
    /// Date of the later photo.
    pub until: Date,
    /// The earlier and the later photo.
    pub photos: [PhotoName; 2],
    /// `None` where the photos could not be laid over each other.
    pub shares: Option<ChangeShares>,
    /// Share of the station's square that both photos show, 0 to 1; `None` where they could not be laid over each other.
    pub seen: Option<f64>,
}

/// What changed at a station up to its last visit, with its picture.
#[derive(Debug, Clone, PartialEq)]
pub struct StationReport {
    /// The station.
    pub station: StationId,
    /// Address of the picture as seen from the page; `None` where there is none.
    pub picture: Option<String>,
    /// Since the visit before, then since the first.
    pub changes: Vec<StationChange>,
}

impl StationChange {
    /// The shares in a line, or why there are none.
    pub fn in_words(&self) -> String {
        match (&self.shares, self.seen) {
            (Some(shares), seen) => {
                let percent = |share: f64| format!("{:.0}%", 100.0 * share);
                let seen = seen
                    .filter(|seen| *seen < 0.995)
                    .map_or(String::new(), |seen| {
                        format!(" (of the {:.0}% of it that both photos show)", 100.0 * seen)
                    });
                format!(
                    "gained {}, lost {}, kept green {}, still bare {}{seen}",
                    percent(shares.gained),
                    percent(shares.lost),
                    percent(shares.kept),
                    percent(shares.bare)
                )
            }
            (None, _) => {
                "the two photos could not be laid over each other for certain: compare them by eye"
                    .to_owned()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn shares_are_told_in_words_and_what_is_not_known_is_not_told() {
        let change = StationChange {
            since: date(2027, 7, 19),
            until: date(2027, 7, 26),
            photos: [PhotoName("a".to_owned()), PhotoName("b".to_owned())],
            shares: Some(ChangeShares {
                gained: 0.213,
                lost: 0.004,
                kept: 0.5,
                bare: 0.283,
            }),
            seen: Some(0.87),
        };
        assert_eq!(
            change.in_words(),
            "gained 21%, lost 0%, kept green 50%, still bare 28% (of the 87% of it that both photos show)"
        );
        let apart = StationChange {
            shares: None,
            seen: None,
            ..change
        };
        assert!(apart.in_words().contains("compare them by eye"));
    }
}
