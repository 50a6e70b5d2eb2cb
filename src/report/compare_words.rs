//! Words of a comparison: numbers, levels and differences as a superintendent says them.

use jiff::civil::Date;

use super::format::{goal, visible};
use crate::compare::{Answer, Comparison, Interval, Response, Standing};
use crate::course::{Cover, DateStyle};

/// A number to `decimals`, with the minus sign of print and none before zero.
pub(crate) fn decimal(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let is_zero = text.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    if value < 0.0 && !is_zero {
        format!("−{text}")
    } else {
        text
    }
}

/// `p 0.012`, `p < 0.0001`.
pub(crate) fn chance(p: f64) -> String {
    match p {
        p if p < 0.0001 => "p < 0.0001".to_owned(),
        p if p < 0.01 => format!("p {p:.4}"),
        p => format!("p {p:.3}"),
    }
}

/// `12.3 (9.8 to 14.9)`.
pub(crate) fn interval(of: Interval, decimals: usize) -> String {
    format!(
        "{} ({} to {})",
        decimal(of.estimate, decimals),
        decimal(of.low, decimals),
        decimal(of.high, decimals)
    )
}

/// The heading of a response, such as `Days to full cover (95%)`.
pub(crate) fn heading(comparison: &Comparison, answer: &Answer) -> String {
    match answer.kind {
        Response::DaysToFull => {
            let full = Cover::from_percent(comparison.goal_percent).map(goal);
            format!(
                "Days from planting to full cover ({})",
                full.unwrap_or_default()
            )
        }
        Response::DaysToHalf => "Days from planting to half cover".to_owned(),
        Response::PointsPerWeek => "Points of cover gained in the fastest week".to_owned(),
        Response::CoverOn(date) => {
            format!("Percent cover on {}", comparison.dates.full(date))
        }
        Response::MeanCover => format!(
            "Mean percent cover from planting to day {} (area under the cover curve by days)",
            decimal(answer.until_day.unwrap_or(0.0), 0)
        ),
    }
}

/// How one level did against another: `reached full cover 13.9 days before`.
fn did(response: Response, difference: f64, dates: DateStyle) -> String {
    let size = decimal(difference.abs(), 1);
    let on = match response {
        Response::CoverOn(date) => format!(" on {}", dates.full(date)),
        _ => String::new(),
    };
    match (response, difference < 0.0) {
        (Response::DaysToFull, true) => format!("reached full cover {size} days before"),
        (Response::DaysToFull, false) => format!("reached full cover {size} days after"),
        (Response::DaysToHalf, true) => format!("reached half cover {size} days before"),
        (Response::DaysToHalf, false) => format!("reached half cover {size} days after"),
        (Response::PointsPerWeek, true) => format!("gained {size} points a week less than"),
        (Response::PointsPerWeek, false) => format!("gained {size} points a week more than"),
        (Response::CoverOn(_) | Response::MeanCover, true) => {
            format!("had {size} points less cover{on} than")
        }
        (Response::CoverOn(_) | Response::MeanCover, false) => {
            format!("had {size} points more cover{on} than")
        }
    }
}

/// What a green is asked to reach.
pub(crate) fn aim(response: Response) -> &'static str {
    match response {
        Response::DaysToHalf => "half cover",
        _ => "full cover",
    }
}

/// Of each level, as people speak of its greens, how many have a number and how many there are.
pub(crate) fn in_sight(comparison: &Comparison, answer: &Answer) -> Vec<(String, usize, usize)> {
    let mut levels: Vec<(String, usize, usize)> = Vec::new();
    let of = comparison.by.join(" × ");
    for green in &answer.values {
        let level = green.levels.join(" · ");
        let name = treated(&of, &level_name(&of, &level, comparison.dates));
        if !levels.iter().any(|(other, ..)| *other == name) {
            levels.push((name.clone(), 0, 0));
        }
        for (_, there, of) in levels.iter_mut().filter(|(other, ..)| *other == name) {
            *there += usize::from(green.value.is_some());
            *of += 1;
        }
    }
    levels
}

/// [`did`], told as a projection where more than half of the numbers are one.
pub(super) fn did_or_will(answer: &Answer, difference: f64, dates: DateStyle) -> String {
    let told = did(answer.kind, difference, dates);
    let values = answer.values.iter().filter_map(|green| green.value);
    let (ahead, n) = values.fold((0, 0), |(ahead, n), value| {
        (ahead + usize::from(value.standing != Standing::Seen), n + 1)
    });
    match 2 * ahead > n {
        true => told
            .replacen("reached", "is projected to reach", 1)
            .replacen("gained", "is projected to gain", 1),
        false => told,
    }
}

/// The name of a level, or of one of each factor of `A × B`, as people say it: planting dates as dates.
pub(crate) fn level_name(of: &str, level: &str, dates: DateStyle) -> String {
    let factors: Vec<&str> = of.split(" × ").collect();
    let parts: Vec<&str> = level.split(" · ").collect();
    if factors.len() != parts.len() {
        return visible(level);
    }
    let part = |(factor, part): (&&str, &&str)| {
        let date = (*factor == "planted")
            .then(|| part.parse::<Date>().ok())
            .flatten();
        date.map_or_else(|| visible(part), |date| dates.full(date))
    };
    let parts: Vec<String> = factors.iter().zip(&parts).map(part).collect();
    parts.join(" · ")
}

