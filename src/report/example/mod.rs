//! An invented season to test with: 18 greens of the fictional Pennywhistle Bend, each way of standing among
//! them. Figures are made up, and made the same way every time.

mod photos;
mod walk;

use std::f64::consts::TAU;

use geo::{LineString, MultiPolygon, Polygon};
use jiff::Span;
use jiff::civil::{Date, Weekday, date};

pub(crate) use photos::{photo_quality, photo_rows};
pub(crate) use walk::{thumbnail, walk};

use super::{
    AllFull, Caution, CurveFacts, CurvePoint, Estimate, GreenReport, Ground, LogKind, LogLine,
    Method, Opening, Outlook, PhotoCounts, ReportData, SetAside, Stage, Status, ThinPlace,
    Thumbnail, VisitPoint,
};
use crate::course::{
    Cover, DateStyle, DisplayUnits, GreenId, Outline, Owner, Plane, Position, Species, SquareMetres,
};
use crate::cover::VisitKey;
use crate::forecast::{Clock, Milestone, MilestoneKind};
use crate::map::{MapOptions, MapSource, PairSet, Sample, Side, map_green};
use crate::photo::{PhotoName, Reason, Unreadable};

pub(crate) const AS_OF: Date = date(2027, 7, 11);
pub(crate) const OPEN_BY: Date = date(2027, 8, 14);
const GOAL: f64 = 95.0;

/// What sets one invented green apart.
struct Seed {
    planted: Date,
    midpoint: f64,
    rate: f64,
    status: Status,
    /// From one visit to the next.
    visit_days: i64,
}

/// The season as told on [`AS_OF`].
pub(crate) fn season() -> ReportData {
    let greens = (1..=18)
        .map(|number| green(number, &seed(number), AS_OF))
        .collect();
    told(greens)
}

/// The season with pictures of two stations of each green.
pub(crate) fn season_with_pictures() -> ReportData {
    let mut season = season();
    add_pictures(&mut season);
    season
}

/// Adds pictures of two stations of each green.
pub(crate) fn add_pictures(season: &mut ReportData) {
    for green in &mut season.greens {
        for letter in ['A', 'B'] {
            let pictures = green.visits.iter();
            let pictures = pictures.map(|visit| thumbnail(green, letter, *visit));
            let pictures: Vec<Thumbnail> = pictures.collect();
            green.thumbnails.extend(pictures);
        }
    }
}

/// A season of any size, for measuring how long its report takes.
pub(crate) fn season_of(n_greens: usize, n_visits: usize) -> ReportData {
    let planted = date(2027, 5, 18);
    // Within ten weeks, however many visits.
    let visit_days = (70 / n_visits.max(1) as i64).clamp(1, 7);
    let last = plus(first_walk(planted), visit_days * (n_visits as i64 - 1));
    let greens = (1..=n_greens)
        .map(|number| {
            let seed = Seed {
                planted,
                midpoint: 50.0 + 0.5 * number as f64,
                rate: 0.09,
                status: Status::Growing,
                visit_days,
            };
            let green = green(number, &seed, last);
            assert_eq!(green.visits.len(), n_visits);
            green
        })
        .collect::<Vec<GreenReport>>();
    let full = greens.iter().filter_map(|green| green.outlook.date).max();
    ReportData {
        as_of: last,
        all_full: Some(AllFull {
            date: full,
            early: full.map(|full| plus(full, -4)),
            late: full.map(|full| plus(full, 11)),
            chance_by_opening: Some(0.08),
        }),
        ..told(greens)
    }
}

