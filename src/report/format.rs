//! The one place where numbers, dates and names become text for people.

use jiff::civil::Date;

use crate::course::{Cover, DateStyle, DisplayUnits, SquareMetres};
pub(crate) use crate::written::visible;

/// Square feet in a square metre, the foot being 0.3048 m exactly.
const SQUARE_FEET_PER_SQUARE_METRE: f64 = 1.0 / (0.3048 * 0.3048);

/// Writes dates; the year is left out while it is that of the report.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Dates {
    year: i16,
    style: DateStyle,
}

impl Dates {
    /// For a report on this day.
    pub(crate) fn as_of(day: Date, style: DateStyle) -> Dates {
        Dates {
            year: day.year(),
            style,
        }
    }

    /// Such as `Jun 20, 2027`, whatever the year.
    pub(crate) fn full(self, date: Date) -> String {
        self.style.full(date)
    }

    /// Such as `Jun 20`, whatever the year.
    pub(crate) fn short(self, date: Date) -> String {
        self.style.short(date)
    }

    /// Such as `Jul 21`, or `Jan 4, 2028` in another year.
    pub(crate) fn show(self, date: Date) -> String {
        if date.year() == self.year {
            self.style.short(date)
        } else {
            self.full(date)
        }
    }

    /// Such as `Jul 16 – Jul 29`; the year, where it is needed, once.
    pub(crate) fn range(self, early: Date, late: Date) -> String {
        if early.year() == late.year() || early.year() == self.year {
            format!("{} – {}", self.style.short(early), self.show(late))
        } else {
            format!("{} – {}", self.full(early), self.full(late))
        }
    }
}

/// `text` with no line break between a month and its day, whichever comes first.
pub(crate) fn keep_dates_whole(text: &str) -> String {
    const MONTHS: [&str; 12] = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    let words: Vec<&str> = text.split(' ').collect();
    let mut whole = String::with_capacity(text.len() + 8);
    for (index, word) in words.iter().enumerate() {
        whole.push_str(word);
        let Some(next) = words.get(index + 1) else {
            break;
        };
        let is_day = |word: &str| word.starts_with(|c: char| c.is_ascii_digit());
        let is_month =
            |word: &str| MONTHS.contains(&word.trim_matches(|c: char| !c.is_alphabetic()));
        let bare = word.trim_start_matches('(');
        let is_bare_day = is_day(bare) && bare.len() <= 2;
        let is_date = (MONTHS.contains(&bare) && is_day(next))
            || (is_bare_day && !next.starts_with('(') && is_month(next));
        whole.push(if is_date { '\u{a0}' } else { ' ' });
    }
    whole
}

/// Whole days from `from` to `to`; negative where `to` is earlier.
pub(crate) fn days_between(from: Date, to: Date) -> i32 {
    (to - from).get_days()
}

/// Such as `46.2%`. Only the goal itself rounds up to it: 94.96 % is shown as `94.9%` under a goal of 95; and only what
/// is wholly green to 100 %.
pub(crate) fn cover(cover: Cover, goal: Cover) -> String {
    format!("{:.1}%", short_of(cover.percent(), goal, 10.0))
}

/// Such as `46%`, for running text; rounded down just below the goal, as [`cover`] is.
pub(crate) fn whole_cover(cover: Cover, goal: Cover) -> String {
    format!("{}%", short_of(cover.percent(), goal, 1.0))
}

/// `percent` to so many parts of a point, rounded down where it would else reach what it is short of.
fn short_of(percent: f64, goal: Cover, parts: f64) -> f64 {
    let nearest = (percent * parts).round() / parts;
    let reaches = |level: f64| percent < level && nearest >= level;
    if reaches(goal.percent()) || reaches(100.0) {
        (percent * parts).floor() / parts
    } else {
        nearest
    }
}

/// A goal such as `95%` or `97.5%`.
pub(crate) fn goal(goal: Cover) -> String {
    // Two decimals hide what percent → fraction → percent does to the last bits.
    let rounded = (goal.percent() * 100.0).round() / 100.0;
    format!("{rounded}%")
}

