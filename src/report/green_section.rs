//! The part of the page about one green.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

use super::format::{
    Dates, area, capitalised, count, cover, days_between, gain, keep_dates_whole, visible,
    whole_cover,
};
use super::green_map::green_map_in_page;
use super::lead::class;
use super::owner_words::for_the_owner;
use super::thin_section::ThinRow;
use super::{
    Dress, Estimate, GreenReport, Ground, LogKind, ReportData, Room, StationReport, Thumbnail,
    VisitPoint, curve_chart, told_once,
};
use crate::course::{Cover, Species};
use crate::forecast::{EIGHT_IN_TEN, MilestoneKind};

/// So many remarks of people are shown of a green.
const MOST_SAID: usize = 3;

/// All of one green, in words and pictures.
pub(crate) struct Section {
    pub(crate) title: String,
    pub(crate) id: String,
    pub(crate) pace: &'static str,
    pub(crate) class: &'static str,
    pub(crate) facts: Vec<String>,
    pub(crate) explanation: String,
    pub(crate) notes: Vec<String>,
    pub(crate) chart_wide: String,
    pub(crate) chart_narrow: String,
    pub(crate) visits: Vec<VisitRow>,
    pub(crate) milestones: Vec<String>,
    pub(crate) ground: Option<GroundPart>,
    pub(crate) strips: Vec<Strip>,
    pub(crate) stations: Vec<StationRow>,
    pub(crate) said: Vec<LogRow>,
    pub(crate) log: Vec<LogRow>,
}

/// A line of the log.
pub(crate) struct LogRow {
    pub(crate) date: String,
    pub(crate) text: String,
    pub(crate) detail: String,
}

/// A line of the table of visits.
pub(crate) struct VisitRow {
    pub(crate) date: String,
    /// Address of its contact sheet.
    pub(crate) sheet: Option<String>,
    pub(crate) days: i32,
    pub(crate) cover: String,
    pub(crate) give_or_take: String,
    pub(crate) change: String,
    pub(crate) n_photos: usize,
    /// How many, or that it was seen from above.
    pub(crate) spots: String,
}

/// What changed at a station, in words.
pub(crate) struct StationRow {
    pub(crate) station: String,
    /// Address of its picture.
    pub(crate) picture: Option<String>,
    pub(crate) told: String,
}

/// The small pictures of one station, by date.
pub(crate) struct Strip {
    pub(crate) station: String,
    pub(crate) pictures: Vec<Picture>,
}

/// A small picture.
pub(crate) struct Picture {
    pub(crate) date: String,
    pub(crate) cover: String,
    pub(crate) data_uri: String,
}

/// Remarks as the owner reads them, each with the green that it is on.
fn owners_notes(data: &ReportData) -> impl Iterator<Item = (&GreenReport, String)> {
    data.greens.iter().flat_map(|green| {
        let notes = green.notes.iter();
        notes.filter_map(move |note| Some((green, for_the_owner(note)?)))
    })
}

/// Remarks that several greens share, told once, before the greens.
pub(crate) fn shared_notes(data: &ReportData) -> Vec<String> {
    let notes: Vec<(String, String)> = owners_notes(data)
        .map(|(green, note)| (green.title(), note))
        .collect();
    let told = told_once(
        notes
            .iter()
            .map(|(green, note)| (green.clone(), note.as_str())),
    );
    let shared = told.iter().filter(|told| told.greens.len() > 1);
    shared
        .map(|told| visible(&told.line(data.greens.len())))
        .collect()
}

/// Remarks that are on this green alone.
fn own_notes(data: &ReportData, green: &GreenReport) -> Vec<String> {
    let notes: Vec<(String, String)> = owners_notes(data)
        .map(|(of, note)| (of.id.to_string(), note))
        .collect();
    let told = told_once(notes.iter().map(|(id, note)| (id.clone(), note.as_str())));
    let own = told
        .into_iter()
        .filter(|told| told.greens == [green.id.as_str()]);
    own.map(|told| capitalised(&visible(&told.text))).collect()
}

