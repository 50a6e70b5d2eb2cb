//! Photos set aside, by reason: what needs a person first, the newest photos before older ones; what needs nobody is
//! counted.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::format::{count, visible};
use super::owner_words::reason_for_the_owner;
use super::{PhotoCounts, SetAside};
use crate::course::DateStyle;
use crate::photo::Reason;

/// So many ids are named in one reason.
const NAMED: usize = 8;

/// Photos set aside for one reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Aside {
    /// Why, and what to do; of photos that need nobody, with their number.
    pub(crate) reason: String,
    /// Their names, as they may be shown.
    pub(crate) photos: Vec<String>,
    /// Whether a person has something to mend; the others are counted and not named.
    pub(crate) needs_a_person: bool,
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
    /// The photos set aside, a group for each reason, with days as the course writes them.
    pub(crate) fn by_reason(&self, dates: DateStyle) -> Vec<Aside> {
        let mut groups: BTreeMap<(&str, String), Vec<&SetAside>> = BTreeMap::new();
        for aside in &self.set_aside {
            let key = (aside.reason.code(), kind(&aside.reason));
            groups.entry(key).or_default().push(aside);
        }
        let mut groups: Vec<(Aside, Option<Date>)> = groups
            .into_values()
            .map(|photos| group(photos, dates))
            .collect();
        // Stable, so that like reasons of one day stay beside each other.
        groups.sort_by_key(|(aside, newest)| (!aside.needs_a_person, Reverse(*newest)));
        groups.into_iter().map(|(aside, _)| aside).collect()
    }
}

/// What photos of one group have in common: most reasons as they stand, some whatever their dates and names.
fn kind(reason: &Reason) -> String {
    match reason {
        Reason::BeforePlanting { .. }
        | Reason::BadDate { .. }
        | Reason::UnknownGreen { .. }
        | Reason::Slate { .. }
        | Reason::OtherTurf { .. }
        | Reason::Duplicate { .. } => format!("{:?}", std::mem::discriminant(reason)),
        other => other.to_string(),
    }
}

/// The group with the date of its newest photo.
fn group(mut photos: Vec<&SetAside>, dates: DateStyle) -> (Aside, Option<Date>) {
    photos.sort_by_key(|aside| Reverse(aside.date));
    let newest = photos.first().and_then(|aside| aside.date);
    let reasons: Vec<&Reason> = photos.iter().map(|aside| &aside.reason).collect();
    let needs_a_person = reasons.iter().any(|reason| reason.needs_a_person());
    let reason = if needs_a_person {
        together(&reasons, dates)
    } else {
        counted(&reasons)
    };
    let aside = Aside {
        reason: visible(&reason),
        photos: photos.iter().map(|aside| visible(&aside.photo.0)).collect(),
        needs_a_person,
    };
    (aside, newest)
}

/// One sentence for all of them.
fn together(reasons: &[&Reason], dates: DateStyle) -> String {
    let Some(first) = reasons.first() else {
        return String::new();
    };
    if reasons.iter().all(|reason| reason == first) {
        return first.told(dates);
    }
    match first {
        Reason::BeforePlanting { .. } => before_planting(reasons, dates),
        Reason::BadDate { .. } => {
            let days = reasons.iter().filter_map(|reason| match reason {
                Reason::BadDate { date } => Some(*date),
                _ => None,
            });
            let days: BTreeSet<Date> = days.collect();
            format!(
                "the camera's clock says {}; {}",
                range(&days, dates),
                Reason::SET_THE_CLOCK
            )
        }
        Reason::UnknownGreen { .. } => {
            let ids: BTreeSet<&str> = reasons
                .iter()
                .filter_map(|reason| match reason {
                    Reason::UnknownGreen { named } => Some(named.as_str()),
                    _ => None,
                })
                .collect();
            let named = ids.iter().take(NAMED).map(|id| format!("`{id}`"));
            let named = named.collect::<Vec<_>>().join(", ");
            let more = match ids.len().saturating_sub(NAMED) {
                0 => String::new(),
                n => format!(" and {n} more"),
            };
            format!(
                "{named}{more} are not greens of the course file; {}",
                Reason::LISTED_OR_LEFT_OUT
            )
        }
        _ => first.told(dates),
    }
}

fn before_planting(reasons: &[&Reason], dates: DateStyle) -> String {
    let (mut all_taken, mut all_planted) = (BTreeSet::new(), BTreeSet::new());
    for reason in reasons {
        if let Reason::BeforePlanting { taken, planted } = reason {
            all_taken.insert(*taken);
            all_planted.insert(*planted);
        }
    }
    let whose = if all_planted.len() == 1 {
        "its green was"
    } else {
        "their greens were"
    };
    let between = if all_taken.len() == 1 { "" } else { "between " };
    format!(
        "taken {between}{}, before {whose} planted on {}; {}",
        range(&all_taken, dates),
        range(&all_planted, dates),
        Reason::WHICH_DATE_IS_WRONG
    )
}

