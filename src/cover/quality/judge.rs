//! From numbers to what is wrong with a photo, and whether it is kept.

use serde::{Deserialize, Serialize};

use super::cast::{colour_cast, other_green};
use super::limits::*;
use super::{Quality, Usual};
use crate::cover::Reading;
use crate::photo::Reason;

/// All that a photo is judged by.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// What its pixels say.
    pub quality: Quality,
    /// Its cover as a fraction; `None` where nothing was analysed.
    pub cover: Option<f64>,
    /// Pixels that were analysed.
    pub n_analysed: u64,
    /// Share of its contrast that is fine detail.
    pub sharpness: f64,
    /// Share that lies in shadow.
    pub shadow: f64,
    /// Height of the sun when it was taken, in degrees, where place and time are known.
    pub sun_height_deg: Option<f64>,
    /// How far the camera looked off straight down, in degrees, where it says so.
    pub tilt_deg: Option<f64>,
    /// The marked spot that is always photographed from the same place, where it is one.
    pub station: Option<String>,
    /// Width of the frame on the ground by lens, zoom and height, in any unit that a station's photos share.
    pub frame: Option<f64>,
}

impl Facts {
    /// What the pixels alone say; nothing is known of the sun, the camera or the station.
    pub fn of_pixels(quality: Quality, reading: &Reading) -> Facts {
        Facts {
            quality,
            cover: reading.cover().map(|cover| cover.fraction()),
            n_analysed: reading.n_analysed,
            sharpness: reading.sharpness,
            shadow: reading.shadow,
            sun_height_deg: None,
            tilt_deg: None,
            station: None,
            frame: None,
        }
    }
}

/// What can be wrong with a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fault {
    /// Hardly any pixels.
    TooSmall,
    /// Bars, a frame, or what stands in for pixels that were lost.
    Filled,
    /// Grey, or black and white.
    NoColour,
    /// Large parts without light.
    TooDark,
    /// Large parts white.
    TooBright,
    /// Out of focus or shaken.
    Blurred,
    /// Not taken straight down.
    Tilted,
    /// Water that mirrors the sky.
    StandingWater,
    /// A shoe, a tool, a hole cup: something smooth.
    SmoothPatch,
    /// Dew or wet leaves that mirror the sky.
    Glare,
    /// Long shadows.
    Shadow,
    /// The sun near the horizon.
    LowSun,
    /// Green that is smoother than blades are: dyed sand, mulch, algae, a broad leaf.
    SmoothGreen,
    /// Another light, or another white balance, than in the season's other photos.
    ColourCast,
    /// From another height, or with another lens, than the station's other photos.
    OtherScale,
    /// With far fewer pixels than the season's other photos, as after a messenger has made it small.
    Coarse,
    /// Kept as so small a file that colours run into each other.
    Compressed,
    /// Green of another colour than the season's turf: leaves of trees, mulch, paint, weeds.
    OtherGreen,
}

/// What follows from a fault.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Effect {
    /// It is told; the cover of the photo is as good as any.
    Told,
    /// The cover of the photo is less sure by this standard error, in points of percent cover.
    Wider(f64),
    /// The photo does not count.
    SetAside,
}

/// One fault of a photo.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// What is wrong.
    pub fault: Fault,
    /// By which number.
    pub number: f64,
    /// What follows.
    pub effect: Effect,
}

/// What becomes of a photo.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Decision {
    /// It counts.
    Keep,
    /// It counts, with this standard error added, in points of percent cover.
    KeepWider(f64),
    /// It does not count.
    SetAside(Fault),
}

/// All that was found wrong with a photo, the gravest first.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Judgement {
    /// In the order of [`Fault`].
    pub findings: Vec<Finding>,
}

impl Judgement {
    /// What becomes of the photo.
    pub fn decision(&self) -> Decision {
        let set_aside = |finding: &&Finding| finding.effect == Effect::SetAside;
        if let Some(finding) = self.findings.iter().find(set_aside) {
            return Decision::SetAside(finding.fault);
        }
        let variance: f64 = self
            .findings
            .iter()
            .map(|finding| match finding.effect {
                Effect::Wider(points) => points * points,
                Effect::Told | Effect::SetAside => 0.0,
            })
            .sum();
        if variance > 0.0 {
            Decision::KeepWider(variance.sqrt())
        } else {
            Decision::Keep
        }
    }

