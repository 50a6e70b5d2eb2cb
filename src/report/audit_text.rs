//! What an audit says, in sentences and a table.

use std::fmt::Write as _;

use jiff::civil::Date;

use super::format::{count, visible};
use crate::course::{DateStyle, GreenId};
use crate::cover::audit::{Accuracy, Bias, Corrected, Interval, Share, Verdict, Z};
use crate::cover::{Misread, Rate, Source};

/// What an earlier audit found, for one sentence of a report.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AuditFacts {
    /// When answers were read, local date.
    pub on: Date,
    /// Points judged.
    pub n_judged: u64,
    /// Points on which program and person agree.
    pub n_agreed: u64,
    /// How much too high cover is read.
    pub bias: Bias,
    /// What of it cover is freed of.
    pub misread: Misread,
}

/// An audit as it is told.
#[derive(Debug, Clone)]
pub struct AuditStory<'a> {
    /// All that was worked out.
    pub verdict: &'a Verdict,
    /// Points that nobody could tell.
    pub n_unsure: u64,
    /// Points without an answer.
    pub n_unanswered: usize,
    /// Whether the colours in use were fitted to these very points.
    pub is_fitted_to: bool,
    /// What follows for cover; `None` where the season has since been measured with other colours, or no audit is
    /// independent of those in use.
    pub misread: Option<&'a Misread>,
    /// Another audit that judged more points and so goes on to count, with their number.
    pub outweighed_by: Option<(String, u64)>,
    /// How the course writes its dates.
    pub dates: DateStyle,
}

/// The sentence for the report. What is told there of cover is freed of the error that the audit found.
pub(crate) fn audited(facts: &AuditFacts, dates: DateStyle) -> String {
    format!(
        "Audited on {}: of {} judged by eye, the program agreed on {}; {}. Cover and dates here are {}.",
        dates.full(facts.on),
        count(facts.n_judged as usize, "point", "points"),
        facts.n_agreed,
        reads(&facts.bias, &facts.misread),
        if facts.misread.corrects() {
            "corrected for what it found"
        } else {
            "as they were read"
        }
    )
}

/// The whole of it, for a terminal: first in plain words, then the figures, then visit by visit.
pub fn audit_text(story: &AuditStory<'_>) -> String {
    let verdict = story.verdict;
    let mut text = in_short(story);
    text.push('\n');
    for (name, figure) in figures(verdict) {
        let _ = writeln!(text, "{name:<34} {figure}");
    }
    text.push_str(&how_sure(verdict));
    visits(&mut text, verdict, story.dates);
    if let Some((audit, n)) = &story.outweighed_by {
        let _ = writeln!(
            text,
            "\nAudit {audit}, of {}, knows more: cover and dates stay corrected by it, and so does the table.",
            count(*n as usize, "judged point", "judged points")
        );
    } else if let Some(misread) = story.misread {
        let _ = writeln!(text, "\n{}", what_follows(misread, &verdict.accuracy));
    }
    text
}

/// How far program and person agreed, what was not judged, and whether it still holds.
fn in_short(story: &AuditStory<'_>) -> String {
    let tally = &story.verdict.tally;
    let mut text = format!(
        "Of {} you judged, the program agreed on {}; {}.\n",
        count(tally.n() as usize, "point", "points"),
        tally.n_agreed(),
        reads(
            &story.verdict.bias,
            story.misread.unwrap_or(&Misread::default())
        )
    );
    let mut left_out = Vec::new();
    if story.n_unsure > 0 {
        left_out.push(format!("{} unsure", story.n_unsure));
    }
    if story.n_unanswered > 0 {
        left_out.push(format!("{} without an answer", story.n_unanswered));
    }
    if !left_out.is_empty() {
        let _ = writeln!(text, "Left out: {}.", left_out.join(" and "));
    }
    if story.is_fitted_to {
        text.push_str(
            "The colours in use were fitted to these very points: of course they agree, it says nothing of other places, and no cover is corrected by it. Draw new points with `sprigcast audit SEASON` to check.\n",
        );
    } else if story.misread.is_none() {
        text.push_str(
            "The season has since been measured with other colours; this holds for those that were in use when the points were drawn. Make a new audit for the present ones.\n",
        );
    }
    text
}

