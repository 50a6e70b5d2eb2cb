//! Audits: random points of the season's photos, and what a person's answers say of the measured cover.

use std::collections::{BTreeMap, BTreeSet};

use image::RgbImage;
use jiff::Timestamp;
use jiff::civil::Date;
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use thiserror::Error;

use super::bench::{Bench, Workshop};
use super::measure::{asked_or_kept, left_out, of_ledger_as_measured};
use super::misread::misread;
use super::tell::cover_point;
use super::{MeasureOptions, Method, PipelineError, Season};
use crate::course::{Course, GreenId};
use crate::cover::audit::{
    Answer, Answers, Judged, Plan, Spot, Stratum, Verdict, VisitRead, draw, point_view, verdict,
};
use crate::cover::{Lanes, Misread, Pixels, SettingsKey, Visit, VisitKey, mask};
use crate::ledger::{AuditFindings, AuditPointRow, AuditRow, Ledger, LedgerError, PhotoRow};
use crate::photo::{self, ContentHash, FoundPhoto, Limits, PhotoName, Unreadable};

/// More points than anybody will judge.
const MOST_POINTS: usize = 2000;

/// Which points to draw.
#[derive(Debug, Clone)]
pub struct AuditOptions {
    /// How many.
    pub plan: Plan,
    /// The same seed draws the same points of the same photos.
    pub seed: u64,
    /// Only of these greens; of all where empty.
    pub greens: Vec<GreenId>,
    /// Only of these dates; of all where empty.
    pub dates: Vec<Date>,
}

/// Points to judge.
#[derive(Debug, Clone)]
pub struct Audit {
    /// Short name, from the points and the settings.
    pub id: String,
    /// How the photos were measured.
    pub settings: SettingsKey,
    /// By number, from 1.
    pub points: Vec<AuditPoint>,
}

/// A point to judge.
#[derive(Debug, Clone)]
pub struct AuditPoint {
    /// What is known of it.
    pub row: AuditPointRow,
    /// What a person is shown.
    pub view: RgbImage,
}

/// What the answers to an audit say.
#[derive(Debug, Clone)]
pub struct Audited {
    /// The audit, with its findings.
    pub audit: AuditRow,
    /// All that was worked out.
    pub verdict: Verdict,
    /// Whether the rule that holds was fitted to these very answers, which are then no check of it and correct nothing.
    pub is_fitted_to: bool,
    /// Points without an answer.
    pub n_unanswered: usize,
    /// What follows for the season's cover; `None` where it has since been measured with other settings, or no audit is
    /// independent of them.
    pub misread: Option<Misread>,
    /// Another audit that judged more points and so goes on to count, with their number.
    pub outweighed_by: Option<(String, u64)>,
}

/// Why an audit cannot be made or read.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum AuditError {
    /// No photo to draw points on.
    #[error(
        "no measured photo to judge{0}; run `sprigcast measure` first, and keep the photos in their folder"
    )]
    NoPhotos(String),
    /// Nobody judges so many.
    #[error(
        "{n} points are more than anybody will judge (at most {MOST_POINTS}); ask for fewer, or only for some greens or dates"
    )]
    TooMany {
        /// How many it would be.
        n: usize,
    },
    /// A file is not what was measured.
    #[error("{photo} cannot be shown: {why}; run `sprigcast measure` and then the audit again")]
    Photo {
        /// Which.
        photo: PhotoName,
        /// In what way.
        why: String,
    },
    /// Answers to an audit that was never made here.
    #[error(
        "these answers belong to audit `{found}`, which is not of this season{known}; give the answers saved from one of this season's own"
    )]
    OtherAudit {
        /// As the file has it.
        found: String,
        /// The season's audits, in words.
        known: String,
    },
    /// A number that no point has.
    #[error("there is no point {point} in audit {audit}: its points are 1 to {n}")]
    UnknownPoint {
        /// As the file has it.
        point: u32,
        /// The audit.
        audit: String,
        /// Points it has.
        n: u64,
    },
    /// Nothing but `unsure`.
    #[error("every answer is unsure; at least one point has to be called green or not")]
    NothingJudged,
    /// The ledger or the photo folder.
    #[error(transparent)]
    Pipeline(#[from] PipelineError),
}

impl From<LedgerError> for AuditError {
    fn from(error: LedgerError) -> AuditError {
        AuditError::Pipeline(error.into())
    }
}

