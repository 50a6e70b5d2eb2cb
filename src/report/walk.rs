//! The next photo walk: what to photograph, in which order, and why.

use jiff::civil::{Date, Time};

use super::format::{Dates, area, count};
use super::{ThinPlace, Thumbnail, VisitPoint};
use crate::assign::Slate;
use crate::course::{Bushel, CubicMetres, DateStyle, DisplayUnits, GreenId, ResultFile, StationId};

/// So many thin areas of a green are told one by one.
const MOST_PLACES: usize = 4;

/// The next photo walk.
#[derive(Debug, Clone, PartialEq)]
pub struct Walk {
    /// Name of the course.
    pub course: String,
    /// The day of the walk.
    pub date: Date,
    /// Units that people are shown.
    pub units: DisplayUnits,
    /// What a bushel is, where the course says.
    pub bushel: Option<Bushel>,
    /// How people are shown days and times.
    pub date_style: DateStyle,
    /// In the order of the route.
    pub stops: Vec<WalkStop>,
    /// Greens that are not planted yet: nobody walks to them, but their slates are printed with the others.
    pub to_come: Vec<WalkStop>,
    /// When the sun is high enough, in the course's local time; none where the place is not known.
    pub daylight: Vec<Daylight>,
}

/// A stretch of the day with the sun high enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Daylight {
    /// Local time.
    pub from: Time,
    /// Local time.
    pub until: Time,
    /// The sun is at least so high, in degrees above the horizon.
    pub sun_degrees: f64,
}

/// A green on the route.
#[derive(Debug, Clone, PartialEq)]
pub struct WalkStop {
    /// As in the course file and in the names of files.
    pub green: GreenId,
    /// What people call it.
    pub name: String,
    /// From the stop before it, in metres along a straight line.
    pub metres_from_last: Option<f64>,
    /// The last visit.
    pub last: Option<VisitPoint>,
    /// How many photos to take.
    pub n_photos: usize,
    /// Why so many, or why at all: a few words.
    pub why: String,
    /// Sprigs to take along for it.
    pub carry: Option<Carry>,
    /// In the order in which they are photographed; none where photos are spread over the green.
    pub stations: Vec<WalkStation>,
}

/// Sprigs for the thin areas of a green.
#[derive(Debug, Clone, PartialEq)]
pub struct Carry {
    /// For all of them; none where the green has no rate.
    pub sprigs: Option<CubicMetres>,
    /// The one that lacks most turf first.
    pub places: Vec<ThinPlace>,
}

/// A station on the route.
#[derive(Debug, Clone, PartialEq)]
pub struct WalkStation {
    /// As in the course file.
    pub id: StationId,
    /// How it looked last time.
    pub last: Option<Thumbnail>,
}

impl Walk {
    /// Writes its days.
    pub(crate) fn dates(&self) -> Dates {
        Dates::as_of(self.date, self.date_style)
    }

    /// `30 photos on 6 greens`, and the sprigs to take along, where any.
    pub fn all_of_it(&self) -> String {
        let photos = count(self.n_photos(), "photo", "photos");
        let greens = count(self.stops.len(), "green", "greens");
        let stops = self.stops.iter();
        let sprigs = stops.filter_map(|stop| stop.carry.as_ref()?.sprigs);
        let sprigs: f64 = sprigs.map(|volume| volume.0).sum();
        if sprigs > 0.0 {
            let sprigs = CubicMetres(sprigs).show(self.units, self.bushel);
            format!("{photos} on {greens}, and {sprigs} of sprigs to carry")
        } else {
            format!("{photos} on {greens}")
        }
    }

    /// `Carry 11.9 bu of sprigs: 9.42 bu to the north side (344 ft²), 2.47 bu to the middle (90 ft²).`
    pub(crate) fn carried(&self, stop: &WalkStop) -> Option<String> {
        let carry = stop.carry.as_ref()?;
        let is_one = carry.places.len() == 1;
        let place = |place: &ThinPlace| {
            let sprigs = match &place.sprigs {
                Some(sprigs) if !is_one => format!("{sprigs} "),
                _ => String::new(),
            };
            let size = area(place.area, self.units);
            format!("{sprigs}to the {} ({size})", place.side.words())
        };
        let mut places: Vec<String> = carry.places.iter().take(MOST_PLACES).map(place).collect();
        let n_more = carry.places.len().saturating_sub(MOST_PLACES);
        if n_more > 0 {
            places.push(format!(
                "and {n_more} more ({})",
                ResultFile::THIN_AREAS.told()
            ));
        }
        let all = carry.sprigs.map_or_else(
            || "sprigs".to_owned(),
            |volume| format!("{} of sprigs", volume.show(self.units, self.bushel)),
        );
        let mark = if is_one { "" } else { ":" };
        Some(format!("Carry {all}{mark} {}.", places.join(", ")))
    }

    /// Photos to take in all.
    pub fn n_photos(&self) -> usize {
        self.stops.iter().map(|stop| stop.n_photos).sum()
    }

    /// Every green that needs slates, with its slates.
    pub fn slates(&self) -> impl Iterator<Item = (&WalkStop, Slate)> {
        let stops = self.stops.iter().chain(&self.to_come);
        stops.flat_map(|stop| stop.slates().into_iter().map(move |slate| (stop, slate)))
    }
}

impl WalkStop {
    /// The slates to print for it: one for each station, or one for the green.
    pub fn slates(&self) -> Vec<Slate> {
        if self.stations.is_empty() {
            return vec![Slate {
                green: self.green.clone(),
                station: None,
            }];
        }
        let slate = |station: &WalkStation| Slate {
            green: self.green.clone(),
            station: Some(station.id.clone()),
        };
        self.stations.iter().map(slate).collect()
    }
}

/// The five rules of a good photo (common practice, no source; the pixels of a photo that breaks them do not
/// tell cover).
pub(crate) const RULES: [&str; 5] = [
    "Hold the phone flat above the turf at hip to shoulder height, the lens straight down.",
    "At a station, stand where you stood last time; elsewhere, spread the photos over the green, not only where it looks good.",
    "Keep shoes, shadows, flags and cups out of the picture.",
    "Come at the same hour each week, under thin cloud or with the sun well up; never use the flash.",
    "Lens clean, exposure automatic, full resolution; no filters, no portrait mode; leave location on.",
];
