//! What staying closed costs, where the course file says what a day costs: so far, and until every green is full.

use jiff::civil::Date;

use super::format::{count, days_between, money as money_in_words};
use super::{DayCost, Pace, ReportData};

/// The cost of the days since the course was closed, and as a range of those to come until the last green is full.
///
/// It takes the course to stay closed until every green is full, which the sentence says.
pub(crate) fn cost_of_delay(data: &ReportData) -> Option<String> {
    let cost = data.day_cost.as_ref()?;
    if data.n_at(Pace::Full) == data.greens.len() {
        return None;
    }
    let first = data.greens.iter().map(|green| green.planted).min()?;
    let since = cost.since.unwrap_or(first);
    let told = [so_far(data, cost, since), to_come(data, cost, since)];
    let told: Vec<String> = told.into_iter().flatten().collect();
    (!told.is_empty()).then(|| told.join(" "))
}

fn money(cost: &DayCost, days: i32) -> String {
    let amount = f64::from(days) * cost.amount;
    money_in_words(&cost.currency, amount.round())
}

fn days(n: i32) -> String {
    count(n.max(0) as usize, "day", "days")
}

/// From the day of closing to that of the report.
fn so_far(data: &ReportData, cost: &DayCost, since: Date) -> Option<String> {
    let n = days_between(since, data.as_of);
    if n < 1 {
        return None;
    }
    let (dates, amount) = (data.dates(), money(cost, n));
    let from = match cost.since {
        Some(_) => format!("since {}", dates.show(since)),
        None => format!("from the first planting on {}", dates.show(since)),
    };
    let late = data
        .open_by
        .filter(|_| data.opening_ahead().is_none())
        .map_or(String::new(), |open_by| {
            let n = days_between(open_by, data.as_of);
            format!(", {n} of them after the opening on {}", dates.show(open_by))
        });
    Some(format!(
        "Being closed has cost {amount} so far: {} {from}{late}.",
        days(n)
    ))
}

/// From the day of the report, or that of closing where it lies ahead, until every green is full.
fn to_come(data: &ReportData, cost: &DayCost, since: Date) -> Option<String> {
    let all = data.all_full?;
    // Of days that photos have not shown nobody can say what they cost.
    if data.n_at(Pace::Unseen) > 0 || all.date.is_some_and(|date| date <= data.as_of) {
        return None;
    }
    let from = data.as_of.max(since);
    let after = |date| days_between(from, date).max(0);
    let early = all.early.or(all.date.filter(|_| all.late.is_none()));
    if early.is_none() && all.late.is_none() {
        return None;
    }
    // An interval that has begun begins now.
    let early_days = early.map_or(0, after);
    let more = if from > since { " more" } else { "" };
    let every = match data.left_out().is_empty() {
        true => "every green",
        false => "every green with a visit",
    };
    let until = format!("Staying closed until {every} is full would cost");
    let (dates, amount) = (data.dates(), |n| money(cost, n));
    let counted = format!("after {}", dates.show(from));
    let part = data.opening_ahead().map_or(String::new(), |open_by| {
        past(data, open_by, early, all.late)
    });
    Some(match all.late.map(after) {
        Some(late) if late == early_days => {
            format!(
                "{until} about {}{more}: {} {counted}{part}.",
                amount(late),
                days(late)
            )
        }
        Some(late) => format!(
            "{until} between {} and {}{more}: {early_days} to {} {counted}{part}.",
            amount(early_days),
            amount(late),
            days(late)
        ),
        None => format!(
            "{until} {} or more{}: at least {} {counted}{part}.",
            amount(early_days),
            if more.is_empty() { "" } else { " from now on" },
            days(early_days)
        ),
    })
}

/// How many of those days lie after the opening.
fn past(data: &ReportData, open_by: Date, early: Option<Date>, late: Option<Date>) -> String {
    let after = |date| days_between(open_by, date).max(0);
    let early = early.map_or(0, after);
    let which = match late.map(after) {
        Some(0) => "none of them".to_owned(),
        Some(late) if late == early => format!("{late} of them"),
        Some(late) => format!("{early} to {late} of them"),
        None => format!("at least {early} of them"),
    };
    format!(
        ", {which} after the opening on {}",
        data.dates().show(open_by)
    )
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::report::example;

    fn season(early: (i8, i8), late: Option<(i8, i8)>) -> ReportData {
        let mut season = example::season();
        season.day_cost = Some(DayCost {
            currency: "$".to_owned(),
            amount: 7_250.0,
            since: Some(date(2027, 4, 30)),
        });
        let day = |(month, day)| date(2027, month, day);
        let all = season.all_full.as_mut().unwrap();
        all.early = Some(day(early));
        all.late = late.map(day);
        season
    }

    #[test]
    fn what_it_has_cost_and_what_it_will_are_told_with_their_days() {
        // The report is of Jul 11, 72 days after Apr 30; 44 and 54 days lie between it and the ends of the interval.
        assert_eq!(
            cost_of_delay(&season((8, 24), Some((9, 3)))).unwrap(),
            "Being closed has cost $522,000 so far: 72 days since Apr 30. Staying closed until every green is full would \
             cost between $319,000 and $391,500 more: 44 to 54 days after Jul 11, 10 to 20 of them after the opening \
             on Aug 14."
        );
        assert!(
            cost_of_delay(&season((8, 24), None))
                .unwrap()
                .ends_with("$319,000 or more from now on: at least 44 days after Jul 11, at least 10 of them after the opening on Aug 14.")
        );
        assert!(
            cost_of_delay(&season((8, 1), Some((8, 14))))
                .unwrap()
                .ends_with("21 to 34 days after Jul 11, none of them after the opening on Aug 14.")
        );
    }

    #[test]
    fn what_has_been_lost_does_not_begin_anew_with_each_report_or_opening() {
        let so_far = |season: &ReportData| {
            let told = cost_of_delay(season).unwrap();
            told.split_inclusive(". ").next().unwrap().to_owned()
        };
        let mut late = season((7, 20), Some((7, 29)));
        late.open_by = Some(date(2027, 7, 1));
        late.all_full.as_mut().unwrap().date = Some(date(2027, 7, 24));
        assert_eq!(
            so_far(&late),
            "Being closed has cost $522,000 so far: 72 days since Apr 30, 10 of them after the opening on Jul 1. "
        );
        late.as_of = date(2027, 7, 12);
        assert_eq!(
            so_far(&late),
            "Being closed has cost $529,250 so far: 73 days since Apr 30, 11 of them after the opening on Jul 1. "
        );
        // Where no day of closing is stated the first planting is.
        late.day_cost.as_mut().unwrap().since = None;
        late.open_by = None;
        assert_eq!(
            so_far(&late),
            "Being closed has cost $500,250 so far: 69 days from the first planting on May 4. "
        );
        // By the curves all are full: what is still to come nobody can say.
        late.all_full.as_mut().unwrap().date = Some(date(2027, 7, 9));
        assert!(!cost_of_delay(&late).unwrap().contains("Staying closed"));
        // Closed later than this report.
        late.day_cost.as_mut().unwrap().since = Some(date(2027, 7, 15));
        assert_eq!(cost_of_delay(&late), None);
    }

    #[test]
    fn without_a_figure_nothing_is_said() {
        assert_eq!(cost_of_delay(&example::season()), None);
    }
}