    /// Whether it has this fault.
    pub fn has(&self, fault: Fault) -> bool {
        self.findings.iter().any(|finding| finding.fault == fault)
    }
}

impl Decision {
    /// The word in `photos.csv`.
    pub fn word(self) -> &'static str {
        match self {
            Decision::Keep => "keep",
            Decision::KeepWider(_) => "keep_wider",
            Decision::SetAside(_) => "set_aside",
        }
    }
}

impl Fault {
    /// The word in `photos.csv`.
    pub fn code(self) -> &'static str {
        match self {
            Fault::TooSmall => "too_small",
            Fault::Filled => "filled",
            Fault::NoColour => "no_colour",
            Fault::TooDark => "too_dark",
            Fault::TooBright => "too_bright",
            Fault::Blurred => "blurred",
            Fault::Tilted => "not_overhead",
            Fault::StandingWater => "standing_water",
            Fault::SmoothPatch => "in_the_way",
            Fault::Glare => "glare",
            Fault::Shadow => "shadow",
            Fault::LowSun => "low_sun",
            Fault::SmoothGreen => "smooth_green",
            Fault::ColourCast => "colour_cast",
            Fault::OtherScale => "other_scale",
            Fault::Coarse => "coarse",
            Fault::Compressed => "compressed",
            Fault::OtherGreen => "other_green",
        }
    }

    /// Why a photo with this fault is set aside; `None` for faults that never set one aside.
    pub fn reason(self) -> Option<Reason> {
        match self {
            Fault::TooSmall => Some(Reason::TooSmall),
            Fault::Filled => Some(Reason::Filled),
            Fault::NoColour => Some(Reason::NoColour),
            Fault::TooDark => Some(Reason::TooDark),
            Fault::TooBright => Some(Reason::TooBright),
            Fault::Blurred => Some(Reason::Blurred),
            Fault::Tilted => Some(Reason::NotOverhead),
            Fault::StandingWater | Fault::SmoothPatch => Some(Reason::InTheWay),
            Fault::Glare
            | Fault::Shadow
            | Fault::LowSun
            | Fault::SmoothGreen
            | Fault::ColourCast
            | Fault::OtherScale
            | Fault::Coarse
            | Fault::Compressed
            | Fault::OtherGreen => None,
        }
    }
}

/// Judges a photo by itself and by what is usual in its season. `None` of the optional facts finds no fault.
pub fn judge(photo: &Facts, usual: &Usual) -> Judgement {
    let mut findings: Vec<Finding> = [
        too_small(photo, usual),
        filled(photo),
        no_colour(photo),
        too_dark(photo),
        too_bright(photo),
        blurred(photo, usual),
        tilted(photo),
        patch(photo),
        glare(photo),
        shadow(photo),
        low_sun(photo),
        colour_cast(photo, usual),
        other_scale(photo, usual),
        coarse(photo, usual),
        compressed(photo),
    ]
    .into_iter()
    .chain(of_one_cause([
        smooth_green(photo, usual),
        other_green(photo, usual),
    ]))
    .flatten()
    .collect();
    findings.sort_by_key(|finding| finding.fault);
    Judgement { findings }
}

/// Two ways of seeing the same thing: the one that makes the photo less sure counts, and the other is told.
fn of_one_cause(mut seen: [Option<Finding>; 2]) -> [Option<Finding>; 2] {
    let points = |finding: &Option<Finding>| match finding.as_ref()?.effect {
        Effect::Wider(points) => Some(points),
        Effect::Told | Effect::SetAside => None,
    };
    if let [Some(first), Some(second)] = [points(&seen[0]), points(&seen[1])]
        && let Some(lesser) = seen[usize::from(second <= first)].as_mut()
    {
        lesser.effect = Effect::Told;
    }
    seen
}

pub(super) fn found(fault: Fault, number: f64, effect: Effect) -> Option<Finding> {
    Some(Finding {
        fault,
        number,
        effect,
    })
}

