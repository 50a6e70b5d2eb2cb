//! Where on a green something lies, in words.

use std::fmt;

/// The part of a green, by the compass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the words say it")]
pub enum Side {
    Middle,
    North,
    NorthEast,
    East,
    SouthEast,
    South,
    SouthWest,
    West,
    NorthWest,
}

/// In the order of azimuths, 45° each, from north on.
const AROUND: [Side; 8] = [
    Side::North,
    Side::NorthEast,
    Side::East,
    Side::SouthEast,
    Side::South,
    Side::SouthWest,
    Side::West,
    Side::NorthWest,
];

impl Side {
    /// The side to which a place lies that is so many metres east and north of the middle of a green; what lies
    /// nearer than `middle_m` is in the middle.
    pub fn of([east, north]: [f64; 2], middle_m: f64) -> Side {
        if east.hypot(north) < middle_m {
            return Side::Middle;
        }
        let azimuth = east.atan2(north).to_degrees().rem_euclid(360.0);
        AROUND[((azimuth / 45.0).round() as usize) % 8]
    }

    /// `northeast side`.
    pub fn words(self) -> &'static str {
        match self {
            Side::Middle => "middle",
            Side::North => "north side",
            Side::NorthEast => "northeast side",
            Side::East => "east side",
            Side::SouthEast => "southeast side",
            Side::South => "south side",
            Side::SouthWest => "southwest side",
            Side::West => "west side",
            Side::NorthWest => "northwest side",
        }
    }
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_are_those_of_the_compass() {
        for (east, north, side) in [
            (0.0, 9.0, Side::North),
            (-1.0, 9.0, Side::North),
            (9.0, 9.0, Side::NorthEast),
            (9.0, 1.0, Side::East),
            (-5.0, -6.0, Side::SouthWest),
            (-9.0, 8.0, Side::NorthWest),
            (1.0, 1.0, Side::Middle),
        ] {
            assert_eq!(Side::of([east, north], 3.0), side, "{east} {north}");
        }
    }
}