fn told(greens: Vec<GreenReport>) -> ReportData {
    ReportData {
        course: "Pennywhistle Bend".to_owned(),
        as_of: AS_OF,
        goal: Cover::from_percent(GOAL).unwrap(),
        open_by: Some(OPEN_BY),
        units: DisplayUnits::Us,
        date_style: DateStyle::default(),
        greens,
        all_full: Some(AllFull {
            date: Some(date(2027, 9, 2)),
            early: Some(date(2027, 8, 24)),
            late: None,
            chance_by_opening: Some(0.03),
        }),
        earlier: None,
        opening_moved: None,
        day_cost: None,
        thin: Some(thin()),
        thin_sprigs: Some("12.1 bu".to_owned()),
        photos: PhotoCounts {
            n_measured: 431,
            n_missing: 0,
            set_aside: set_aside(),
        },
        notes: vec!["Weather is known up to Jul 10.".to_owned()],
        refused_log_lines: Vec::new(),
        cautions: vec![Caution::Products],
        comparisons: Vec::new(),
        audit: None,
        method: Method {
            colours: "hue 62° to 158°, saturation 12% to 100%, fitted to this season's photos"
                .to_owned(),
            decoder: "zune-jpeg 0.5.15".to_owned(),
            doubt: None,
            version: "0.1.0".to_owned(),
        },
    }
}

fn seed(number: usize) -> Seed {
    let step = number as f64;
    let on_time = |planted, midpoint, status| Seed {
        planted,
        midpoint,
        rate: 0.094,
        status,
        visit_days: 7,
    };
    match number {
        1..=4 => Seed {
            planted: date(2027, 5, 4),
            midpoint: 29.0 + step,
            rate: 0.125,
            status: Status::Full,
            visit_days: 7,
        },
        9 => on_time(date(2027, 5, 20), 47.0, Status::SetBack),
        12 => on_time(date(2027, 6, 12), 43.0, Status::SeasonEndsFirst),
        14 => on_time(date(2027, 5, 25), 45.0, Status::Stalled),
        16 => on_time(date(2027, 6, 8), 40.0, Status::Growing),
        18 => on_time(date(2027, 7, 1), 44.0, Status::TooEarly),
        _ => on_time(date(2027, 5, 18), 34.0 + step * 0.6, Status::Growing),
    }
}

fn green(number: usize, seed: &Seed, as_of: Date) -> GreenReport {
    let id = GreenId::new(&format!("G{number:02}")).unwrap();
    let visits = visits(number, seed, as_of);
    let before = visits.len().checked_sub(2).map(|index| visits[index]);
    let gain_last_week = before.map(|before| {
        let last = visits[visits.len() - 1];
        last.cover.percent() - before.cover.percent()
    });
    GreenReport {
        id,
        name: number.to_string(),
        planted: seed.planted,
        days_grown: Some((as_of - seed.planted).get_days()).filter(|days| *days >= 0),
        species: Some(match number {
            1..=9 => Species::Bermudagrass,
            _ => Species::Zoysiagrass,
        }),
        sprig_rate: Some("1200 bu/ac".to_owned()),
        area: Some(SquareMetres(480.0 + 11.0 * number as f64)),
        gain_last_week,
        photo_age_days: visits.last().map(|last| (as_of - last.date).get_days()),
        is_unsure: false,
        outlook: outlook(seed),
        curve: curve(seed),
        curve_facts: (visits.len() > 1).then_some(CurveFacts {
            clock: Clock::DaysAfterPlanting,
            midpoint: seed.midpoint,
            midpoint_se: Some(1.2),
            rate: seed.rate,
            rate_se: Some(0.006),
            rmse_percent: Some(2.1),
        }),
        thumbnails: Vec::new(),
        log: log(number, seed),
        outline: edge(number),
        ground: (number % 4 == 1).then(|| ground(number, as_of)),
        milestones: milestones(seed),
        moved: None,
        contact_sheets: Default::default(),
        stations: Vec::new(),
        notes: notes(seed.status),
        visits,
    }
}

/// An egg lying this way or that, as large as the green, in metres.
fn edge(number: usize) -> Vec<(f64, f64)> {
    let radius = ((480.0 + 11.0 * number as f64) / 3.15).sqrt();
    let corner = |idx: u32| {
        let angle = TAU * f64::from(idx) / 40.0;
        let far = radius * (1.0 + 0.22 * (2.0 * angle + number as f64).cos());
        (far * angle.cos(), far * angle.sin())
    };
    (0..=40).map(corner).collect()
}

