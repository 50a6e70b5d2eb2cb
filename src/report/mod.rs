//! What people read: tables, CSV, charts, the owner's page.
//!
//! Takes [`ReportData`], results that are already computed; gives text and bytes. Knows nothing of how
//! anything was computed, touches no file and no clock. Rounding for people, units and wording happen here; only notes come as sentences, from the room that knows what they are about.

mod aside;
mod audit_page;
mod audit_text;
mod axis;
mod backtest_chart;
mod backtest_csv;
#[cfg(test)]
mod backtest_tests;
mod backtest_text;
mod colour_error;
mod columns;
mod compare_charts;
mod compare_csv;
mod compare_lead;
mod compare_log_text;
mod compare_rate_text;
mod compare_section;
mod compare_statistics;
mod compare_text;
mod compare_verdict;
mod compare_words;
mod course_shapes;
mod curve_chart;
mod delay;
mod error;
#[cfg(test)]
pub(crate) mod example;
mod forecast_text;
mod format;
mod geojson;
mod green_map;
mod green_section;
mod headline;
mod history;
mod in_time;
mod judged_page;
mod lead;
mod line_name;
mod marks_page;
mod methods;
mod model;
mod next;
mod outlook;
mod overview_chart;
mod owner_pdf;
mod owner_pdf_compare;
mod owner_pdf_parts;
mod owner_pdf_pictures;
mod owner_pdf_rest;
mod owner_words;
mod pace;
mod page;
#[cfg(test)]
mod page_tests;
mod palette;
mod pdf;
mod planting_text;
mod sentences;
mod station_changes;
mod svg;
mod tables;
mod text;
mod thin_list;
mod thin_section;
mod told_once;
mod walk;
mod walk_page;
mod walk_pdf;
mod walk_slates;
#[cfg(test)]
mod walk_tests;

use crate::forecast::Status;

pub use audit_page::{AuditPage, answers_file, audit_page};
pub use audit_text::{AuditFacts, AuditStory, audit_text};
pub use backtest_chart::backtest_chart;
pub use backtest_csv::{backtest_csv, backtest_files};
pub use backtest_text::backtest_text;
pub use colour_error::{colour_error_words, colour_points};
pub use compare_charts::{cost_chart, levels_chart, means_chart};
pub use compare_csv::{comparison_files, means_csv};
pub use compare_text::comparison_text;
#[cfg(test)]
pub(crate) use curve_chart::curve_picture;
pub use curve_chart::{Room, curve_chart};
pub use error::ReportError;
pub use forecast_text::forecast_details;
pub(crate) use format::count;
pub use green_map::green_map;
pub use history::{Earlier, EarlierGreen, EarlierSource, LogKind, LogLine, OpeningMoved};
pub use marks_page::{MARKS_FILE, MarksPage, MarksView, marks_page};
pub use model::{
    AllFull, Caution, CurveFacts, CurvePoint, DayCost, Estimate, GreenReport, Ground, Method,
    Opening, Outlook, PhotoCounts, ReportData, SetAside, Stage, ThinPlace, Thumbnail, VisitPoint,
};
pub use next::next_steps;
pub use overview_chart::overview_chart;
pub(crate) use overview_chart::overview_picture;
pub use owner_pdf::report_pdf;
pub use pace::Pace;
pub use page::report_page;
pub use planting_text::plantings_text;
pub use station_changes::{StationChange, StationReport};
pub use svg::Dress;
pub use tables::{
    Column, Kind, Marks, Table, cells_geojson, cells_table, changes_table, cover_table,
    forecast_geojson, forecast_table, photos_geojson, photos_json, photos_table,
    thin_areas_geojson, thin_areas_table,
};
pub use text::{Style, greens_table, photo_counts, set_aside_in_full, steps_text, summary, title};
pub use thin_list::{ThinLine, maps_in_words, maps_json, sprigs_in_all, thin_lines, thin_places};
pub use told_once::{Told, told_once};
pub use walk::{Carry, Daylight, Walk, WalkStation, WalkStop};
pub use walk_page::walk_page;
pub use walk_pdf::{slates_pdf, walk_pdf};
pub use walk_slates::slates_page;
