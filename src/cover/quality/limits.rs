//! From which number on a photo is told of, widened or set aside, and why there.

/// Fewer pixels than this say too little: the share of 2,500 independent pixels has a standard error of up to
/// one point.
pub(super) const LEAST_PIXELS: u64 = 2_500;

/// A photo with at most this share of the pixels that are usual in its season, and with fewer than so many, is a
/// thumbnail. The share is that of a quarter of the width.
pub(super) const THUMBNAIL: f64 = 1.0 / 16.0;
pub(super) const MOST_OF_THUMBNAIL: u64 = 100_000;
/// Points of cover that it is less sure. Drawn photos of 800 × 600 made into ones of 160 × 120 were read by 1 to 17 points
/// otherwise.
pub(super) const DOUBT_OF_THUMBNAIL: f64 = 10.0;

/// Where 99 % of the pixels differ by less than this between their channels, in levels, the picture is grey or
/// of two colours: no rule of colour says anything of it. JPEG rounds grey to within three levels.
pub(super) const LEAST_COLOUR: u8 = 6;

/// Sharpness below which a photo is blurred, if it is also far below its like. Photos of young cereal rows
/// blurred by a Gaussian of two pixels have at most 0.0144.
pub(super) const BLURRED: f64 = 0.015;
/// A blurred photo has less than this share of the sharpness that is usual at its cover …
pub(super) const BLURRED_SHARE: f64 = 0.25;
/// … and its pattern has less than this that is fine, which tells it from a photo with a strong shadow: that
/// has more contrast, not less detail. It is 0.054 at least in 137 sharp photos of cereals, fields from the
/// air and rendered turf, 0.22 at the median.
pub(super) const BLURRED_FINE: f64 = 0.08;
/// Without photos to compare with: blurred by four pixels, the photos of cereals have 0.0015 at the median.
pub(super) const BLURRED_ALONE: f64 = 0.002;
/// Below this share of the usual sharpness a photo is soft: sharp photos of one cover differ by less.
pub(super) const SOFT_SHARE: f64 = 0.4;
/// … and has less than this of its pattern that is fine.
pub(super) const SOFT_FINE: f64 = 0.15;

/// Share of pixels without a colour from which a photo is too dark to be measured: what is left is less than
/// half.
pub(super) const TOO_DARK: f64 = 0.6;
/// … and from which its cover is less sure.
pub(super) const DARK: f64 = 0.35;

/// Share of one single colour from which a photo is set aside, and from which it is no photo at all. No bar of one
/// colour is in any of the 96 drawn photos of turf of the sample season and 36 photos of cereals.
pub(super) const FILLED: f64 = 0.1;
pub(super) const ALL_FILLED: f64 = 0.98;

/// Share of white pixels from which a photo is too bright to be measured.
pub(super) const TOO_BRIGHT: f64 = 0.6;
/// … and from which its cover is less sure.
pub(super) const BRIGHT: f64 = 0.3;

/// Share of white pixels in a photo that is otherwise well below white: dew and wet leaves mirror the sky.
pub(super) const GLARE: f64 = 0.03;
/// Above this middle luma, white is bright ground and no glare.
pub(super) const GLARE_MIDDLE: f64 = 0.55;

/// Share in shadow from which a photo is told of.
pub(super) const SHADOW: f64 = 0.45;

/// Share that may be turf in deep shade from which a photo is less sure. Drawn clean sand has 0.012 at most, where a
/// person's shadow lies on it; 12 of 36 photos of cereals have more than 0.01, between leaves that shade each other.
pub(super) const SHADED: f64 = 0.02;
/// Points of cover that such a photo is less sure, for each point that may be turf: all of it is or none, by even
/// chances: 0.7 is the root mean square of what is missed then.
pub(super) const DOUBT_OF_SHADED: f64 = 0.7;

