//! The sheet for the next photo walk, to carry along or to print.

use askama::Template;

use super::format::{Dates, keep_dates_whole, visible, whole_cover};
use super::green_section::picture;
use super::palette::variables;
use super::sentences::title;
use super::walk::{Daylight, RULES, Walk, WalkStop};
use super::{ReportError, green_section::Picture};
use crate::course::{Cover, DateStyle, DisplayUnits};

const PAGE_CSS: &str = include_str!("templates/page.css");
const WALK_CSS: &str = include_str!("templates/walk.css");

/// The sheet as HTML: one file, no network, no script.
///
/// # Errors
/// [`ReportError::Page`] where the template cannot be filled in.
pub fn walk_page(walk: &Walk) -> Result<String, ReportError> {
    let dates = walk.dates();
    let page = Page {
        course: visible(&walk.course),
        day: walk.date_style.with_weekday(walk.date),
        css: variables() + PAGE_CSS + WALK_CSS,
        all_of_it: walk.all_of_it(),
        light: light(&walk.daylight, walk.date_style),
        rules: RULES,
        stops: walk
            .stops
            .iter()
            .map(|stop| Stop::of(stop, walk, dates))
            .collect(),
    };
    page.render().map_err(|source| ReportError::Page {
        page: "walk sheet",
        source,
    })
}

#[derive(Template)]
#[template(path = "walk.html", config = "src/report/askama.toml")]
struct Page {
    course: String,
    day: String,
    css: String,
    all_of_it: String,
    light: Option<String>,
    rules: [&'static str; 5],
    stops: Vec<Stop>,
}

struct Stop {
    title: String,
    id: String,
    way: Option<String>,
    last: String,
    n_photos: usize,
    why: String,
    carry: Option<String>,
    stations: Vec<Station>,
}

struct Station {
    id: String,
    last: Option<Picture>,
}

impl Stop {
    fn of(stop: &WalkStop, walk: &Walk, dates: Dates) -> Stop {
        let last = keep_dates_whole(&seen(stop, dates));
        Stop {
            title: visible(&title(&stop.name, stop.green.as_str())),
            id: visible(stop.green.as_str()),
            way: stop.metres_from_last.map(|metres| way(metres, walk.units)),
            last,
            n_photos: stop.n_photos,
            why: visible(&stop.why),
            carry: walk.carried(stop),
            stations: stop
                .stations
                .iter()
                .map(|station| Station {
                    id: visible(station.id.as_str()),
                    last: station
                        .last
                        .as_ref()
                        .map(|last| picture(last, Cover::FULL, dates)),
                })
                .collect(),
        }
    }
}

/// How a green stood at its last visit.
pub(super) fn last_seen(stop: &WalkStop, walk: &Walk) -> String {
    seen(stop, walk.dates())
}

fn seen(stop: &WalkStop, dates: Dates) -> String {
    stop.last.map_or("no photo yet".to_owned(), |visit| {
        let cover = whole_cover(visit.cover, Cover::FULL);
        format!("{cover} green on {}", dates.show(visit.date))
    })
}

/// A way on foot; nearer than ten is not worth telling apart.
pub(super) fn way(metres: f64, units: DisplayUnits) -> String {
    const YARDS_PER_METRE: f64 = 1.0 / 0.9144;
    let tens = |length: f64| (length / 10.0).round() * 10.0;
    match units {
        DisplayUnits::Us => format!("{} yd", tens(metres * YARDS_PER_METRE)),
        DisplayUnits::Metric => format!("{} m", tens(metres)),
    }
}

pub(super) fn light(daylight: &[Daylight], dates: DateStyle) -> Option<String> {
    let stretches = daylight.iter();
    let hours = stretches.map(|stretch| dates.times(stretch.from, "to", stretch.until));
    let lowest = daylight.first()?.sun_degrees;
    let hours = hours.collect::<Vec<_>>().join(" and ");
    Some(format!(
        "Best light: {hours}, while the sun stands {lowest:.0}° or higher. Thin cloud is better still."
    ))
}
