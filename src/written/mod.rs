//! How people and their spreadsheets write tables: separators, decimal commas, dates.
//!
//! Takes the text of a table or a field; gives the separator, the number, or what a date should have been; or a day in words. Knows
//! nothing of what a table is about.

mod date_order;
mod field;
mod separator;
mod short_date;

pub(crate) use date_order::DateOrder;
pub(crate) use field::{date_advice, number};
pub(crate) use separator::separator;
pub(crate) use short_date::short_date;
