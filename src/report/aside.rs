//! Photos set aside, by reason.

use std::collections::BTreeMap;

use super::PhotoCounts;
use super::format::visible;
use super::owner_words::reason_for_the_owner;
use crate::course::DateStyle;

/// Photos set aside for one reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Aside {
    /// Why, and what to do.
    pub(crate) reason: String,
    /// Their names, as they may be shown.
    pub(crate) photos: Vec<String>,
}

impl Aside {
    /// Without what to do about it.
    pub(super) fn for_the_owner(self) -> Aside {
        Aside {
            reason: reason_for_the_owner(&self.reason),
            ..self
        }
    }
}

impl PhotoCounts {
    /// The photos set aside by reason, like reasons beside each other, with days as the course writes them.
    pub(crate) fn by_reason(&self, dates: DateStyle) -> Vec<Aside> {
        let mut reasons: BTreeMap<(&str, String), Vec<String>> = BTreeMap::new();
        for aside in &self.set_aside {
            let reason = (aside.reason.code(), visible(&aside.reason.told(dates)));
            let photos = reasons.entry(reason).or_default();
            photos.push(visible(&aside.photo.0));
        }
        let each = reasons.into_iter();
        each.map(|((_, reason), photos)| Aside { reason, photos })
            .collect()
    }
}
