//! Opening photo files and measuring what they show: in parallel, saved in batches while they finish.

use std::sync::mpsc;
use std::time::{Duration, Instant};

use rayon::iter::{ParallelBridge, ParallelIterator};

use super::above::CutUp;
use super::bench::{Bench, Workshop};
use super::held::Hold;
use super::jobs::{Belongs, Usher};
use super::mask::write_mask;
use super::measure::{MeasureOptions, reader};
use super::method::Method;
use super::overlays::{caption, write_overlay};
use super::sheets::{self, Sheets};
use super::stations;
use super::{PipelineError, Progress};
use crate::assign::{Slate, SlateError};
use crate::course::{Course, Crop};
use crate::cover::quality::Quality;
use crate::cover::{self, Lanes, Pixels, Rule, Strip, View, VisitKey};
use crate::ledger::{
    Batch, Content, CropKey, Ledger, PixelSize, ReadingKey, Sighting, StoredReading, Told,
};
use crate::map::frames::Sketch;
use crate::photo::mosaic::{self, Mosaic};
use crate::photo::{self, ContentHash, Fingerprint, FoundPhoto, Metadata, Unreadable};

/// A batch is saved when it has this many photos …
const BATCH_PHOTOS: usize = 64;
/// … or is this old, so that a kill loses little of the time spent.
const BATCH_AGE: Duration = Duration::from_secs(5);

/// What the workers share.
pub(super) struct Work<'a> {
    pub(super) course: &'a Course,
    pub(super) usher: &'a Usher<'a>,
    pub(super) method: &'a Method,
    pub(super) options: &'a MeasureOptions,
    pub(super) workshop: &'a Workshop,
    /// Photos that are decoded already.
    pub(super) hold: &'a Hold,
}

/// What opening one file gave.
struct Opened {
    sighting: Sighting,
    content: Content,
    reading: Option<(CropKey, StoredReading)>,
    /// Of a photo of a station.
    sketch: Option<Vec<u8>>,
    /// For a contact sheet, where one is wanted; its visit, where it is known yet.
    strip: Option<(VisitKey, Strip)>,
}

/// What was measured on one picture.
struct Measured {
    /// Of the upright picture.
    size: PixelSize,
    crop: CropKey,
    reading: StoredReading,
    sketch: Option<Vec<u8>>,
    strip: Option<Strip>,
}

