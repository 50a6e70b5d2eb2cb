//! What waiting past the opening date costs, where the course file says what a day costs.

use super::format::{count, days_between, money as money_in_words};
use super::{Pace, ReportData};

/// The cost of the days between the opening date and full cover of the last green, as a range.
///
/// It takes the course to stay closed until every green is full, which the sentence says.
pub(crate) fn cost_of_delay(data: &ReportData) -> Option<String> {
    let cost = data.day_cost.as_ref()?;
    let open_by = data.open_by?;
    let all = data.all_full?;
    if data.n_at(Pace::Full) == data.greens.len() {
        return None;
    }
    let money = |days: i32| {
        let amount = f64::from(days) * cost.amount;
        money_in_words(&cost.currency, amount.round())
    };
    // What has been lost by now is lost: once the opening has passed, only the days ahead count.
    let is_ahead = data.opening_ahead().is_some();
    let from = if is_ahead { open_by } else { data.as_of };
    if !is_ahead && (data.n_at(Pace::Unseen) > 0 || all.date.is_none_or(|date| date <= from)) {
        return None;
    }
    let day = data.dates().show(from);
    let after = |date| days_between(from, date).max(0);
    let early = all.early.or(all.date.filter(|_| all.late.is_none()));
    // An interval that has begun begins now.
    let early = early.map_or(0, after);
    let until = "Staying closed until every green is full would cost";
    Some(match all.late.map(after) {
        Some(0) => {
            format!(
                "Every green is expected to be full before {day}, so that waiting for full cover costs no day."
            )
        }
        Some(late) if late == early => format!(
            "{until} about {}: {} after {day}.",
            money(late),
            count(late as usize, "day", "days")
        ),
        Some(late) => format!(
            "{until} between {} and {}: {early} to {} after {day}.",
            money(early),
            money(late),
            count(late as usize, "day", "days")
        ),
        None if all.early.is_none() && all.date.is_none() => return None,
        None => format!(
            "{until} {} or more: at least {} after {day}.",
            money(early),
            count(early as usize, "day", "days")
        ),
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::report::{DayCost, example};

    fn season(early: (i8, i8), late: Option<(i8, i8)>) -> ReportData {
        let mut season = example::season();
        season.day_cost = Some(DayCost {
            currency: "$".to_owned(),
            amount: 7_250.0,
        });
        let day = |(month, day)| date(2027, month, day);
        let all = season.all_full.as_mut().unwrap();
        all.early = Some(day(early));
        all.late = late.map(day);
        season
    }

    #[test]
    fn the_cost_is_a_range_with_its_days() {
        // 10 × 7,250 and 20 × 7,250.
        assert_eq!(
            cost_of_delay(&season((8, 24), Some((9, 3)))).unwrap(),
            "Staying closed until every green is full would cost between $72,500 and $145,000: 10 to 20 days \
             after Aug 14."
        );
        assert_eq!(
            cost_of_delay(&season((8, 10), Some((8, 15)))).unwrap(),
            "Staying closed until every green is full would cost between $0 and $7,250: 0 to 1 day after \
             Aug 14."
        );
        assert!(
            cost_of_delay(&season((8, 24), None))
                .unwrap()
                .contains("$72,500 or more")
        );
        assert!(
            cost_of_delay(&season((8, 1), Some((8, 14))))
                .unwrap()
                .contains("costs no day")
        );
    }

    #[test]
    fn once_the_opening_has_passed_only_the_days_ahead_cost() {
        let mut late = season((7, 20), Some((7, 29)));
        late.open_by = Some(date(2027, 7, 1));
        late.all_full.as_mut().unwrap().date = Some(date(2027, 7, 24));
        // The report is of Jul 11.
        assert_eq!(
            cost_of_delay(&late).unwrap(),
            "Staying closed until every green is full would cost between $65,250 and $130,500: 9 to 18 days \
             after Jul 11."
        );
        late.all_full.as_mut().unwrap().date = Some(date(2027, 7, 9));
        assert_eq!(cost_of_delay(&late), None);
    }

    #[test]
    fn without_a_figure_nothing_is_said() {
        assert_eq!(cost_of_delay(&example::season()), None);
    }
}