/// A thumbnail mixes blades and the gaps between them in its pixels.
fn too_small(photo: &Facts, usual: &Usual) -> Option<Finding> {
    let n = photo.n_analysed;
    let is_thumbnail = usual
        .n_analysed()
        .is_some_and(|usual| n < MOST_OF_THUMBNAIL && n as f64 <= THUMBNAIL * usual);
    let effect = if n < LEAST_PIXELS {
        Effect::SetAside
    } else if is_thumbnail {
        Effect::Wider(DOUBT_OF_THUMBNAIL)
    } else {
        return None;
    };
    found(Fault::TooSmall, n as f64, effect)
}

/// Whatever it is of, it is no turf, and would count as bare ground. A picture that is of one colour altogether has
/// other faults.
fn filled(photo: &Facts) -> Option<Finding> {
    let share = photo.quality.filled;
    (FILLED..ALL_FILLED)
        .contains(&share)
        .then(|| found(Fault::Filled, share, Effect::SetAside))
        .flatten()
}

fn no_colour(photo: &Facts) -> Option<Finding> {
    let levels = photo.quality.colour;
    let is_lit = photo.quality.black < TOO_DARK && photo.quality.white < TOO_BRIGHT;
    (levels < LEAST_COLOUR && is_lit)
        .then(|| found(Fault::NoColour, f64::from(levels), Effect::SetAside))
        .flatten()
}

/// What has no colour counts as ground; the turf among it is missed.
fn too_dark(photo: &Facts) -> Option<Finding> {
    match photo.quality.black {
        dark if dark >= TOO_DARK => found(Fault::TooDark, dark, Effect::SetAside),
        dark if dark >= DARK => found(Fault::TooDark, dark, Effect::Wider(10.0 * dark)),
        _ => None,
    }
}

/// White pixels count as ground, which most of them are: sand is brighter than leaves.
fn too_bright(photo: &Facts) -> Option<Finding> {
    match photo.quality.white {
        white if white >= TOO_BRIGHT => found(Fault::TooBright, white, Effect::SetAside),
        white if white >= BRIGHT => found(Fault::TooBright, white, Effect::Wider(5.0 * white)),
        _ => None,
    }
}

fn blurred(photo: &Facts, usual: &Usual) -> Option<Finding> {
    let sharpness = photo.sharpness;
    let fine = photo.quality.grain.map_or(0.0, |grain| grain.fine);
    let share = usual
        .sharpness(photo.cover?)
        .map(|usual| sharpness / usual.max(f64::MIN_POSITIVE));
    match share {
        Some(share) if share < BLURRED_SHARE && sharpness < BLURRED && fine < BLURRED_FINE => {
            found(Fault::Blurred, sharpness, Effect::SetAside)
        }
        Some(share) if share < SOFT_SHARE && fine < SOFT_FINE => {
            found(Fault::Blurred, sharpness, Effect::Wider(2.0))
        }
        None if sharpness < BLURRED_ALONE => found(Fault::Blurred, sharpness, Effect::Wider(4.0)),
        _ => None,
    }
}

fn tilted(photo: &Facts) -> Option<Finding> {
    let tilt = photo.tilt_deg?;
    let gap = 1.0 - photo.cover.unwrap_or(0.5);
    let hidden = gap - gap.powf(1.0 / tilt.to_radians().cos().max(0.1));
    match tilt {
        _ if tilt >= NOT_OVERHEAD_DEG => found(Fault::Tilted, tilt, Effect::SetAside),
        _ if tilt >= TILTED_DEG => found(Fault::Tilted, tilt, Effect::Wider(100.0 * hidden)),
        _ => None,
    }
}

/// A patch counts as ground or as turf, whatever lies beneath it: cover is off by as much as the patch hides,
/// and whether it hides more or less turf than there is elsewhere is a matter of chance.
fn patch(photo: &Facts) -> Option<Finding> {
    let patch = photo.quality.patch;
    let cover = photo.cover.unwrap_or(0.5);
    let fault = if patch.blueness >= SKY_BLUE {
        Fault::StandingWater
    } else {
        Fault::SmoothPatch
    };
    match patch.share {
        share if share >= PATCH_TOO_LARGE => found(fault, share, Effect::SetAside),
        share if share >= PATCH => {
            let points = 100.0 * share * cover.max(1.0 - cover);
            found(fault, share, Effect::Wider(points))
        }
        _ => None,
    }
}