/// The name of a level of all factors together.
pub(crate) fn level_of(comparison: &Comparison, level: &str) -> String {
    level_name(&comparison.by.join(" × "), level, comparison.dates)
}

/// `9.4 to 18.4` of a difference whose direction the words before it tell, or both directions in words.
pub(super) fn range(response: Response, low: f64, high: f64) -> String {
    if low * high >= 0.0 {
        let (near, far) = (low.abs().min(high.abs()), low.abs().max(high.abs()));
        return format!("{} to {}", decimal(near, 1), decimal(far, 1));
    }
    let (less, more) = match response {
        Response::DaysToFull | Response::DaysToHalf => ("days before", "days after"),
        Response::PointsPerWeek => ("points a week less", "more"),
        Response::CoverOn(_) | Response::MeanCover => ("points less", "more"),
    };
    format!("{} {less} to {} {more}", decimal(-low, 1), decimal(high, 1))
}

/// What decides, in the middle of a sentence.
pub(crate) fn judged_by(comparison: &Comparison) -> String {
    match comparison.answers[0].kind {
        Response::DaysToFull => "days to full cover".to_owned(),
        Response::DaysToHalf => "days to half cover".to_owned(),
        Response::PointsPerWeek => "the fastest week".to_owned(),
        Response::CoverOn(date) => format!("cover on {}", comparison.dates.full(date)),
        Response::MeanCover => "mean cover".to_owned(),
    }
}

/// A factor's name as people write it.
pub(crate) fn in_words(name: &str) -> String {
    visible(&name.replace('_', " "))
}

/// How the comparison keeps chance finds rare, in a sentence.
pub(crate) fn deciding(comparison: &Comparison) -> String {
    format!(
        "Decided by {}: where that shows nothing no difference is called, so that of things that are alike at most {}% are said to differ. The other numbers tell how a difference came about.",
        judged_by(comparison),
        decimal(100.0 * comparison.alpha, 0)
    )
}

/// Greens of a level, as people speak of them: `light topdressing`, `no topdressing`; what has a number says it itself.
pub(super) fn treated(of: &str, level: &str) -> String {
    let is_word = |letter: char| letter.is_alphabetic() || matches!(letter, ' ' | '-');
    if of.contains(" × ") || level.is_empty() || !level.chars().all(is_word) {
        return level.to_owned();
    }
    match level {
        "none" | "no" => format!("no {}", in_words(of)),
        _ => format!("{level} {}", in_words(of)),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::DayOrder;

    #[test]
    fn numbers_have_a_printed_minus_and_never_one_before_zero() {
        assert_eq!(decimal(-3.07, 1), "−3.1");
        assert_eq!(decimal(-0.04, 1), "0.0");
        assert_eq!(chance(0.00004), "p < 0.0001");
        assert_eq!(chance(0.0043), "p 0.0043");
        assert_eq!(chance(0.25), "p 0.250");
    }

    #[test]
    fn directions_are_told_in_words() {
        let usual = DateStyle::default();
        assert_eq!(
            did(Response::DaysToFull, -13.94, usual),
            "reached full cover 13.9 days before"
        );
        assert_eq!(
            did(Response::MeanCover, 4.0, usual),
            "had 4.0 points more cover than"
        );
        assert_eq!(range(Response::DaysToFull, -9.0, -2.0), "2.0 to 9.0");
        assert_eq!(
            range(Response::DaysToFull, -4.8, 2.3),
            "4.8 days before to 2.3 days after"
        );
        assert_eq!(
            range(Response::MeanCover, -0.6, 2.1),
            "0.6 points less to 2.1 more"
        );
    }

    #[test]
    fn a_level_that_is_a_word_is_said_with_its_factor() {
        assert_eq!(treated("topdressing", "none"), "no topdressing");
        assert_eq!(treated("mowing_height", "high"), "high mowing height");
        assert_eq!(treated("sprig_rate", "1,800 bu/ac"), "1,800 bu/ac");
    }

    #[test]
    fn dates_are_written_as_the_course_writes_them() {
        let day_first = DateStyle {
            order: DayOrder::DayMonth,
            ..DateStyle::default()
        };
        for (dates, told) in [
            (DateStyle::default(), "May 18, 2027"),
            (day_first, "18 May 2027"),
        ] {
            assert_eq!(level_name("planted", "2027-05-18", dates), told);
            assert_eq!(
                did(Response::CoverOn(date(2027, 5, 18)), 2.0, dates),
                format!("had 2.0 points more cover on {told} than")
            );
        }
        assert_eq!(level_name("lot", "2027-05-18", day_first), "2027-05-18");
        assert_eq!(
            level_name("lot × planted", "2027-05-18 · 2027-05-25", day_first),
            "2027-05-18 · 25 May 2027"
        );
    }
}
