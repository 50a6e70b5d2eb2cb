//! Why a photo is set aside. Data, not an error: one bad photo never stops a run and never vanishes.

use std::fmt;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::PhotoName;
use crate::written::DateStyle;

/// Why a photo is not measured, in a sentence that says what to do.
#[derive(Debug, Clone, PartialEq, Eq, Error, Serialize, Deserialize)]
#[serde(tag = "code", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Reason {
    /// The file cannot be opened as a picture.
    #[error("{why}")]
    Unreadable {
        /// In what way.
        why: Unreadable,
    },
    /// Neither the camera, nor GPS, nor the file name tells the date.
    #[error(
        "no date in the photo or its name; put the date into the name, as in G07_2027-06-14.jpg"
    )]
    NoDate,
    /// The only date in it is that of its last change.
    #[error(
        "its only date is that of its last change, which programs write anew whenever they save, so that it is not believed; put the date on which it was taken into the name, as in G07_2027-06-14.jpg"
    )]
    OnlyChanged,
    /// The date cannot be right.
    #[error("the camera's clock says {date}; {}", Reason::SET_THE_CLOCK)]
    BadDate {
        /// As the photo has it.
        date: Date,
    },
    /// It is later than the day of the computer, as most photos are not.
    #[error(
        "dated {date}, later than most photos and than this computer's clock, which says {today}; if the camera's clock is wrong, set it and put the right date into its name or its folder's; if this computer's is, set it and run again"
    )]
    Ahead {
        /// As the photo has it.
        date: Date,
        /// The day by the computer's clock.
        today: Date,
    },
    /// It belongs to a green, but no run has measured it with the present settings.
    #[error("not measured yet with the present settings; run `sprigcast measure`")]
    NotYetMeasured,
    /// Nothing tells the green.
    #[error(
        "neither slate, folder nor name tells the green; move it into a folder named after its green, and photograph the green's slate first next time"
    )]
    NoGreen,
    /// It is said to belong to a green that the course file does not have.
    #[error(
        "`{named}` is not a green of the course file; {}",
        Reason::LISTED_OR_LEFT_OUT
    )]
    UnknownGreen {
        /// What the folder or name says.
        named: String,
    },
    /// The course file says that it does not count.
    #[error("left out by `leave_out` in course.toml")]
    LeftOut,
    /// Two kinds of evidence name two greens.
    #[error(
        "{first} by its {first_evidence}, {second} by its {second_evidence}; move or rename it"
    )]
    TwoGreens {
        /// A green's id.
        first: String,
        /// The evidence for it.
        first_evidence: String,
        /// Another green's id.
        second: String,
        /// The evidence for that.
        second_evidence: String,
    },
    /// The same file lies with two greens.
    #[error(
        "the same file is {other} of {other_green}, and this one of {green}; delete the one that lies with the wrong green"
    )]
    SameFile {
        /// Its green.
        green: String,
        /// The other file.
        other: PhotoName,
        /// The green of that.
        other_green: String,
    },
    /// Its position fits two outlines about alike.
    #[error(
        "its position fits {first} and {second} about alike; move it into the folder of its green, and photograph a slate first next time"
    )]
    BetweenGreens {
        /// One of them.
        first: String,
        /// The other.
        second: String,
    },
    /// Its position is on another green than its folder or name says.
    #[error(
        "{green} by its {evidence}, but its position is on {other}; move it, or take `place` out of `assign` in course.toml if positions are wrong"
    )]
    PlaceDisagrees {
        /// The green that the folder, the name or a slate says.
        green: String,
        /// What says so.
        evidence: String,
        /// The outline that it lies on.
        other: String,
    },
    /// Its position is far from the green that its folder or name says.
    #[error(
        "{green} by its {evidence}, but its position is {far} away from it; move it, or take `place` out of `assign` in course.toml if positions are wrong"
    )]
    PlaceFarOff {
        /// The green that the folder, the name or a slate says.
        green: String,
        /// What says so.
        evidence: String,
        /// From its outline.
        far: Far,
    },
    /// Nothing else tells the green, and its position is on none.
    #[error(
        "its position is on no green, {far} from {nearest}; move it into the folder of its green"
    )]
    BesideGreens {
        /// The nearest outline.
        nearest: String,
        /// From there.
        far: Far,
    },
    /// Its position is on turf that is outlined but no green of the course file.
    #[error("its position is on {name}, which is no green of the course file")]
    OtherTurf {
        /// What the outline is called.
        name: String,
    },
    /// It shows a slate.
    #[error("the slate of {of}: it shows no turf")]
    Slate {
        /// The station or green on it.
        of: String,
    },
    /// It shows two slates.
    #[error(
        "it shows two slates, of {first} and of {second}: move the photos that follow it into the folder of their green, and photograph one slate at a time"
    )]
    TwoSlates {
        /// The station or green on one of them.
        first: String,
        /// The station or green on the other.
        second: String,
    },
    /// It shows a code that cannot be read: a slate half hidden, most likely.
    #[error(
        "a slate that cannot be read, perhaps half hidden: move the photos that follow it into the folder of their green, and photograph the whole slate next time"
    )]
    UnreadSlate,
    /// It shows a slate that a later version of this program printed.
    #[error("the slate was printed by a newer sprigcast (form {version}): update this one")]
    NewerSlate {
        /// Version of its form.
        version: String,
    },
    /// The card before it may not be that of its green.
    #[error(
        "it follows the slate of {card}, but after a pause, and {missing} has no slate that day; move it into the folder of its green"
    )]
    CardForgotten {
        /// The station or green on the last card.
        card: String,
        /// The green, or greens, without a card.
        missing: String,
    },
    /// The card before it comes twice on that walk, and another green has none.
    #[error(
        "it follows the slate of {card}, which comes twice on that walk, and {missing} has none that day; move it into the folder of its green"
    )]
    CardTwice {
        /// The station or green on the card.
        card: String,
        /// The green, or greens, without a card.
        missing: String,
    },
    /// A photo from above that shows none of the greens.
    #[error(
        "it shows none of the outlined greens; look whether greens.geojson and the photo are of the same course"
    )]
    OffTheGreens,
    /// From a camera that flies, and how it hung is not known.
    #[error(
        "a drone's photo that does not say how it hung (height, heading, pitch, lens or place is missing, or its pitch may be counted from level or from straight down), so that the green and what lies beside it cannot be told apart; copy the original from the drone, or where it is turf from edge to edge put it into the folder of a station"
    )]
    WithoutPose,
    /// An orthomosaic of a course whose greens have no outlines.
    #[error(
        "an orthomosaic is cut by the outlines of the greens; put them into the season folder as greens.geojson"
    )]
    NoOutlines,
    /// Taken before its green was planted.
    #[error(
        "taken {taken}, before its green was planted on {planted}; {}",
        Reason::WHICH_DATE_IS_WRONG
    )]
    BeforePlanting {
        /// Local date of the photo.
        taken: Date,
        /// Planting date of its green.
        planted: Date,
    },
    /// Taken months before any green of the season was planted, as were many others.
    #[error("taken months before any of these greens was planted, as many others: last season's")]
    EarlierSeason,
    /// Hardly any pixels: a thumbnail, a placeholder.
    #[error("too few pixels to tell cover by; copy the original from the phone or camera")]
    TooSmall,
    /// A part of it is of one colour, as no photo is.
    #[error(
        "a part of it is one single colour: a download that was cut off, bars or a frame; copy the original from the phone or camera"
    )]
    Filled,
    /// Grey, or black and white.
    #[error("a picture without colours; take it again in colour")]
    NoColour,
    /// Out of focus or shaken.
    #[error(
        "blurred: out of focus or shaken; tap on the turf, hold still, and take it again on the next walk"
    )]
    Blurred,
    /// Large parts without light.
    #[error("too dark to tell colours apart; take it again in daylight, with automatic exposure")]
    TooDark,
    /// Large parts white.
    #[error(
        "too bright: most of it is white; take it again with automatic exposure and without flash"
    )]
    TooBright,
    /// Taken at a slant.
    #[error("not taken straight down; hold the camera level above the turf and take it again")]
    NotOverhead,
    /// Something smooth covers a large part: water, a shoe, a tool, a cup.
    #[error(
        "something smooth covers much of it (water, a shoe, a tool, a hole cup); take it again beside it"
    )]
    InTheWay,
    /// The same shot is there already.
    #[error("the same shot as {of}")]
    Duplicate {
        /// The photo that is kept.
        of: PhotoName,
    },
}

