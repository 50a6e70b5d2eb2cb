//! What a person should know of a walk as a whole: cards that were forgotten, clocks that are wrong.

use jiff::civil::{Date, DateTime};

use crate::course::DateStyle;

/// Something about the photos of a walk, in words that say what to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Remark {
    /// No card was photographed at a green; its photos were told by position and gap.
    Placed {
        /// The green.
        green: String,
        /// Its photos.
        photos: Span,
    },
    /// Photos that follow a card after a pause may be of a green without a card.
    Doubted {
        /// On the card.
        card: String,
        /// The green, or greens, without a card.
        missing: String,
        /// The photos.
        photos: Span,
    },
    /// One slate comes twice on a walk, with photos after each, and another green has none.
    Twice {
        /// On the card.
        card: String,
        /// The green, or greens, without a card.
        missing: String,
        /// When it was photographed, both times.
        at: [DateTime; 2],
        /// Photos after each.
        n_photos: [usize; 2],
        /// Those that are set aside.
        asked: Span,
    },
    /// Twice the usual photos follow a card, and another green has none.
    Many {
        /// On the card.
        card: String,
        /// The green, or greens, without a card.
        missing: String,
        /// All of them.
        photos: Span,
        /// How many are usual.
        n_usual: usize,
    },
    /// Photos of a walk with cards have none before them.
    Before {
        /// The green, or greens, without a card.
        missing: String,
        /// The photos.
        photos: Span,
    },
    /// No photo follows a card, and its green has none that day.
    Alone {
        /// On the card.
        card: String,
        /// When it was photographed.
        at: DateTime,
    },
    /// GPS time proves a camera's clock wrong.
    Clock {
        /// The camera.
        camera: String,
        /// Seconds by which it is ahead; negative where behind.
        ahead_s: f64,
        /// First and last date of the photos, as the camera had it.
        dates: [Date; 2],
        /// Photos corrected.
        n_photos: usize,
        /// Of these, photos that count for another date.
        n_moved: usize,
    },
    /// GPS time puts a photo on another day than its camera's clock, and no photo beside it shows which is right.
    LoneClock {
        /// The photo.
        photo: String,
        /// The camera.
        camera: String,
        /// Seconds by which its clock is ahead of the time of its position; negative where behind.
        ahead_s: f64,
        /// Its date by the clock, and by GPS time.
        dates: [Date; 2],
    },
    /// A camera's photos run over midnight, when nobody sees turf, and nothing proves its clock right or wrong.
    Midnight {
        /// The camera.
        camera: String,
        /// The photos.
        photos: Span,
    },
    /// The names of photos tell another day than their camera's clock.
    NameDate {
        /// The camera.
        camera: String,
        /// Days by which its clock is ahead of the names; negative where behind.
        days: i32,
        /// The first of the photos.
        photo: String,
        /// The day that it counts for.
        counts_for: Date,
        /// How many there are.
        n_photos: usize,
        /// What they count by.
        by: CountsBy,
    },
    /// Two cameras photographed the same cards in the same order, a constant time apart.
    TwoClocks {
        /// The one that is ahead, or was there later.
        ahead: String,
        /// The other.
        behind: String,
        /// Seconds between them.
        apart_s: f64,
        /// The date of the first of the cards, by the clock that is behind.
        date: Date,
        /// Cards that both photographed.
        n_cards: usize,
        /// Which of the two GPS time proves right.
        right: Option<String>,
    },
}

/// Which of two dates a photo counts by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CountsBy {
    /// The camera's.
    Clock,
    /// That in the name of the file or of a folder above it: no photo of its green can have the camera's.
    Name,
}

/// Photos that follow each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// How many.
    pub n_photos: usize,
    /// The first.
    pub from: DateTime,
    /// The last.
    pub to: DateTime,
}

impl Span {
    /// `6 photos between 11:20 and 11:24 AM`.
    fn in_words(&self, dates: DateStyle) -> String {
        let [from, to] = [self.from, self.to].map(|at| at.time());
        match self.n_photos {
            1 => format!("1 photo at {}", dates.time(from)),
            n => format!("{n} photos between {}", dates.times(from, "and", to)),
        }
    }
}

