//! What a table of cover tells of its errors: each visit's own, and what all visits share.

use super::{CoverPoint, SharedError};
use crate::course::Cover;

/// What a table of cover tells of its errors.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum ToldError {
    /// Nothing, or one error of each visit, which is taken for its own.
    #[default]
    Whole,
    /// Each visit's own error apart from what all of them share: as large as this, where the table tells.
    Apart(Option<SharedError>),
}

/// Where a table has whole errors that are no larger than the visits' own, or visits of one cover alone, they do not
/// tell what is shared.
const LEAST_DETERMINANT: f64 = 1e-3;

/// What visits share by cover, whole and own error of each, as fractions: whole² − own² is ((1 − c) × bare)² +
/// (c × full)² at cover c, to which bare² and full² are fitted by least squares.
pub(super) fn shared(visits: &[(Cover, f64, f64)]) -> Option<SharedError> {
    let (mut aa, mut ab, mut bb, mut ar, mut br) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (cover, whole, own) in visits {
        let (a, b) = ((1.0 - cover.fraction()).powi(2), cover.fraction().powi(2));
        let rest = whole * whole - own * own;
        aa += a * a;
        ab += a * b;
        bb += b * b;
        ar += a * rest;
        br += b * rest;
    }
    let determinant = aa * bb - ab * ab;
    if determinant < LEAST_DETERMINANT {
        return None;
    }
    let (bare, full) = (
        (bb * ar - ab * br) / determinant,
        (aa * br - ab * ar) / determinant,
    );
    (bare > 0.0 && full > 0.0).then(|| SharedError {
        bare: bare.sqrt(),
        full: full.sqrt(),
    })
}

/// A visit whose own error is told. Where that is more than its photos' scatter makes, the rest of it is of another
/// kind; where it is less, or nothing is told of scatter, the cover is no plain mean of photos, and all of it is the error
/// of sampling.
pub(super) fn with_own_error(point: CoverPoint, own: f64) -> CoverPoint {
    /// Errors are written to a hundredth of a point.
    const AS_WRITTEN: f64 = 0.5e-4;
    let by_photos = CoverPoint {
        sampling_error: None,
        other_error: 0.0,
        ..point
    };
    let scatter = by_photos.standard_error();
    let is_of_photos = point.sd.is_some() && own >= scatter - AS_WRITTEN;
    if is_of_photos {
        CoverPoint {
            other_error: (own * own - scatter * scatter).max(0.0).sqrt(),
            ..by_photos
        }
    } else {
        CoverPoint {
            sampling_error: Some(own),
            ..by_photos
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn what_visits_share_is_told_by_what_is_not_their_own() {
        let told = SharedError {
            bare: 0.03,
            full: 0.012,
        };
        let visit = |share: f64| {
            let cover = Cover::from_fraction(share).unwrap();
            let shared = ((1.0 - share) * told.bare).hypot(share * told.full);
            (cover, 0.02f64.hypot(shared), 0.02)
        };
        let found = shared(&[0.05, 0.4, 0.7, 0.9].map(visit)).unwrap();
        assert!((found.bare - told.bare).abs() < 1e-9, "{found:?}");
        assert!((found.full - told.full).abs() < 1e-9, "{found:?}");
        assert_eq!(shared(&[0.4, 0.4].map(visit)), None, "one cover alone");
        assert_eq!(shared(&[]), None);
    }

    #[test]
    fn an_own_error_stands_whatever_kind_it_is_of() {
        let point = CoverPoint {
            date: date(2027, 6, 20),
            cover: Cover::from_percent(50.0).unwrap(),
            n_photos: Some(6),
            sd: Some(0.06),
            sampling_error: None,
            other_error: 0.0,
        };
        for own in [0.003, 0.0245, 0.05] {
            let with = with_own_error(point, own);
            assert!((with.standard_error() - own).abs() < 1e-4, "{with:?}");
        }
        assert!(with_own_error(point, 0.05).sampling_error.is_none());
        assert!(with_own_error(point, 0.003).sampling_error.is_some());
    }
}
