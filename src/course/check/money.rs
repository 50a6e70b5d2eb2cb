//! `[money]`: what sprigs and days cost.

use jiff::civil::Date;

use super::Findings;
use super::values::date;
use crate::course::file::MoneyTable;
use crate::course::model::Money;
use crate::course::table::Field;
use crate::course::units::{Bushel, CostPerVolume, SquareMetres};

pub(super) fn money(
    table: &MoneyTable,
    bushel: &Field<Bushel>,
    open_by: Option<Date>,
    findings: &mut Findings<'_>,
) -> Money {
    Money {
        currency: currency(&table.currency, findings),
        sprig_cost: sprig_cost(&table.sprig_cost, bushel, findings),
        day_closed: day_closed(&table.day_closed, findings),
        closed_since: closed_since(&table.closed_since, open_by, findings),
        greens_area: greens_area(&table.greens_area, findings),
    }
}

fn currency(field: &Field<String>, findings: &mut Findings<'_>) -> String {
    if let Some((written, span)) = field.written() {
        let written = written.trim();
        if (1..=4).contains(&written.chars().count()) {
            return written.to_owned();
        }
        let help = "write a sign or code, such as currency = \"$\" or currency = \"USD\"";
        findings.fault(span, "a currency has 1 to 4 characters", "which?", help);
    }
    Money::CURRENCY.to_owned()
}

fn sprig_cost(
    field: &Field<String>,
    bushel: &Field<Bushel>,
    findings: &mut Findings<'_>,
) -> Option<CostPerVolume> {
    let (text, span) = field.written()?;
    let bushel = match bushel {
        Field::Written(bushel) => Some(*bushel.get_ref()),
        Field::Absent => None,
        // Its fault is told; any bushel will do to find further ones.
        Field::Faulty => Some(Bushel::US),
    };
    match CostPerVolume::parse(text, bushel) {
        Ok(cost) => Some(cost),
        Err(error) => {
            findings.fault(
                span,
                "the cost of sprigs cannot be read",
                error.label(),
                error.to_string(),
            );
            None
        }
    }
}

fn day_closed(field: &Field<f64>, findings: &mut Findings<'_>) -> Option<f64> {
    let (value, span) = field.written()?;
    if *value >= 0.0 {
        return Some(*value);
    }
    findings.fault(
        span,
        format!("a day closed costs {value}: less than nothing"),
        "below 0",
        "write the revenue lost on a day, such as day_closed = 6500.0",
    );
    None
}

fn closed_since(
    field: &Field<String>,
    open_by: Option<Date>,
    findings: &mut Findings<'_>,
) -> Option<Date> {
    let since = date("closed_since", field, findings)?;
    if let (Some(open_by), Some((_, span))) = (open_by, field.written())
        && since >= open_by
    {
        findings.fault(
            span,
            format!("closed since {since}, and yet to open by {open_by}"),
            "too late",
            "write the first day on which the course was closed for this work",
        );
        return None;
    }
    Some(since)
}

fn greens_area(field: &Field<String>, findings: &mut Findings<'_>) -> Option<SquareMetres> {
    let (text, span) = field.written()?;
    match SquareMetres::parse(text) {
        Ok(area) => Some(area),
        Err(error) => {
            findings.fault(
                span,
                "the area of all greens cannot be read",
                error.label(),
                error.to_string(),
            );
            None
        }
    }
}