/// Draws points on the measured photos of a season and cuts out what is to be seen of each; keeps them in
/// the ledger.
///
/// # Errors
/// [`AuditError`].
pub fn make_audit(
    course: &Course,
    ledger: &mut Ledger,
    options: &AuditOptions,
    measuring: &MeasureOptions,
    now: Timestamp,
) -> Result<Audit, AuditError> {
    let when = (asked_or_kept(measuring, ledger)?, course.date_of(now));
    let season = of_ledger_as_measured(course, ledger, when)?;
    let method = season
        .method
        .clone()
        .map_or_else(|| Method::of_season(course, Some(ledger)), Ok)?;
    let visits = photos_by_visit(&season, options);
    let strata: Vec<Stratum> = visits
        .iter()
        .map(|(visit, photos)| Stratum {
            cover: visit.cover.fraction(),
            n_photos: photos.len(),
        })
        .collect();
    let seed = seed_beside(options.seed, &audits_fitted_to(ledger, Some(&method))?);
    let spots = draw(&strata, options.plan, seed);
    if spots.is_empty() {
        let is_part = !options.greens.is_empty() || !options.dates.is_empty();
        let of = if is_part {
            " among those asked for"
        } else {
            ""
        };
        return Err(AuditError::NoPhotos(of.to_owned()));
    }
    if spots.len() > MOST_POINTS {
        return Err(AuditError::TooMany { n: spots.len() });
    }
    let sightings = ledger.load(&[])?.sightings;
    let found =
        photo::find(&course.photos.folder, &left_out(course)).map_err(PipelineError::from)?;
    let files: BTreeMap<&PhotoName, &FoundPhoto> = found
        .photos
        .iter()
        .map(|photo| (&photo.name, photo))
        .collect();
    let mut by_photo: BTreeMap<(usize, usize), Vec<(u32, Spot)>> = BTreeMap::new();
    for (number, spot) in (1..).zip(spots) {
        let of_photo = by_photo.entry((spot.visit, spot.photo)).or_default();
        of_photo.push((number, spot));
    }
    let by_photo = by_photo.into_iter().collect::<Vec<_>>().into_par_iter();
    let workshop = Workshop::of(measuring.workers)?;
    let cut: Result<Vec<Vec<AuditPoint>>, AuditError> = workshop.install(|| {
        by_photo
            .map(|((visit, photo), spots)| {
                let (visit, photos) = &visits[visit];
                let row = photos[photo];
                let failed = |why: String| AuditError::Photo {
                    photo: row.photo.clone(),
                    why,
                };
                let missing = || failed("it is no longer in the photo folder".to_owned());
                let file = files.get(&row.photo).ok_or_else(missing)?;
                let content = sightings.get(&row.photo).map(|sighting| sighting.content);
                let sheet = Sheet {
                    visit,
                    row,
                    file,
                    content,
                };
                let limits = &measuring.limits;
                workshop
                    .at_bench(|bench| cut_out(course, &method, bench, &sheet, &spots, limits))
                    .unwrap_or_else(|why| Err(failed(why.to_string())))
            })
            .collect()
    });
    let mut points: Vec<AuditPoint> = cut?.into_iter().flatten().collect();
    points.sort_by_key(|point| point.row.point);
    let audit = Audit {
        id: name_of(&points, method.key()),
        settings: method.key().clone(),
        points,
    };
    let rows: Vec<AuditPointRow> = audit.points.iter().map(|point| point.row.clone()).collect();
    let row = AuditRow {
        audit: audit.id.clone(),
        made_at: now,
        settings: audit.settings.clone(),
        n_points: rows.len() as u64,
        findings: None,
    };
    ledger.add_audit(&row, &rows)?;
    Ok(audit)
}

/// The visits asked for, each with its measured photos that are still there.
fn photos_by_visit<'s>(
    season: &'s Season,
    options: &AuditOptions,
) -> Vec<(&'s Visit, Vec<&'s PhotoRow>)> {
    let is_wanted = |visit: &&Visit| {
        (options.greens.is_empty() || options.greens.contains(&visit.green))
            && (options.dates.is_empty() || options.dates.contains(&visit.date))
    };
    let photos_of = |visit: &'s Visit| {
        let is_of = |row: &&PhotoRow| {
            row.green.as_ref() == Some(&visit.green)
                && row.date == Some(visit.date)
                && row.missing_since.is_none()
                && row.outcome.is_measured()
        };
        (visit, season.photos.iter().filter(is_of).collect())
    };
    season
        .visits
        .iter()
        .filter(is_wanted)
        .map(photos_of)
        .collect()
}

