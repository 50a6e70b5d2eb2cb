//! A piece of ground to be sprigged, and what grew on it.
//! Lengths are millimetres; ages are growth days, a growth day being one day at the best temperature.

/// What makes one piece of ground grow as it does.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Site {
    /// Seeds sprigs and runners.
    pub(crate) seed: u64,
    /// Seeds the mottling, the same for every piece of one green.
    pub(crate) green_seed: u32,
    /// Half the width and height of the simulated rectangle.
    pub(crate) half_mm: [f32; 2],
    /// Where the rectangle's centre lies on the green, so that neighbouring pieces share their mottling.
    pub(crate) centre_mm: [f32; 2],
    /// Pieces of stolon laid per square metre.
    pub(crate) sprigs_per_m2: f32,
    /// Share of the nodes that take root where the ground is average.
    pub(crate) take: f32,
    /// How strongly density differs from place to place: 0 even, 1 very patchy.
    pub(crate) mottling: f32,
    /// Rate of spread against the usual grass; 1 is usual.
    pub(crate) spread: f32,
}

/// The piece of stolon between two joints.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Internode {
    pub(crate) from: [f32; 2],
    pub(crate) to: [f32; 2],
    pub(crate) born: f32,
    pub(crate) kind: Stolon,
    pub(crate) seed: u32,
}

/// Where a piece of stolon came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stolon {
    /// Planted: straw by the time it lies on the green.
    Sprig,
    /// Grown there: green at first.
    Runner,
}

/// A bundle of leaves out of one bud.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shoot {
    pub(crate) at: [f32; 2],
    pub(crate) azimuth: f32,
    pub(crate) born: f32,
    /// Leaves that a sprig brought with it wilt; others stay.
    pub(crate) dies: f32,
    /// How crowded its place was when it came up: 0 free, 1 as dense as turf gets.
    pub(crate) crowding: f32,
    /// Size of its leaves against the usual.
    pub(crate) size: f32,
    pub(crate) seed: u32,
}

/// Everything that ever grew on one piece of ground; a date's picture is what was born by then.
#[derive(Debug, Clone)]
pub(crate) struct Stand {
    pub(crate) internodes: Vec<Internode>,
    pub(crate) shoots: Vec<Shoot>,
}