/// The figures of the audit as a whole, each with its name.
fn figures(verdict: &Verdict) -> Vec<(&'static str, String)> {
    let agreed = verdict.tally.agreed().thinned(verdict.design_effect);
    let accuracy = &verdict.accuracy;
    let bias = verdict.bias.interval.times_100();
    let mut figures = vec![
        ("Points agreed on", share(agreed)),
        (
            "Green seen as green (sensitivity)",
            share(accuracy.sensitivity),
        ),
        (
            "Other seen as other (specificity)",
            share(accuracy.specificity),
        ),
        (
            "Read too high (bias)",
            format!(
                "{:+.1} points, {:+.1} to {:+.1}",
                verdict.bias.value * 100.0,
                bias.low,
                bias.high
            ),
        ),
    ];
    if let Some(agreement) = &verdict.agreement {
        figures.extend(agreement.concordance.map(|concordance| {
            let n_visits = count(agreement.n, "visit", "visits");
            (
                "Concordance over visits (Lin)",
                format!("{concordance:.3} over {n_visits}"),
            )
        }));
        let limits = agreement.limits();
        figures.push((
            "Limits of agreement per visit",
            format!(
                "{:+.1} to {:+.1} points (Bland and Altman)",
                limits.low, limits.high
            ),
        ));
    }
    if verdict.visits.is_empty() {
        return figures;
    }
    let measured = verdict.mean_cover * 100.0;
    let told = |corrected: &Corrected| {
        let range = between(&corrected.interval);
        format!("{:.1}% ({range})", corrected.cover * 100.0)
    };
    figures.push(match &verdict.mean_corrected {
        Some(used) => (
            "Mean cover, measured and corrected",
            format!("{measured:.1}%, {}", told(used)),
        ),
        None => ("Mean cover, measured", format!("{measured:.1}%")),
    });
    if let Some(corrected) = &verdict.mean_by_one_error {
        let told = told(corrected);
        figures.push(("… by one error for all covers", format!("{told}; not used")));
    }
    figures
}

/// What the ranges of the figures mean.
fn how_sure(verdict: &Verdict) -> String {
    let mut text = "Each range holds the truth 19 times in 20.".to_owned();
    if verdict.design_effect > 1.2 {
        let _ = write!(
            text,
            " Wrong points lie together, so ranges are {:.1} times as wide as for points that tell independently.",
            verdict.design_effect.sqrt()
        );
    }
    text.push('\n');
    if verdict.agreement.is_some() {
        text.push_str(
            "Agreement per visit is over the judged points alone and so also holds the chance of few points.\n",
        );
    }
    text
}

/// What becomes of the findings: a correction by cover, as far as the points tell one.
fn what_follows(misread: &Misread, accuracy: &Accuracy) -> String {
    if !accuracy.tells_apart() && misread.is_audited() {
        let ends = misread.at_the_ends();
        return format!(
            "These answers and the program agree no more than by chance: look at the points again, for either they were answered in a hurry or these photos cannot be counted by colour. No cover is corrected; until better answers are read, all of it is held to be uncertain by {:.0} points.",
            100.0 * Z * ends.bare.max(ends.full)
        );
    }
    let part = |ground: &str, rate: &Rate, too_high: f64| {
        let give_or_take = 100.0 * Z * rate.standard_error;
        let points = 100.0 * too_high;
        let side = if points < 0.0 { "low" } else { "high" };
        match rate.source {
            Source::Audit if rate.value == 0.0 => {
                format!("{ground} shows no error for sure, give or take {give_or_take:.1}")
            }
            Source::Audit => format!(
                "{ground} reads {:.1} points too {side}, give or take {give_or_take:.1}",
                points.abs()
            ),
            _ => format!(
                "of {ground} the points tell no more than is usual, give or take {give_or_take:.1}"
            ),
        }
    };
    let parts = format!(
        "By a line through the errors against the cover of their visits, {}; {}.",
        part("bare ground", &misread.shown, misread.shown.value),
        part("full cover", &misread.missed, -misread.missed.value)
    );
    let used = if misread.corrects() {
        "From now on cover and dates are corrected by that line."
    } else if misread.is_audited() {
        "Cover and dates stay as they were, and are surer."
    } else {
        "Cover and dates stay as they were: judge more points."
    };
    format!("{parts} {used}")
}

