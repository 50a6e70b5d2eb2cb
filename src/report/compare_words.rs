//! Sentences of a comparison: what a superintendent asks first, and the statistics that stand behind it.

use jiff::civil::Date;

use super::format::{goal, visible};
use crate::compare::{
    Answer, Call, Comparison, Described, Interval, LevelMean, MeansTable, Outcome, Pair, RankTest,
    Response, Rule, Scale, Standing, Tested,
};
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

/// What ranks tell where too few greens have a number for another test: of which levels greens get there at all.
pub(crate) fn ranked_verdict(
    comparison: &Comparison,
    answer: &Answer,
    described: &Described,
) -> Option<String> {
    let ranks = described.rank_test?;
    let of = in_words(&comparison.by.join(" × "));
    let levels = in_sight(comparison, answer).into_iter();
    let told: Vec<String> = levels
        .map(|(level, there, of)| match there {
            0 => format!("none of {of} greens with {level}"),
            _ => format!("{there} of {of} with {level}"),
        })
        .collect();
    let call = match described.is_shown(comparison.alpha) {
        true => format!("{of} makes a difference by ranks"),
        false => format!("no difference by {of} is shown by ranks"),
    };
    Some(format!(
        "{call}: {} is in sight for {} ({}).",
        aim(answer.kind),
        told.join(" and "),
        ranked(&ranks)
    ))
}

