//! Which colours are green in this season: a rule fitted to the season's own photos, and to pixels that a
//! person has marked.
//!
//! Takes the [`Palette`] of each photo (of some, in a large season: [`spread`]); gives one [`Tuned`] rule for
//! all. Nothing is asked of anybody.
//!
//! **What it rests on.** A season shows bare ground and turf, and greenness (CIELAB's a*) tells them apart
//! whatever the light, because shading moves a colour along its own ray while a leaf lies on another. The
//! ground is what is commonest among pixels that cannot be leaves; turf is the median of what is clearly
//! greener. A pixel counts as green from about the greenness that half a pixel of leaf on half a pixel of
//! ground would have, so that the edges of leaves balance. What photos show of neither class is filled in
//! from what is usual, and said.
//!
//! **What it is not.** It is no Otsu threshold photo by photo: those fail on photos that are nearly bare or
//! nearly full. There is one rule for the season, whatever the date.

mod fit;
mod marked_fit;
mod marked_limit;
mod marks;
mod palette;
mod plane;
mod separation;
mod window;
mod words;

pub use fit::{Fault, Tuned, VERSION, fit};
pub use marked_fit::{Agreement, MarkedPixel, fit_marked};
pub use marks::{Mark, Marking, MarksError, read_marks};
pub use palette::Palette;
pub use separation::Separation;

/// Which photos of a season to look at where it has more than `most`: evenly through its order, so from all
/// dates and greens where it is sorted by date or by green. Indices, rising.
pub fn spread(n_photos: usize, most: usize) -> Vec<usize> {
    if n_photos <= most {
        return (0..n_photos).collect();
    }
    (0..most)
        .map(|index| (2 * index + 1) * n_photos / (2 * most))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn photos_to_look_at_are_spread_evenly_and_none_is_taken_twice() {
        assert_eq!(spread(3, 60), [0, 1, 2]);
        assert_eq!(spread(10, 5), [1, 3, 5, 7, 9]);
        let many = spread(2000, 60);
        assert_eq!((many.len(), many[0], many[59]), (60, 16, 1983));
        assert!(many.windows(2).all(|pair| pair[0] < pair[1]));
        assert!(spread(0, 60).is_empty());
    }
}