/// `Jun 1, 2027`, `Jun 1, 2027 and Jul 6, 2027`.
fn range(days: &BTreeSet<Date>, dates: DateStyle) -> String {
    match (days.first(), days.last()) {
        (Some(first), Some(last)) if first != last => {
            format!("{} and {}", dates.full(*first), dates.full(*last))
        }
        (Some(only), _) => dates.full(*only),
        _ => String::new(),
    }
}

/// How many there are, where nobody has anything to do.
fn counted(reasons: &[&Reason]) -> String {
    let of = |one, many| count(reasons.len(), one, many);
    let what = match reasons.first() {
        Some(Reason::Slate { .. }) => of("slate", "slates"),
        Some(Reason::Duplicate { .. }) => of(
            "copy of a photo that is there already",
            "copies of photos that are there already",
        ),
        Some(Reason::LeftOut) => of(
            "photo left out by `leave_out` in course.toml",
            "photos left out by `leave_out` in course.toml",
        ),
        Some(Reason::OtherTurf { .. }) => of(
            "photo of turf that is no green of the course file",
            "photos of turf that is no green of the course file",
        ),
        Some(Reason::EarlierSeason) => {
            of("photo of an earlier season", "photos of an earlier season")
        }
        Some(other) => format!("{}: {other}", of("photo", "photos")),
        None => String::new(),
    };
    format!("{what}; nothing to do")
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::photo::PhotoName;

    fn aside(name: &str, day: i8, reason: Reason) -> SetAside {
        SetAside {
            photo: PhotoName(name.to_owned()),
            date: Some(date(2027, 6, day)),
            reason,
        }
    }

    fn groups(set_aside: Vec<SetAside>) -> Vec<(String, Vec<String>)> {
        let photos = PhotoCounts {
            set_aside,
            ..PhotoCounts::default()
        };
        let groups = photos.by_reason(DateStyle::default()).into_iter();
        groups.map(|aside| (aside.reason, aside.photos)).collect()
    }

    #[test]
    fn what_needs_a_person_comes_first_and_new_photos_before_old_ones() {
        let slate = |of: &str| Reason::Slate { of: of.to_owned() };
        let groups = groups(vec![
            aside("a.jpg", 1, slate("G01")),
            aside("b.jpg", 1, Reason::Blurred),
            aside("c.jpg", 8, slate("G02")),
            aside("d.jpg", 1, Reason::NoGreen),
            aside("e.jpg", 8, Reason::NoGreen),
            aside("f.jpg", 8, Reason::LeftOut),
        ]);
        let names: Vec<&[String]> = groups.iter().map(|(_, names)| names.as_slice()).collect();
        assert_eq!(names[0], ["e.jpg", "d.jpg"]);
        assert_eq!(names[1], ["b.jpg"]);
        let last: Vec<&str> = groups[2..].iter().map(|(why, _)| why.as_str()).collect();
        assert_eq!(
            last,
            [
                "1 photo left out by `leave_out` in course.toml; nothing to do",
                "2 slates; nothing to do",
            ]
        );
    }

    #[test]
    fn dates_and_ids_make_no_groups_of_their_own() {
        let before = |day| Reason::BeforePlanting {
            taken: date(2027, 6, day),
            planted: date(2027, 7, 1),
        };
        let unknown = |named: &str| Reason::UnknownGreen {
            named: named.to_owned(),
        };
        let groups = groups(vec![
            aside("a.jpg", 1, before(1)),
            aside("b.jpg", 8, before(8)),
            aside("c.jpg", 8, unknown("G01")),
            aside("d.jpg", 8, unknown("G02")),
        ]);
        assert_eq!(groups.len(), 2);
        assert_eq!(
            groups[0].0,
            "taken between Jun 1, 2027 and Jun 8, 2027, before its green was planted on Jul 1, 2027; mend the planting date in course.toml if that is wrong; if the camera's clock is, set it and put the right date into its name or its folder's"
        );
        assert!(
            groups[1]
                .0
                .starts_with("`G01`, `G02` are not greens of the course file; "),
            "{groups:?}"
        );
    }

    #[test]
    fn one_photo_has_its_reason_as_it_stands() {
        let reason = Reason::UnknownGreen {
            named: "G09".to_owned(),
        };
        let told = reason.to_string();
        assert_eq!(groups(vec![aside("a.jpg", 1, reason)])[0].0, told);
    }
}