/// Change in points of percent cover, with its sign: `+8.3`, `−2.0`, `0.0`.
pub(crate) fn gain(points: f64) -> String {
    let rounded = (points * 10.0).round() / 10.0;
    if rounded > 0.0 {
        format!("+{rounded:.1}")
    } else if rounded < 0.0 {
        format!("−{:.1}", -rounded)
    } else {
        "0.0".to_owned()
    }
}

/// A chance such as `93%`; a forecast is never quite sure, so it stops at `>99%` and `<1%`.
pub(crate) fn chance(probability: f64) -> String {
    if probability > 0.99 {
        ">99%".to_owned()
    } else if probability < 0.01 {
        "<1%".to_owned()
    } else {
        format!("{}%", (probability * 100.0).round())
    }
}

/// A chance in words.
///
/// The bounds are those of the calibrated language of the Intergovernmental Panel on Climate Change
/// (Mastrandrea et al. 2010, Guidance Note on Consistent Treatment of Uncertainties, table 1; from memory),
/// the one scale of such words that is widely used.
pub(crate) fn chance_words(probability: f64) -> &'static str {
    match probability {
        p if p >= 0.99 => "all but certain",
        p if p >= 0.90 => "very likely",
        p if p >= 0.66 => "likely",
        p if p >= 0.33 => "about as likely as not",
        p if p >= 0.10 => "unlikely",
        p if p >= 0.01 => "very unlikely",
        _ => "all but impossible",
    }
}

/// Such as `6,100 ft²` or `567 m²`.
pub(crate) fn area(area: SquareMetres, units: DisplayUnits) -> String {
    match units {
        DisplayUnits::Us => format!(
            "{} ft²",
            thousands((area.0 * SQUARE_FEET_PER_SQUARE_METRE).round())
        ),
        DisplayUnits::Metric => format!("{} m²", thousands(area.0.round())),
    }
}

/// A change as [`change`] tells it.
pub(crate) fn whole_points(points: f64) -> f64 {
    points.round()
}

/// A change in whole points, such as `up 8`, `down 2`, `unchanged`.
pub(crate) fn change(points: f64) -> String {
    let whole = whole_points(points);
    if whole > 0.0 {
        format!("up {whole}")
    } else if whole < 0.0 {
        format!("down {}", -whole)
    } else {
        "unchanged".to_owned()
    }
}

/// Such as `1 photo`, `1,250 photos`.
pub(crate) fn count(n: usize, one: &str, many: &str) -> String {
    format!(
        "{} {}",
        thousands(n as f64),
        if n == 1 { one } else { many }
    )
}

/// Such as `$6,000` or, where the currency is a word, `EUR 6,000`.
pub(crate) fn money(currency: &str, whole: f64) -> String {
    let gap = if currency.ends_with(char::is_alphabetic) {
        "\u{a0}"
    } else {
        ""
    };
    format!("{}{gap}{}", visible(currency), thousands(whole))
}

