//! Parts of the season's photos in which a person is to mark turf and what is none.

use image::RgbImage;
use jiff::civil::Date;
use rayon::iter::{IndexedParallelIterator, IntoParallelIterator, ParallelIterator};

use super::bench::{Bench, Workshop};
use super::jobs::Usher;
use super::measure::{asked_or_kept, left_out, load};
use super::opening::slate_code;
use super::tune::{Candidate, candidates, is_mosaic};
use super::{MeasureOptions, Method, PipelineError};
use crate::assign::Calendar;
use crate::course::Course;
use crate::cover::tune::spread;
use crate::cover::{Lanes, Pixels, Rule, count};
use crate::ledger::Ledger;
use crate::photo::{self, Orientation, PhotoName, PixelRect};

/// Photos to mark places in: with two of each kind in each there are sixty marks and some.
const MOST_VIEWS: usize = 16;

/// Photos that these are chosen among; each has to be decoded.
const MOST_LOOKED_AT: usize = 48;

/// Pixels along a side of a view: some 15 cm of ground in a photo of 12 megapixels from hip height, in which single
/// leaves are seen.
const SIDE: u32 = 600;

/// A part of a photo, pixel by pixel and upright.
#[derive(Debug, Clone)]
pub struct ViewToMark {
    /// The photo.
    pub photo: PhotoName,
    /// When it was taken, where that is known before it is measured.
    pub date: Option<Date>,
    /// Column and row of the upright photo that the part begins at.
    pub at: (u32, u32),
    /// The part.
    pub picture: RgbImage,
}

/// Parts of some photos as unlike each other as can be had: in date, in light and in cover. Of each photo the part that
/// is, as the present rule sees it, nearest to half covered, so that there is something of both kinds to mark.
///
/// # Errors
/// [`PipelineError`] where the folder cannot be looked through or the ledger cannot be read.
pub fn views_to_mark(
    course: &Course,
    ledger: &Ledger,
    options: &MeasureOptions,
) -> Result<Vec<ViewToMark>, PipelineError> {
    let found = photo::find(&course.photos.folder, &left_out(course))?;
    let method = Method::of_season(course, Some(ledger))?;
    let known = load(course, ledger, &method)?;
    let usher = Usher::new(course, asked_or_kept(options, ledger)?, Calendar::Open);
    let candidates = candidates(&usher, &found, &known);
    let looked_at = spread(candidates.len(), MOST_LOOKED_AT);
    let workshop = Workshop::of(options.workers)?;
    let seen: Vec<Option<Seen>> = workshop.install(|| {
        let looked_at = looked_at.into_par_iter().with_max_len(1);
        let one = |index: usize| {
            let candidate = &candidates[index];
            let seen =
                workshop.at_bench(|bench| see(candidate, (options, &usher), method.rule(), bench));
            // Measuring tells what is wrong with a photo that cannot be opened.
            seen.ok().flatten().map(|seen| Seen {
                season: index as f64 / candidates.len() as f64,
                ..seen
            })
        };
        looked_at.map(one).collect()
    });
    let mut seen: Vec<Option<Seen>> = seen.into_iter().flatten().map(Some).collect();
    let places: Vec<[f64; 3]> = seen.iter().flatten().map(Seen::place).collect();
    let mut chosen = unlike(&places, MOST_VIEWS);
    chosen.sort_unstable();
    let views = chosen.into_iter().filter_map(|index| seen[index].take());
    Ok(views.map(|seen| seen.view).collect())
}

/// A photo that was looked at.
struct Seen {
    view: ViewToMark,
    /// Where in the season's order it is, 0 up to 1.
    season: f64,
    /// Mean brightness, 0 to 1.
    light: f64,
    /// Of the whole of what is analysed, as a fraction.
    cover: f64,
}

impl Seen {
    /// Photos lie as far from each other as they are unlike. Light counts double: photos differ in it by less than half
    /// of its range.
    fn place(&self) -> [f64; 3] {
        [self.season, 2.0 * self.light, self.cover]
    }
}