impl Reason {
    /// The sentence with its days as the course writes them.
    pub fn told(&self, dates: DateStyle) -> String {
        let sentence = self.to_string();
        let days = match self {
            Reason::BadDate { date } => vec![*date],
            Reason::Ahead { date, today } => vec![*date, *today],
            Reason::BeforePlanting { taken, planted } => vec![*taken, *planted],
            _ => Vec::new(),
        };
        days.iter().fold(sentence, |sentence, day| {
            sentence.replace(&day.to_string(), &dates.full(*day))
        })
    }
    /// What to do about a date that no season of the green can have.
    pub(crate) const SET_THE_CLOCK: &str = "set the clock, and put the right date into its name or its folder's; where the clock is right, the planting date in course.toml is not";

    /// What to do about a photo that is older than its green.
    pub(crate) const WHICH_DATE_IS_WRONG: &str = "mend the planting date in course.toml if that is wrong; if the camera's clock is, set it and put the right date into its name or its folder's";

    /// What to do about a photo of a green that the course file does not have.
    pub(crate) const LISTED_OR_LEFT_OUT: &str =
        "add it there, rename, or where it is not renovated name photo or folder in `leave_out`";

    /// Whether a person has something to mend. A copy of a shot needs nobody, since its original was measured;
    /// neither does a slate, a photo of turf that was
    /// outlined as no green, nor one of last season.
    pub fn needs_a_person(&self) -> bool {
        !matches!(
            self,
            Reason::Duplicate { .. }
                | Reason::OtherTurf { .. }
                | Reason::Slate { .. }
                | Reason::EarlierSeason
                | Reason::LeftOut
        )
    }

