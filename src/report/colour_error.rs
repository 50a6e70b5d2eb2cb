//! How sure the telling of green from ground is, in one sentence.

use super::AuditFacts;
use crate::course::{Cover, DateStyle};
use crate::cover::Misread;
use crate::forecast::EIGHT_IN_TEN;

/// What all visits are off by together at this cover, in points, 8 times in 10.
pub fn colour_points(misread: &Misread, cover: Cover) -> f64 {
    100.0 * EIGHT_IN_TEN * misread.standard_error(cover)
}

/// What photos cannot cure, for greens of these covers; `None` where there is no green to tell it of.
pub fn colour_error_words(
    misread: &Misread,
    audit: Option<&AuditFacts>,
    covers: &[Cover],
    dates: DateStyle,
) -> Option<String> {
    let points = || covers.iter().map(|cover| colour_points(misread, *cover));
    let (least, most) = (points().reduce(f64::min)?, points().reduce(f64::max)?);
    let (least, most) = (format!("±{least:.1}"), format!("±{most:.1}"));
    let points = if least == most {
        format!("{most} points")
    } else {
        format!("{least} to {most} points")
    };
    let sentence = match audit.filter(|_| misread.is_audited()) {
        Some(audit) => format!(
            "Beside that, after the audit of {} has been allowed for, colours taken wrongly may move the cover of all visits together by {points}. More photos do not make that smaller, more judged points do.",
            dates.full(audit.on)
        ),
        None => format!(
            "Beside that, colours taken wrongly may move the cover of all visits together by {points}. That is a guess until points have been judged by eye (`sprigcast audit`), and no number of photos makes it smaller."
        ),
    };
    Some(sentence)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::cover::audit::{Bias, Interval};
    use crate::cover::{Rate, Source};

    #[test]
    fn what_photos_cannot_cure_is_a_guess_until_there_is_an_audit() {
        let covers = [20.0, 90.0].map(|percent| Cover::from_percent(percent).unwrap());
        let usual = Misread::usual();
        let usual_dates = DateStyle::default();
        let words = colour_error_words(&usual, None, &covers, usual_dates).unwrap();
        assert!(
            words.contains("a guess until points have been judged"),
            "{words}"
        );
        assert_eq!(colour_error_words(&usual, None, &[], usual_dates), None);

        let facts = AuditFacts {
            on: date(2027, 6, 20),
            n_judged: 400,
            n_agreed: 396,
            bias: Bias {
                value: 0.0,
                interval: Interval {
                    low: -0.01,
                    high: 0.01,
                },
            },
            misread: usual,
        };
        let rate = Rate {
            value: 0.01,
            standard_error: 0.009,
            source: Source::Audit,
        };
        let audited = Misread {
            shown: rate,
            missed: rate,
        };
        let words = colour_error_words(&audited, Some(&facts), &covers, usual_dates).unwrap();
        // 0.9 points, by 1.2816 and by the root of the sum of squares of the shares: 0.825 and 0.906.
        assert!(words.contains("the audit of Jun 20, 2027"), "{words}");
        assert!(words.contains("±1.0 points"), "{words}");
    }
}
