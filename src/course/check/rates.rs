//! Sprig rates: read with the course's bushel, and compared only after conversion.

use std::collections::BTreeMap;

use super::Findings;
use crate::course::error::Fault;
use crate::course::file::CourseTable;
use crate::course::source::Span;
use crate::course::table::Field;
use crate::course::units::{Bushel, DisplayUnits, SprigRate, UnitError};

/// Rates outside of these are slips of the unit more often than plans, in m³/ha. Published rates for greens
/// run from 91 to 182 (HortScience 44(6), 2009), trade trials go down to 17 (200 US bu/ac).
const USUAL: std::ops::RangeInclusive<f64> = 10.0..=400.0;

/// Reads the rates of a course's greens and remembers what concerns all of them together.
pub(super) struct Rates<'f> {
    bushel: &'f Field<Bushel>,
    /// Rates in bushels that nobody has defined: the green, as written, where.
    undefined: Vec<(String, String, Span)>,
    /// The units written, and where first.
    units: BTreeMap<String, Span>,
}

impl<'f> Rates<'f> {
    pub(super) fn new(bushel: &'f Field<Bushel>) -> Rates<'f> {
        Rates {
            bushel,
            undefined: Vec::new(),
            units: BTreeMap::new(),
        }
    }

    /// The rate of `green`, where one is written.
    pub(super) fn read(
        &mut self,
        green: &str,
        field: &Field<String>,
        findings: &mut Findings<'_>,
    ) -> Option<SprigRate> {
        let (text, span) = field.written()?;
        let bushel = match self.bushel {
            Field::Written(bushel) => Some(*bushel.get_ref()),
            Field::Absent => None,
            // Its fault is told; any bushel will do to find further ones.
            Field::Faulty => Some(Bushel::US),
        };
        match SprigRate::parse(text, bushel) {
            Ok(written) => {
                if !USUAL.contains(&written.rate.cubic_metres_per_hectare) {
                    let metric = written.rate.show(DisplayUnits::Metric, None);
                    findings.note(
                        &span,
                        format!("the sprig rate of green `{green}`, {text}, is {metric}, where 17 to 182 is usual; is the unit right?"),
                    );
                }
                self.units.entry(written.unit.to_string()).or_insert(span);
                Some(written.rate)
            }
            Err(UnitError::NoBushel { text }) => {
                self.undefined.push((green.to_owned(), text, span));
                None
            }
            Err(error) => {
                findings.fault(
                    span,
                    format!("the sprig rate of green `{green}` cannot be read"),
                    error.label(),
                    error.to_string(),
                );
                None
            }
        }
    }

    /// Tells what concerns all rates together.
    pub(super) fn finish(self, course: &CourseTable, findings: &mut Findings<'_>) {
        if let Some((green, text, span)) = self.undefined.first() {
            let others = match self.undefined.len() - 1 {
                0 => String::new(),
                1 => " (and that of 1 other)".to_owned(),
                n => format!(" (and that of {n} others)"),
            };
            let line = findings.source.line_of(course.heading.start);
            let fault = Fault::new(
                span.clone(),
                format!(
                    "the sprig rate of green `{green}`{others} is in bushels, and the file does not say how much a bushel is"
                ),
                format!("`{text}`: which bushel?"),
                format!(
                    "bushels of sprigs run from 0.32 to 1.2445 ft³; add sprig_bushel = \"us\" (1.2445 ft³) or a volume such as \"0.4 ft3\" below line {line}"
                ),
            );
            findings
                .faults
                .push(fault.also(course.heading.clone(), "add sprig_bushel = \"us\" below"));
        }
        if self.units.len() > 1 {
            let units: Vec<&str> = self.units.keys().map(String::as_str).collect();
            let (last, rest) = units.split_last().expect("there are several");
            let span = self.units.values().min_by_key(|span| span.start).cloned();
            findings.note(
                &span.unwrap_or_default(),
                format!(
                    "sprig rates are written in {} and {last}; they are compared as m³/ha",
                    rest.join(", ")
                ),
            );
        }
    }
}
