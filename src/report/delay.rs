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
    let opening = data.dates().show(open_by);
    let money = |days: i32| {
        let amount = f64::from(days) * cost.amount;
        money_in_words(&cost.currency, rounded(amount))
    };
    let after = |date| days_between(open_by, date).max(0);
    let early = after(all.early.or(all.date)?);
    let until = "Staying closed until every green is full would cost";
    Some(match all.late.map(after) {
        Some(0) => format!(
            "Every green is expected to be full before {opening}, so that waiting for full cover costs no day."
        ),
        Some(late) if late == early => format!(
            "{until} about {}: {} after {opening}.",
            money(late),
            count(late as usize, "day", "days")
        ),
        Some(late) => format!(
            "{until} between {} and {}: {early} to {} after {opening}.",
            money(early),
            money(late),
            count(late as usize, "day", "days")
        ),
        None => format!(
            "{until} {} or more: at least {} after {opening}.",
            money(early),
            count(early as usize, "day", "days")
        ),
    })
}

/// Two figures are all that such an estimate bears.
fn rounded(amount: f64) -> f64 {
    if amount <= 0.0 {
        return 0.0;
    }
    let unit = 10_f64.powf(amount.log10().floor() - 1.0);
    (amount / unit).round() * unit
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
        // 10 × 7,250 = 72,500 and 20 × 7,250 = 145,000, to two figures.
        assert_eq!(
            cost_of_delay(&season((8, 24), Some((9, 3)))).unwrap(),
            "Staying closed until every green is full would cost between $73,000 and $150,000: 10 to 20 days \
             after Aug 14."
        );
        assert_eq!(
            cost_of_delay(&season((8, 10), Some((8, 15)))).unwrap(),
            "Staying closed until every green is full would cost between $0 and $7,300: 0 to 1 day after \
             Aug 14."
        );
        assert!(
            cost_of_delay(&season((8, 24), None))
                .unwrap()
                .contains("$73,000 or more")
        );
        assert!(
            cost_of_delay(&season((8, 1), Some((8, 14))))
                .unwrap()
                .contains("costs no day")
        );
    }

    #[test]
    fn without_a_figure_nothing_is_said() {
        assert_eq!(cost_of_delay(&example::season()), None);
    }
}
