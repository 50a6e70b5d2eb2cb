//! A station through the weeks: each photo over its first one, by way of those between.
//!
//! Turf of a month ago is not found again, that of last week is: each photo is laid over the latest before it whose
//! place is known, and so on back to the first.

use super::{Aligned, Transform};

/// Photos tried for each: the latest whose place is known, and so many before.
const TRIED: usize = 3;

/// Where one photo of a station lies over the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Linked {
    /// From places of the first photo to those of this.
    pub transform: Transform,
    /// The photo that it was laid over, by its number; `None` for the first.
    pub onto: Option<usize>,
    /// Photos between it and the first, itself counted.
    pub n_links: usize,
}

/// Links `n_photos` photos of a station, in order of time; `None` for those whose place is not surely known. What comes
/// later changes nothing of what came before.
///
/// `align(earlier, later)` lays a later photo over an earlier one.
pub fn chain(
    n_photos: usize,
    mut align: impl FnMut(usize, usize) -> Option<Aligned>,
) -> Vec<Option<Linked>> {
    let mut linked: Vec<Option<Linked>> = Vec::with_capacity(n_photos);
    for later in 0..n_photos {
        if later == 0 {
            linked.push(Some(Linked {
                transform: Transform::identity(),
                onto: None,
                n_links: 0,
            }));
            continue;
        }
        let known = linked.iter().enumerate().rev();
        let link = known
            .filter_map(|(earlier, link)| Some((earlier, (*link)?)))
            .take(TRIED)
            .find_map(|(earlier, before)| {
                let aligned = align(earlier, later)?;
                Some(Linked {
                    transform: aligned.transform.after(&before.transform),
                    onto: Some(earlier),
                    n_links: before.n_links + 1,
                })
            });
        linked.push(link);
    }
    linked
}

#[cfg(test)]
mod tests {
    use super::super::Confidence;
    use super::*;

    fn shifted(by: f64) -> Option<Aligned> {
        let rows = [[1.0, 0.0, by], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        Some(Aligned {
            transform: Transform::from_rows(rows)?,
            confidence: Confidence {
                n_sought: 100,
                n_agree: 90,
                error: 0.002,
                overlap: 0.9,
            },
        })
    }

    #[test]
    fn a_photo_that_cannot_be_laid_is_passed_over() {
        // The third photo fits nothing; every other is a tenth further than the one before.
        let mut asked = Vec::new();
        let linked = chain(5, |earlier, later| {
            asked.push((earlier, later));
            let is_lost = earlier == 2 || later == 2;
            (!is_lost)
                .then(|| shifted(0.1 * (later - earlier) as f64))
                .flatten()
        });
        assert_eq!(asked, [(0, 1), (1, 2), (0, 2), (1, 3), (3, 4)]);
        assert_eq!(linked[2], None);
        let last = linked[4].unwrap();
        assert_eq!((last.onto, last.n_links), (Some(3), 3));
        assert!((last.transform.at([0.0, 0.0])[0] - 0.4).abs() < 1e-12);
    }

    #[test]
    fn a_later_photo_changes_nothing_before_it() {
        let align = |earlier: usize, later: usize| {
            (!later.is_multiple_of(3) || earlier > 2)
                .then(|| shifted(0.01))
                .flatten()
        };
        let all = chain(9, align);
        assert_eq!(chain(6, align), all[..6]);
    }
}