/// Cover of each visit, as measured and corrected.
fn visits(text: &mut String, verdict: &Verdict, dates: DateStyle) {
    if verdict.visits.is_empty() {
        return;
    }
    let name = |green: &GreenId| visible(green.as_str());
    let widest = verdict
        .visits
        .iter()
        .map(|visit| name(&visit.green).chars().count())
        .max()
        .unwrap_or(0)
        .max(5);
    let _ = writeln!(
        text,
        "\n{:<widest$}  {:<12}  {:>6}  {:>8}  {:>9}  19 in 20 between",
        "Green", "Date", "Judged", "Measured", "Corrected"
    );
    for visit in &verdict.visits {
        let (corrected, range) = match &visit.corrected {
            Some(corrected) => (
                format!("{:.1}%", corrected.cover * 100.0),
                between(&corrected.interval),
            ),
            None => ("–".to_owned(), String::new()),
        };
        let line = format!(
            "{:<widest$}  {:<12}  {:>6}  {:>8}  {corrected:>9}  {range}",
            name(&visit.green),
            dates.full(visit.date),
            visit.n_points,
            format!("{:.1}%", visit.cover * 100.0),
        );
        text.push_str(line.trim_end());
        text.push('\n');
    }
}

/// `93.1%, 88.0 to 96.2, of 145 points`: as many as would tell as much independently.
fn share(share: Share) -> String {
    match share.value() {
        Some(value) => format!(
            "{:.1}%, {} (worth {:.0} independent points)",
            value * 100.0,
            between(&share.interval()),
            share.n
        ),
        None => "no such point was judged".to_owned(),
    }
}

fn between(interval: &Interval) -> String {
    format!(
        "{:.1} to {:.1}",
        interval.low * 100.0,
        interval.high * 100.0
    )
}

