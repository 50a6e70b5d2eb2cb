//! Sprigcast: from weekly overhead photos of sprigged putting greens to percent cover, an establishment
//! curve and the date on which each green will be full.
//!
//! The data flow, one room a step; a room may use those above it and never those below:
//!
//! | room | takes | gives |
//! | --- | --- | --- |
//! | [`files`] | a path and bytes | a file, whole or not at all |
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
//!
//! From a course file and cover that was measured elsewhere to the day on which a green will be full:
//!
//! ```
//! use std::error::Error;
//! use std::path::Path;
//!
//! use sprigcast::course::Course;
//! use sprigcast::forecast::{Options, Status, read_cover_csv, season};
//!
//! fn main() -> Result<(), Box<dyn Error>> {
//!     let course = r#"
//!         [course]
//!         name = "Pennywhistle Bend"
//!         time_zone = "America/New_York"
//!
//!         [[green]]
//!         id = "G07"
//!         planted = 2027-05-18
//!         species = "zoysiagrass"
//!     "#;
//!     let cover = "green,date,cover_percent,photos\n\
//!                  G07,2027-06-01,8,6\n\
//!                  G07,2027-06-08,17,6\n\
//!                  G07,2027-06-15,32,6\n\
//!                  G07,2027-06-22,51,6\n\
//!                  G07,2027-06-29,70,6\n";
//!
//!     let course = Course::parse(course, "course.toml", Path::new("."))?;
//!     let visits = read_cover_csv(cover, &course)?.visits;
//!     let forecast = season(&course, &visits, &Options::default());
//!
//!     let green = &forecast.greens[0];
//!     let full = green.full_cover;
//!     assert_eq!(green.status, Status::Growing);
//!     assert!(full.early < full.date && full.date < full.late);
//!     assert!(full.date > green.last_visit);
//!     Ok(())
//! }
//! ```

pub mod assign;
pub mod commands;
pub mod compare;
pub mod course;
pub mod cover;
pub mod curve;
pub mod files;
pub mod forecast;
pub mod ledger;
pub mod map;
pub mod photo;
pub mod pipeline;
mod random;
mod ranked;
pub mod report;
pub mod season;
mod written;