/// A photo whose points are asked for.
struct Sheet<'a> {
    visit: &'a Visit,
    row: &'a PhotoRow,
    file: &'a FoundPhoto,
    /// What was measured under its name.
    content: Option<ContentHash>,
}

/// Opens one photo and cuts out its points.
///
/// They lie in the station's crop where there is one, and not in the square of ground laid over it, of which the cover
/// is counted: the program's eye is the same on both.
fn cut_out(
    course: &Course,
    method: &Method,
    bench: &mut Bench,
    sheet: &Sheet<'_>,
    spots: &[(u32, Spot)],
    limits: &Limits,
) -> Result<Vec<AuditPoint>, AuditError> {
    let Sheet { visit, row, .. } = *sheet;
    let failed = |why: String| AuditError::Photo {
        photo: row.photo.clone(),
        why,
    };
    let unreadable = |why: Unreadable| failed(why.to_string());
    bench.read(sheet.file).map_err(unreadable)?;
    if sheet.content != Some(ContentHash::of(&bench.bytes)) {
        return Err(failed("it is not the photo that was measured".to_owned()));
    }
    let _turn = bench.turn();
    let picture = bench.picture(limits).map_err(unreadable)?;
    let crop = row
        .station
        .as_ref()
        .and_then(|id| course.station(id))
        .and_then(|station| station.crop);
    let (width, height) = (picture.width, picture.height);
    let rect = picture
        .orientation
        .stored_rect(crop.as_ref(), width, height);
    let pixels = Pixels::of(&picture);
    let mask = mask(pixels, rect, method.rule(), Lanes::best());
    let point = |&(number, spot): &(u32, Spot)| {
        let along = |from: u32, length: u32, part: f64| {
            from + ((f64::from(length) * part) as u32).min(length - 1)
        };
        let at = (
            along(rect.x, rect.width, spot.at.0),
            along(rect.y, rect.height, spot.at.1),
        );
        let (x, y) = picture.orientation.upright_at(at, width, height);
        AuditPoint {
            row: AuditPointRow {
                point: number,
                photo: row.photo.clone(),
                green: visit.green.clone(),
                date: visit.date,
                x,
                y,
                is_green: mask[at.1 as usize * width as usize + at.0 as usize] != 0,
                answer: None,
            },
            view: point_view(pixels, picture.orientation, at),
        }
    };
    Ok(spots.iter().map(point).collect())
}

/// Eight hexadecimal digits that other points or settings would not have.
fn name_of(points: &[AuditPoint], settings: &SettingsKey) -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(settings.0.as_bytes());
    for AuditPoint { row, view } in points {
        let place = format!("\n{} {} {} {}", row.point, row.photo, row.x, row.y);
        hasher.update(place.as_bytes()).update(view.as_raw());
    }
    hasher.finalize().to_hex()[..8].to_owned()
}

/// The audit that answers belong to, with its points.
///
/// # Errors
/// [`AuditError`] where it is none of the season's, or an answer is to no point of it.
pub(super) fn audit_of(
    ledger: &Ledger,
    answers: &Answers,
) -> Result<(AuditRow, Vec<AuditPointRow>), AuditError> {
    let audits = ledger.audits()?;
    let Some(audit) = audits.iter().find(|audit| audit.audit == answers.audit) else {
        let names: Vec<&str> = audits.iter().map(|audit| audit.audit.as_str()).collect();
        let known = match names.as_slice() {
            [] => ", of which no audit was made yet".to_owned(),
            names => format!(" (its audits are {})", names.join(", ")),
        };
        return Err(AuditError::OtherAudit {
            found: answers.audit.clone(),
            known,
        });
    };
    let points = ledger.audit_points(&audit.audit)?;
    let numbers: BTreeSet<u32> = points.iter().map(|point| point.point).collect();
    if let Some(&point) = answers.given.keys().find(|point| !numbers.contains(point)) {
        return Err(AuditError::UnknownPoint {
            point,
            audit: audit.audit.clone(),
            n: audit.n_points,
        });
    }
    Ok((audit.clone(), points))
}

