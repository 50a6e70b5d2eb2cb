//! Another light or white balance than in the season's other photos, and paler colours: by the ground, by the turf, and by
//! what light and dark tell of the two.

use super::Quality;
use super::Usual;
use super::judge::{Effect, Facts, Fault, Finding, found};
use super::limits::*;

/// By the colour of the ground and by that of what counts as turf: where a cast makes ground count as turf, its colour
/// is not that of turf.
pub(super) fn colour_cast(photo: &Facts, usual: &Usual) -> Option<Finding> {
    if photo.quality.ground.is_none()
        && let Some(found) = green_ground(photo, usual)
    {
        return Some(found);
    }
    let told = [
        by_mean_colours(photo, usual),
        by_least_green(photo, usual),
        by_greenest(photo, usual),
        by_green_ground_in_part(photo),
        by_paleness(photo),
    ];
    let worst = told.into_iter().flatten();
    let (points, number) = worst.max_by(|a, b| a.0.total_cmp(&b.0))?;
    let points = points.min(MOST_DOUBT_OF_CAST);
    found(Fault::ColourCast, number, Effect::Wider(points))
}

/// Points of doubt, and the number that they come from.
type Told = Option<(f64, f64)>;

fn by_mean_colours(photo: &Facts, usual: &Usual) -> Told {
    let Quality { ground, turf, .. } = photo.quality;
    let usual_turf = photo.cover.and_then(|cover| usual.turf(cover));
    // Pale turf is followed; what pale ground is, a blue light may be too.
    let of_ground = Cast::between(ground, usual.ground()).map(|cast| (cast, CAST_OF_GROUND, 1.0));
    let of_turf = Cast::between(turf, usual_turf).map(|cast| (cast, CAST_OF_TURF, PALE_PART));
    let told = |(cast, limit, pale_part): (Cast, f64, f64)| {
        let beyond = (cast.weighed(pale_part) - limit).max(0.0);
        let points = LEAST_DOUBT_OF_CAST + DOUBT_OF_CAST * beyond;
        (cast.turn >= limit).then_some((points, cast.turn))
    };
    let worst = [of_ground, of_turf].into_iter().flatten().filter_map(told);
    worst.max_by(|a, b| a.0.total_cmp(&b.0))
}

/// What is least green is ground while there is some; under a cast towards magenta it is less green than the season's, and
/// so is turf, of which the more is missed the more there is. One towards green is followed up to a point.
fn by_least_green(photo: &Facts, usual: &Usual) -> Told {
    let by = usual
        .least_green()?
        .away(photo.quality.least_green?, LEAST_TURN_OF_GROUND)?;
    let beyond = by.abs() - LEAST_TURN_OF_GROUND;
    let points = if by > 0.0 {
        LEAST_DOUBT_OF_CAST + DOUBT_OF_GREENER_GROUND * beyond
    } else {
        let of_turf = 0.25 + 1.5 * photo.cover?;
        (5.0 + DOUBT_OF_LESS_GREEN * beyond) * of_turf.min(1.0)
    };
    Some((points, by))
}

/// The greenest leaves, which a cast moves by as much as ground and which little ground among the green does not hide.
fn by_greenest(photo: &Facts, usual: &Usual) -> Told {
    let cover = photo.cover?;
    let by = usual
        .greenest(cover)?
        .away(photo.quality.greenest?, LEAST_TURN_OF_TURF)?;
    let beyond = by.abs() - LEAST_TURN_OF_TURF;
    let is_pale = photo.quality.paler > 0.0;
    match by {
        _ if is_pale || cover < LEAST_COVER => None,
        _ if by < 0.0 => Some((8.0 + DOUBT_OF_LESS_GREEN * beyond, by)),
        // The photo's own ground is followed where it shows.
        _ if photo.quality.least_green.is_some() => None,
        _ => {
            let points = 5.0 + DOUBT_OF_GREENER_TURF * beyond;
            Some((points.min(MOST_DOUBT_OF_GREENER_TURF), by))
        }
    }
}

/// Ground that counts as turf, in the shade of trees perhaps, where what is least green is brighter than the leaves.
fn by_green_ground_in_part(photo: &Facts) -> Told {
    let share = photo.quality.green_ground;
    (share >= GREEN_GROUND).then_some((100.0 * DOUBT_OF_GREEN_GROUND * share, share))
}

/// Limits follow pale colours, less surely the paler they are.
fn by_paleness(photo: &Facts) -> Told {
    let paler = photo.quality.paler;
    (paler >= PALER).then_some((DOUBT_OF_PALE * paler, paler))
}

/// Where ground is as it always is, and what counts as green is of another hue or saturation than turf of that cover, so
/// much of it is something else, by about as much as it is off. Another light moves both.
pub(super) fn other_green(photo: &Facts, usual: &Usual) -> Option<Finding> {
    let (cover, greens) = (photo.cover?, photo.quality.greens.as_ref()?);
    let is_other_light = photo.quality.paler > 0.0 || by_least_green(photo, usual).is_some();
    if is_other_light {
        return None;
    }
    let [hue, saturation] = usual.greens(cover)?;
    let by_hue = hue.away(greens.hue_deg, LEAST_TURN_OF_HUE);
    let ground = Cast::between(photo.quality.ground, usual.ground());
    let is_paler = ground.is_some_and(|cast| cast.paler > PALER_GROUND);
    let by_saturation = saturation
        .away(greens.saturation, LEAST_TURN_OF_SATURATION)
        .filter(|by| *by > 0.0 || !is_paler);
    let part = |by: Option<f64>, all: f64| by.map_or(0.0, |by| (by.abs() / all).min(1.0));
    let other = part(by_hue, ALL_OTHER_HUE).max(part(by_saturation, ALL_OTHER_SATURATION));
    let points = (100.0 * other * cover).min(MOST_DOUBT_OF_OTHER_GREEN);
    (points > 0.0)
        .then(|| found(Fault::OtherGreen, other, Effect::Wider(points)))
        .flatten()
}

/// How far a colour is turned from the usual one.
struct Cast {
    turn: f64,
    /// The part of it that is towards grey.
    paler: f64,
}

impl Cast {
    /// `None` where one of the colours is not known.
    fn between(own: Option<[f64; 2]>, usual: Option<[f64; 2]>) -> Option<Cast> {
        let (own, usual) = own.zip(usual)?;
        let by = [own[0] - usual[0], own[1] - usual[1]];
        let turn = by[0].hypot(by[1]);
        let from_grey = usual[0].hypot(usual[1]).max(f64::MIN_POSITIVE);
        let towards_grey = -(by[0] * usual[0] + by[1] * usual[1]) / from_grey;
        Some(Cast {
            turn,
            paler: towards_grey.clamp(0.0, turn),
        })
    }

    /// The turn with so much of the part that is towards grey.
    fn weighed(&self, pale_part: f64) -> f64 {
        let tint = (self.turn.powi(2) - self.paler.powi(2)).max(0.0).sqrt();
        tint.hypot(pale_part * self.paler)
    }
}

/// Where the cast makes ground itself green, none is left to tell it by. But turf is rougher than bare ground.
fn green_ground(photo: &Facts, usual: &Usual) -> Option<Finding> {
    let ratio = photo.quality.roughness / usual.bare_roughness()?;
    (ratio <= AS_BARE)
        .then(|| found(Fault::ColourCast, ratio, Effect::Wider(30.0)))
        .flatten()
}
