//! From the features of a file to one outline for each green and each other piece of turf.

use std::collections::BTreeMap;

use geo::bool_ops::BooleanOps;
use geo::{BoundingRect, Coord, CoordsIter, MultiPolygon};

use super::error::place;
use super::plane::distance;
use super::read::Raw;
use super::rings::{Sound, sound};
use super::{Outline, OutlineError, Outlines, Owner, geodesic_area};
use crate::course::words::nearest;
use crate::course::{Called, Green, Position, green_called};
use crate::written::excerpt;

/// Properties that may name a green or other turf, the surest first.
const NAMING: [&str; 4] = ["green", "id", "name", "title"];

/// No green is wider, in kilometres.
const WIDEST_KM: f64 = 2.0;

/// The parts of one green lie no further apart, in metres: a path or a bunker may run between them.
const FURTHEST_PART_M: f64 = 60.0;

/// Further from the position of the course file than this is another course, or swapped coordinates, in
/// kilometres.
const FURTHEST_KM: f64 = 30.0;

/// Two outlines may share a drawn edge; more than this is told, in square metres.
const LARGEST_OVERLAP: f64 = 2.0;

/// Outlines and what a person should know of them.
#[derive(Debug, Clone, Default)]
pub(in crate::course) struct Assembled {
    pub(in crate::course) outlines: Outlines,
    pub(in crate::course) notes: Vec<String>,
}

pub(super) fn assemble(
    file: &str,
    raws: Vec<Raw>,
    greens: &[Green],
    near: Option<Position>,
) -> Result<Assembled, OutlineError> {
    let mut notes = Vec::new();
    let mut shapes: BTreeMap<Owner, MultiPolygon<f64>> = BTreeMap::new();
    let n_raws = raws.len();
    for raw in raws {
        if raw.polygons.is_empty() {
            // Flags and paths may lie in the same file; what names a green must be one.
            if property(&raw, &["green"]).is_some() || n_raws == 1 {
                return Err(OutlineError::NoPolygon {
                    file: file.to_owned(),
                    feature: raw.called,
                    what: raw.instead.unwrap_or_else(|| "it has no rings".to_owned()),
                });
            }
            continue;
        }
        let owner = owner(file, &raw, greens, n_raws, &mut notes)?;
        let called = format!("{} ({})", raw.called, excerpt(owner.label()));
        let shape = shape(file, &called, raw, &mut notes)?;
        if let (Some(before), Some(_)) = (shapes.get(&owner), owner.green())
            && let Some(far_m) = apart_m(before, &shape)
            && far_m > FURTHEST_PART_M
        {
            return Err(OutlineError::FarParts {
                file: file.to_owned(),
                feature: called,
                far_m,
            });
        }
        match shapes.remove(&owner) {
            Some(before) => shapes.insert(owner, before.union(&shape)),
            None => shapes.insert(owner, shape),
        };
    }
    let all: Vec<Outline> = shapes
        .into_iter()
        .filter_map(|(owner, shape)| Outline::new(owner, shape))
        .collect();
    if all.is_empty() {
        return Err(OutlineError::Empty {
            file: file.to_owned(),
        });
    }
    note_overlaps(file, &all, &mut notes);
    note_missing(file, &all, greens, &mut notes);
    note_distance(file, &all, near, &mut notes);
    Ok(Assembled {
        outlines: Outlines { all },
        notes,
    })
}

/// Metres between the boxes around two shapes, 0 where they touch.
fn apart_m(one: &MultiPolygon<f64>, other: &MultiPolygon<f64>) -> Option<f64> {
    let (one, other) = (one.bounding_rect()?, other.bounding_rect()?);
    // The nearest place of each box to the other: along either axis the middle of what they share, or the ends of the gap.
    let ends = |a: [f64; 2], b: [f64; 2]| {
        if a[1] < b[0] {
            (a[1], b[0])
        } else if b[1] < a[0] {
            (a[0], b[1])
        } else {
            let shared = (a[0].max(b[0]) + a[1].min(b[1])) / 2.0;
            (shared, shared)
        }
    };
    let x = ends([one.min().x, one.max().x], [other.min().x, other.max().x]);
    let y = ends([one.min().y, one.max().y], [other.min().y, other.max().y]);
    let at = |x, y| position(Coord { x, y });
    Some(distance(at(x.0, y.0), at(x.1, y.1)))
}

fn property<'r>(raw: &'r Raw, names: &[&str]) -> Option<&'r str> {
    names.iter().find_map(|name| {
        let found = raw.properties.iter().find(|(key, _)| key == name);
        found
            .map(|(_, value)| value.trim())
            .filter(|text| !text.is_empty())
    })
}