impl Section {
    pub(crate) fn of(data: &ReportData, green: &GreenReport) -> Section {
        let dates = data.dates();
        Section {
            title: visible(&green.title()),
            id: visible(green.id.as_str()),
            pace: green.pace().tag(),
            class: class(green.pace()),
            facts: facts(data, green),
            explanation: keep_dates_whole(&visible(&green.explanation(data))),
            notes: own_notes(data, green),
            chart_wide: curve_chart(data, green, Room::Wide, Dress::Page),
            chart_narrow: curve_chart(data, green, Room::Narrow, Dress::Page),
            visits: visit_rows(data, green, dates),
            milestones: milestones(data, green, dates),
            ground: ground(data, green, dates),
            strips: strips(data, &green.thumbnails, dates),
            stations: stations(green, dates),
            said: said(green, dates),
            log: log_rows(green, dates),
        }
    }
}

fn facts(data: &ReportData, green: &GreenReport) -> Vec<String> {
    let species = green.species.as_ref().map(|species| match species {
        Species::Zoysiagrass => "zoysiagrass".to_owned(),
        Species::Bermudagrass => "bermudagrass".to_owned(),
        Species::Other(name) => visible(name),
    });
    let planted = data.dates().show(green.planted);
    let facts = [
        Some(format!("planted {planted}")),
        species,
        green.sprig_rate.as_deref().map(visible),
        green.area.map(|size| area(size, data.units)),
    ];
    facts.into_iter().flatten().collect()
}

fn visit_rows(data: &ReportData, green: &GreenReport, dates: Dates) -> Vec<VisitRow> {
    let mut before: Option<&VisitPoint> = None;
    let mut rows = Vec::new();
    for visit in &green.visits {
        let change = before.map(|before| visit.cover.percent() - before.cover.percent());
        let give_or_take = visit.se_percent.map(|se| se * EIGHT_IN_TEN);
        rows.push(VisitRow {
            date: dates.show(visit.date),
            sheet: green.contact_sheets.get(&visit.date).cloned(),
            days: days_between(green.planted, visit.date),
            cover: cover(visit.cover, data.goal),
            give_or_take: give_or_take.map_or(String::new(), |half| format!("{half:.1}")),
            change: change.map_or(String::new(), gain),
            n_photos: visit.n_photos,
            spots: match visit.estimate {
                Estimate::Above => "from above".to_owned(),
                Estimate::Mean | Estimate::Area => visit.n_spots.to_string(),
            },
        });
        before = Some(visit);
    }
    rows
}

/// Days on the way to full cover, in words.
fn milestones(data: &ReportData, green: &GreenReport, dates: Dates) -> Vec<String> {
    let told = green.milestones.iter().filter_map(|milestone| {
        let name = match milestone.what {
            MilestoneKind::Half => "Half cover",
            MilestoneKind::Mowing => "First mowing",
        };
        let day = milestone.date.map(|date| dates.show(date));
        let when = match (day, milestone.early, milestone.late) {
            (Some(day), _, _) if milestone.date <= Some(data.as_of) => {
                let is_there =
                    |visit: &VisitPoint| visit.cover.percent() >= milestone.cover_percent;
                let shown = green.visits.iter().any(is_there);
                let so_far = if shown {
                    ""
                } else {
                    ", not shown by photos yet"
                };
                format!("since {day} by its curve{so_far}")
            }
            (Some(day), Some(early), Some(late)) => {
                format!("about {day} ({})", dates.range(early, late))
            }
            (Some(day), _, _) => format!("about {day}"),
            (None, Some(early), None) => format!("not before {}", dates.show(early)),
            _ => return None,
        };
        let percent = milestone.cover_percent;
        Some(keep_dates_whole(&format!("{name} ({percent:.0}%) {when}")))
    });
    told.collect()
}

/// The map of a green in the page, and words to it.
pub(crate) struct GroundPart {
    pub(crate) picture: String,
    pub(crate) told: String,
    pub(crate) thin: Vec<ThinRow>,
}

