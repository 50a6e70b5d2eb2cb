//! For how long scalping and sand hide leaves.

use jiff::civil::Date;

use super::{Log, What};
use crate::course::GreenId;

/// Scalping and sand hide leaves for so many days at the most (common practice, no source).
pub const HIDDEN_DAYS: i32 = 10;

/// Whether scalping or sand of one day may hide leaves on another. A visit on the day itself comes before the work as
/// often as after it.
pub fn hides_leaves(worked: Date, seen: Date) -> bool {
    (0..=HIDDEN_DAYS).contains(&(seen - worked).get_days())
}

impl Log {
    /// The last day on which this was done to a green so that it may hide leaves on `seen`. Sand of the day itself does not:
    /// people walk first and spread it then (common practice, no source).
    pub fn hidden_since(&self, green: &GreenId, what: What, seen: Date) -> Option<Date> {
        self.of(green)
            .filter(|entry| entry.what == what && hides_leaves(entry.date, seen))
            .map(|entry| entry.date)
            .filter(|worked| what != What::Topdressed || *worked < seen)
            .max()
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::season::read_log_csv;

    #[test]
    fn sand_hides_leaves_from_the_day_after_it_to_the_tenth() {
        let log = read_log_csv(
            "date,green,what\n2027-06-01,G01,topdressing\n2027-06-03,,topdressing\n2027-06-03,,mowing\n",
        )
        .unwrap();
        let since = |green: &str, day| {
            log.hidden_since(
                &GreenId::new(green).unwrap(),
                What::Topdressed,
                date(2027, 6, day),
            )
        };
        assert_eq!(since("G01", 2), Some(date(2027, 6, 1)));
        assert_eq!(since("G02", 2), None);
        assert_eq!(since("G01", 3), Some(date(2027, 6, 1)), "the day itself");
        assert_eq!(since("G02", 3), None);
        for green in ["G01", "G02"] {
            assert_eq!(since(green, 4), Some(date(2027, 6, 3)));
            assert_eq!(since(green, 13), Some(date(2027, 6, 3)));
            assert_eq!(since(green, 14), None);
        }
    }
}
