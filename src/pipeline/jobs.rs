//! What is left to do: which files must be opened, and where each photo belongs.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::assign::{
    Assigner, Calendar, Clues, CountsBy, Place, TwoDates, check_date, disagree, is_among,
};
use crate::course::{Course, Crop, Evidence, Green, GreenId};
use crate::cover::SettingsKey;
use crate::ledger::{CropKey, Known, ReadingKey, Told, UndatedPhotos};
use crate::photo::{Found, FoundPhoto, Metadata, PhotoName, Reason, Taken, TakenFrom, Unreadable};

use super::above::Above;

/// Where a photo belongs and when it was taken.
#[derive(Debug, Clone)]
pub(super) struct Belongs {
    pub(super) place: Place,
    pub(super) crop: Option<Crop>,
    pub(super) taken: Taken,
}

/// Answers, for one course, where photos belong.
pub(super) struct Usher<'a> {
    course: &'a Course,
    assigner: Assigner<'a>,
    above: Above<'a>,
    undated: UndatedPhotos,
    calendar: Calendar,
}

impl<'a> Usher<'a> {
    pub(super) fn new(course: &'a Course, undated: UndatedPhotos, calendar: Calendar) -> Usher<'a> {
        Usher {
            course,
            assigner: Assigner::new(course),
            above: Above::of(course),
            undated,
            calendar,
        }
    }

    /// The same with what the photos of the season tell about each other.
    pub(super) fn with_clues(self, clues: Clues) -> Usher<'a> {
        Usher {
            assigner: self.assigner.with_clues(clues),
            ..self
        }
    }

    /// When a photo was taken: by what is inside it, else by its name, else, where asked for, by its file. Where the
    /// course file says so, the name goes first.
    pub(super) fn taken(
        &self,
        name: &PhotoName,
        modified: Option<Timestamp>,
        metadata: &Metadata,
    ) -> Option<Taken> {
        let zone = &self.course.time_zone;
        let told = metadata.taken.clone();
        // Not kept with the content, which may be found under several names.
        let named = || Taken::from_name(name, zone);
        let is_of_making = |taken: &Taken| taken.from == TakenFrom::Written;
        let taken = match told {
            Some(taken) if is_of_making(&taken) || self.is_dated_by_name(name) => {
                named().or(Some(taken))
            }
            told => told.or_else(named),
        };
        let taken = taken.or_else(|| match self.undated {
            UndatedPhotos::SetAside => None,
            UndatedPhotos::ByFileTime => {
                modified.map(|modified| Taken::from_file_time(modified, zone))
            }
        });
        taken.map(|taken| self.clues().corrected(name, taken))
    }

    fn is_dated_by_name(&self, name: &PhotoName) -> bool {
        is_among(name, &self.course.photos.date_by_name)
    }

    /// Both dates of a photo of a green, taken by its camera's clock at `taken`, whose name tells another day; `None`
    /// where the two agree, or the person has said which counts. That a folder is called otherwise says nothing while
    /// the clock's day can be right: it may be the day on which photos were copied.
    pub(super) fn two_dates(
        &self,
        name: &PhotoName,
        taken: &Taken,
        camera: Option<&str>,
    ) -> Option<TwoDates> {
        let is_clock = matches!(taken.from, TakenFrom::CameraWithOffset | TakenFrom::Camera);
        let zone = &self.course.time_zone;
        let by_name =
            Taken::from_name(name, zone).filter(|named| is_clock && disagree(taken, named))?;
        let counts = self.belongs(name, Some(taken.clone())).ok()?.taken;
        let by = if counts.from == TakenFrom::FileName {
            CountsBy::Name
        } else {
            let of_file = Taken::from_file_name(name, zone)?;
            disagree(taken, &of_file).then_some(CountsBy::Clock)?
        };
        Some(TwoDates {
            photo: name.clone(),
            camera: camera.map(str::to_owned),
            by_camera: taken.clone(),
            by_name,
            by,
        })
    }

    /// What the photos of the season tell about each other.
    pub(super) fn clues(&self) -> &Clues {
        self.assigner.clues()
    }

    /// The zone that times are brought into.
    pub(super) fn zone(&self) -> &TimeZone {
        &self.course.time_zone
    }