/// A glint hides the colour of what it is on, leaf more often than sand.
fn glare(photo: &Facts) -> Option<Finding> {
    let Quality {
        white, middle_luma, ..
    } = photo.quality;
    (white >= GLARE && middle_luma < GLARE_MIDDLE)
        .then(|| found(Fault::Glare, white, Effect::Wider(50.0 * white.min(0.2))))
        .flatten()
}

/// Turf in deep shade does not count as green; how much there may be is known.
fn shadow(photo: &Facts) -> Option<Finding> {
    let turf = photo.quality.shaded_green;
    let of_turf = if turf >= SHADED {
        100.0 * DOUBT_OF_SHADED * turf
    } else {
        0.0
    };
    let of_shadow = if photo.shadow >= SHADOW { 2.0 } else { 0.0 };
    let points = f64::max(of_turf, of_shadow);
    (points > 0.0)
        .then(|| found(Fault::Shadow, photo.shadow.max(turf), Effect::Wider(points)))
        .flatten()
}

/// Only told, and only where shadows show that the sun shone: under clouds its height does not matter.
fn low_sun(photo: &Facts) -> Option<Finding> {
    let height = photo.sun_height_deg?;
    (height < LOW_SUN_DEG && photo.shadow >= SUNLIT)
        .then(|| found(Fault::LowSun, height, Effect::Told))
        .flatten()
}

/// Blur makes any turf smooth, and a smooth thing is told as one.
fn smooth_green(photo: &Facts, usual: &Usual) -> Option<Finding> {
    let share = photo.quality.smooth_green;
    let has_other_cause = patch(photo).is_some() || blurred(photo, usual).is_some();
    let points = (100.0 * DOUBT_OF_SMOOTH * share).min(MOST_DOUBT_OF_SMOOTH);
    (share >= SMOOTH_GREEN && !has_other_cause)
        .then(|| found(Fault::SmoothGreen, share, Effect::Wider(points)))
        .flatten()
}

/// Cover does not depend on the scale, but the spot is no longer the same.
fn other_scale(photo: &Facts, usual: &Usual) -> Option<Finding> {
    let station = photo.station.as_deref()?;
    let by_frame = photo
        .frame
        .zip(usual.frame(station))
        .map(|(frame, usual)| (frame / usual, OTHER_FRAME));
    let by_grain = || {
        let usual = usual.grain(station, photo.cover?)?;
        Some((usual / photo.quality.grain?.size, OTHER_GRAIN))
    };
    let (factor, limit) = by_frame.or_else(by_grain)?;
    (factor >= limit || factor <= 1.0 / limit)
        .then(|| found(Fault::OtherScale, factor, Effect::Wider(1.0)))
        .flatten()
}

/// Leaves and ground run into each other where a pixel is as wide as either; the season's rule was fitted to finer ones.
fn coarse(photo: &Facts, usual: &Usual) -> Option<Finding> {
    let usual = usual.n_pixels(photo.station.as_deref())?;
    let n = photo.n_analysed.max(1);
    let factor = (usual / n as f64).sqrt();
    let points = DOUBT_OF_COARSE * (factor - 1.0).max(0.0).sqrt();
    (n < FINE_ENOUGH && factor >= COARSE)
        .then(|| found(Fault::Coarse, factor, Effect::Wider(points)))
        .flatten()
}

/// JPEG rounds colours more coarsely than light, and keeps one for four pixels: leaves and ground get each other's.
fn compressed(photo: &Facts) -> Option<Finding> {
    let quality = f64::from(photo.quality.jpeg_quality?);
    let points = DOUBT_OF_COMPRESSED * (COMPRESSED - quality).max(0.0);
    (points > 0.0)
        .then(|| found(Fault::Compressed, quality, Effect::Wider(points)))
        .flatten()
}