/// Its map: twelve photos, thin in the north.
fn ground(number: usize, date: Date) -> Ground {
    let plane = Plane::around(Position {
        latitude: 36.1,
        longitude: -79.4,
    });
    let ring: Vec<(f64, f64)> = edge(number)
        .iter()
        .map(|(east, north)| {
            let place = plane.position([*east, *north]);
            (place.longitude, place.latitude)
        })
        .collect();
    let id = GreenId::new(&format!("G{number:02}")).unwrap();
    let shape = Polygon::new(LineString::from(ring), Vec::new());
    let outline = Outline::new(Owner::Green(id.clone()), MultiPolygon::from(shape)).unwrap();
    let samples: Vec<Sample> = (0..12)
        .map(|idx| {
            let angle = TAU * f64::from(idx) / 12.0;
            let at = [8.0 * angle.cos(), 8.0 * angle.sin()];
            let cover = if at[1] > 5.0 { 0.41 } else { 0.7 };
            Sample { at, cover }
        })
        .collect();
    let mut pairs = PairSet::default();
    pairs.add(&samples);
    let map = map_green(&MapSource {
        outline: &outline,
        visit: &VisitKey { green: id, date },
        samples: &samples,
        variogram: pairs.variogram(0.63),
        growth: None,
        options: MapOptions::default(),
    });
    Ground { map, outline }
}

fn thin() -> Vec<ThinPlace> {
    let place = |id: &str, number, side, area_m2, sprigs: Option<&str>| ThinPlace {
        green: GreenId::new(id).unwrap(),
        number,
        side,
        area: SquareMetres(area_m2),
        cover: Cover::from_percent(41.0).unwrap(),
        lag_points: 22.0,
        days_later: Some(11.3),
        sprigs: sprigs.map(str::to_owned),
    };
    vec![
        place("G09", 1, Side::North, 32.0, Some("9.42 bu")),
        place("G05", 1, Side::NorthEast, 21.0, None),
        place("G09", 2, Side::South, 9.0, Some("2.65 bu")),
    ]
}

fn log(number: usize, seed: &Seed) -> Vec<LogLine> {
    let line = |days: i64, what: &str, detail: &str, kind| LogLine {
        date: plus(seed.planted, days),
        what: what.to_owned(),
        detail: detail.to_owned(),
        kind,
    };
    if !number.is_multiple_of(5) {
        return Vec::new();
    }
    vec![
        line(
            1,
            "irrigation",
            "0.15 in, five short cycles",
            LogKind::Event,
        ),
        line(13, "fertiliser", "0.5 lb/1000ft2, 18-24-12", LogKind::Event),
        line(20, "note", "The north edge stays wet.", LogKind::Note),
    ]
}

fn milestones(seed: &Seed) -> Vec<Milestone> {
    let day = plus(seed.planted, seed.midpoint as i64);
    let at = |what, cover_percent, day: Date| Milestone {
        what,
        cover_percent,
        date: Some(day),
        early: Some(plus(day, -1)),
        late: Some(plus(day, 2)),
        level: 0.8,
    };
    match seed.status {
        Status::TooEarly | Status::SeasonEndsFirst => Vec::new(),
        _ => vec![
            at(MilestoneKind::Half, 50.0, day),
            at(MilestoneKind::Mowing, 75.0, plus(day, 12)),
        ],
    }
}

fn notes(status: Status) -> Vec<String> {
    let note = match status {
        Status::SetBack => {
            "Cover fell by 14 points between Jun 22 and Jun 29; the curve begins again there."
        }
        Status::Stalled => "Cover has risen by less than 2 points since Jun 29.",
        Status::TooEarly => {
            "One visit so far: the window rests on what is usual for zoysiagrass, not on this green."
        }
        _ => return Vec::new(),
    };
    vec![note.to_owned()]
}

