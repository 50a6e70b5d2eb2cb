//! From a place on one photo to the same ground on another.

use nalgebra::{Matrix3, Vector3};

/// Takes places of one photo (in its widths) to those of another (in its own).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transform(Matrix3<f64>);

impl Transform {
    /// Every place to itself.
    pub fn identity() -> Transform {
        Transform(Matrix3::identity())
    }

    /// From its matrix by rows, which acts on (x, y, 1) up to a factor; `None` where it cannot be turned back.
    pub fn from_rows(rows: [[f64; 3]; 3]) -> Option<Transform> {
        let matrix = Matrix3::from_fn(|row, column| rows[row][column]);
        let is_sound = matrix.iter().all(|value| value.is_finite());
        let scale = matrix[(2, 2)];
        (is_sound && scale.abs() > 1e-9 && matrix.determinant().abs() > 1e-9 * scale.abs().powi(3))
            .then(|| Transform(matrix / scale))
    }

    /// Its matrix by rows.
    pub fn rows(&self) -> [[f64; 3]; 3] {
        [0, 1, 2].map(|row| [0, 1, 2].map(|column| self.0[(row, column)]))
    }

    /// A turn about the middles of both photos, then a shift: `scale` and `turn` (radians, clockwise as seen) of the
    /// second photo's places against the first's; `aspects` are heights by widths.
    pub(super) fn similar(
        scale: f64,
        turn: f64,
        [dx, dy]: [f64; 2],
        aspects: [f64; 2],
    ) -> Transform {
        let (sin, cos) = turn.sin_cos();
        let (a, b) = (scale * cos, scale * sin);
        let (mx, my) = (0.5 - dx, aspects[0] / 2.0 - dy);
        Transform(Matrix3::new(
            a,
            -b,
            0.5 - a * mx + b * my,
            b,
            a,
            aspects[1] / 2.0 - b * mx - a * my,
            0.0,
            0.0,
            1.0,
        ))
    }

    pub(super) fn from_matrix(matrix: Matrix3<f64>) -> Transform {
        Transform(matrix / matrix[(2, 2)])
    }

    /// The place on the other photo; not finite where it is behind the camera.
    pub fn at(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let to = self.0 * Vector3::new(x, y, 1.0);
        if to.z > 1e-9 {
            [to.x / to.z, to.y / to.z]
        } else {
            [f64::NAN; 2]
        }
    }

    /// First `first`, then this.
    pub fn after(&self, first: &Transform) -> Transform {
        Transform::from_matrix(self.0 * first.0)
    }

    /// Back from the other photo.
    pub fn inverse(&self) -> Option<Transform> {
        self.0.try_inverse().map(Transform::from_matrix)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn is_near(a: [f64; 2], b: [f64; 2]) -> bool {
        (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-12
    }

    #[test]
    fn a_quarter_turn_goes_clockwise_about_the_middle() {
        let quarter = Transform::similar(1.0, std::f64::consts::FRAC_PI_2, [0.0; 2], [1.0, 1.0]);
        assert!(is_near(quarter.at([1.0, 0.5]), [0.5, 1.0]));
        let twice = quarter.after(&quarter);
        assert!(is_near(twice.at([1.0, 0.25]), [0.0, 0.75]));
    }

    #[test]
    fn going_there_and_back_ends_where_it_began() {
        let there =
            Transform::from_rows([[1.1, 0.1, 0.05], [-0.1, 0.95, -0.02], [0.03, -0.02, 1.0]]);
        let there = there.unwrap();
        let back = there.inverse().unwrap();
        for place in [[0.0, 0.0], [0.3, 0.7], [1.0, 0.75]] {
            assert!(is_near(back.at(there.at(place)), place));
        }
    }

    #[test]
    fn a_matrix_that_flattens_the_ground_is_none() {
        assert_eq!(
            Transform::from_rows([[1.0, 2.0, 0.0], [2.0, 4.0, 0.0], [0.0, 0.0, 1.0]]),
            None
        );
        assert_eq!(Transform::from_rows([[f64::NAN; 3]; 3]), None);
    }
}
