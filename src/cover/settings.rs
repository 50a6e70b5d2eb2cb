//! What makes two readings comparable.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::classify::Rule;
use super::fitted::FittedLimits;
use crate::course::CoverLimits;

/// How a photo was measured. Readings under equal settings may be compared; under others the photo is
/// measured again. The crop is not among them: it belongs to the station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Settings {
    /// Version of the measuring itself, [`Settings::METHOD`] when it was done.
    pub method: u32,
    /// Which colours counted as green.
    pub rule: RuleSettings,
    /// What decoded the file: two decoders differ by up to three levels, which moves cover by a tenth of a
    /// point.
    pub decoder: String,
}

/// Which colours counted as green.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RuleSettings {
    /// Those between these limits.
    Window(CoverLimits),
    /// Those of a table with this BLAKE3 hash.
    Table(String),
    /// Those within limits fitted to the season.
    Fitted(FittedLimits),
}

/// Short name of [`Settings`]: the same for equal settings, on every machine.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SettingsKey(pub String);

impl Settings {
    /// Raised with every change that gives any photo another reading.
    pub const METHOD: u32 = 1;

    /// As this program measures with `rule` what `decoder` decoded.
    pub fn new(rule: &Rule, decoder: &str) -> Settings {
        let rule = match rule {
            Rule::Window(window) => RuleSettings::Window(window.limits()),
            Rule::Table(table) => RuleSettings::Table(table.hash().to_hex().to_string()),
            Rule::Fitted(fitted) => RuleSettings::Fitted(*fitted.limits()),
        };
        Settings {
            method: Settings::METHOD,
            rule,
            decoder: decoder.to_owned(),
        }
    }

    /// The first 16 hexadecimal digits of the BLAKE3 hash of the settings as text.
    pub fn key(&self) -> SettingsKey {
        let hash = blake3::hash(self.to_string().as_bytes());
        SettingsKey(hash.to_hex()[..16].to_owned())
    }
}

/// The settings in one line, as keys are made from: a change of this text makes every photo be measured
/// again.
impl fmt::Display for Settings {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "method {}, ", self.method)?;
        match &self.rule {
            RuleSettings::Window(CoverLimits { hue, saturation }) => write!(
                f,
                "hue {}–{}°, saturation {}–{} %",
                hue[0], hue[1], saturation[0], saturation[1]
            )?,
            RuleSettings::Table(hash) => write!(f, "colour table {hash}")?,
            RuleSettings::Fitted(limits) => write!(f, "{limits}")?,
        }
        write!(f, ", decoder {}", self.decoder)
    }
}

impl fmt::Display for SettingsKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::{ColourTable, Window};

    fn window(hue: [f64; 2], saturation: [f64; 2]) -> Settings {
        let window = Window::new(&CoverLimits { hue, saturation }).unwrap();
        Settings::new(&Rule::Window(window), "zune-jpeg")
    }

    #[test]
    fn keys_do_not_change_from_one_version_of_the_program_to_the_next() {
        let settings = window([45.0, 120.0], [10.0, 100.0]);
        assert_eq!(
            settings.to_string(),
            "method 1, hue 45–120°, saturation 10–100 %, decoder zune-jpeg"
        );
        assert_eq!(settings.key().to_string(), "08f4e222e1858790");
    }

    #[test]
    fn whatever_changes_a_reading_changes_the_key() {
        let base = window([45.0, 120.0], [10.0, 100.0]);
        let table = |least| Rule::Table(ColourTable::of(move |[_, green, _]| green > least));
        let others = [
            window([45.5, 120.0], [10.0, 100.0]),
            window([45.0, 120.0], [10.0, 99.9]),
            Settings {
                decoder: "libjpeg-turbo".to_owned(),
                ..base.clone()
            },
            Settings {
                method: base.method + 1,
                ..base.clone()
            },
            Settings::new(&table(90), "zune-jpeg"),
            Settings::new(&table(91), "zune-jpeg"),
        ];
        let mut keys: Vec<_> = others.iter().chain([&base]).map(Settings::key).collect();
        keys.sort();
        keys.dedup();
        assert_eq!(keys.len(), 7);
    }

    #[test]
    fn settings_survive_json() {
        let settings = window([350.0, 80.0], [7.5, 93.3]);
        let json = serde_json::to_string(&settings).unwrap();
        assert_eq!(serde_json::from_str::<Settings>(&json).unwrap(), settings);
    }
}