fn owner(
    file: &str,
    raw: &Raw,
    greens: &[Green],
    n_raws: usize,
    notes: &mut Vec<String>,
) -> Result<Owner, OutlineError> {
    for name in NAMING {
        let text = property(raw, &[name]).unwrap_or_default();
        if let Called::One(green) = green_called(text, greens) {
            return Ok(Owner::Green(green.id.clone()));
        }
    }
    if let Some(unknown) = property(raw, &["green"]) {
        let ids = greens.iter().map(|green| green.id.as_str());
        let meant = match nearest(unknown, ids) {
            Some(meant) => format!("; if {meant} is meant, write that"),
            None => String::new(),
        };
        notes.push(format!(
            "{file}, {}: `{}` is no green of the course file, so photos taken there belong to none{meant}",
            raw.called,
            excerpt(unknown)
        ));
    }
    match (property(raw, &NAMING), greens) {
        (Some(name), _) => Ok(Owner::Other(name.to_owned())),
        (None, [only]) if n_raws == 1 => Ok(Owner::Green(only.id.clone())),
        (None, _) => Err(OutlineError::Nameless {
            file: file.to_owned(),
            feature: raw.called.clone(),
        }),
    }
}

fn shape(
    file: &str,
    called: &str,
    raw: Raw,
    notes: &mut Vec<String>,
) -> Result<MultiPolygon<f64>, OutlineError> {
    let mut whole = MultiPolygon::<f64>::new(Vec::new());
    for polygon in raw.polygons {
        if let Some(at) = polygon.coords_iter().find(|at| !is_place(*at)) {
            return Err(OutlineError::NotDegrees {
                file: file.to_owned(),
                feature: called.to_owned(),
                x: at.x,
                y: at.y,
            });
        }
        if let Some(km) = polygon.bounding_rect().map(widest_km)
            && km > WIDEST_KM
        {
            return Err(OutlineError::TooWide {
                file: file.to_owned(),
                feature: called.to_owned(),
                km,
            });
        }
        let piece = match sound(polygon) {
            Sound::AsDrawn(polygon) => MultiPolygon::new(vec![polygon]),
            Sound::Repaired(pieces, at) => {
                notes.push(format!(
                    "{file}, {called}: its line met itself at {}; it was taken apart there",
                    place(&position(at))
                ));
                pieces
            }
            Sound::Refused(at) => {
                return Err(OutlineError::Crossing {
                    file: file.to_owned(),
                    feature: called.to_owned(),
                    at: position(at),
                });
            }
            Sound::Nothing => {
                return Err(OutlineError::NoPolygon {
                    file: file.to_owned(),
                    feature: called.to_owned(),
                    what: "its line encloses nothing".to_owned(),
                });
            }
        };
        // Pieces that overlap count once; a lone piece is kept to the last digit.
        whole = if whole.0.is_empty() {
            piece
        } else {
            whole.union(&piece)
        };
    }
    Ok(whole)
}

fn is_place(at: Coord<f64>) -> bool {
    (-180.0..=180.0).contains(&at.x) && (-90.0..=90.0).contains(&at.y)
}

fn position(at: Coord<f64>) -> Position {
    Position {
        latitude: at.y,
        longitude: at.x,
    }
}

fn widest_km(around: geo::Rect<f64>) -> f64 {
    distance(position(around.min()), position(around.max())) / 1000.0
}

fn note_overlaps(file: &str, all: &[Outline], notes: &mut Vec<String>) {
    for (idx, one) in all.iter().enumerate() {
        for other in &all[idx + 1..] {
            let shared = one.shape().intersection(other.shape());
            let area = geodesic_area(&geo::Orient::orient(
                &shared,
                geo::orient::Direction::Default,
            ));
            if area > LARGEST_OVERLAP {
                notes.push(format!(
                    "{file}: {} and {} overlap by {area:.0} m²; photos taken there are of two greens",
                    one.owner.label(),
                    other.owner.label()
                ));
            }
        }
    }
}

fn note_missing(file: &str, all: &[Outline], greens: &[Green], notes: &mut Vec<String>) {
    let is_outlined = |green: &Green| all.iter().any(|one| one.owner.green() == Some(&green.id));
    let missing: Vec<&str> = greens
        .iter()
        .filter(|green| !is_outlined(green))
        .map(|green| green.id.as_str())
        .collect();
    if !missing.is_empty() {
        let (has, is) = if missing.len() == 1 {
            ("has", "it is")
        } else {
            ("have", "they are")
        };
        notes.push(format!(
            "{file}: {} {has} no outline; {is} not mapped, and no photo is given to {} by its position",
            missing.join(", "),
            if missing.len() == 1 { "it" } else { "them" },
        ));
    }
}

fn note_distance(file: &str, all: &[Outline], near: Option<Position>, notes: &mut Vec<String>) {
    let (Some(near), Some(first)) = (near, all.first()) else {
        return;
    };
    let km = distance(near, first.plane().origin()) / 1000.0;
    if km > FURTHEST_KM {
        notes.push(format!(
            "{file}: its outlines are {km:.0} km from the latitude and longitude of the course file; one of the two is wrong, or longitude and latitude are swapped"
        ));
    }
}