impl Work<'_> {
    /// Opens the files, and saves what they give.
    ///
    /// # Errors
    ///
    /// [`PipelineError`] where the ledger or a picture cannot be written; never because of a photo.
    pub(super) fn run(
        &self,
        jobs: &[&FoundPhoto],
        ledger: &mut Ledger,
        sheets: Option<&mut Sheets>,
        progress: &dyn Progress,
    ) -> Result<(), PipelineError> {
        if jobs.is_empty() {
            return Ok(());
        }
        progress.begin(jobs.len());
        let done = self.open_all(jobs, ledger, sheets, progress);
        progress.end();
        done?;
        ledger.flush()?;
        Ok(())
    }

    /// Opens the files on worker threads; this thread saves what they give.
    fn open_all(
        &self,
        jobs: &[&FoundPhoto],
        ledger: &mut Ledger,
        sheets: Option<&mut Sheets>,
        progress: &dyn Progress,
    ) -> Result<(), PipelineError> {
        let workshop = self.workshop;
        let in_turn = self.in_turn(jobs);
        let (sender, receiver) = mpsc::sync_channel(BATCH_PHOTOS);
        std::thread::scope(|scope| {
            scope.spawn(|| {
                let sender = sender;
                // `None` means that the receiver is gone because saving failed: no use going on.
                let open = |photo| {
                    let opened = workshop.at_bench(|bench| self.open(photo, bench));
                    let opened = opened.unwrap_or_else(|why| Ok(self.unread(photo, why)));
                    progress.advance();
                    sender.send(opened.map(|opened| (photo, opened))).ok()
                };
                let photos = in_turn.into_iter();
                workshop.install(|| photos.par_bridge().try_for_each(open))
            });
            save_in_batches(receiver, self.method, ledger, sheets)
        })
    }

    /// The files in the order in which workers take them. Those that are held come first, so that their room is free
    /// soon, but for a few at the end: they are done so quickly that no worker waits long for another's last photo.
    fn in_turn<'f>(&self, jobs: &[&'f FoundPhoto]) -> Vec<&'f FoundPhoto> {
        let (mut held, others): (Vec<&FoundPhoto>, Vec<&FoundPhoto>) =
            jobs.iter().partition(|photo| self.hold.has(&photo.name));
        let n_first = held.len().saturating_sub(2 * self.workshop.n_workers());
        let last = held.split_off(n_first);
        [held, others, last].concat()
    }

    /// What is known of a file: its content, and what that told. Nothing is measured yet.
    fn opened(&self, photo: &FoundPhoto, hash: ContentHash, told: Told) -> Opened {
        Opened {
            sighting: Sighting {
                content: hash,
                bytes: photo.bytes,
                modified: photo.modified,
                missing_since: None,
            },
            content: Content {
                bytes: photo.bytes,
                reader: reader(self.course, &told),
                told,
            },
            reading: None,
            sketch: None,
            strip: None,
        }
    }

    /// A file whose bytes could not be had. Without them it is known by its name.
    fn unread(&self, photo: &FoundPhoto, why: Unreadable) -> Opened {
        let hash = ContentHash::of(photo.name.0.as_bytes());
        self.opened(photo, hash, Told::Unreadable(why))
    }

    fn open(&self, photo: &FoundPhoto, bench: &mut Bench) -> Result<Opened, PipelineError> {
        if photo.may_be_mosaic() && Mosaic::is_one(&photo.path) {
            return Ok(self.open_mosaic(photo));
        }
        let held = self.hold.take(&photo.name);
        let (hash, mut metadata) = if let Some(held) = held
            && bench.put(held.pixels)
        {
            (held.hash, held.metadata)
        } else if let Err(why) = bench.read(photo) {
            return Ok(self.unread(photo, why));
        } else {
            let metadata = photo::metadata(&bench.bytes, &self.course.time_zone);
            (ContentHash::of(&bench.bytes), metadata)
        };
        let taken = self.usher.taken(&photo.name, photo.modified, &metadata);
        let belongs = self.usher.belongs(&photo.name, taken);
        let belongs = belongs.ok();
        let part = match &belongs {
            Some(belongs) => belongs.crop.map_or(Part::Whole, Part::Crop),
            None if self.usher.may_belong_yet(&photo.name, &metadata) => Part::Whole,
            None => Part::Nothing,
        };
        let looked = if self.usher.is_from_above(&photo.name, &metadata) {
            self.measure_from_above(&metadata, bench)
        } else {
            self.measure(photo, hash, part, belongs.as_ref(), bench)
        };
        let measured = match looked {
            Ok(Looked::Slate(code)) => {
                metadata.code = Some(code);
                None
            }
            Ok(Looked::Turf(measured)) => measured,
            Err(Failed::Unreadable(why)) => {
                return Ok(self.opened(photo, hash, Told::Unreadable(why)));
            }
            Err(Failed::Run(error)) => return Err(error),
        };
        let size = measured.as_ref().map(|measured| measured.size);
        let mut opened = self.opened(photo, hash, Told::Photo { size, metadata });
        if let Some(measured) = measured {
            let visit = belongs.map(|belongs| VisitKey {
                green: belongs.place.green,
                date: belongs.taken.date,
            });
            opened.reading = Some((measured.crop, measured.reading));
            opened.sketch = measured.sketch;
            opened.strip = visit.zip(measured.strip);
        }
        Ok(opened)
    }

    /// Opens an orthomosaic, which may be larger than memory.
    fn open_mosaic(&self, photo: &FoundPhoto) -> Opened {
        let hash = match mosaic::hash_of_file(&photo.path) {
            Ok(hash) => hash,
            Err(why) => return self.unread(photo, why),
        };
        let cut = Mosaic::open(&photo.path).and_then(|mut mosaic| {
            let cut = self
                .usher
                .above()
                .cut_mosaic(&mut mosaic, self.method.rule())?;
            Ok((mosaic, cut))
        });
        match cut {
            Err(why) => self.opened(photo, hash, Told::Unreadable(why)),
            Ok((mosaic, cut)) => {
                let (width, height) = mosaic.size();
                let told = Told::Photo {
                    size: Some(PixelSize { width, height }),
                    metadata: photo::of_mosaic(&mosaic),
                };
                let key = self.usher.above().key().clone();
                Opened {
                    reading: Some((key, stored(cut, None, None))),
                    ..self.opened(photo, hash, told)
                }
            }
        }
    }

    /// Measures what a drone's photo shows of each green.
    fn measure_from_above(&self, metadata: &Metadata, bench: &mut Bench) -> Result<Looked, Failed> {
        let _turn = bench.turn();
        let picture = bench
            .picture(&self.options.limits)
            .map_err(Failed::Unreadable)?;
        let above = self.usher.above();
        let cut = above.cut_picture(&picture, metadata, self.method.rule());
        let pixels = Pixels::of(&picture);
        let quality = quality_of(&picture, pixels.whole(), self.method.rule());
        let (width, height) = picture.upright_size();
        Ok(Looked::Turf(Some(Measured {
            size: PixelSize { width, height },
            crop: above.key().clone(),
            reading: stored(cut, Some(Fingerprint::of(&picture)), Some(quality)),
            sketch: None,
            strip: None,
        })))
    }

    /// Measures a photo that belongs to a green; one that does not is only decoded and searched for the code of a
    /// slate, so that a damaged file is told as such and not first when its green is known.
    fn measure(
        &self,
        photo: &FoundPhoto,
        content: ContentHash,
        part: Part,
        belongs: Option<&Belongs>,
        bench: &mut Bench,
    ) -> Result<Looked, Failed> {
        // What is held was searched for one before.
        let may_be_slate = !bench.is_decoded;
        let _turn = bench.turn();
        let picture = bench
            .picture(&self.options.limits)
            .map_err(Failed::Unreadable)?;
        if may_be_slate && let Some(code) = slate_code(&picture) {
            return Ok(Looked::Slate(code));
        }
        let crop = match part {
            Part::Nothing => return Ok(Looked::Turf(None)),
            Part::Whole => None,
            Part::Crop(crop) => Some(crop),
        };
        let rect = picture
            .orientation
            .stored_rect(crop.as_ref(), picture.width, picture.height);
        let pixels = Pixels::of(&picture);
        let rule = self.method.rule().on_photo(pixels, rect);
        let reading = cover::measure(pixels, rect, &rule);
        if let Some(folder) = &self.options.masks {
            write_mask(folder, &photo.name, &picture, rect, &rule).map_err(Failed::Run)?;
        }
        let view = View {
            analysed: rect,
            orientation: picture.orientation,
        };
        if let Some(folder) = &self.options.pictures.overlays {
            write_overlay(folder, belongs, &photo.name, pixels, view, &rule)
                .map_err(Failed::Run)?;
        }
        // Where a photo belongs by others alone it is drawn when they are known, with the green above it.
        let is_drawn = belongs.filter(|_| self.options.pictures.sheets.is_some());
        let strip = is_drawn.map(|belongs| {
            let note = sheets::note(&photo.name, content, self.method.key());
            let caption = caption(&photo.name, belongs, &reading, self.course.dates);
            cover::strip(pixels, view, &rule, &caption, note)
        });
        let sketch = belongs
            .filter(|belongs| self.usher.is_followed(&belongs.place))
            .and_then(|_| {
                // Judged as a whole, whatever the crop: other photos show other parts of it.
                let mask = cover::mask(pixels, pixels.whole(), self.method.rule(), Lanes::best());
                stations::to_bytes(&Sketch::of(pixels, &mask, picture.orientation))
            });
        let (width, height) = picture.upright_size();
        let stored = StoredReading {
            reading,
            fingerprint: Some(Fingerprint::of(&picture).to_bytes().to_vec()),
            quality: Some(quality_of(&picture, rect, &rule)),
            parts: Vec::new(),
        };
        Ok(Looked::Turf(Some(Measured {
            size: PixelSize { width, height },
            crop: CropKey::of(crop),
            reading: stored,
            sketch,
            strip,
        })))
    }
}