/// [`did`], told as a projection where more than half of the numbers are one.
fn did_or_will(answer: &Answer, difference: f64, dates: DateStyle) -> String {
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

/// What a table of means comes to: the widest difference between levels, whether it is shown, its interval.
pub(crate) fn verdict(comparison: &Comparison, answer: &Answer, table: &MeansTable) -> String {
    let call = comparison.call(answer, table);
    let by_size = |a: &&Pair, b: &&Pair| a.difference.abs().total_cmp(&b.difference.abs());
    // A wide gap to a level of few greens may be less sure than a narrower one.
    let is_sure = |pair: &&Pair| pair.p <= comparison.alpha;
    let pairs = table.pairs();
    let sure = pairs.iter().filter(is_sure).max_by(by_size);
    let widest = pairs.iter().max_by(by_size);
    let Some(pair) = sure.filter(|_| call == Call::Different).or(widest) else {
        return String::new();
    };
    let (first, second, difference, low, high) =
        better_first(answer.kind, &table.of, pair, comparison.dates);
    let within = table
        .within
        .as_ref()
        .map(|w| format!("With {}: ", visible(w)))
        .unwrap_or_default();
    let (of, did) = (
        in_words(&table.of),
        did_or_will(answer, difference, comparison.dates),
    );
    let range = range(answer.kind, low, high);
    let by_ranks = match &answer.outcome {
        Outcome::Tested(tested) if tested.decided_by_ranks().is_some() => " by ranks",
        _ => "",
    };
    if let Some((one, other)) = of.rsplit_once(" × ") {
        let perhaps = match call {
            Call::Different => "",
            _ => "perhaps ",
        };
        let each = within_each(answer, table, comparison.dates);
        if each.len() > 1 {
            return format!(
                "{perhaps}{one} and {other} depend on each other: {}.",
                each.join("; ")
            );
        }
        return format!(
            "{perhaps}{one} and {other} depend on each other: furthest apart, {first} {did} {second} (95% sure: {range})."
        );
    }
    let on_average = on_average(comparison, answer, table, pair).unwrap_or_default();
    match call {
        Call::Different if sure.is_some() => format!(
            "{within}{of} makes a difference{by_ranks}{on_average}: {first} {did} {second} (95% sure: {range})."
        ),
        Call::Different => format!(
            "{within}{of} makes a difference{by_ranks}{on_average} when everything is taken together, but no two levels can be told apart for sure: {first} {did} {second} (95% sure: {range})."
        ),
        Call::Hint => format!(
            "{within}Perhaps a difference by {of}: {first} {did} {second} (95% sure: {range}). No more than a hint, since {} shows none.",
            judged_by(comparison)
        ),
        Call::NotShown => format!(
            "{within}No difference by {of} is shown: {first} {did} {second}, but anything from {range} would fit these greens."
        ),
    }
}

/// ` on average over mulch`, where what is called turns round with some level of mulch.
fn on_average(
    comparison: &Comparison,
    answer: &Answer,
    table: &MeansTable,
    pair: &Pair,
) -> Option<String> {
    let Outcome::Tested(tested) = &answer.outcome else {
        return None;
    };
    let turns_round = |other: &&MeansTable| {
        let parted = |name: &str| -> Option<(String, String)> {
            let (one, two) = name.split_once(" · ")?;
            let (of, with) = match other.of.starts_with(&format!("{} × ", table.of)) {
                true => (one, two),
                false => (two, one),
            };
            Some((of.to_owned(), with.to_owned()))
        };
        let mean = |of: &str, with: &str| {
            let is_it = |row: &&LevelMean| parted(&row.level) == Some((of.into(), with.into()));
            other.means.iter().find(is_it).map(|row| row.mean)
        };
        let mut with = other.means.iter().filter_map(|row| parted(&row.level));
        with.any(|(_, with)| {
            let both = mean(&pair.first, &with).zip(mean(&pair.second, &with));
            both.is_some_and(|(first, second)| (first - second) * pair.difference < 0.0)
        })
    };
    let others = tested.means.iter().filter(|other| other.within.is_none());
    let other = others
        .filter(|other| comparison.call(answer, other) == Call::Different)
        .filter(|other| {
            let names: Vec<&str> = other.of.split(" × ").collect();
            names.len() == 2 && names.contains(&table.of.as_str())
        })
        .find(turns_round)?;
    let mut names = other.of.split(" × ");
    let beside = names.find(|name| *name != table.of)?;
    Some(format!(" on average over {}", in_words(beside)))
}

/// Of a table of `A × B`, the widest difference between levels of A with each level of B, then between levels of
/// B with each level of A: what one does may turn round where the other seems to do the same everywhere.
fn within_each(answer: &Answer, table: &MeansTable, dates: DateStyle) -> Vec<String> {
    let Some((one, other)) = table.of.rsplit_once(" × ") else {
        return Vec::new();
    };
    let first = |name: &str| -> Option<(String, String)> {
        let (of, with) = name.rsplit_once(" · ")?;
        Some((of.to_owned(), with.to_owned()))
    };
    let second = |name: &str| first(name).map(|(of, with)| (with, of));
    let mut told = with_each(answer, table, (one, other), &first, dates);
    // Of three factors the first two together are no level that the third could be told within.
    if told.len() > 1 && !one.contains(" × ") {
        told.extend(with_each(answer, table, (other, one), &second, dates));
    }
    told
}

/// The widest difference between levels of `one` with each level of `other`; `parted` gives those two of a name.
fn with_each(
    answer: &Answer,
    table: &MeansTable,
    (one, other): (&str, &str),
    parted: &dyn Fn(&str) -> Option<(String, String)>,
    dates: DateStyle,
) -> Vec<String> {
    let mut with: Vec<String> = Vec::new();
    for (_, level) in table.means.iter().filter_map(|mean| parted(&mean.level)) {
        if !with.contains(&level) {
            with.push(level);
        }
    }
    let widest = |level: &String| {
        let own = |name: &str| {
            parted(name)
                .filter(|(_, with)| with == level)
                .map(|(of, _)| of)
        };
        let pairs = table.pairs().iter().filter_map(|pair| {
            Some(Pair {
                first: own(&pair.first)?,
                second: own(&pair.second)?,
                ..pair.clone()
            })
        });
        let pair = pairs.max_by(|a, b| a.difference.abs().total_cmp(&b.difference.abs()))?;
        let (first, second, difference, low, high) = better_first(answer.kind, one, &pair, dates);
        Some(format!(
            "with {}, {first} {} {second} (95% sure: {})",
            treated(other, &level_name(other, level, dates)),
            did_or_will(answer, difference, dates),
            range(answer.kind, low, high)
        ))
    };
    with.iter().filter_map(widest).collect()
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
fn range(response: Response, low: f64, high: f64) -> String {
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

/// A pair with the level that did better named first.
fn better_first(
    response: Response,
    of: &str,
    pair: &Pair,
    dates: DateStyle,
) -> (String, String, f64, f64, f64) {
    let first_is_better = (pair.difference < 0.0) == response.less_is_better();
    let name = |level: &str| treated(of, &level_name(of, level, dates));
    let (first, second) = (name(&pair.first), name(&pair.second));
    if first_is_better {
        (first, second, pair.difference, pair.low, pair.high)
    } else {
        (second, first, -pair.difference, -pair.high, -pair.low)
    }
}

/// Greens of a level, as people speak of them: `light topdressing`, `no topdressing`; what has a number says it itself.
fn treated(of: &str, level: &str) -> String {
    let is_word = |letter: char| letter.is_alphabetic() || matches!(letter, ' ' | '-');
    if of.contains(" × ") || level.is_empty() || !level.chars().all(is_word) {
        return level.to_owned();
    }
    match level {
        "none" | "no" => format!("no {}", in_words(of)),
        _ => format!("{level} {}", in_words(of)),
    }
}

/// One line on a level against the control.
pub(crate) fn against_control(answer: &Answer, of: &str, pair: &Pair, dates: DateStyle) -> String {
    format!(
        "{} {} {} ({}; {})",
        level_name(of, &pair.first, dates),
        did_or_will(answer, pair.difference, dates),
        level_name(of, &pair.second, dates),
        range(answer.kind, pair.low, pair.high),
        chance(pair.p)
    )
}

/// What stands under a table of means: what its letters mean, how far apart two of them must be, and how sure they are.
pub(crate) fn under_means(table: &MeansTable, tested: &Tested, alpha: f64) -> String {
    let mut parts = Vec::new();
    if let Some(error) = table.difference_error(alpha) {
        parts.push(format!(
            "standard error of a difference {}",
            decimal(error, 2)
        ));
    }
    parts.push(format!(
        "{} degrees of freedom of the error",
        table.degrees_of_freedom
    ));
    if let Some(percent) = variation(table, tested) {
        parts.push(format!("CV {}%", decimal(percent, 1)));
    }
    let letters = letters_line(table, tested.chance_of(table), alpha);
    format!("{letters} Here: {}.", parts.join(", "))
}

/// Coefficient of variation: the error's standard deviation in percent of the mean of the table.
fn variation(table: &MeansTable, tested: &Tested) -> Option<f64> {
    let mut errors = tested
        .strata
        .iter()
        .filter_map(|stratum| stratum.rows.last());
    let error = errors.find(|row| row.degrees_of_freedom == table.degrees_of_freedom)?;
    let n: usize = table.means.iter().map(|row| row.units).sum();
    let sum: f64 = table
        .means
        .iter()
        .map(|row| row.mean * row.units as f64)
        .sum();
    let mean = sum / n as f64;
    let is_told = tested.scale == Scale::AsMeasured && mean > 0.0;
    is_told.then(|| 100.0 * error.mean_square.sqrt() / mean)
}

/// What the letters mean, and how far apart two means must be.
fn letters_line(table: &MeansTable, chance_of_all: Option<f64>, alpha: f64) -> String {
    let (name, size) = match table.letters_by {
        Rule::Lsd => ("Fisher's LSD, used where F is significant", table.lsd),
        Rule::Tukey => ("Tukey's HSD", table.hsd),
    };
    let size = match size {
        Some(size) => format!(": {}", decimal(size, 1)),
        None => "; it differs from pair to pair".to_owned(),
    };
    let together =
        chance_of_all.filter(|p| *p > alpha && table.pairs().iter().any(|pair| pair.p <= alpha));
    let together = together.map_or(String::new(), |p| {
        format!(
            "; all share one, since all of them together show no difference, {}",
            chance(p)
        )
    });
    format!("Levels that share a letter are not shown to differ ({name}{size}{together}).")
}

/// F of each line of the tables.
pub(crate) fn statistics(tested: &Tested) -> Vec<String> {
    let mut lines = Vec::new();
    for stratum in &tested.strata {
        let error = stratum.rows.last();
        let (df, ms) = error.map_or((0, 0.0), |row| (row.degrees_of_freedom, row.mean_square));
        let tests: Vec<String> = stratum
            .rows
            .iter()
            .filter_map(|row| {
                let (f, p) = (row.f?, row.p?);
                Some(format!(
                    "{}: F {} on {} and {df}, {}",
                    visible(&row.source),
                    decimal(f, 2),
                    row.degrees_of_freedom,
                    chance(p)
                ))
            })
            .collect();
        lines.push(format!(
            "{} (between {}, error mean square {}{}).",
            tests.join("; "),
            stratum.between,
            decimal(ms, 3),
            of_means(stratum.between)
        ));
    }
    let scale = match tested.scale {
        Scale::AsMeasured => "",
        Scale::Logit => {
            " Analysed as logits, since some means lie near bare or full; means are turned back to percent."
        }
    };
    lines.push(format!(
        "Sums of squares are of type II: blocks first, then each term after all others that do not contain it.{scale}"
    ));
    lines.push(residuals(tested));
    lines
}

/// What the mean squares of a stratum are of, where it is not single greens.
fn of_means(between: &str) -> &'static str {
    match between {
        "main plots" => {
            " of their means; times the greens of a main plot it is that of a table by greens"
        }
        _ => "",
    }
}

/// `Friedman 6.50 on 2, p 0.039`.
pub(crate) fn ranked(test: &RankTest) -> String {
    format!(
        "{} {} on {}, {}",
        test.name,
        decimal(test.statistic, 2),
        test.degrees_of_freedom,
        chance(test.p)
    )
}

/// Below this a check of residuals is told as a doubt; they fail below a lower one ([`ResidualChecks`]).
///
/// [`ResidualChecks`]: crate::compare::ResidualChecks
const DOUBTFUL: f64 = 0.05;

fn residuals(tested: &Tested) -> String {
    let checks = &tested.residuals;
    let normal = match (checks.normal_p, checks.is_crooked()) {
        (None, _) => "too few residuals to look at".to_owned(),
        (Some(p), false) if p < DOUBTFUL => format!(
            "residuals are somewhat crooked (Shapiro–Wilk {}), not so far that F fails",
            chance(p)
        ),
        (Some(p), false) => format!("residuals look normal enough (Shapiro–Wilk {})", chance(p)),
        (Some(p), true) => format!("residuals are far from normal (Shapiro–Wilk {})", chance(p)),
    };
    let scatter = match (checks.equal_scatter_p, checks.is_uneven()) {
        (None, _) => String::new(),
        (Some(p), false) if p < DOUBTFUL => format!(
            ", some levels may scatter more than others (Brown–Forsythe {}): look at the greens",
            chance(p)
        ),
        (Some(p), false) => format!(
            ", levels scatter about alike (Brown–Forsythe {})",
            chance(p)
        ),
        (Some(p), true) => format!(
            ", but some levels scatter far more than others (Brown–Forsythe {}): take it with care",
            chance(p)
        ),
    };
    let ranks = match (tested.decided_by_ranks(), checks.is_crooked()) {
        (Some(test), _) => format!(" Judged by ranks instead of F: {}.", ranked(test)),
        (None, true) => " No rank test fits this design: take F with care.".to_owned(),
        _ => String::new(),
    };
    format!("Checks: {normal}{scatter}.{ranks}")
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
