//! Photos of the season before, in the folder of this one.

use std::collections::BTreeSet;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::course::{Course, Green};
use crate::photo::{PhotoName, Reason};
use crate::report::count;

/// Nobody photographs a green for this season so many days before the first of them is planted.
const BEFORE_DAYS: i64 = 120;
/// So many photos …
const LEAST_PHOTOS: usize = 10;
/// … of so many days are no slips of a clock.
const LEAST_DAYS: usize = 3;
/// More folders than these are not named one by one.
const MOST_FOLDERS: usize = 40;

/// The photos that look like those of another season.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct LastSeason {
    /// They were taken before this day …
    before: Date,
    /// … and from this one on.
    from: Date,
    planted: Date,
    n_photos: usize,
    days: BTreeSet<Date>,
    /// Folders that hold no others.
    folders: BTreeSet<String>,
    /// Whether some lie in a folder together with others.
    is_mixed: bool,
}

impl LastSeason {
    /// Looks for them among all photos with their dates and why they are set aside, where they are.
    pub(super) fn among<'p>(
        course: &Course,
        photos: impl Iterator<Item = (&'p PhotoName, Option<Date>, Option<&'p Reason>)> + Clone,
    ) -> Option<LastSeason> {
        let planted = course.greens.iter().map(|green| green.planted).min()?;
        let before = planted.saturating_sub(BEFORE_DAYS.days());
        let from = planted.saturating_sub(Green::LONGEST_SEASON_YEARS.years());
        let is_old = |date: Option<Date>| date.is_some_and(|date| from <= date && date < before);
        let counted = photos
            .clone()
            .filter(|(_, _, reason)| !matches!(reason, Some(Reason::LeftOut)));
        let old: Vec<(&PhotoName, Date)> = counted
            .clone()
            .filter(|(_, date, reason)| is_old(*date) && reason.is_some())
            .filter_map(|(name, date, _)| Some((name, date?)))
            .collect();
        let days: BTreeSet<Date> = old.iter().map(|(_, date)| *date).collect();
        if old.len() < LEAST_PHOTOS || days.len() < LEAST_DAYS {
            return None;
        }
        let others: BTreeSet<String> = counted
            .filter(|(_, date, _)| !is_old(*date))
            .flat_map(|(name, ..)| folders_above(name))
            .collect();
        let own: Vec<Option<String>> = old
            .iter()
            .map(|(name, _)| {
                let mut above = folders_above(name).into_iter();
                above.find(|folder| !others.contains(folder))
            })
            .collect();
        Some(LastSeason {
            before,
            from,
            planted,
            n_photos: old.len(),
            days,
            is_mixed: own.iter().any(Option::is_none),
            folders: own.into_iter().flatten().collect(),
        })
    }

    /// The reason to set a photo of this date aside by, where this is one of them and a person would be asked to mend
    /// it.
    pub(super) fn instead_of(&self, reason: &Reason, date: Option<Date>) -> Option<Reason> {
        let is_old = date.is_some_and(|date| self.from <= date && date < self.before);
        (is_old && reason.needs_a_person()).then_some(Reason::EarlierSeason)
    }

    /// What they are, and what to do about them.
    pub(super) fn in_words(&self, course: &Course) -> String {
        let dates = course.dates;
        let (first, last) = match (self.days.first(), self.days.last()) {
            (Some(first), Some(last)) => (dates.full(*first), dates.full(*last)),
            _ => return String::new(),
        };
        let folders: Vec<String> = self
            .folders
            .iter()
            .take(MOST_FOLDERS)
            .map(|folder| format!("{folder:?}"))
            .collect();
        let leave_out = match folders.len() {
            0 => String::new(),
            _ => format!(
                ", or write `leave_out = [{}{}]` under [photos] in course.toml",
                folders.join(", "),
                if self.folders.len() > MOST_FOLDERS {
                    ", …"
                } else {
                    ""
                }
            ),
        };
        let mixed = match (self.is_mixed, self.folders.is_empty()) {
            (false, _) => "",
            (true, true) => " They lie in the same folders as those of this season.",
            (true, false) => " Some of them lie in the same folders as those of this season.",
        };
        format!(
            "{} of {} between {first} and {last} were taken months before the first of these greens was planted ({}): they look like last season's and do not count. Move them into a season folder of their own{leave_out}.{mixed}",
            count(self.n_photos, "photo", "photos"),
            count(self.days.len(), "day", "days"),
            dates.full(self.planted)
        )
    }
}

/// `a/b/c.jpg` → `a`, `a/b`.
fn folders_above(name: &PhotoName) -> Vec<String> {
    let slashes = name.0.match_indices('/');
    slashes.map(|(at, _)| name.0[..at].to_owned()).collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::forecast::testing::{course, green};

    fn named(name: &str) -> PhotoName {
        PhotoName(name.to_owned())
    }

    #[test]
    fn photos_of_the_year_before_are_told_once_with_their_folders() {
        let course = course(vec![green("G1", date(2027, 5, 24))]);
        let reason = Reason::NoGreen;
        let mut photos = Vec::new();
        for week in 0..4 {
            let day = date(2026, 6, 1 + 7 * week);
            for n in 0..3 {
                photos.push((named(&format!("walk {day}/{n}.jpg")), day, Some(&reason)));
            }
        }
        photos.push((named("G1/new.jpg"), date(2027, 6, 1), None));
        photos.push((named("G1/old.jpg"), date(2026, 6, 1), Some(&reason)));
        let among = |photos: &[(PhotoName, Date, Option<&Reason>)]| {
            let photos = photos.to_vec();
            let told = photos
                .iter()
                .map(|(name, date, reason)| (name, Some(*date), *reason));
            LastSeason::among(&course, told)
        };
        let found = among(&photos).unwrap();
        assert_eq!(
            found.in_words(&course),
            "13 photos of 4 days between Jun 1, 2026 and Jun 22, 2026 were taken months before the first of these greens was planted (May 24, 2027): they look like last season's and do not count. Move them into a season folder of their own, or write `leave_out = [\"walk 2026-06-01\", \"walk 2026-06-08\", \"walk 2026-06-15\", \"walk 2026-06-22\"]` under [photos] in course.toml. Some of them lie in the same folders as those of this season."
        );
        assert_eq!(
            found.instead_of(&reason, Some(date(2026, 6, 1))),
            Some(Reason::EarlierSeason)
        );
        assert_eq!(found.instead_of(&reason, Some(date(2027, 5, 1))), None);
        assert_eq!(
            found.instead_of(&Reason::LeftOut, Some(date(2026, 6, 1))),
            None
        );
        // A clock that was wrong on one day is no season.
        assert_eq!(among(&photos[..9]), None);
    }
}
