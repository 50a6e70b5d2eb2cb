//! Fitting the colour rule of a season to its own photos.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use jiff::civil::Date;
use rayon::iter::{IndexedParallelIterator, IntoParallelIterator, ParallelIterator};

use super::above::Piece;
use super::bench::{Bench, Workshop};
use super::held::Hold;
use super::jobs::Usher;
use super::measure::{asked_or_kept, left_out, load};
use super::opening::slate_code;
use super::{Marked, MeasureOptions, Method, PipelineError};
use crate::assign::Calendar;
use crate::course::{Course, Crop};
use crate::cover::Pixels;
use crate::cover::tune::{self, Agreement, Mark, MarkedPixel, Palette};
use crate::ledger::{Known, Ledger, ReadingKey, RuleRow, Told};
use crate::photo::mosaic::Mosaic;
use crate::photo::{self, ContentHash, Found, FoundPhoto, Metadata, PhotoName, Picture, PixelRect};

/// Photos that a rule is fitted to, at most, beside those with marks: on 36 photos of cereals with masks
/// drawn by hand a rule fitted to 12 or 24 of them drawn at random is as good as one fitted to all (2.47), one fitted to 8
/// is off by 2.51.
const MOST_PHOTOS: usize = 24;
/// In a small season fewer will do, since most of them stay decoded until they are measured. Not fewer yet: on the sample
/// season, whose photos are off by 1.7 points with a rule fitted to all 96, one fitted to 4, 6, 8, 12 or 16 drawn at random
/// (30 draws each) is off by 2.0, 1.7, 1.7, 1.8 and 1.6, and one draw in ten by 3.6, 2.5, 2.6, 2.5 and 2.2 or more.
const LEAST_PHOTOS: usize = 8;

/// A rule fitted to the season, not yet kept.
#[derive(Debug, Clone)]
pub struct Tuning {
    /// The rule with its number: one more than that of the rule that holds.
    pub fitted: RuleRow,
    /// How it agrees with marks, where there are any.
    pub agreement: Option<Agreement>,
    /// The rule that holds; `None` where this is the first.
    pub before: Option<RuleRow>,
    /// Photos that are measured and no longer in the folder: by another rule they cannot be.
    pub n_left_behind: usize,
    /// Whether an audit that counts now judges the rule that holds, and so would count no more.
    pub ends_an_audit: bool,
    /// Where the photos lie that it was fitted to, with the part that is analysed; by date.
    pub(super) looked_at: Vec<(FoundPhoto, Option<Crop>)>,
}

impl Tuning {
    /// Whether it judges as the rule that holds, so that nothing has to be measured anew, and was fitted to the same
    /// audits.
    pub fn is_as_before(&self) -> bool {
        self.before.as_ref().is_some_and(|before| {
            before.tuned.limits == self.fitted.tuned.limits && before.audits == self.fitted.audits
        })
    }
}

