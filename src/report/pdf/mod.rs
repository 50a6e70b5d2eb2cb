//! Pages of vector graphics and real text as PDF.
//!
//! Takes shapes and words in points (1/72 inch) from the upper left corner; gives the bytes of a file that
//! carries its letters along. The same pages give the same bytes. Knows nothing of greens.

mod face;
mod file;
mod look;
#[cfg(test)]
pub(crate) mod other_programs;
mod sheet;

pub(crate) use face::{Faces, Weight};
pub(crate) use file::{Document, Paper};
pub(crate) use look::paint;
pub(crate) use sheet::{Colour, Sheet, Stroke, Words};