    /// The same, of a photo that has the day of its last change.
    pub fn of_changed(self, changed: Option<Date>) -> Reason {
        match (self, changed) {
            (Reason::NoDate, Some(_)) => Reason::OnlyChanged,
            (reason, _) => reason,
        }
    }

    /// The word in `photos.csv`, such as `no_date`.
    pub fn code(&self) -> &'static str {
        match self {
            Reason::Unreadable { .. } | Reason::Filled => "unreadable",
            Reason::NoDate | Reason::OnlyChanged => "no_date",
            Reason::BadDate { .. } | Reason::Ahead { .. } => "bad_date",
            Reason::NotYetMeasured => "not_yet_measured",
            Reason::LeftOut => "left_out",
            Reason::NoGreen
            | Reason::UnknownGreen { .. }
            | Reason::BesideGreens { .. }
            | Reason::OtherTurf { .. }
            | Reason::OffTheGreens
            | Reason::WithoutPose
            | Reason::NoOutlines => "no_green",
            Reason::TwoGreens { .. }
            | Reason::SameFile { .. }
            | Reason::BetweenGreens { .. }
            | Reason::CardForgotten { .. }
            | Reason::CardTwice { .. }
            | Reason::PlaceDisagrees { .. }
            | Reason::PlaceFarOff { .. } => "two_greens",
            Reason::Slate { .. }
            | Reason::TwoSlates { .. }
            | Reason::UnreadSlate
            | Reason::NewerSlate { .. } => "slate",
            Reason::BeforePlanting { .. } | Reason::EarlierSeason => "before_planting",
            Reason::TooSmall => "too_small",
            Reason::NoColour => "no_colour",
            Reason::Blurred => "blurred",
            Reason::TooDark => "too_dark",
            Reason::TooBright => "too_bright",
            Reason::NotOverhead => "not_overhead",
            Reason::InTheWay => "in_the_way",
            Reason::Duplicate { .. } => "duplicate",
        }
    }
}

