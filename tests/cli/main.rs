//! Drives the program as a person would: folders in, text, files and exit codes out.

mod audit;
mod audit_browser;
mod backtest;
mod bad_input;
mod browser;
mod compare;
mod course_file;
mod exports;
mod fitted;
mod from_above;
mod main_job;
mod marks_browser;
mod metric;
mod not_counted;
mod on_the_ground;
mod outlook;
mod photo_quality;
mod pictures;
mod places;
mod report_browser;
mod report_paper;
mod sample_truth;
mod season;
mod slates;
mod small_commands;
mod stations;
