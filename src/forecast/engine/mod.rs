//! The forecasting engine: all greens of a season learn from each other.
//!
//! Takes cover by day and the growth of each day; gives draws of the day on which each green is full. Knows
//! nothing of calendars, files or words.

mod apart;
#[cfg(test)]
mod calibration;
mod doubt;
mod explore;
mod fit;
mod hyper;
mod panel;
mod predict;
mod setback;
mod shape;

pub(crate) use apart::reached_apart;
pub(crate) use explore::{Top, explore};
pub(crate) use hyper::Prior;
pub(crate) use panel::{Loss, LossKind, Observation, Panel, Track, Trust, variance_of_photo};
pub(crate) use predict::{Draw, Future, PATH_DAYS, predict};
pub(crate) use shape::logistic;