fn visits(number: usize, seed: &Seed, as_of: Date) -> Vec<VisitPoint> {
    let mut visits = Vec::new();
    let mut date = first_walk(seed.planted);
    while date <= as_of {
        let days = (date - seed.planted).get_days() as f64;
        let wobble = 1.6 * (number as f64 * 2.3 + days * 0.9).sin();
        let percent = (percent_at(seed, days) + wobble).clamp(0.4, 99.6);
        visits.push(VisitPoint {
            date,
            cover: Cover::from_percent(percent).unwrap(),
            estimate: Estimate::Mean,
            n_photos: 3 + number % 2,
            n_spots: 3,
            sd_percent: Some(2.0 * (0.5 + 0.06 * percent * (1.0 - percent / 100.0))),
            se_percent: Some(0.5 + 0.06 * percent * (1.0 - percent / 100.0)),
            own_error_percent: Some(0.4 + 0.05 * percent * (1.0 - percent / 100.0)),
            mark: None,
        });
        date = plus(date, seed.visit_days);
    }
    visits
}

/// The first Tuesday five days or more after planting.
fn first_walk(planted: Date) -> Date {
    let earliest = plus(planted, 4);
    earliest.nth_weekday(1, Weekday::Tuesday).unwrap()
}

fn percent_at(seed: &Seed, days: f64) -> f64 {
    let grown = 100.0 / (1.0 + (-seed.rate * (days - seed.midpoint)).exp());
    match seed.status {
        Status::Stalled => grown.min(28.0),
        Status::SetBack if days > 36.0 => grown * 0.62,
        _ => grown,
    }
}

fn outlook(seed: &Seed) -> Outlook {
    let days_to_goal = seed.midpoint + (GOAL / (100.0 - GOAL)).ln() / seed.rate;
    let lost_days = match seed.status {
        Status::SetBack => 8,
        Status::Stalled => 30,
        _ => 0,
    };
    let full = plus(seed.planted, days_to_goal.ceil() as i64 + lost_days);
    let (before, after) = match seed.status {
        Status::Stalled => (12, 21),
        Status::TooEarly => (14, 17),
        _ => (6, 10),
    };
    let spread = f64::from(before + after) / 2.0 / 1.28;
    let chance = 1.0 / (1.0 + (-1.7 * f64::from((OPEN_BY - full).get_days()) / spread).exp());
    let base = Outlook {
        status: seed.status,
        stage: Stage::Ahead,
        date: Some(full),
        early: Some(plus(full, -i64::from(before))),
        late: Some(plus(full, i64::from(after))),
        level: 0.8,
        opening: Opening::Ahead,
        chance_by_opening: Some(chance),
        chance_this_season: None,
    };
    match seed.status {
        Status::Full => Outlook {
            stage: Stage::Shown { by_curve: None },
            early: None,
            late: None,
            ..base
        },
        Status::SeasonEndsFirst => Outlook {
            date: None,
            late: None,
            chance_by_opening: Some(0.02),
            chance_this_season: Some(0.31),
            ..base
        },
        _ => base,
    }
}

fn curve(seed: &Seed) -> Vec<CurvePoint> {
    (0..=110)
        .map(|day| {
            let mean = percent_at(seed, f64::from(day));
            let half = 1.0 + 0.12 * mean * (1.0 - mean / 100.0);
            CurvePoint {
                date: plus(seed.planted, i64::from(day)),
                mean: Cover::from_percent(mean).unwrap(),
                low: Cover::from_percent((mean - half).max(0.0)).unwrap(),
                high: Cover::from_percent((mean + half).min(100.0)).unwrap(),
            }
        })
        .collect()
}

/// Photos set aside, for four reasons.
fn set_aside() -> Vec<SetAside> {
    let aside = |name: &str, reason| SetAside {
        photo: PhotoName(name.to_owned()),
        date: None,
        reason,
    };
    vec![
        aside("G03/IMG_0412.jpg", Reason::NoDate),
        aside("G05/IMG_0031.jpg", Reason::NoDate),
        aside(
            "G07/G07-A 2027-06-13.jpg",
            Reason::Duplicate {
                of: PhotoName("G07/G07-A_2027-06-13.jpg".to_owned()),
            },
        ),
        aside(
            "G11/IMG_0990.jpg",
            Reason::Unreadable {
                why: Unreadable::Truncated,
            },
        ),
        aside(
            "practice/IMG_1203.jpg",
            Reason::UnknownGreen {
                named: "practice".to_owned(),
            },
        ),
    ]
}

fn plus(date: Date, days: i64) -> Date {
    date.checked_add(Span::new().days(days)).unwrap()
}