impl Remark {
    /// The remark as a sentence or a few.
    pub fn in_words(&self, dates: DateStyle) -> String {
        match self {
            Remark::Placed { green, photos } => format!(
                "No slate for {green} on {}: {} placed by position and gap. Photograph its slate first next time; if these are of another green, move them into its folder.",
                dates.short(photos.from.date()),
                photos.in_words(dates)
            ),
            Remark::Doubted {
                card,
                missing,
                photos,
            } => format!(
                "No slate for {missing} on {}: {} follow the slate of {card} after a pause and are set aside. Move them into the folder of their green, and photograph each slate first next time.",
                dates.short(photos.from.date()),
                photos.in_words(dates)
            ),
            Remark::Twice {
                card,
                missing,
                at: [first, second],
                n_photos: [n_first, n_second],
                asked,
            } => format!(
                "The slate of {card} comes twice on {}, at {}, with {n_first} and {n_second} photos after it, and {missing} has none that day: was it laid there too? {} are set aside. Move the photos of each green into its folder, and photograph its own slate next time.",
                dates.short(first.date()),
                dates.times(first.time(), "and", second.time()),
                capital(&asked.in_words(dates)),
            ),
            Remark::Many {
                card,
                missing,
                photos,
                n_usual,
            } => format!(
                "{} on {} follow the slate of {card}, where {n_usual} are usual, and {missing} has none that day: was its slate forgotten? All of them count for {card} now; move those of {missing} into a folder of that name.",
                capital(&photos.in_words(dates)),
                dates.short(photos.from.date()),
            ),
            Remark::Before { missing, photos } => format!(
                "No slate for {missing} on {}: {} have no slate before them and are set aside. Move them into the folder of their green, and photograph each slate first next time.",
                dates.short(photos.from.date()),
                photos.in_words(dates)
            ),
            Remark::Alone { card, at } => format!(
                "No photo follows the slate of {card} on {} at {}: are its photos still on the phone?",
                dates.short(at.date()),
                dates.time(at.time())
            ),
            Remark::Clock {
                camera,
                ahead_s,
                dates: [from, to],
                n_photos,
                n_moved,
            } => {
                let days = if from == to {
                    dates.short(*from)
                } else {
                    format!("{} to {}", dates.short(*from), dates.short(*to))
                };
                clock_in_words(camera, *ahead_s, &days, *n_photos, *n_moved)
            }
            Remark::LoneClock {
                photo,
                camera,
                ahead_s,
                dates: [by_clock, by_gps],
            } => {
                let way = if *ahead_s > 0.0 { "earlier" } else { "later" };
                format!(
                    "{photo} counts for {} by the clock of {camera}; GPS time says {}, {} {way}, and one photo alone does not show which is right, since its position may be old. Set the clock and its time zone; where the clock was wrong, name the photo in `leave_out` in course.toml.",
                    dates.short(*by_clock),
                    dates.short(*by_gps),
                    duration(*ahead_s)
                )
            }
            Remark::Midnight { camera, photos } => format!(
                "{} photos of {camera} run over midnight, from {} on {}: does its clock show another zone's time? They count for two days. Set the clock, and leave location on: GPS time then corrects such photos.",
                photos.n_photos,
                dates.time(photos.from.time()),
                dates.short(photos.from.date())
            ),
            Remark::NameDate {
                camera,
                days,
                photo,
                counts_for,
                n_photos,
                by,
            } => {
                let way = if *days > 0 { "later" } else { "earlier" };
                let n_days = days.abs();
                let days = if n_days == 1 { "day" } else { "days" };
                let counts_for = dates.full(*counts_for);
                let photos = match n_photos - 1 {
                    0 => format!("{photo} is"),
                    1 => format!("{photo} and 1 more photo of it are"),
                    n => format!("{photo} and {n} more photos of it are"),
                };
                let (counts, first) = match n_photos {
                    1 => ("It counts", ""),
                    _ => ("They count", ", the first"),
                };
                match by {
                    CountsBy::Clock => format!(
                        "By the clock of {camera}, {photos} {n_days} {days} {way} than the date in the name. {counts} by the clock{first} for {counts_for}. If the name is right, set the clock, and list the photos or their folder in `date_by_name` under [photos] in course.toml; if the clock is right, mend the name."
                    ),
                    CountsBy::Name => format!(
                        "By the clock of {camera}, {photos} {n_days} {days} {way} than the date in the name, which no photo of the green can be. {counts} by the name{first} for {counts_for}. Set the clock."
                    ),
                }
            }
            Remark::TwoClocks {
                ahead,
                behind,
                apart_s,
                date,
                n_cards,
                right,
            } => format!(
                "{ahead} shows {n_cards} slates in the same order as {behind}, always {} later ({}). {}",
                duration(*apart_s),
                dates.short(*date),
                which_clock_in_words(ahead, behind, right.as_deref())
            ),
        }
    }
}

