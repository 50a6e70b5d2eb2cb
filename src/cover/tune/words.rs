//! A fitted rule in a person's words.

use std::fmt;

use super::fit::{Fault, Tuned};
use super::marked_fit::Agreement;
use crate::course::CoverLimits;

/// What the rule is, what was added to hue and saturation and why, and how well it separates.
impl fmt::Display for Tuned {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let CoverLimits { hue, saturation } = self.limits.window;
        write!(
            f,
            "Green is what has a hue of {}–{}° and a saturation of {}% or more, and ",
            hue[0], hue[1], saturation[0],
        )?;
        match self.limits.plane {
            None => write!(
                f,
                "is at least {:.1} units greener (CIELAB a*) than the ground of its photo (more where the photo is noisy or its turf greener than usual, less where paler), since ground and turf share hues but not greenness",
                self.limits.limit
            )?,
            Some(plane) => {
                let ([red, green, blue], least) = (plane.weights(), plane.least());
                write!(
                    f,
                    "lies on the side of the marked turf: {red} × red, {green} × green and {blue} × blue add to {least} or more, since the marks tell turf from this ground better than greenness does"
                )?;
            }
        }
        write!(
            f,
            "; in grainy photos 9 neighbouring pixels decide by majority, 25 in noisy ones. Fitted to {} photo{}",
            self.n_photos,
            if self.n_photos == 1 { "" } else { "s" }
        )?;
        if self.n_marked > 0 {
            write!(f, " and {} marked pixels", self.n_marked)?;
        }
        if self.limits.plane.is_some() {
            return f.write_str(".");
        }
        let separation = &self.separation;
        write!(
            f,
            ". Turf is {:.0} units greener than ground; by colour alone {:.0}% of turf and {:.0}% of ground should be told right, and a limit a tenth of the way higher or lower would change mean cover by {:.1} points",
            self.limits.gap,
            100.0 * separation.sensitivity,
            100.0 * separation.specificity,
            separation.points_per_tenth,
        )?;
        f.write_str(".")
    }
}

/// What is wrong and what to do.
impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Fault::NoPhotos => f.write_str(
                "no photo to fit the colours to; what is usual for turf is used until there are some",
            ),
            Fault::NoGround => f.write_str(
                "no photo shows bare ground, so the colour of ground is only assumed; add photos from early in the season, or mark some places",
            ),
            Fault::NoTurf => f.write_str(
                "hardly any turf in the photos, so its colour is only assumed; fit again when it has grown, or mark some places",
            ),
            Fault::Overlap => f.write_str(
                "turf and ground have nearly the same colours, so cover may be far off; look at the overlays, and mark some places of both on the page that `sprigcast tune SEASON --by-eye` writes",
            ),
            Fault::GreenGround => f.write_str(
                "the ground itself is greenish: dyed sand, mulch or algae; mark some places that are turf and some that are not on the page that `sprigcast tune SEASON --by-eye` writes",
            ),
            Fault::Casts { n_cast, n_photos } => write!(
                f,
                "{n_cast} of {n_photos} photos have another colour cast than the rest; it is taken out as far as ground can be seen, look at their overlays"
            ),
        }
    }
}

impl fmt::Display for Agreement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} of {} marks of turf and {} of {} other marks are judged as you did, each by a rule that did not know it",
            self.n_green_found, self.n_green, self.n_not_green_left, self.n_not_green
        )
    }
}
