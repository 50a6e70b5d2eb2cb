//! How far the telling of green from ground may be off, beside the sampling of spots.

use crate::course::Cover;

/// Tells the standard error of a visit's cover for what the rule of colour gets wrong, as a fraction of ground.
///
/// An audit of a season knows it better than the default does, and takes its place.
pub trait ClassificationError {
    /// Standard error at this cover, 0 to 1.
    fn standard_error(&self, cover: Cover) -> f64;
}

/// What a fitted rule gets wrong on photos that it was not made for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UsualError {
    /// Standard error at half cover, as a fraction; less towards bare and full ground.
    pub at_half_cover: f64,
}

impl Default for UsualError {
    /// 2 points at half cover, half of that on bare and on full ground: our own expectation, between the aims
    /// for cereal rows (mean error 4 points) and for crops on soil (0.6). An audit says what it is on a course.
    fn default() -> UsualError {
        UsualError {
            at_half_cover: 0.02,
        }
    }
}

impl ClassificationError for UsualError {
    fn standard_error(&self, cover: Cover) -> f64 {
        let share = cover.fraction();
        self.at_half_cover * (0.5 + 2.0 * share * (1.0 - share))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_error_is_largest_at_half_cover() {
        let at =
            |percent| UsualError::default().standard_error(Cover::from_percent(percent).unwrap());
        assert!((at(50.0) - 0.02).abs() < 1e-12);
        assert!((at(0.0) - 0.01).abs() < 1e-12);
        assert!((at(100.0) - 0.01).abs() < 1e-12);
    }
}
