//! The owner's page: one HTML file that needs nothing else, no network and no script.

use askama::Template;

use super::aside::Aside;
use super::compare_section::CompareSection;
use super::course_shapes::{Tile, tiles};
use super::curve_chart::has_events;
use super::format::{Dates, chance, count, cover, gain, keep_dates_whole, thousands, visible};
use super::green_section::{Section, shared_notes};
use super::lead::{Lead, class};
use super::methods::{Methods, cautions};
use super::owner_words::for_the_owner;
use super::palette::{SHADES, variables};
use super::svg::CHART_CSS;
use super::thin_section::{ThinRow, thin_rows};
use super::{Dress, GreenReport, Pace, ReportData, ReportError, Room, overview_chart};

const PAGE_CSS: &str = include_str!("templates/page.css");

/// The whole page as HTML.
///
/// # Errors
/// [`ReportError::Page`] where the template cannot be filled in.
pub fn report_page(data: &ReportData) -> Result<String, ReportError> {
    Page::of(data).render().map_err(|source| ReportError::Page {
        page: "report",
        source,
    })
}

#[derive(Template)]
#[template(path = "report.html", config = "src/report/askama.toml")]
struct Page {
    course: String,
    as_of: String,
    css: String,
    lead: Lead,
    tiles: Vec<Tile>,
    shades: [&'static str; 8],
    has_guess: bool,
    has_milestones: bool,
    has_log: bool,
    overview_wide: String,
    overview_narrow: String,
    opening: Option<String>,
    rows: Vec<Row>,
    greens: Vec<Section>,
    thin: Option<Vec<ThinRow>>,
    thin_sprigs: Option<String>,
    notes: Vec<String>,
    shared_notes: Vec<String>,
    compared: Vec<CompareSection>,
    n_found: String,
    n_measured: String,
    n_missing: usize,
    set_aside: Vec<Aside>,
    n_aside: String,
    methods: Methods,
    cautions: Vec<&'static str>,
}

/// A line of the table of greens.
pub(crate) struct Row {
    pub(crate) title: String,
    pub(crate) id: String,
    pub(crate) planted: String,
    pub(crate) days: String,
    pub(crate) n_visits: usize,
    pub(crate) cover: String,
    pub(crate) gain: String,
    pub(crate) full: String,
    pub(crate) range: String,
    pub(crate) chance: String,
    pace: &'static str,
    pub(crate) class: &'static str,
    pub(crate) standing: &'static str,
    status: &'static str,
    is_troubled: bool,
}

impl Page {
    fn of(data: &ReportData) -> Page {
        let dates = data.dates();
        let row = |green| Row::of(data, green, dates);
        let tiles = tiles(data);
        let any = |holds: fn(&GreenReport) -> bool| data.greens.iter().any(holds);
        Page {
            course: visible(&data.course),
            as_of: data.date_style.full(data.as_of),
            css: variables() + PAGE_CSS + CHART_CSS,
            lead: Lead::of(data),
            has_milestones: any(|green| !green.milestones.is_empty()),
            has_log: any(has_events),
            has_guess: tiles.iter().any(|tile| !tile.is_known),
            tiles,
            shades: SHADES,
            overview_wide: overview_chart(data, Room::Wide, Dress::Page),
            overview_narrow: overview_chart(data, Room::Narrow, Dress::Page),
            opening: data.opening_ahead().map(|date| dates.show(date)),
            rows: data.greens.iter().map(row).collect(),
            greens: data
                .greens
                .iter()
                .map(|green| Section::of(data, green))
                .collect(),
            thin: thin_rows(data),
            thin_sprigs: data.thin_sprigs.as_deref().map(visible),
            notes: data
                .notes
                .iter()
                .filter_map(|note| for_the_owner(note))
                .map(|note| visible(&note))
                .collect(),
            shared_notes: shared_notes(data),
            compared: data
                .comparisons
                .iter()
                .enumerate()
                .map(|(place, comparison)| CompareSection::of(comparison, place))
                .collect(),
            n_found: count(data.photos.n_found(), "photo", "photos"),
            n_measured: thousands(data.photos.n_measured as f64),
            n_missing: data.photos.n_missing,
            set_aside: data
                .photos
                .by_reason(data.date_style)
                .into_iter()
                .map(Aside::for_the_owner)
                .collect(),
            n_aside: thousands(data.photos.set_aside.len() as f64),
            methods: Methods::of(data),
            cautions: cautions(data),
        }
    }
}

impl Row {
    pub(crate) fn of(data: &ReportData, green: &GreenReport, dates: Dates) -> Row {
        let outlook = &green.outlook;
        let dash = || "–".to_owned();
        Row {
            title: short_whole(visible(&green.title())),
            id: visible(green.id.as_str()),
            planted: keep_dates_whole(&dates.show(green.planted)),
            days: green.days_grown.map_or_else(dash, |days| days.to_string()),
            n_visits: green.visits.len(),
            cover: green
                .visits
                .last()
                .map_or_else(dash, |visit| cover(visit.cover, data.goal)),
            gain: match (green.gain_last_week.map(gain), data.missed_since(green)) {
                (Some(gain), Some(day)) => format!("{gain} to {}", data.date_style.short(day)),
                (gain, _) => gain.unwrap_or_default(),
            },
            full: outlook
                .day_cell(dates)
                .map_or_else(dash, |day| keep_dates_whole(&day)),
            range: keep_dates_whole(&green.range_cell(dates).unwrap_or_default()),
            chance: match green.pace() {
                Pace::Full => "full".to_owned(),
                _ => outlook.chance_by_opening.map_or_else(dash, chance),
            },
            pace: green.unsure(green.pace().tag()),
            class: class(green.pace()),
            status: outlook.status.words(),
            standing: green.standing(),
            is_troubled: green.standing() != green.unsure(green.pace().tag()),
        }
    }
}

/// A short name without a place to break it.
fn short_whole(name: String) -> String {
    if name.chars().count() <= 12 {
        name.replace(' ', "\u{a0}")
    } else {
        name
    }
}
