//! What a person should know of a walk as a whole: cards that were forgotten, clocks that are wrong.

use std::fmt;

use crate::written::short_date;
use jiff::civil::{Date, DateTime, Time};

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
    /// A camera's photos run over midnight, when nobody sees turf, and nothing proves its clock right or wrong.
    Midnight {
        /// The camera.
        camera: String,
        /// The photos.
        photos: Span,
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

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [from, to] = [self.from, self.to].map(|at| hour(at.time()));
        match self.n_photos {
            1 => write!(f, "1 photo at {from}"),
            n => write!(f, "{n} photos between {from} and {to}"),
        }
    }
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Remark::Placed { green, photos } => write!(
                f,
                "No card for {green} on {}: {photos} placed by position and gap. Photograph its card first next time; if these are of another green, move them into its folder.",
                short_date(photos.from.date())
            ),
            Remark::Doubted {
                card,
                missing,
                photos,
            } => write!(
                f,
                "No card for {missing} on {}: {photos} follow the card of {card} after a pause and are set aside. Move them into the folder of their green, and photograph each card first next time.",
                short_date(photos.from.date())
            ),
            Remark::Alone { card, at } => write!(
                f,
                "No photo follows the card of {card} on {} at {}: are its photos still on the phone?",
                short_date(at.date()),
                hour(at.time())
            ),
            Remark::Clock {
                camera,
                ahead_s,
                dates: [from, to],
                n_photos,
                n_moved,
            } => {
                let way = if *ahead_s > 0.0 { "ahead of" } else { "behind" };
                let photos = if *n_photos == 1 { "photo" } else { "photos" };
                let dates = if from == to {
                    short_date(*from)
                } else {
                    format!("{} to {}", short_date(*from), short_date(*to))
                };
                write!(
                    f,
                    "The clock of {camera} is {} {way} GPS time: the times of {n_photos} {photos} ({dates}) are corrected by it",
                    duration(*ahead_s)
                )?;
                match n_moved {
                    0 => write!(f, ".")?,
                    1 => write!(f, ", and 1 of them counts for another day.")?,
                    n => write!(f, ", and {n} of them count for another day.")?,
                }
                write!(f, " Set its time and time zone.")
            }
            Remark::Midnight { camera, photos } => write!(
                f,
                "{} photos of {camera} run over midnight, from {} on {}: does its clock show another zone's time? They count for two days. Set the clock, and leave location on: GPS time then corrects such photos.",
                photos.n_photos,
                hour(photos.from.time()),
                short_date(photos.from.date())
            ),
            Remark::TwoClocks {
                ahead,
                behind,
                apart_s,
                date,
                n_cards,
                right,
            } => {
                write!(
                    f,
                    "{ahead} shows {n_cards} cards in the same order as {behind}, always {} later ({}).",
                    duration(*apart_s),
                    short_date(*date)
                )?;
                match right {
                    Some(right) => {
                        let wrong = if right == ahead { behind } else { ahead };
                        write!(
                            f,
                            " GPS time proves the clock of {right} right. Was it one walk? Then set the clock of {wrong}; its photos keep their times until you do."
                        )
                    }
                    None => write!(
                        f,
                        " Was it one walk? Then one of the two clocks is wrong: compare both with the right time and set it. Their photos are kept apart, and keep their times."
                    ),
                }
            }
        }
    }
}

/// `11:20`.
fn hour(time: Time) -> String {
    time.strftime("%-H:%M").to_string()
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
            remark.to_string(),
            "No card for G18 on Jul 6: 6 photos between 11:20 and 11:24 placed by position and gap. Photograph its card first next time; if these are of another green, move them into its folder."
        );
    }
}