/// What of a photo is measured.
#[derive(Debug, Clone, Copy)]
enum Part {
    /// Nothing: it cannot belong to a green.
    Nothing,
    Whole,
    /// The crop of its station.
    Crop(Crop),
}

/// What the pixels of a photo are.
#[expect(clippy::large_enum_variant, reason = "nearly every photo is of turf")]
enum Looked {
    /// A slate, with the text of its code.
    Slate(String),
    /// Turf, measured where it belongs to a green.
    Turf(Option<Measured>),
}

/// The text of the slate that a picture shows, and that of a second one on a line of its own. Other codes, on a bag or a
/// sign, are none of ours. One that is seen and cannot be read is taken for a slate: it is no turf.
pub(super) fn slate_code(picture: &photo::Picture<'_>) -> Option<String> {
    let photo::Codes {
        texts: mut codes,
        has_unread,
    } = photo::look_for_codes(picture);
    if has_unread {
        return Some(Slate::unread());
    }
    codes.retain(|code| Slate::read(code) != Err(SlateError::Foreign));
    (!codes.is_empty()).then(|| codes.join("\n"))
}

/// What the pixels and the file of a photo say of how it was taken.
fn quality_of(picture: &photo::Picture<'_>, rect: photo::PixelRect, rule: &Rule) -> Quality {
    Quality {
        jpeg_quality: picture.jpeg_quality,
        ..Quality::of(Pixels::of(picture), rect, rule)
    }
}