/// A whole number with commas between the thousands.
pub(crate) fn thousands(whole: f64) -> String {
    let digits = format!("{:.0}", whole.abs());
    let mut text = String::new();
    if whole < 0.0 {
        text.push('−');
    }
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index) % 3 == 0 {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// `text` with a capital at its beginning: a remark that followed the name of its green stands alone.
pub(crate) fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// A name within a sentence, set apart by the marks of Unicode that keep its direction from the rest.
pub(crate) fn isolated(name: &str) -> String {
    format!("\u{2068}{}\u{2069}", visible(name))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::{ClockFace, DayOrder};

    #[test]
    fn the_year_is_shown_where_it_differs() {
        let dates = Dates::as_of(date(2027, 6, 20), DateStyle::default());
        assert_eq!(dates.show(date(2027, 7, 21)), "Jul 21");
        assert_eq!(dates.show(date(2028, 1, 4)), "Jan 4, 2028");
        assert_eq!(
            dates.range(date(2027, 7, 16), date(2027, 7, 29)),
            "Jul 16 – Jul 29"
        );
        assert_eq!(
            dates.range(date(2027, 12, 20), date(2028, 1, 4)),
            "Dec 20 – Jan 4, 2028"
        );
        assert_eq!(
            dates.range(date(2028, 1, 2), date(2028, 1, 4)),
            "Jan 2 – Jan 4, 2028"
        );
        assert_eq!(
            dates.range(date(2028, 12, 2), date(2029, 1, 4)),
            "Dec 2, 2028 – Jan 4, 2029"
        );
    }

    #[test]
    fn cover_just_below_the_goal_is_not_shown_as_the_goal() {
        let goal = Cover::from_percent(95.0).unwrap();
        let shown = |percent| cover(Cover::from_percent(percent).unwrap(), goal);
        assert_eq!(shown(94.96), "94.9%");
        assert_eq!(shown(95.0), "95.0%");
        assert_eq!(shown(94.94), "94.9%");
        assert_eq!(shown(99.96), "99.9%");
        assert_eq!(shown(100.0), "100.0%");
        let whole = |percent| whole_cover(Cover::from_percent(percent).unwrap(), goal);
        assert_eq!(whole(94.7), "94%");
        assert_eq!(whole(95.2), "95%");
        assert_eq!((whole(99.6), whole(100.0)), ("99%".into(), "100%".into()));
    }

    #[test]
    fn gains_carry_their_sign_and_nothing_is_minus_zero() {
        assert_eq!(gain(8.25), "+8.3");
        assert_eq!(gain(-2.0), "−2.0");
        assert_eq!(gain(-0.04), "0.0");
    }

    #[test]
    fn a_chance_is_never_shown_as_certain() {
        assert_eq!(chance(1.0), ">99%");
        assert_eq!(chance(0.0), "<1%");
        assert_eq!(chance(0.934), "93%");
        assert_eq!(chance(0.99), "99%");
        assert_eq!(chance_words(0.93), "very likely");
        assert_eq!(chance_words(0.5), "about as likely as not");
    }

    #[test]
    fn areas_are_shown_in_the_units_of_the_course() {
        // 6,100 ft² = 566.708… m², the foot being 0.3048 m.
        let area_m2 = SquareMetres(6100.0 * 0.092_903_04);
        assert_eq!(area(area_m2, DisplayUnits::Us), "6,100 ft²");
        assert_eq!(area(area_m2, DisplayUnits::Metric), "567 m²");
    }

    #[test]
    fn a_remark_begins_with_a_capital_and_keeps_the_rest() {
        assert_eq!(capitalised("topdressed on Jul 7"), "Topdressed on Jul 7");
        assert_eq!(capitalised("4 of 6 photos"), "4 of 6 photos");
        assert_eq!(capitalised(""), "");
    }

    #[test]
    fn dates_and_ranges_in_another_order_keep_their_rules() {
        let style = DateStyle {
            order: DayOrder::DayMonth,
            clock: ClockFace::TwentyFourHours,
        };
        let dates = Dates::as_of(date(2027, 6, 20), style);
        assert_eq!(dates.show(date(2027, 7, 21)), "21 Jul");
        assert_eq!(dates.show(date(2028, 1, 4)), "4 Jan 2028");
        assert_eq!(
            dates.range(date(2027, 12, 20), date(2028, 1, 4)),
            "20 Dec – 4 Jan 2028"
        );
    }

    #[test]
    fn thousands_are_set_apart() {
        assert_eq!(thousands(1_234_567.0), "1,234,567");
        assert_eq!(thousands(-1_000.0), "−1,000");
        assert_eq!(thousands(999.0), "999");
        assert_eq!(money("$", 6_000.0), "$6,000");
        assert_eq!(money("EUR", 6_000.0), "EUR\u{a0}6,000");
    }

    #[test]
    fn a_date_is_never_torn_at_the_end_of_a_line() {
        assert_eq!(
            keep_dates_whole("in Jun about Jun 28 (Jun 2 – Jul 3), May be"),
            "in Jun about Jun\u{a0}28 (Jun\u{a0}2 – Jul\u{a0}3), May be"
        );
        assert_eq!(
            keep_dates_whole("about 28 Jun (2 Jun – 3 Jul), 8 points, 12 May."),
            "about 28\u{a0}Jun (2\u{a0}Jun – 3\u{a0}Jul), 8 points, 12\u{a0}May."
        );
    }
}
