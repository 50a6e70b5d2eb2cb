//! `sprigcast tune`: fits the colours that count as green to the season's photos.

use std::fmt::Write as _;
use std::path::PathBuf;

use jiff::Timestamp;
use serde::Serialize;

use super::Outcome;
use super::cli::{Format, TuneArgs};
use super::failure::Failure;
use super::season;
use super::terminal;
use super::tune_marks;
use crate::course::{Course, Part};
use crate::cover::tune::{Agreement, Fault, Separation};
use crate::cover::{FittedLimits, Plane};
use crate::pipeline::{self, Tuning};
use crate::report::count;

pub(super) fn run(args: &TuneArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let mut ledger = season::ledger_to_write(&course)?;
    if args.by_eye {
        tune_marks::make_page(args, &course, &ledger)?;
        return Ok(Outcome::Done);
    }
    let marked = tune_marks::read(&args.marks, &ledger)?;
    let options = season::options(&args.photos, None);
    let tuning = pipeline::tune(&course, &ledger, &options, &marked, Timestamp::now())?;
    if tuning.fitted.photos.is_empty() {
        return Err(Failure::Nothing(format!(
            "no photo of a green in {} can be read, so there is nothing to fit to",
            course.photos.folder.display()
        )));
    }
    refuse_what_would_harm(args, &course, &tuning)?;
    let folder = course.results().part(Part::Tune);
    let overlays = pipeline::write_tune_overlays(&tuning, &options, &folder)?;
    let fate = match (args.trial, tuning.is_as_before()) {
        (true, _) => Fate::Trial,
        (false, true) => Fate::AsBefore,
        (false, false) => {
            ledger.add_rule(&tuning.fitted)?;
            Fate::Kept
        }
    };
    match args.format {
        Format::Json => terminal::say_json(&document(&tuning, fate, &overlays))?,
        Format::Text => terminal::say(&in_words(&tuning, fate, &overlays))?,
    }
    if course.cover.is_some() {
        terminal::warn(
            "Note: course.toml fixes hue and saturation under [cover], and those hold; take the lines out to use this rule.",
        );
    }
    let is_doubtful = tuning
        .fitted
        .tuned
        .faults
        .iter()
        .any(|fault| fault.is_grave());
    Ok(if is_doubtful {
        Outcome::NeedsAPerson
    } else {
        Outcome::Done
    })
}

/// Refuses marks that tell nothing, and a rule that would take visits out of the season.
fn refuse_what_would_harm(
    args: &TuneArgs,
    course: &Course,
    tuning: &Tuning,
) -> Result<(), Failure> {
    if let Some(agreement) = tuning.agreement.filter(Agreement::is_nearly_chance) {
        return Err(Failure::Refused(format!(
            "{agreement}: hardly more than by chance, so nothing is changed; look whether x and y are swapped, are \
             counted from the upper left corner of the photo, and belong to that photo"
        )));
    }
    let n = tuning.n_left_behind;
    if n > 0 && !args.trial && !args.without_missing && !tuning.is_as_before() {
        return Err(Failure::Refused(format!(
            "{} no longer in {}: with another rule they could not be measured again, and their visits would drop out \
             of the season; put them back, or add --without-missing to go on without them",
            count(n, "measured photo is", "measured photos are"),
            course.photos.folder.display()
        )));
    }
    Ok(())
}

/// What becomes of a rule that was fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fate {
    /// It holds from now on.
    Kept,
    /// It is the rule that holds already.
    AsBefore,
    /// It was only to be seen.
    Trial,
}