/// With a capital where it begins with a letter.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// What became of the photos of a clock that is proven wrong.
fn clock_in_words(
    camera: &str,
    ahead_s: f64,
    days: &str,
    n_photos: usize,
    n_moved: usize,
) -> String {
    let way = if ahead_s > 0.0 { "ahead of" } else { "behind" };
    let photos = if n_photos == 1 { "photo" } else { "photos" };
    let moved = match n_moved {
        0 => String::new(),
        1 => ", and 1 of them counts for another day".to_owned(),
        n => format!(", and {n} of them count for another day"),
    };
    format!(
        "The clock of {camera} is {} {way} GPS time: the times of {n_photos} {photos} ({days}) are corrected by it{moved}. Set its time and time zone.",
        duration(ahead_s)
    )
}

/// What to do about two clocks of which one must be wrong, where it was one walk.
fn which_clock_in_words(ahead: &str, behind: &str, right: Option<&str>) -> String {
    match right {
        Some(right) => {
            let wrong = if right == ahead { behind } else { ahead };
            format!(
                "GPS time proves the clock of {right} right. Was it one walk? Then set the clock of {wrong}; its photos keep their times until you do."
            )
        }
        None => "Was it one walk? Then one of the two clocks is wrong: compare both with the right time and set it. Their photos are kept apart, and keep their times.".to_owned(),
    }
}

/// `1 h`, `4 h 30 min`, `3 days 2 h`.
fn duration(seconds: f64) -> String {
    let minutes = (seconds.abs() / 60.0).round() as i64;
    let (days, hours, minutes) = (minutes / 1440, minutes / 60 % 24, minutes % 60);
    let days_word = if days == 1 { "day" } else { "days" };
    let parts = [(days, days_word), (hours, "h"), (minutes, "min")];
    let parts = parts.iter().filter(|(n, _)| *n > 0);
    let parts: Vec<String> = parts.map(|(n, unit)| format!("{n} {unit}")).collect();
    parts.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn durations_read_as_people_say_them() {
        assert_eq!(duration(3600.0), "1 h");
        assert_eq!(duration(-16_200.0), "4 h 30 min");
        assert_eq!(duration(90_000.0), "1 day 1 h");
        assert_eq!(duration(2220.0), "37 min");
    }

    #[test]
    fn a_forgotten_card_is_told_with_its_photos() {
        let at = |hour, minute| jiff::civil::date(2027, 7, 6).at(hour, minute, 12, 0);
        let photos = Span {
            n_photos: 6,
            from: at(11, 20),
            to: at(11, 24),
        };
        let remark = Remark::Placed {
            green: "G18".to_owned(),
            photos,
        };
        assert_eq!(
            remark.in_words(DateStyle::default()),
            "No slate for G18 on Jul 6: 6 photos between 11:20 and 11:24 AM placed by position and gap. Photograph its slate first next time; if these are of another green, move them into its folder."
        );
    }
}