fn ground(data: &ReportData, green: &GreenReport, dates: Dates) -> Option<GroundPart> {
    let Ground { map, outline } = green.ground.as_ref()?;
    let is_this = |other: &GreenReport| other.id == green.id;
    let idx = data.greens.iter().position(is_this).unwrap_or(0);
    let n_places = count(map.samples.len(), "place", "places");
    let source = match (map.n_from_above, map.samples.len()) {
        (0, _) => format!("worked out from photos at {n_places} (dots)"),
        (_, 0) => "seen from above".to_owned(),
        _ => format!("seen from above; the dots are {n_places} of photos on foot"),
    };
    let day = dates.show(map.date);
    let seen = match map.mean {
        Some(mean) if mean.seen < 0.995 => format!(
            " No photo tells of {:.0}% of the green, which stays blank.",
            (1.0 - mean.seen) * 100.0
        ),
        _ => String::new(),
    };
    let thin = ThinRow::of_green(data, green);
    let is_thinly_seen = map.n_from_above == 0 && map.samples.len() < LEAST_PLACES;
    let none = match (thin.is_empty(), is_thinly_seen) {
        (true, false) => {
            " No part of it lags the whole by 10 points or more, or will be full a week later."
        }
        (true, true) => " These are too few photos to tell whether a part of it lags.",
        (false, _) => "",
    };
    Some(GroundPart {
        picture: green_map_in_page(map, outline, &green.title(), data.units, &format!("m{idx}")),
        told: keep_dates_whole(&format!(
            "Cover over the green on {day}, {source}.{seen}{none}"
        )),
        thin,
    })
}

/// Photos on foot at fewer places than a walk takes of a green tell nothing of its parts.
const LEAST_PLACES: usize = 6;

/// What somebody has to say of the green, the newest first.
fn said(green: &GreenReport, dates: Dates) -> Vec<LogRow> {
    let notes = green.log.iter().rev();
    let notes = notes.filter(|line| line.kind == LogKind::Note);
    notes
        .take(MOST_SAID)
        .map(|line| LogRow {
            date: keep_dates_whole(&dates.show(line.date)),
            text: visible(&line.detail),
            detail: String::new(),
        })
        .collect()
}

fn log_rows(green: &GreenReport, dates: Dates) -> Vec<LogRow> {
    let events = green.log.iter();
    let events = events.filter(|line| line.kind == LogKind::Event);
    events
        .map(|line| LogRow {
            date: keep_dates_whole(&dates.show(line.date)),
            text: visible(&line.what),
            detail: visible(&line.detail),
        })
        .collect()
}

fn stations(green: &GreenReport, dates: Dates) -> Vec<StationRow> {
    let told = |station: &StationReport| {
        let changes = station.changes.iter().map(|change| {
            let since = dates.show(change.since);
            format!("since {since} {}", change.in_words())
        });
        changes.collect::<Vec<_>>().join("; ")
    };
    let rows = green.stations.iter().map(|station| StationRow {
        station: visible(station.station.as_str()),
        picture: station.picture.clone(),
        told: keep_dates_whole(&told(station)),
    });
    rows.collect()
}

fn strips(data: &ReportData, thumbnails: &[Thumbnail], dates: Dates) -> Vec<Strip> {
    let mut strips: Vec<Strip> = Vec::new();
    for thumbnail in thumbnails {
        let station = thumbnail.station.as_ref();
        let station = station.map_or(String::new(), |id| visible(id.as_str()));
        let picture = picture(thumbnail, data.goal, dates);
        match strips.last_mut().filter(|strip| strip.station == station) {
            Some(strip) => strip.pictures.push(picture),
            None => strips.push(Strip {
                station,
                pictures: vec![picture],
            }),
        }
    }
    strips
}

/// A small picture that is part of the page.
pub(crate) fn picture(thumbnail: &Thumbnail, goal: Cover, dates: Dates) -> Picture {
    let cover = thumbnail.cover.map(|cover| whole_cover(cover, goal));
    let jpeg = STANDARD.encode(&thumbnail.jpeg);
    Picture {
        date: keep_dates_whole(&dates.show(thumbnail.date)),
        cover: cover.unwrap_or_default(),
        data_uri: format!("data:image/jpeg;base64,{jpeg}"),
    }
}