/// Height of the sun, in degrees, below which the blades' shadows hide half of the ground between them: at 25°
/// a shadow is 2.1 times as long as what throws it. Walks are planned by it too.
pub const LOW_SUN_DEG: f64 = 25.0;
/// Share in shadow from which the sun must have shone. Drawn turf has 0.001 at most under clouds, and 0.009 to 0.048 in a
/// sun of 17° from a fifth of cover on; on barer sand little throws shadows. Photos of cereals have 0 to 0.01 where no
/// shadow is seen.
pub(super) const SUNLIT: f64 = 0.01;

/// From how far off straight down a photo is told of, in degrees, and below from how far it is set aside.
///
/// Seen at the angle θ, leaves hide more of the ground: its visible share g becomes g^(1 / cos θ) where leaves
/// lie at random (Monsi & Saeki 1953; Nilson 1971, Agricultural Meteorology 8:25–38). At half cover that adds
/// 1.2 points at 15° and 3.5 at 25°.
pub(super) const TILTED_DEG: f64 = 15.0;
/// From how far off straight down a photo is set aside, in degrees.
pub const NOT_OVERHEAD_DEG: f64 = 25.0;

/// Turn of the colour of ground, and of turf, from the season's, as a natural logarithm of red and blue by green, from
/// which the light or the camera's white balance was another. By masks, ground was turned by 0.16 at most in 110 drawn
/// photos in all lights, turf by 0.09; in 36 cereals of six years' fields ground by 0.2 in all but two, turf by 0.15.
pub(super) const CAST_OF_GROUND: f64 = 0.2;
pub(super) const CAST_OF_TURF: f64 = 0.145;
/// What counts of the part of a turn of turf that is towards grey: limits follow pale colours.
pub(super) const PALE_PART: f64 = 0.3;
/// Points of cover that such a photo is less sure, where the cast begins, for each unit of turn beyond, and at most.
pub(super) const LEAST_DOUBT_OF_CAST: f64 = 3.0;
pub(super) const DOUBT_OF_CAST: f64 = 100.0;
pub(super) const MOST_DOUBT_OF_CAST: f64 = 40.0;

/// By how much the greenness of a photo's ground, and of its greenest leaves, in units by luma, is off from the season's
/// from which a photo is less sure, where that is three times the season's scatter. Of 96 photos of the sample season, 110
/// of drawn sand and 36 of cereals ground was off by 0.03 in two, which were in a person's shadow, and leaves of such
/// cover by 0.045 in two; red and blue up by 5 % and green down by 10 % makes it 0.09 and 0.06.
pub(super) const LEAST_TURN_OF_GROUND: f64 = 0.03;
pub(super) const LEAST_TURN_OF_TURF: f64 = 0.045;
/// Points of cover for each unit by luma beyond, of a cast away from green, and of one towards it by ground and by leaves.
/// The sample season's photos were read too low by 10 to 21 points, where a quarter is green and more, with ground less
/// green by 0.07 to 0.09; too high by 6, 38 and 30 at more than three quarters with leaves greener by 0.05 to 0.07, 0.09
/// and 0.13 (root mean squares), and by 3 to 8 at less, where ground was greener by as much.
pub(super) const DOUBT_OF_LESS_GREEN: f64 = 250.0;
pub(super) const DOUBT_OF_GREENER_GROUND: f64 = 60.0;
pub(super) const DOUBT_OF_GREENER_TURF: f64 = 900.0;
/// Leaves may be greener for other reasons, as those of one photo of cereals are.
pub(super) const MOST_DOUBT_OF_GREENER_TURF: f64 = 20.0;
/// Cover from which leaves are more than edges, which have half of the colour of the ground beside them.
pub(super) const LEAST_COVER: f64 = 0.3;

/// Share of a photo that may be ground in a green light from which it is less sure, and points for each point of that. In
/// the sample season 1 of 96 photos has as much, of drawn sand, pots and rows none of 254; with half of them made as green
/// as the shade of leaves all but a fifth of those that were misread by more than ten points, by 37 in the middle.
pub(super) const GREEN_GROUND: f64 = 0.25;
pub(super) const DOUBT_OF_GREEN_GROUND: f64 = 0.7;