/// `it reads cover about 2 points too high`, with how sure that is; or, where errors at the ends make up for each other,
/// what they are.
fn reads(bias: &Bias, misread: &Misread) -> String {
    let Interval { low, high } = bias.interval.times_100();
    let percent = bias.value * 100.0;
    let side = |points: f64| if points < 0.0 { "low" } else { "high" };
    let rounded = |points: f64| {
        let points = points.abs();
        let text = if points < 3.0 {
            format!("{points:.1}")
        } else {
            format!("{points:.0}")
        };
        text.trim_end_matches(".0").to_owned()
    };
    if bias.interval.holds(0.0) && misread.corrects() {
        let end = |ground: &str, too_high: f64| {
            let points = rounded(100.0 * too_high);
            (too_high != 0.0).then(|| format!("{ground} {points} points too {}", side(too_high)))
        };
        let ends = [
            end("bare ground", misread.shown.value),
            end("full cover", -misread.missed.value),
        ];
        let ends: Vec<String> = ends.into_iter().flatten().collect();
        return format!("it reads {}", ends.join(" and "));
    }
    if bias.interval.holds(0.0) {
        let (low, high) = (rounded(low.min(0.0)), rounded(high.max(0.0)));
        return format!(
            "cover may be read up to {high} points too high or {low} too low, and no error is shown for sure"
        );
    }
    let (least, most) = if low > 0.0 {
        (low, high)
    } else {
        (-high, -low)
    };
    format!(
        "it reads cover about {} points too {} (between {} and {})",
        rounded(percent),
        side(percent),
        rounded(least),
        rounded(most)
    )
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::cover::VisitKey;
    use crate::cover::audit::{Judged, VisitRead, verdict};

    fn bias(value: f64, low: f64, high: f64) -> Bias {
        Bias {
            value,
            interval: Interval { low, high },
        }
    }

    #[test]
    fn the_direction_is_told_only_where_it_is_sure() {
        assert_eq!(
            reads(&bias(0.0204, 0.006, 0.041), &Misread::usual()),
            "it reads cover about 2 points too high (between 0.6 and 4)"
        );
        assert_eq!(
            reads(&bias(-0.062, -0.09, -0.035), &Misread::usual()),
            "it reads cover about 6 points too low (between 4 and 9)"
        );
        assert_eq!(
            reads(&bias(0.01, -0.012, 0.03), &Misread::usual()),
            "cover may be read up to 3 points too high or 1.2 too low, and no error is shown for sure"
        );
    }

    #[test]
    fn an_audit_is_told_in_plain_words_first() {
        let visit = VisitKey {
            green: GreenId::new("G07").unwrap(),
            date: date(2027, 6, 14),
        };
        let judged: Vec<Judged> = (0..240)
            .map(|point| Judged {
                visit: visit.clone(),
                photo: point % 4,
                program: point < 128,
                person: point < 120 || (200..203).contains(&point),
            })
            .collect();
        let read = VisitRead {
            visit,
            cover: 0.53,
            standard_error: 0.02,
        };
        let read = [read];
        let mut verdict = verdict(&judged, &read).unwrap();
        let rate = |value, standard_error, source| Rate {
            value,
            standard_error,
            source,
        };
        let misread = Misread {
            shown: rate(0.062, 0.018, Source::Audit),
            missed: rate(0.0, 0.03, Source::Usual),
        };
        verdict.put_to_use(&misread, &read);
        let story = AuditStory {
            verdict: &verdict,
            n_unsure: 2,
            n_unanswered: 0,
            is_fitted_to: false,
            misread: Some(&misread),
            outweighed_by: None,
            dates: DateStyle::default(),
        };
        insta::assert_snapshot!(audit_text(&story));

        let used = AuditStory {
            is_fitted_to: true,
            misread: None,
            ..story
        };
        let text = audit_text(&used);
        assert!(text.contains("were fitted to these very points"), "{text}");
        assert!(!text.contains("other colours") && !text.contains("From now on"));
    }

    #[test]
    fn the_report_says_it_in_one_sentence() {
        let of_audit = |value| Rate {
            value,
            standard_error: 0.012,
            source: Source::Audit,
        };
        let says = |bias, shown, missed| {
            let facts = AuditFacts {
                on: date(2027, 6, 20),
                n_judged: 240,
                n_agreed: 229,
                bias,
                misread: Misread {
                    shown: of_audit(shown),
                    missed: of_audit(missed),
                },
            };
            let said = audited(&facts, DateStyle::default());
            let first =
                "Audited on Jun 20, 2027: of 240 points judged by eye, the program agreed on 229; ";
            said.strip_prefix(first).unwrap().to_owned()
        };
        assert_eq!(
            says(bias(0.018, 0.002, 0.036), 0.03, 0.0),
            "it reads cover about 1.8 points too high (between 0.2 and 4). Cover and dates here are corrected for what it found."
        );
        assert_eq!(
            says(bias(0.01, -0.012, 0.03), -0.057, -0.147),
            "it reads bare ground 6 points too low and full cover 15 points too high. Cover and dates here are corrected for what it found."
        );
        assert_eq!(
            says(bias(0.01, -0.012, 0.03), 0.0, 0.0),
            "cover may be read up to 3 points too high or 1.2 too low, and no error is shown for sure. Cover and dates here are as they were read."
        );
    }
}