/// What a photo from above gave, as it is kept.
fn stored(cut: CutUp, fingerprint: Option<Fingerprint>, quality: Option<Quality>) -> StoredReading {
    StoredReading {
        reading: cut.reading,
        fingerprint: fingerprint.map(|fingerprint| fingerprint.to_bytes().to_vec()),
        quality,
        parts: cut.parts,
    }
}

/// Why a photo gave no reading.
enum Failed {
    /// It is no picture; the run goes on.
    Unreadable(Unreadable),
    /// The run cannot go on.
    Run(PipelineError),
}

fn save_in_batches(
    receiver: mpsc::Receiver<Result<(&FoundPhoto, Opened), PipelineError>>,
    method: &Method,
    ledger: &mut Ledger,
    mut sheets: Option<&mut Sheets>,
) -> Result<(), PipelineError> {
    let new_batch = || Batch {
        settings: vec![method.settings().clone()],
        ..Batch::default()
    };
    let mut batch = new_batch();
    let mut begun = Instant::now();
    for opened in receiver {
        let (photo, opened) = opened?;
        let content = opened.sighting.content;
        if let (Some(sheets), Some((visit, strip))) = (&mut sheets, opened.strip) {
            sheets.add(visit, strip);
        }
        if let Some(sketch) = opened.sketch {
            let key = (method.key().clone(), content);
            batch.sketches.insert(key, sketch);
        }
        batch.sightings.insert(photo.name.clone(), opened.sighting);
        batch.contents.insert(content, opened.content);
        if let Some((crop, reading)) = opened.reading {
            let settings = method.key().clone();
            let key = ReadingKey {
                content,
                settings,
                crop,
            };
            batch.readings.insert(key, reading);
        }
        if batch.sightings.len() >= BATCH_PHOTOS || begun.elapsed() >= BATCH_AGE {
            if let Some(sheets) = &mut sheets {
                sheets.write()?;
            }
            ledger.commit(std::mem::replace(&mut batch, new_batch()))?;
            begun = Instant::now();
        }
    }
    if let Some(sheets) = sheets {
        sheets.write()?;
    }
    ledger.commit(batch)?;
    Ok(())
}