/// How much paler than its season a photo is from which it is less sure, and points of cover for each unit of that. With
/// 0.5, 0.4 and 0.3 of their saturation the sample season's photos are paler by 0.23, 0.36 and 0.5, and read otherwise by
/// 6, 7 and 12 (root mean square, in NumPy); 3 of 36 cereals, on another soil, are paler by as much as the first.
pub(super) const PALER: f64 = 0.2;
pub(super) const DOUBT_OF_PALE: f64 = 20.0;

/// By how much the mean hue (degrees) and saturation (0 to 1) of what counts as green are off from those usual at its cover
/// from which some of it is no turf, where that is three times the season's scatter; and by how much where all of it may be
/// none. Of 96 photos of the sample season, 110 of drawn sand, 36 of cereals and 144 of pots and rows two are off by so much.
/// With leaves of trees drawn over a fifth of photos of 7 and 41 % of cover, clover over a quarter, mulch over 15 and 40 %
/// and a painted line over a tenth they were read by 12 to 47 points too high.
pub(super) const LEAST_TURN_OF_HUE: f64 = 12.0;
pub(super) const LEAST_TURN_OF_SATURATION: f64 = 0.05;
pub(super) const ALL_OTHER_HUE: f64 = 36.0;
pub(super) const ALL_OTHER_SATURATION: f64 = 0.15;
/// One of 36 cereals is off by so much for being another field's.
pub(super) const MOST_DOUBT_OF_OTHER_GREEN: f64 = 25.0;
/// Ground nearer to grey by this turn of its colour: a camera set to paler colours, which makes turf paler too.
pub(super) const PALER_GROUND: f64 = 0.03;

/// How many times as rough as the season's bare ground a photo that reads green is, at most, for bare ground
/// seen through a colour cast. Rendered greens in sun, haze and under clouds are from twice as rough when full.
pub(super) const AS_BARE: f64 = 1.25;

/// Share of a smooth patch from which it is told of and from which the photo is set aside: what is left is
/// less than two thirds.
pub(super) const PATCH: f64 = 0.04;
pub(super) const PATCH_TOO_LARGE: f64 = 0.35;
/// A patch that is bluer than the ground by this factor mirrors the sky.
pub(super) const SKY_BLUE: f64 = 1.1;

/// Share of a photo that is green and smooth from which it is told of, 35 cm² where it is a metre wide. Rendered turf has
/// 0.0007 at most in any light, sprigs drawn in pots 0.003; drawn sand that is dyed, or overgrown with algae, has 0.007 to
/// 0.5 up to a cover of 60 and of 20 %.
pub const SMOOTH_GREEN: f64 = 0.005;
/// Points of cover that such a photo is less sure, for each point of smooth green, and at the most: leaves roughen most
/// of what lies between them, so that there is far more such ground than is smooth.
pub(super) const DOUBT_OF_SMOOTH: f64 = 10.0;
pub(super) const MOST_DOUBT_OF_SMOOTH: f64 = 30.0;

/// How many times as wide or as narrow a frame is as the station's usual one, by lens, zoom and height.
pub(super) const OTHER_FRAME: f64 = 1.5;
/// … and by the grain of its pattern, which changes also as turf grows.
pub(super) const OTHER_GRAIN: f64 = 2.5;

/// How many times as wide the pixels of a photo are as is usual, from which it is told of, and from how many pixels on
/// they are fine enough all the same: originals of a phone are.
pub(super) const COARSE: f64 = 1.5;
pub(super) const FINE_ENOUGH: u64 = 2_500_000;
/// Points of cover that a photo is less sure whose pixels are twice as wide. Photos of cereals and of clean drawn sand, two,
/// three and four times smaller and kept as JPEG of quality 75, were read otherwise than at full size by 3.5 and 4.8, 5.0 and
/// 6.2, 6.1 and 6.9 points (root mean squares; the rule fitted at full size): as the square root of what is more than once.
pub(super) const DOUBT_OF_COARSE: f64 = 4.0;

/// JPEG quality below which a photo is less sure, and points of cover for each below.
pub(super) const COMPRESSED: f64 = 40.0;
pub(super) const DOUBT_OF_COMPRESSED: f64 = 0.4;