fn see(
    candidate: &Candidate<'_>,
    (options, usher): (&MeasureOptions, &Usher<'_>),
    rule: &Rule,
    bench: &mut Bench,
) -> Option<Seen> {
    let photo = candidate.photo;
    if is_mosaic(photo) || bench.read(photo).is_err() {
        return None;
    }
    let metadata = photo::metadata(&bench.bytes, usher.zone());
    if usher.is_from_above(&photo.name, &metadata) {
        return None;
    }
    let _turn = bench.turn();
    let picture = bench.picture(&options.limits).ok()?;
    if slate_code(&picture).is_some() {
        return None;
    }
    let orientation = picture.orientation;
    let (width, height) = (picture.width, picture.height);
    let whole = orientation.stored_rect(candidate.crop.as_ref(), width, height);
    let pixels = Pixels::of(&picture);
    let rule = rule.on_photo(pixels, whole);
    let cover = |rect: PixelRect| {
        let counts = count(pixels, rect, &rule, Lanes::best());
        counts.n_green as f64 / counts.n_analysed.max(1) as f64
    };
    let part = parts(whole).min_by(|one, other| {
        let from_half = |rect: &PixelRect| (cover(*rect) - 0.5).abs();
        from_half(one).total_cmp(&from_half(other))
    })?;
    let last = (part.x + part.width - 1, part.y + part.height - 1);
    let corners = [(part.x, part.y), last].map(|at| orientation.upright_at(at, width, height));
    Some(Seen {
        view: ViewToMark {
            photo: photo.name.clone(),
            date: candidate.date,
            at: (
                corners[0].0.min(corners[1].0),
                corners[0].1.min(corners[1].1),
            ),
            picture: upright(pixels.cut(part), orientation),
        },
        season: 0.0,
        light: brightness(pixels, whole),
        cover: cover(whole),
    })
}

/// Squares of what is analysed: its middle, and the middles of its quarters. Smaller where there is not so much.
fn parts(whole: PixelRect) -> impl Iterator<Item = PixelRect> {
    let (width, height) = (whole.width.min(SIDE), whole.height.min(SIDE));
    [(2, 2), (1, 1), (3, 1), (1, 3), (3, 3)]
        .into_iter()
        .map(move |(across, down)| {
            // The middle at so many quarters of the length, as near as the edges allow.
            let begin = |from: u32, length: u32, side: u32, quarters: u32| {
                let middle = u64::from(length) * u64::from(quarters) / 4;
                from + (middle as u32).saturating_sub(side / 2).min(length - side)
            };
            PixelRect {
                x: begin(whole.x, whole.width, width, across),
                y: begin(whole.y, whole.height, height, down),
                width,
                height,
            }
        })
}

fn upright(stored: RgbImage, orientation: Orientation) -> RgbImage {
    let (width, height) = stored.dimensions();
    let mut bytes = Vec::new();
    orientation.make_upright::<3>(stored.as_raw(), width, height, &mut bytes);
    let (width, height) = orientation.upright_size(width, height);
    RgbImage::from_raw(width, height, bytes).expect("a picture turned has as many pixels")
}

fn brightness(pixels: Pixels<'_>, rect: PixelRect) -> f64 {
    let (mut sum, mut n) = (0_u64, 0_u64);
    for pixel in pixels.grid(rect, 4096) {
        sum += pixel.map(u64::from).iter().sum::<u64>();
        n += 3;
    }
    sum as f64 / (255 * n.max(1)) as f64
}

/// The first place and then always the one that is farthest from all taken so far.
fn unlike(places: &[[f64; 3]], most: usize) -> Vec<usize> {
    let apart = |one: usize, other: usize| -> f64 {
        let along = places[one].iter().zip(places[other]);
        along.map(|(a, b)| (a - b).powi(2)).sum()
    };
    let mut chosen: Vec<usize> = Vec::new();
    let mut nearest = vec![f64::INFINITY; places.len()];
    while chosen.len() < most.min(places.len()) {
        let next = (0..places.len())
            .filter(|index| !chosen.contains(index))
            .reduce(|best, index| {
                if nearest[index] > nearest[best] {
                    index
                } else {
                    best
                }
            })
            .expect("some are left");
        chosen.push(next);
        for (index, nearest) in nearest.iter_mut().enumerate() {
            *nearest = nearest.min(apart(index, next));
        }
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn photos_unlike_each_other_are_chosen_and_none_twice() {
        let places = [
            [0.0, 0.0, 0.0],
            [0.1, 0.0, 0.0],
            [0.2, 0.9, 0.0],
            [1.0, 0.0, 1.0],
        ];
        assert_eq!(unlike(&places, 3), [0, 3, 2]);
        assert_eq!(unlike(&places, 9).len(), 4);
        assert_eq!(unlike(&[[0.5; 3]; 3], 2), [0, 1]);
        assert!(unlike(&[], 4).is_empty());
    }

    #[test]
    fn parts_lie_within_what_is_analysed_however_small() {
        for (width, height) in [(4000, 3000), (700, 300), (5, 900), (1, 1)] {
            let whole = PixelRect {
                x: 30,
                y: 7,
                width,
                height,
            };
            for part in parts(whole) {
                assert_eq!(
                    (part.width, part.height),
                    (width.min(SIDE), height.min(SIDE))
                );
                assert!(
                    part.x >= 30 && part.x + part.width <= 30 + width,
                    "{part:?}"
                );
                assert!(
                    part.y >= 7 && part.y + part.height <= 7 + height,
                    "{part:?}"
                );
            }
        }
    }
}