/// Fits a rule, at the time `now`, to the photos of the season, and to marks where there are any. Changes nothing: see
/// [`Ledger::add_rule`].
///
/// # Errors
///
/// [`PipelineError`] where the folder cannot be looked through, the ledger cannot be read, or a mark is in no
/// photo.
pub fn tune(
    course: &Course,
    ledger: &Ledger,
    options: &MeasureOptions,
    marked: &Marked,
    now: Timestamp,
) -> Result<Tuning, PipelineError> {
    let found = photo::find(&course.photos.folder, &left_out(course))?;
    let method = Method::of_season(course, Some(ledger))?;
    let known = load(course, ledger, &method)?;
    let usher = Usher::new(course, asked_or_kept(options, ledger)?, Calendar::Open);
    let candidates = candidates(&usher, &found, &known);
    let mut indices: BTreeSet<usize> = chosen(&candidates).into_iter().collect();
    let marks = by_photo(&marked.marks, &candidates, &mut indices)?;
    let chosen: Vec<(&Candidate<'_>, &[Mark])> = indices
        .into_iter()
        .map(|index| {
            let candidate = &candidates[index];
            let marks = marks.get(&candidate.photo.name);
            (candidate, marks.map_or(&[][..], Vec::as_slice))
        })
        .collect();
    let workshop = Workshop::of(options.workers)?;
    let mut looks = look_at(&chosen, (options, &workshop), &usher, &Hold::nothing())?;
    if looks.is_empty() {
        looks = looks_from_above(&usher, &found, (options, &workshop));
    }
    let before = ledger.rule()?;
    let number = before.as_ref().map_or(1, |before| before.number + 1);
    let (rule, agreement) = fit(looks, number, now);
    let fitted = RuleRow {
        audits: marked.audits.iter().cloned().collect(),
        ..rule
    };
    let there: BTreeSet<&PhotoName> = found.photos.iter().map(|photo| &photo.name).collect();
    let n_left_behind = ledger
        .photos()?
        .iter()
        .filter(|row| row.outcome.is_measured() && !there.contains(&row.photo))
        .count();
    let audit = ledger.last_audit(method.key(), method.rule_number())?;
    let names: BTreeSet<&PhotoName> = fitted.photos.iter().collect();
    let looked_at = candidates
        .iter()
        .filter(|candidate| names.contains(&candidate.photo.name))
        .map(|candidate| (candidate.photo.clone(), candidate.crop))
        .collect();
    Ok(Tuning {
        looked_at,
        fitted,
        agreement,
        before,
        n_left_behind,
        ends_an_audit: audit.is_some(),
    })
}

/// The rule that a season needs before its new photos are measured, and photos that are still decoded: its first, or
/// one fitted anew where it has outgrown the one that holds. `None` where the present one serves, or no photo can be
/// read.
pub(super) fn rule_to_add(
    method: &Method,
    ledger: &Ledger,
    usher: &Usher<'_>,
    (found, known): (&Found, &Known),
    (options, workshop, now): (&MeasureOptions, &Workshop, Timestamp),
) -> Result<(Option<RuleRow>, Hold), PipelineError> {
    let none = || Ok((None, Hold::nothing()));
    if method.is_fixed() {
        return none();
    }
    let before = ledger.rule()?;
    // Asked before anything is asked of each photo: in most runs it is the end of it.
    if let Some(rule) = &before
        && !may_be_fitted_anew(rule, (found, known), ledger, method)?
    {
        return none();
    }
    let candidates = candidates(usher, found, known);
    if before
        .as_ref()
        .is_some_and(|rule| !is_outgrown(rule, &candidates))
    {
        return none();
    }
    let chosen: Vec<(&Candidate<'_>, &[Mark])> = chosen(&candidates)
        .into_iter()
        .map(|index| (&candidates[index], &[][..]))
        .collect();
    let hold = Hold::empty();
    let mut looks = look_at(&chosen, (options, workshop), usher, &hold)?;
    if looks.is_empty() {
        looks = looks_from_above(usher, found, (options, workshop));
    }
    let number = 1 + before.map_or(0, |before| before.number);
    let (rule, _) = fit(looks, number, now);
    Ok(((!rule.photos.is_empty()).then_some(rule), hold))
}

/// Whether there are new files, and nothing speaks against measuring all others anew with another rule: a person has
/// marked places or judged points, whose work would be lost, or photos that were measured are no longer there.
fn may_be_fitted_anew(
    rule: &RuleRow,
    (found, known): (&Found, &Known),
    ledger: &Ledger,
    method: &Method,
) -> Result<bool, PipelineError> {
    let hashes: Vec<Option<ContentHash>> = found
        .photos
        .iter()
        .map(|photo| known.unchanged(photo))
        .collect();
    if hashes.iter().all(Option::is_some) || rule.tuned.n_marked > 0 {
        return Ok(false);
    }
    let there: BTreeSet<ContentHash> = hashes.into_iter().flatten().collect();
    let is_there = |key: &ReadingKey| there.contains(&key.content);
    Ok(known.readings.keys().all(is_there)
        && ledger
            .last_audit(method.key(), method.rule_number())?
            .is_none())
}

/// Whether the season has at least twice the walks that it had when its rule was fitted. What is fitted to the bare
/// sand of the first walk alone knows no turf, and to that and the second little; from then on it is fitted ever
/// more rarely, so that in a whole season no photo is measured more than two or three times.
fn is_outgrown(rule: &RuleRow, candidates: &[Candidate<'_>]) -> bool {
    let fitted_to: BTreeSet<&PhotoName> = rule.photos.iter().collect();
    let seen = candidates
        .iter()
        .filter(|candidate| fitted_to.contains(&candidate.photo.name))
        .filter_map(|candidate| candidate.date);
    let (Some(first), Some(last)) = (seen.clone().min(), seen.max()) else {
        return false;
    };
    let walks: BTreeSet<Date> = candidates.iter().filter_map(|one| one.date).collect();
    walks.len() >= 2 * walks.range(first..=last).count()
}

fn fit(looks: Vec<Look>, number: u32, now: Timestamp) -> (RuleRow, Option<Agreement>) {
    let (mut palettes, mut photos, mut marked) = (Vec::new(), Vec::new(), Vec::new());
    for (photo, look) in looks.into_iter().enumerate() {
        palettes.push(look.palette);
        photos.push(look.name);
        marked.extend(
            look.marked
                .into_iter()
                .map(|pixel| MarkedPixel { photo, ..pixel }),
        );
    }
    let (tuned, agreement) = tune::fit_marked(&palettes, &marked);
    let rule = RuleRow {
        number,
        fitted_at: now,
        photos,
        audits: Vec::new(),
        tuned,
    };
    (rule, agreement)
}

/// Which of the candidates to look at.
fn chosen(candidates: &[Candidate<'_>]) -> Vec<usize> {
    let n_photos = candidates.len();
    tune::spread(n_photos, (n_photos / 6).clamp(LEAST_PHOTOS, MOST_PHOTOS))
}

/// A photo that belongs to a green, as far as is known before it is opened.
pub(super) struct Candidate<'f> {
    pub(super) photo: &'f FoundPhoto,
    pub(super) crop: Option<Crop>,
    pub(super) date: Option<Date>,
}

/// By date, so that photos taken evenly from them are of all dates and greens. Without orthomosaics: they are never
/// looked at beside photos, and would only take the places of some.
pub(super) fn candidates<'f>(
    usher: &Usher<'_>,
    found: &'f Found,
    known: &Known,
) -> Vec<Candidate<'f>> {
    let mut candidates: Vec<Candidate<'f>> = found
        .photos
        .iter()
        .filter(|photo| photo.unreadable_by_name().is_none() && !is_mosaic(photo))
        .filter_map(|photo| candidate(usher, photo, known))
        .collect();
    if candidates.is_empty() {
        // Before slates are read and positions compared, no photo may be known to belong to a green.
        candidates = found
            .photos
            .iter()
            .filter_map(|photo| open_candidate(usher, photo))
            .collect();
    }
    candidates.sort_by(|a, b| (a.date, &a.photo.name).cmp(&(b.date, &b.photo.name)));
    candidates
}

pub(super) fn is_mosaic(photo: &FoundPhoto) -> bool {
    photo.may_be_mosaic() && Mosaic::is_one(&photo.path)
}

fn candidate<'f>(usher: &Usher<'_>, photo: &'f FoundPhoto, known: &Known) -> Option<Candidate<'f>> {
    let content = known
        .unchanged(photo)
        .and_then(|hash| known.contents.get(&hash));
    let Some(content) = content else {
        // Its own date is not known yet. Cameras count their files, so that by name they are in order too.
        let place = usher.place(&photo.name).ok()?;
        let date = usher.named_date(photo);
        let crop = usher.crop(&place);
        return Some(Candidate { photo, crop, date });
    };
    let Told::Photo { metadata, .. } = &content.told else {
        return None;
    };
    let taken = usher.taken(&photo.name, photo.modified, metadata);
    let belongs = usher.belongs(&photo.name, taken).ok()?;
    Some(Candidate {
        photo,
        crop: belongs.crop,
        date: Some(belongs.taken.date),
    })
}

/// A photo whose green is still to be told.
fn open_candidate<'f>(usher: &Usher<'_>, photo: &'f FoundPhoto) -> Option<Candidate<'f>> {
    let is_possible = photo.unreadable_by_name().is_none() && usher.is_open(&photo.name);
    is_possible.then(|| Candidate {
        photo,
        crop: None,
        date: usher.named_date(photo),
    })
}

/// The colours of each green in photos from above, for a season that has no others. Photos taken close at hand go
/// before them: they show leaves, not mixtures.
fn looks_from_above(
    usher: &Usher<'_>,
    found: &Found,
    (options, workshop): (&MeasureOptions, &Workshop),
) -> Vec<Look> {
    let mut looks = Vec::new();
    for index in tune::spread(found.photos.len(), MOST_PHOTOS) {
        let photo = &found.photos[index];
        let of_photo = workshop.at_bench(|bench| look_from_above(photo, (options, usher), bench));
        // What cannot be read is told when it is measured.
        looks.extend(of_photo.unwrap_or_default());
    }
    looks
}

/// One for each green that the photo shows; none where it is not from above or cannot be read.
fn look_from_above(
    photo: &FoundPhoto,
    (options, usher): (&MeasureOptions, &Usher<'_>),
    bench: &mut Bench,
) -> Vec<Look> {
    let name = &photo.name;
    let mut looks = Vec::new();
    let mut take = |piece: Piece<'_>| {
        let pixels = piece.pixels();
        looks.push(Look {
            name: name.clone(),
            palette: Palette::of(pixels, pixels.whole()),
            marked: Vec::new(),
        });
    };
    if is_mosaic(photo) {
        if let Ok(mut mosaic) = Mosaic::open(&photo.path) {
            let _ = usher.above().pieces_of_mosaic(&mut mosaic, take);
        }
        return looks;
    }
    if bench.read(photo).is_err() {
        return looks;
    }
    let metadata = photo::metadata(&bench.bytes, usher.zone());
    if !usher.is_from_above(name, &metadata) {
        return looks;
    }
    let _turn = bench.turn();
    if let Ok(picture) = bench.picture(&options.limits) {
        usher
            .above()
            .pieces_of_picture(&picture, &metadata, &mut take);
    }
    looks
}

/// Marks by the photo they are in; the photos are added to those that were chosen.
fn by_photo(
    marks: &[Mark],
    candidates: &[Candidate<'_>],
    chosen: &mut BTreeSet<usize>,
) -> Result<BTreeMap<PhotoName, Vec<Mark>>, PipelineError> {
    let places: BTreeMap<&str, usize> = candidates
        .iter()
        .enumerate()
        .map(|(index, candidate)| (candidate.photo.name.0.as_str(), index))
        .collect();
    let mut by_photo: BTreeMap<PhotoName, Vec<Mark>> = BTreeMap::new();
    for mark in marks {
        let name = mark.photo.replace('\\', "/");
        let Some(&index) = places.get(name.trim_start_matches("./")) else {
            let photo = mark.photo.clone();
            return Err(PipelineError::MarkedPhoto { photo });
        };
        chosen.insert(index);
        let name = candidates[index].photo.name.clone();
        by_photo.entry(name).or_default().push(mark.clone());
    }
    Ok(by_photo)
}

/// What is taken from one photo.
struct Look {
    name: PhotoName,
    palette: Palette,
    marked: Vec<MarkedPixel>,
}

/// Photos that cannot be read are left out: measuring them tells what is wrong with each.
fn look_at(
    chosen: &[(&Candidate<'_>, &[Mark])],
    (options, workshop): (&MeasureOptions, &Workshop),
    usher: &Usher<'_>,
    hold: &Hold,
) -> Result<Vec<Look>, PipelineError> {
    let looks: Result<Vec<Option<Look>>, PipelineError> = workshop.install(|| {
        // One at a time, so that no worker is left with two when the others are done.
        let chosen = chosen.into_par_iter().with_max_len(1);
        let look_at_one = |&(candidate, marks): &(&Candidate<'_>, &[Mark])| {
            let looked = workshop.at_bench(|bench| {
                let Some((look, metadata)) = look(candidate, marks, (options, usher), bench)?
                else {
                    return Ok(None);
                };
                hold.offer(&look.name, &metadata, bench);
                Ok(Some(look))
            });
            looked.unwrap_or(Ok(None))
        };
        chosen.map(look_at_one).collect()
    });
    Ok(looks?.into_iter().flatten().collect())
}

fn look(
    candidate: &Candidate<'_>,
    marks: &[Mark],
    (options, usher): (&MeasureOptions, &Usher<'_>),
    bench: &mut Bench,
) -> Result<Option<(Look, Metadata)>, PipelineError> {
    let photo = candidate.photo;
    if is_mosaic(photo) || bench.read(photo).is_err() {
        return Ok(None);
    }
    // Most of what a photo from above shows is no green.
    let metadata = photo::metadata(&bench.bytes, usher.zone());
    if usher.is_from_above(&candidate.photo.name, &metadata) {
        return Ok(None);
    }
    let _turn = bench.turn();
    let Ok(picture) = bench.picture(&options.limits) else {
        return Ok(None);
    };
    if slate_code(&picture).is_some() {
        return Ok(None);
    }
    let pixels = Pixels::of(&picture);
    let rect =
        picture
            .orientation
            .stored_rect(candidate.crop.as_ref(), picture.width, picture.height);
    let mut marked = Vec::new();
    for mark in marks {
        let place = stored_place(mark, &picture)?;
        // The index of the photo is known when all have been looked at.
        marked.extend(MarkedPixel::of_mark(
            0,
            pixels,
            pixels.whole(),
            place,
            mark.is,
        ));
    }
    let look = Look {
        name: candidate.photo.name.clone(),
        palette: Palette::of(pixels, rect),
        marked,
    };
    Ok(Some((look, metadata)))
}

/// Where a mark of the upright photo lies in the stored one.
fn stored_place(mark: &Mark, picture: &Picture<'_>) -> Result<PixelRect, PipelineError> {
    let (width, height) = picture.upright_size();
    let fits =
        |from: u32, n: u32, length: u32| from.checked_add(n).is_some_and(|end| end <= length);
    if !fits(mark.x, mark.width, width) || !fits(mark.y, mark.height, height) {
        return Err(PipelineError::MarkOutside {
            photo: mark.photo.clone(),
            x: mark.x,
            y: mark.y,
            width,
            height,
        });
    }
    let part = |pixel: u32, length: u32| f64::from(pixel) / f64::from(length);
    let crop = Crop {
        left: part(mark.x, width),
        top: part(mark.y, height),
        right: part(mark.x + mark.width, width),
        bottom: part(mark.y + mark.height, height),
    };
    Ok(picture
        .orientation
        .stored_rect(Some(&crop), picture.width, picture.height))
}
