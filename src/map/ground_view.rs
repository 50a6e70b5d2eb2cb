//! Where the pixels of a picture lie on flat ground.

#[cfg(test)]
use geo::Area;
use geo::Polygon;
use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

/// A picture laid on the plane of a green: straight lines stay straight, as in any picture of flat ground taken
/// without distortion of the lens, and in a map.
///
/// Pixels are counted in columns and rows from the outer corner of the upper left one, whose middle is at 0.5, 0.5.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundView {
    to_metres: Matrix3<f64>,
    to_pixels: Matrix3<f64>,
    size: (u32, u32),
}

impl GroundView {
    /// From the matrix that takes a pixel (column, row, 1) to metres (east, north, 1), but for a factor. `None`
    /// where it cannot be turned round.
    pub(super) fn from_matrix(to_metres: Matrix3<f64>, size: (u32, u32)) -> Option<GroundView> {
        Some(GroundView {
            to_metres,
            to_pixels: to_metres.try_inverse()?,
            size,
        })
    }

    /// The view that takes four pixels to four places on the plane; `None` where three of them lie on a line.
    pub fn from_pairs(pairs: &[([f64; 2], [f64; 2]); 4], size: (u32, u32)) -> Option<GroundView> {
        // a u + b v + c − x (g u + h v) = x and the same for y (Hartley & Zisserman 2004, section 4.1), counted from
        // the first pair so that large numbers do not drown small ones.
        let ([u0, v0], [x0, y0]) = pairs[0];
        let mut system = SMatrix::<f64, 8, 8>::zeros();
        let mut right = SVector::<f64, 8>::zeros();
        for (idx, ([u, v], [x, y])) in pairs.iter().enumerate() {
            let (u, v, x, y) = (u - u0, v - v0, x - x0, y - y0);
            let rows = [
                [u, v, 1.0, 0.0, 0.0, 0.0, -x * u, -x * v],
                [0.0, 0.0, 0.0, u, v, 1.0, -y * u, -y * v],
            ];
            for (offset, (row, value)) in rows.iter().zip([x, y]).enumerate() {
                let at = 2 * idx + offset;
                system.row_mut(at).copy_from_slice(row);
                right[at] = value;
            }
        }
        let found = system.lu().solve(&right)?;
        let view = Matrix3::new(
            found[0], found[1], found[2], found[3], found[4], found[5], found[6], found[7], 1.0,
        );
        let to_first = Matrix3::new(1.0, 0.0, -u0, 0.0, 1.0, -v0, 0.0, 0.0, 1.0);
        let from_first = Matrix3::new(1.0, 0.0, x0, 0.0, 1.0, y0, 0.0, 0.0, 1.0);
        GroundView::from_matrix(from_first * view * to_first, size)
    }

    /// Columns and rows of the picture.
    pub fn size(&self) -> (u32, u32) {
        self.size
    }

    /// Metres east and north of a place in the picture.
    pub fn metres(&self, pixel: [f64; 2]) -> [f64; 2] {
        through(&self.to_metres, pixel)
    }

    /// The place in the picture of metres east and north; it may lie beyond the picture.
    pub fn pixel(&self, metres: [f64; 2]) -> [f64; 2] {
        through(&self.to_pixels, metres)
    }

    /// The ground that the picture shows, in metres.
    pub fn footprint(&self) -> Polygon<f64> {
        let (width, height) = (f64::from(self.size.0), f64::from(self.size.1));
        let corners = [[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]];
        let ring = corners.map(|corner| {
            let [x, y] = self.metres(corner);
            (x, y)
        });
        Polygon::new(ring.to_vec().into(), Vec::new())
    }

    /// Side of a square that is as large as a pixel is on the ground, on the average, in metres.
    #[cfg(test)]
    pub(super) fn pixel_size_m(&self) -> f64 {
        let n_pixels = f64::from(self.size.0) * f64::from(self.size.1);
        (self.footprint().unsigned_area() / n_pixels).sqrt()
    }
}

fn through(matrix: &Matrix3<f64>, [x, y]: [f64; 2]) -> [f64; 2] {
    let mapped = matrix * Vector3::new(x, y, 1.0);
    [mapped.x / mapped.z, mapped.y / mapped.z]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_pairs_are_met_and_the_way_back_leads_home() {
        let pairs = [
            ([1000.0, 2000.0], [-12.0, 9.0]),
            ([1800.0, 2010.0], [11.0, 9.5]),
            ([1790.0, 2600.0], [12.0, -8.0]),
            ([1010.0, 2590.0], [-11.0, -9.0]),
        ];
        let view = GroundView::from_pairs(&pairs, (4000, 3000)).unwrap();
        for (pixel, metres) in pairs {
            let found = view.metres(pixel);
            assert!((found[0] - metres[0]).hypot(found[1] - metres[1]) < 1e-9);
            let back = view.pixel(metres);
            assert!((back[0] - pixel[0]).hypot(back[1] - pixel[1]) < 1e-7);
        }
        let on_a_line = [0.0, 1.0, 2.0, 3.0].map(|at| ([at, at], [at, 0.0]));
        assert_eq!(GroundView::from_pairs(&on_a_line, (4, 4)), None);
    }

    #[test]
    fn a_pixel_has_its_size_on_the_ground() {
        let square = [
            ([0.0, 0.0], [-2.0, 1.5]),
            ([400.0, 0.0], [2.0, 1.5]),
            ([400.0, 300.0], [2.0, -1.5]),
            ([0.0, 300.0], [-2.0, -1.5]),
        ];
        let view = GroundView::from_pairs(&square, (400, 300)).unwrap();
        assert!((view.pixel_size_m() - 0.01).abs() < 1e-12);
        assert!((view.footprint().unsigned_area() - 12.0).abs() < 1e-9);
    }
}