    /// What is known of photos from above.
    pub(super) fn above(&self) -> &Above<'a> {
        &self.above
    }

    /// Whether a photo is from above: it is cut by the outlines of the greens.
    pub(super) fn is_from_above(&self, name: &PhotoName, metadata: &Metadata) -> bool {
        self.above.is_from_above(metadata, &self.place(name))
    }

    /// When a photo from above was taken, if a green that it shows can have been photographed then.
    pub(super) fn taken_of(
        &self,
        name: &PhotoName,
        taken: Taken,
        green: &GreenId,
    ) -> Result<Taken, Reason> {
        match self.course.green(green) {
            Some(green) => self.checked(name, taken, green),
            None => Ok(taken),
        }
    }

    /// A date that the green's season can have: the camera's, or where its clock is plainly wrong, the name's.
    fn checked(&self, name: &PhotoName, taken: Taken, green: &Green) -> Result<Taken, Reason> {
        let reason = match check_date(&taken, green, self.calendar) {
            Ok(()) => return Ok(taken),
            Err(reason) => reason,
        };
        let named = Taken::from_name(name, &self.course.time_zone)
            .filter(|named| check_date(named, green, self.calendar).is_ok());
        named.ok_or(reason)
    }

    /// The place of a photo on the course, whatever its date.
    pub(super) fn place(&self, name: &PhotoName) -> Result<Place, Reason> {
        self.assigner.place(name)
    }

    /// Whether other photos may yet tell where this one belongs, which nothing tells so far.
    pub(super) fn may_belong_yet(&self, name: &PhotoName, metadata: &Metadata) -> bool {
        let is_evidence = |evidence| self.course.photos.assign.contains(&evidence);
        let by_place = is_evidence(Evidence::Place) && !self.course.outlines.is_empty();
        let by_slate = is_evidence(Evidence::Slate);
        self.is_open(name) && (by_slate || by_place && metadata.fix.is_some())
    }

    /// Whether nothing has told the green of a photo so far.
    pub(super) fn is_open(&self, name: &PhotoName) -> bool {
        matches!(
            self.place(name),
            Err(Reason::NoGreen
                | Reason::BesideGreens { .. }
                | Reason::BetweenGreens { .. }
                | Reason::CardForgotten { .. }
                | Reason::CardTwice { .. })
        )
    }

    /// The place and time of a photo on the course, or why it has none.
    ///
    /// The green is asked for before the date, so that a photo of a green that the course file lacks is told
    /// as such whatever its date.
    pub(super) fn belongs(
        &self,
        name: &PhotoName,
        taken: Option<Taken>,
    ) -> Result<Belongs, Reason> {
        let place = self.assigner.place(name)?;
        let taken = taken.ok_or(Reason::NoDate)?;
        let taken = match self.course.green(&place.green) {
            Some(green) => self.checked(name, taken, green)?,
            None => taken,
        };
        let crop = self.crop(&place);
        Ok(Belongs { place, crop, taken })
    }

    /// The part of a photo of this place that is analysed; all of it where `None`.
    pub(super) fn crop(&self, place: &Place) -> Option<Crop> {
        let station = place.station.as_ref();
        station
            .and_then(|id| self.course.station(id))
            .and_then(|station| station.crop)
    }

    /// Whether a photo of this place is one of a station of the course file, which is followed from visit to visit.
    pub(super) fn is_followed(&self, place: &Place) -> bool {
        let station = place.station.as_ref();
        station.is_some_and(|id| self.course.station(id).is_some())
    }

    /// The date in the name of a photo that has not been opened. Not that of its file: what a season is fitted to must not
    /// change when it is copied.
    pub(super) fn named_date(&self, photo: &FoundPhoto) -> Option<Date> {
        let taken = Taken::from_name(&photo.name, &self.course.time_zone);
        taken.map(|taken| taken.date)
    }
}

/// Whether a file that could not be read may be readable now though neither its size nor its time changed:
/// permissions, the pixel limit and the program's own mistakes are no part of it.
pub(super) fn may_be_mended(why: &Unreadable) -> bool {
    matches!(
        why,
        Unreadable::NoAccess { .. } | Unreadable::TooManyPixels { .. } | Unreadable::ProgramFailed
    )
}

