//! How people and their spreadsheets write tables: separators, decimal commas, dates.
//!
//! Takes the bytes of a table, or a field; gives its names and rows, the number, or what a date should have been; a day
//! or a time in words; or what stands there as a message may show it. Knows nothing of what a table is about.

mod date_order;
mod date_style;
mod field;
mod month_name;
mod separator;
mod table;
mod text;
mod visible;

pub(crate) use date_order::DateOrder;
pub use date_style::{ClockFace, DateStyle, DayOrder};
pub(crate) use field::{Comma, date_advice, is_missing, number};
pub use table::TableError;
pub(crate) use table::{Row, Table, table};
pub(crate) use text::text_of;
pub(crate) use visible::{excerpt, visible};