/// A distance in whole metres, told no finer than positions are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Far(u32);

impl Far {
    /// Of so many metres.
    pub fn of(metres: f64) -> Far {
        Far(metres.round().clamp(0.0, f64::from(u32::MAX)) as u32)
    }
}

impl fmt::Display for Far {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let metres = f64::from(self.0);
        let to = |value: f64, step: f64| (value / step).round() * step;
        match self.0 {
            0..100 => write!(
                f,
                "{} m ({} ft)",
                to(metres, 5.0),
                to(metres / 0.3048, 10.0)
            ),
            100..1000 => write!(
                f,
                "{} m ({} yd)",
                to(metres, 10.0),
                to(metres / 0.9144, 10.0)
            ),
            1000..10_000 => write!(
                f,
                "{:.1} km ({:.1} miles)",
                metres / 1000.0,
                metres / 1609.344
            ),
            _ => write!(
                f,
                "{:.0} km ({:.0} miles)",
                metres / 1000.0,
                metres / 1609.344
            ),
        }
    }
}

/// In what way a file is no picture to us.
#[derive(Debug, Clone, PartialEq, Eq, Error, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Unreadable {
    /// No bytes.
    #[error(
        "the file is empty, so still in the cloud or cut off while it was copied; download it to this computer, or copy it again from the phone or camera"
    )]
    Empty,
    /// Only a placeholder lies here.
    #[error(
        "not downloaded yet: only a placeholder of it lies here; have its folder downloaded from the cloud to this computer, and run again"
    )]
    InTheCloud,
    /// The bytes are no format that we know.
    #[error("not a picture, whatever its name says")]
    NotAPicture,
    /// A camera's raw file or another format that is not read here.
    #[error("{format} is not read; export it as JPEG")]
    Unsupported {
        /// Name of the format.
        format: String,
    },
    /// The file stops before the picture does.
    #[error("the file ends before the picture does; copy it again from the phone or camera")]
    Truncated,
    /// More pixels than allowed.
    #[error("{width} × {height} pixels is over the limit; raise it with --max-megapixels")]
    TooManyPixels {
        /// As the header has it.
        width: u64,
        /// As the header has it.
        height: u64,
    },
    /// No pixel at all.
    #[error("the picture has no pixels; copy it again from the phone or camera")]
    NoPixels,
    /// The decoder gave up.
    #[error("damaged ({detail}); copy it again from the phone or camera")]
    Damaged {
        /// The decoder's words.
        detail: String,
    },
    /// A decoder or the program itself stumbled over it, which another version may not.
    #[error("the program failed at it; copy it again from the phone or camera")]
    ProgramFailed,
    /// A TIFF that says in part where it lies on the ground.
    #[error(
        "it does not say where its pixels lie on the ground; export the orthomosaic as GeoTIFF, north up, with its projection"
    )]
    NoGeoreference,
    /// An orthomosaic in a projection that is not known here.
    #[error("its projection ({named}) is not known here; export it in UTM or in WGS 84 degrees")]
    UnknownProjection {
        /// What the file calls it.
        named: String,
    },
    /// An orthomosaic of other samples than 8-bit red, green and blue.
    #[error("it holds {found}; export it as 8-bit red, green and blue")]
    NotRgb {
        /// What it holds.
        found: String,
    },
    /// The system would not let us read it.
    #[error("cannot be read ({detail}); check who may read it")]
    NoAccess {
        /// The system's words.
        detail: String,
    },
}
