//! Pictures by which a person judges a fitted rule.

use std::fs;
use std::path::{Path, PathBuf};

use super::bench::{Bench, Workshop};
use super::jpeg::{beginning, jpeg, note_of, with_note};
use super::{MeasureOptions, PipelineError, Tuning};
use crate::course::{Crop, file_part};
use crate::cover::tune::spread;
use crate::cover::{Pixels, Rule, View, overlay};
use crate::files::{self, write_whole};
use crate::photo::FoundPhoto;

/// Photos that are shown: from first to last, so that bare ground and turf are among them.
const MOST_OVERLAYS: usize = 6;
const QUALITY: u8 = 90;
/// Bytes of a file in which its note lies.
const BEGINNING: u64 = 256;

/// By this the overlays of an earlier fit are known: other files in the folder stay.
const NOTE: &str = "sprigcast: an overlay of a fitted rule";

/// Writes a JPEG for each of a few photos into `folder`, in place of those of the last fit: the photo as taken, and with
/// only what the rule calls green in colour. Gives where they lie, by date.
///
/// # Errors
///
/// [`PipelineError::Write`] where one cannot be written, or one of the last fit not be taken away.
pub fn write_tune_overlays(
    tuning: &Tuning,
    options: &MeasureOptions,
    folder: &Path,
) -> Result<Vec<PathBuf>, PipelineError> {
    remove_overlays(folder)?;
    let rule = Rule::Fitted(tuning.fitted.tuned.rule());
    let workshop = Workshop::of(options.workers)?;
    let mut paths = Vec::new();
    for index in spread(tuning.looked_at.len(), MOST_OVERLAYS) {
        let (photo, crop) = &tuning.looked_at[index];
        let crop = crop.as_ref();
        let shown = workshop.at_bench(|bench| shown(photo, crop, &rule, options, bench));
        let Ok(Some(jpeg)) = shown else {
            continue;
        };
        let path = folder.join(format!("{}.jpg", file_part(&photo.name.0)));
        write_whole(&path, &with_note(&jpeg, NOTE))?;
        paths.push(path);
    }
    Ok(paths)
}

/// Takes away what an earlier fit wrote, and nothing else.
fn remove_overlays(folder: &Path) -> Result<(), PipelineError> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Ok(());
    };
    for path in entries.flatten().map(|entry| entry.path()) {
        let start = beginning(&path, BEGINNING);
        if start.is_some_and(|start| note_of(&start) == Some(NOTE)) {
            files::remove(&path)?;
        }
    }
    Ok(())
}

/// `None` where the photo has gone since it was looked at, or cannot be read any more.
fn shown(
    photo: &FoundPhoto,
    crop: Option<&Crop>,
    rule: &Rule,
    options: &MeasureOptions,
    bench: &mut Bench,
) -> Option<Vec<u8>> {
    bench.read(photo).ok()?;
    let _turn = bench.turn();
    let picture = bench.picture(&options.limits).ok()?;
    let view = View {
        analysed: picture
            .orientation
            .stored_rect(crop, picture.width, picture.height),
        orientation: picture.orientation,
    };
    let page = overlay(Pixels::of(&picture), view, rule);
    jpeg(&page, QUALITY).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_overlays_of_an_earlier_fit_are_taken_away() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let jpeg = [0xff, 0xd8, 0xff, 0xdb, 0, 2];
        fs::write(at("G07~2F1.jpg.jpg"), with_note(&jpeg, NOTE)).unwrap();
        fs::write(at("mine.jpg"), jpeg).unwrap();
        fs::write(at("noted.jpg"), with_note(&jpeg, "from the office")).unwrap();
        fs::create_dir(at("kept.jpg")).unwrap();
        remove_overlays(folder.path()).unwrap();
        assert!(!at("G07~2F1.jpg.jpg").exists());
        assert!(
            ["mine.jpg", "noted.jpg", "kept.jpg"]
                .iter()
                .all(|name| at(name).exists())
        );
        remove_overlays(&at("nowhere")).unwrap();
    }
}