/// The audits that the rule which holds was fitted to.
fn audits_fitted_to(ledger: &Ledger, method: Option<&Method>) -> Result<Vec<String>, LedgerError> {
    let number = method.and_then(Method::rule_number);
    let rule = ledger.rule()?.filter(|rule| Some(rule.number) == number);
    Ok(rule.map(|rule| rule.audits).unwrap_or_default())
}

/// A seed that draws other points than those of audits that the rule was fitted to: the same seed would ask for the same
/// places again, and what is said of them is known.
fn seed_beside(seed: u64, fitted_to: &[String]) -> u64 {
    if fitted_to.is_empty() {
        return seed;
    }
    let mut hasher = blake3::Hasher::new();
    hasher.update(&seed.to_le_bytes());
    for audit in fitted_to {
        hasher.update(audit.as_bytes()).update(b"\n");
    }
    let [a, b, c, d, e, f, g, h, ..] = *hasher.finalize().as_bytes();
    u64::from_le_bytes([a, b, c, d, e, f, g, h])
}

/// Reads what a person said of the points of an audit, works out what it says, and keeps both in the ledger.
///
/// # Errors
/// [`AuditError`].
pub fn judge_audit(
    course: &Course,
    ledger: &mut Ledger,
    answers: &Answers,
    measuring: &MeasureOptions,
    now: Timestamp,
) -> Result<Audited, AuditError> {
    let (audit, points) = audit_of(ledger, answers)?;
    let when = (asked_or_kept(measuring, ledger)?, course.date_of(now));
    let season = of_ledger_as_measured(course, ledger, when)?;
    let is_outdated = season
        .method
        .as_ref()
        .is_none_or(|method| *method.key() != audit.settings);
    let is_fitted_to = audits_fitted_to(ledger, season.method.as_ref())?.contains(&audit.audit);
    let visits: Vec<VisitRead> = if is_outdated || is_fitted_to {
        Vec::new()
    } else {
        season.visits.iter().map(visit_read).collect()
    };
    let judged = judged(&points, answers);
    let mut verdict = verdict(&judged, &visits).ok_or(AuditError::NothingJudged)?;
    let n_unsure = answers
        .given
        .values()
        .filter(|answer| **answer == Answer::Unsure)
        .count();
    let findings = AuditFindings {
        answered_at: now,
        n_judged: verdict.tally.n(),
        n_unsure: n_unsure as u64,
        n_agreed: verdict.tally.n_agreed(),
        sensitivity: verdict.accuracy.sensitivity,
        specificity: verdict.accuracy.specificity,
        bias: verdict.bias,
    };
    ledger.answer_audit(&audit.audit, &answers.given, &findings)?;
    let rule = season.method.as_ref().and_then(Method::rule_number);
    let counting = ledger.last_audit(&audit.settings, rule)?;
    let misread = match &counting {
        Some(counting) if !is_outdated => {
            let misread = misread(&ledger.audit_points(&counting.audit)?, &season);
            verdict.put_to_use(&misread, &visits);
            Some(misread)
        }
        _ => None,
    };
    let outweighed_by = counting
        .filter(|counting| counting.audit != audit.audit)
        .and_then(|counting| Some((counting.audit, counting.findings?.n_judged)));
    Ok(Audited {
        audit: AuditRow {
            findings: Some(findings),
            ..audit
        },
        is_fitted_to,
        n_unanswered: points.len() - answers.given.len(),
        verdict,
        misread,
        outweighed_by,
    })
}

fn visit_read(visit: &Visit) -> VisitRead {
    VisitRead {
        visit: visit.key(),
        cover: visit.cover.fraction(),
        standard_error: cover_point(visit).standard_error(),
    }
}

fn judged(points: &[AuditPointRow], answers: &Answers) -> Vec<Judged> {
    let photos: BTreeSet<&PhotoName> = points.iter().map(|point| &point.photo).collect();
    let photos: BTreeMap<&PhotoName, usize> = photos.into_iter().zip(0..).collect();
    points
        .iter()
        .filter_map(|point| {
            let person = match answers.given.get(&point.point)? {
                Answer::Green => true,
                Answer::Not => false,
                Answer::Unsure => return None,
            };
            Some(Judged {
                visit: VisitKey {
                    green: point.green.clone(),
                    date: point.date,
                },
                photo: photos[&point.photo],
                program: point.is_green,
                person,
            })
        })
        .collect()
}