fn in_words(tuning: &Tuning, fate: Fate, overlays: &[PathBuf]) -> String {
    let tuned = &tuning.fitted.tuned;
    let (limits, separation) = (&tuned.limits, &tuned.separation);
    let [low, high] = limits.window.hue;
    let mut text = String::new();
    // Writing into a String cannot fail.
    let _ = write!(
        text,
        "Fitted to {}{}.\n\n\
         A pixel is green where\n\
         \x20 its hue is          {low}–{high}°\n\
         \x20 its saturation is   {}% or more\n\
         {}\
         \x20 most of its neighbours are too, in photos with noise\n\n\
         How well greenness tells turf from ground\n\
         \x20 turf found          {:.0}%\n\
         \x20 ground left out     {:.0}%\n\
         \x20 distance            {:.1} times the spread of colours; under 2.2 is too little\n\
         \x20 if the limit were a tenth of the way higher or lower, mean cover would change by {:.1} points\n",
        count(tuning.fitted.photos.len(), "photo", "photos"),
        if tuned.n_marked > 0 {
            " and the marks"
        } else {
            ""
        },
        limits.window.saturation[0],
        divide_in_words(limits),
        100.0 * separation.sensitivity,
        100.0 * separation.specificity,
        separation.d_prime,
        separation.points_per_tenth,
    );
    if let Some(agreement) = &tuning.agreement {
        let _ = writeln!(text, "  {agreement}");
    }
    if let audits @ [_, ..] = tuning.fitted.audits.as_slice() {
        let _ = writeln!(
            text,
            "\nThe points of audit {} were among the marks: it is no check of these colours any more and corrects no\n\
             cover measured by them. `sprigcast audit` draws new points for that.",
            audits.join(" and audit ")
        );
    }
    if !tuned.faults.is_empty() {
        text.push_str("\nLook at this before trusting it:\n");
        for fault in &tuned.faults {
            let _ = writeln!(text, "- {fault}");
        }
    }
    text.push_str("\nWhat it calls green on some of the photos:\n");
    for path in overlays {
        let _ = writeln!(text, "  {}", path.display());
    }
    let number = tuning.fitted.number;
    let _ = match fate {
        Fate::Kept => writeln!(
            text,
            "\nThis is rule {number} of the season. The next `sprigcast run` measures every photo with it.{}",
            if tuning.ends_an_audit {
                "\nThe audit judged the rule before: it corrects cover no more. Make a new one with `sprigcast audit`."
            } else {
                ""
            }
        ),
        Fate::AsBefore => writeln!(
            text,
            "\nThat is just what rule {} of the season says: nothing has to be measured anew.",
            number - 1
        ),
        Fate::Trial => writeln!(text, "\nOnly tried: the rule of the season is as it was."),
    };
    text
}

/// What divides turf from ground within the window, in a line or two.
fn divide_in_words(limits: &FittedLimits) -> String {
    match limits.plane {
        None => format!(
            "\x20 its greenness is    {:.1} or more above the ground of its photo (CIELAB a*; turf is {:.0} above it),\n\
             \x20                     more in noisy photos and where turf is greener than usual, less where it is paler\n",
            limits.limit, limits.gap
        ),
        Some(plane) => {
            let ([red, green, blue], least) = (plane.weights(), plane.least());
            format!(
                "\x20 {red} × red, {green} × green and {blue} × blue add to {least} or more: the marks tell turf from\n\
                 \x20                     ground better than greenness does\n"
            )
        }
    }
}

/// What `--format json` prints.
#[derive(Serialize)]
struct Document<'a> {
    format: u32,
    /// Number of the rule that holds now; null where none does.
    rule: Option<u32>,
    kept: bool,
    photos: Vec<&'a str>,
    hue: [f64; 2],
    saturation: [f64; 2],
    ground: f64,
    turf_above_ground: f64,
    limit_above_ground: f64,
    /// What takes the place of the limit where the marks ask for it, else null.
    plane: Option<Plane>,
    separation: Separation,
    marks: Option<Agreement>,
    /// Audits whose points are among the marks.
    audits: &'a [String],
    warnings: Vec<Warning<'a>>,
    overlays: &'a [PathBuf],
}

#[derive(Serialize)]
struct Warning<'a> {
    #[serde(flatten)]
    fault: &'a Fault,
    explanation: String,
}

fn document<'a>(tuning: &'a Tuning, fate: Fate, overlays: &'a [PathBuf]) -> Document<'a> {
    let tuned = &tuning.fitted.tuned;
    Document {
        format: 1,
        rule: match fate {
            Fate::Kept => Some(tuning.fitted.number),
            Fate::AsBefore | Fate::Trial => tuning.before.as_ref().map(|before| before.number),
        },
        kept: fate == Fate::Kept,
        photos: tuning
            .fitted
            .photos
            .iter()
            .map(|name| name.0.as_str())
            .collect(),
        hue: tuned.limits.window.hue,
        saturation: tuned.limits.window.saturation,
        ground: tuned.limits.ground,
        turf_above_ground: tuned.limits.gap,
        limit_above_ground: tuned.limits.limit,
        plane: tuned.limits.plane,
        separation: tuned.separation,
        marks: tuning.agreement,
        audits: &tuning.fitted.audits,
        warnings: tuned
            .faults
            .iter()
            .map(|fault| Warning {
                fault,
                explanation: fault.to_string(),
            })
            .collect(),
        overlays,
    }
}
