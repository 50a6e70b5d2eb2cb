//! What the code on a printed slate says.
//!
//! `SPRIGCAST/1/G07/G07-A`: our name, the version of this form, the green and, where there is one, the
//! station. Ids are written in capitals, since ids are compared without regard to case; whatever a QR code's
//! alphanumeric mode (ISO/IEC 18004) does not have, and `/` and `%`, is percent-encoded UTF-8. So the whole
//! text stays in that mode, which makes the squares of the code larger than plain bytes would.

use std::fmt::Write as _;

use thiserror::Error;

use crate::course::{GreenId, StationId};

const NAME: &str = "SPRIGCAST";
const VERSION: &str = "1";
/// What stands in the place of the version of a code that was seen and could not be read.
const UNREAD: &str = "?";

/// The green, and perhaps the station, that a slate stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slate {
    /// The green.
    pub green: GreenId,
    /// The station, where the slate is for one.
    pub station: Option<StationId>,
}

/// A code that is no slate of ours.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SlateError {
    /// Some other code that lay in the picture.
    #[error("the code in the picture is not a slate of this program")]
    Foreign,
    /// A code was seen, and could not be read.
    #[error("the code in the picture cannot be read")]
    Unread,
    /// Printed by a later version of this program.
    #[error("the slate was printed by a newer sprigcast (form {version}); update this one")]
    Newer {
        /// Version of its form.
        version: String,
    },
}

impl Slate {
    /// Kept as the text of a code that was seen and could not be read.
    pub fn unread() -> String {
        format!("{NAME}/{UNREAD}")
    }

    /// The text of the slate's code.
    pub fn payload(&self) -> String {
        let mut text = format!("{NAME}/{VERSION}/{}", encoded(self.green.as_str()));
        if let Some(station) = &self.station {
            text.push('/');
            text.push_str(&encoded(station.as_str()));
        }
        text
    }

    /// Reads the text of a code. Ids come back in capitals.
    ///
    /// # Errors
    /// [`SlateError::Foreign`] for any other text, [`SlateError::Newer`] for a form that came later,
    /// [`SlateError::Unread`] for what [`Slate::unread`] gives.
    pub fn read(payload: &str) -> Result<Slate, SlateError> {
        let mut parts = payload.split('/');
        if parts.next() != Some(NAME) {
            return Err(SlateError::Foreign);
        }
        match parts.next() {
            Some(VERSION) => {}
            Some(UNREAD) => return Err(SlateError::Unread),
            Some(version) => {
                return Err(SlateError::Newer {
                    version: version.to_owned(),
                });
            }
            None => return Err(SlateError::Foreign),
        }
        let id = |part: &str| decoded(part).ok_or(SlateError::Foreign);
        let green = id(parts.next().unwrap_or_default())?;
        let station = parts.next().map(id).transpose()?;
        let station = station.map(|text| StationId::new(&text).ok_or(SlateError::Foreign));
        match (GreenId::new(&green), parts.next()) {
            (Some(green), None) => Ok(Slate {
                green,
                station: station.transpose()?,
            }),
            _ => Err(SlateError::Foreign),
        }
    }
}

fn encoded(id: &str) -> String {
    let mut text = String::with_capacity(id.len());
    for byte in id.bytes().map(|byte| byte.to_ascii_uppercase()) {
        match byte {
            b'A'..=b'Z' | b'0'..=b'9' | b' ' | b'$' | b'*' | b'+' | b'-' | b'.' | b':' => {
                text.push(char::from(byte));
            }
            other => {
                // A String takes every character.
                let _ = write!(text, "%{other:02X}");
            }
        }
    }
    text
}

fn decoded(part: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(part.len());
    let mut rest = part.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        if *first == b'%' {
            let digit = |at: usize| char::from(*after.get(at)?).to_digit(16);
            bytes.push((digit(0)? * 16 + digit(1)?) as u8);
            rest = &after[2..];
        } else {
            bytes.push(*first);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn slate(green: &str, station: Option<&str>) -> Slate {
        Slate {
            green: GreenId::new(green).unwrap(),
            station: station.map(|id| StationId::new(id).unwrap()),
        }
    }

    #[test]
    fn the_text_is_short_and_readable_by_people() {
        assert_eq!(
            slate("G07", Some("g07-a")).payload(),
            "SPRIGCAST/1/G07/G07-A"
        );
        assert_eq!(slate("7/é", None).payload(), "SPRIGCAST/1/7%2F%C3%A9");
    }

    #[test]
    fn other_codes_and_later_forms_are_told_apart() {
        for foreign in [
            "https://example.org/1/G07",
            "SPRIGCAST",
            "SPRIGCAST/1",
            "SPRIGCAST/1/",
            "SPRIGCAST/1/G07/",
            "SPRIGCAST/1/G07/G07-A/MORE",
            "SPRIGCAST/1/%C3",
            "SPRIGCAST/1/%+1",
            "",
        ] {
            assert_eq!(Slate::read(foreign), Err(SlateError::Foreign), "{foreign}");
        }
        assert_eq!(
            Slate::read("SPRIGCAST/2/G07"),
            Err(SlateError::Newer {
                version: "2".to_owned()
            })
        );
    }

    proptest! {
        #[test]
        fn every_id_comes_back_and_stays_in_the_alphanumeric_mode(
            green in "\\PC{0,12}[^\\s\\PC]", station in proptest::option::of("\\PC{0,12}[^\\s\\PC]")
        ) {
            prop_assume!(GreenId::new(&green).is_some());
            let station = station.filter(|text| StationId::new(text).is_some());
            let slate = slate(&green, station.as_deref());
            let payload = slate.payload();
            let is_alphanumeric = |c: char| {
                c.is_ascii_uppercase() || c.is_ascii_digit() || " $%*+-./:".contains(c)
            };
            prop_assert!(payload.chars().all(is_alphanumeric), "{}", payload);
            let back = Slate::read(&payload).unwrap();
            prop_assert!(slate.green.matches(back.green.as_str()));
            match (&slate.station, &back.station) {
                (Some(station), Some(back)) => prop_assert!(station.matches(back.as_str())),
                (None, None) => {}
                other => prop_assert!(false, "{:?}", other),
            }
        }
    }
}
