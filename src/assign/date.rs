//! Whether a photo's date can belong to its green's season.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::course::Green;
use crate::photo::{Reason, Taken};

/// Whether photos may be later than the day on which the program runs.
///
/// The majority decides: fewer photos ahead of the calendar than not are those of a camera whose clock is wrong.
/// Most of a season ahead of it is a computer whose own clock is wrong, or a demonstration, and is believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Calendar {
    /// Nothing is later than this day, but for what the world's zones make of it.
    Until(Date),
    /// Every date is possible.
    Open,
}

impl Calendar {
    /// The calendar for a season whose photos have these dates, on the day `today`.
    pub fn of_season(dates: impl IntoIterator<Item = Date>, today: Date) -> Calendar {
        let (n_past, n_ahead) = dates.into_iter().fold((0, 0), |(n_past, n_ahead), date| {
            if is_later(date, today) {
                (n_past, n_ahead + 1)
            } else {
                (n_past + 1, n_ahead)
            }
        });
        if n_past > n_ahead {
            Calendar::Until(today)
        } else {
            Calendar::Open
        }
    }
}

/// Whether a photo is of a later day than this. A phone in a zone ahead of the computer's may be a day ahead of it.
pub fn is_later(date: Date, today: Date) -> bool {
    date > today.saturating_add(1.day())
}

/// Accepts the date of a photo of `green`.
///
/// # Errors
///
/// [`Reason::Ahead`] where it is later than the calendar, [`Reason::BadDate`] where no season of this green has such a
/// date, [`Reason::BeforePlanting`] where the green was not planted yet.
pub fn check_date(taken: &Taken, green: &Green, calendar: Calendar) -> Result<(), Reason> {
    let date = taken.date;
    let earliest = green
        .planted
        .saturating_sub(Green::LONGEST_SEASON_YEARS.years());
    let latest = green
        .planted
        .saturating_add(Green::LONGEST_SEASON_YEARS.years());
    if let Calendar::Until(today) = calendar
        && is_later(date, today)
    {
        return Err(Reason::Ahead { date, today });
    }
    if date < earliest || date > latest {
        Err(Reason::BadDate { date })
    } else if date < green.planted {
        Err(Reason::BeforePlanting {
            taken: date,
            planted: green.planted,
        })
    } else {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use jiff::civil::date;

    use super::*;
    use crate::course::Course;
    use crate::photo::TakenFrom;

    fn code(taken: Date, calendar: Calendar) -> Result<(), &'static str> {
        let text = "[course]\nname = \"x\"\n[[green]]\nid = \"G1\"\nplanted = 2027-05-18\n";
        let course = Course::parse(text, "course.toml", Path::new(".")).expect("valid");
        let taken = Taken {
            date: taken,
            time: None,
            instant: None,
            from: TakenFrom::Camera,
        };
        check_date(&taken, &course.greens[0], calendar).map_err(|reason| reason.code())
    }

    #[test]
    fn a_clock_that_was_never_set_is_told_from_a_photo_before_planting() {
        assert_eq!(code(date(1970, 1, 1), Calendar::Open), Err("bad_date"));
        assert_eq!(code(date(2099, 1, 1), Calendar::Open), Err("bad_date"));
        assert_eq!(
            code(date(2027, 5, 17), Calendar::Open),
            Err("before_planting")
        );
        assert_eq!(code(date(2027, 5, 18), Calendar::Open), Ok(()));
        assert_eq!(code(date(2028, 6, 30), Calendar::Open), Ok(()));
    }

    #[test]
    fn one_photo_ahead_of_the_calendar_is_doubted_and_a_whole_season_is_not() {
        let today = date(2027, 7, 1);
        let mixed = Calendar::of_season(
            [date(2027, 6, 1), date(2027, 6, 8), date(2027, 9, 1)],
            today,
        );
        assert_eq!(code(date(2027, 9, 1), mixed), Err("bad_date"));
        assert_eq!(code(date(2027, 7, 2), mixed), Ok(()));
        let ahead = Calendar::of_season([date(2027, 8, 1), date(2027, 9, 1)], today);
        let text = "[course]\nname = \"x\"\n[[green]]\nid = \"G1\"\nplanted = 2027-05-18\n";
        let course = Course::parse(text, "course.toml", Path::new(".")).expect("valid");
        let taken = Taken {
            date: date(2027, 9, 1),
            time: None,
            instant: None,
            from: TakenFrom::Camera,
        };
        let told = check_date(&taken, &course.greens[0], mixed).unwrap_err();
        assert_eq!(
            told.to_string(),
            "dated 2027-09-01, later than most photos and than this computer's clock, which says 2027-07-01; if the camera's clock is wrong, set it and put the right date into its name or its folder's; if this computer's is, set it and run again"
        );
        assert_eq!(code(date(2027, 9, 1), ahead), Ok(()));
    }
}