/// What is on record of a photo whose file holds nothing of it any more: systems that are short of room take photos back
/// into the cloud, and a photo that was measured stays so.
pub(super) fn taken_away<'k>(known: &'k Known, photo: &FoundPhoto) -> Option<&'k Metadata> {
    let is_hollow = matches!(
        photo.unreadable_by_name(),
        Some(Unreadable::InTheCloud | Unreadable::Empty)
    );
    let sighting = known.sightings.get(&photo.name).filter(|_| is_hollow)?;
    match known.told(&sighting.content)? {
        Told::Photo { metadata, .. } => Some(metadata),
        Told::Unreadable(_) => None,
    }
}

/// The files that must be opened: those never seen, those that changed, and those not yet measured with these
/// settings. Of unchanged files with the same content only the first is opened.
pub(super) fn files_to_open<'f>(
    usher: &Usher<'_>,
    found: &'f Found,
    known: &Known,
    settings: &SettingsKey,
) -> Vec<&'f FoundPhoto> {
    let mut planned: BTreeSet<ReadingKey> = BTreeSet::new();
    let is_needed = |photo: &&FoundPhoto| {
        let Some(hash) = known.unchanged(photo) else {
            return true;
        };
        let Some(content) = known.contents.get(&hash) else {
            return true;
        };
        let metadata = match &content.told {
            Told::Photo { metadata, .. } => metadata,
            Told::Unreadable(why) => return may_be_mended(why),
        };
        if usher.is_from_above(&photo.name, metadata) {
            let key = ReadingKey {
                content: hash,
                settings: settings.clone(),
                crop: usher.above().key().clone(),
            };
            return !known.readings.contains_key(&key) && planned.insert(key);
        }
        let taken = usher.taken(&photo.name, photo.modified, metadata);
        match usher.belongs(&photo.name, taken) {
            Ok(belongs) => {
                let key = ReadingKey {
                    content: hash,
                    settings: settings.clone(),
                    crop: CropKey::of(belongs.crop),
                };
                let is_known = known
                    .readings
                    .get(&key)
                    .is_some_and(|stored| stored.quality.is_some());
                let is_sketched =
                    !usher.is_followed(&belongs.place) || known.sketched.contains(&hash);
                !(is_known && is_sketched) && planned.insert(key)
            }
            Err(_) => false,
        }
    };
    found.photos.iter().filter(is_needed).collect()
}

/// Of the files that a run has opened, those that now belong elsewhere than was known when they were opened, and
/// are analysed otherwise there: a slate may name a station with a crop of its own.
pub(super) fn files_to_open_again<'f>(
    usher: &Usher<'_>,
    found: &'f Found,
    known: &Known,
    settings: &SettingsKey,
) -> Vec<&'f FoundPhoto> {
    let mut again = files_to_open(usher, found, known, settings);
    again.retain(|photo| {
        let hash = known.unchanged(photo);
        let content = hash.and_then(|hash| known.contents.get(&hash));
        content.is_some_and(|content| matches!(content.told, Told::Photo { .. }))
    });
    again
}

#[cfg(test)]
mod tests {
    use std::path::{Path, PathBuf};

    use super::*;

    #[test]
    fn a_photo_not_yet_opened_is_dated_by_its_name_and_never_by_its_file() {
        let text = "[course]\nname = \"A\"\n\n[[green]]\nid = \"G07\"\nplanted = 2027-05-18\n";
        let course = Course::parse(text, "course.toml", Path::new(".")).unwrap();
        let usher = Usher::new(&course, UndatedPhotos::SetAside, Calendar::Open);
        let date = |name: &str| {
            let photo = FoundPhoto {
                name: PhotoName(name.to_owned()),
                path: PathBuf::new(),
                bytes: 1,
                modified: Some("2031-01-02T03:04:05Z".parse().unwrap()),
            };
            usher.named_date(&photo).map(|date| date.to_string())
        };
        assert_eq!(
            date("G07/20270705_080000.jpg").as_deref(),
            Some("2027-07-05")
        );
        assert_eq!(date("G07/IMG_0001.jpg"), None);
    }
}
