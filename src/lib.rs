//! Sprigcast: from weekly overhead photos of sprigged putting greens to percent cover, an establishment
//! curve and the date on which each green will be full.
//!
//! The data flow, one room a step; a room may use those above it and never those below:
//!
//! | room | takes | gives |
//! | --- | --- | --- |
//! | [`course`] | `course.toml` | a checked [`course::Course`]: greens, stations, goal, units |
//! | [`photo`] | a folder of image files | pixels, and what each photo says of itself |
//! | [`assign`] | a photo's name and place | the green it belongs to, or a reason |
//! | [`cover`] | pixels and a colour window | percent cover of a photo, then of a visit |
//! | [`ledger`] | readings | the same readings, kept in one GeoPackage file |
//! | [`season`] | weather, dates | degree days, events |
//! | [`curve`] | points in time | a fitted establishment curve with standard errors |
//! | [`forecast`] | curve, goal, planting date | the date of full cover with an interval, and chances |
//! | [`compare`] | cover by green, levels of factors | which differ, by how much, and what it is worth |
//! | [`map`] | outlines, cover at places | cells of each green, areas that lag |
//! | [`report`] | results | tables, CSV, charts, the owner's page |
//! | [`pipeline`] | all of the above | the stages in order, without a terminal |
//! | [`commands`] | a command line | an exit code |

pub mod assign;
pub mod commands;
pub mod compare;
pub mod course;
pub mod cover;
pub mod curve;
pub mod forecast;
pub mod ledger;
pub mod map;
pub mod photo;
pub mod pipeline;
mod random;
pub mod report;
pub mod season;
mod written;
