//! Time zones by name, from the list that is built in: the same on every machine.

use jiff::tz::{TimeZone, TimeZoneDatabase};

/// Words that people use for the zones of North America; common practice, no source.
const SPOKEN: [(&str, &str); 12] = [
    ("eastern", "America/New_York"),
    ("edt", "America/New_York"),
    ("et", "America/New_York"),
    ("central", "America/Chicago"),
    ("cdt", "America/Chicago"),
    ("ct", "America/Chicago"),
    ("mountain", "America/Denver"),
    ("mdt", "America/Denver"),
    ("pacific", "America/Los_Angeles"),
    ("pdt", "America/Los_Angeles"),
    ("pst", "America/Los_Angeles"),
    ("pt", "America/Los_Angeles"),
];

/// The zone of this name.
///
/// # Errors
///
/// The name that was probably meant, where one is near enough.
pub(super) fn parse(name: &str) -> Result<TimeZone, Option<String>> {
    let name = name.trim();
    let zones = TimeZoneDatabase::bundled();
    zones.get(name).map_err(|_| suggest(name, &zones))
}

fn suggest(name: &str, zones: &TimeZoneDatabase) -> Option<String> {
    let written = plain(name);
    let spoken = written
        .split('_')
        .find_map(|word| SPOKEN.iter().find(|(spoken, _)| *spoken == word));
    if let Some((_, zone)) = spoken {
        return Some((*zone).to_owned());
    }
    let names: Vec<String> = zones.available().map(|zone| zone.to_string()).collect();
    let nearest = names.iter().filter_map(|zone| {
        let whole = plain(zone);
        let city = whole.rsplit('/').next().unwrap_or(&whole);
        let n_slips = strsim::damerau_levenshtein(&written, &whole)
            .min(strsim::damerau_levenshtein(&written, city));
        let is_near = n_slips <= written.chars().count() / 4;
        is_near.then_some((n_slips, zone))
    });
    nearest.min().map(|(_, zone)| zone.clone())
}

fn plain(name: &str) -> String {
    name.to_lowercase().replace([' ', '-'], "_")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_zone_is_found_by_its_name_in_any_case() {
        for name in [
            "America/New_York",
            "america/new_york",
            "UTC",
            "Europe/London",
        ] {
            assert!(parse(name).is_ok(), "{name}");
        }
    }

    #[test]
    fn the_zone_that_was_meant_is_found() {
        for (written, meant) in [
            ("America/NewYork", "America/New_York"),
            ("America/New York", "America/New_York"),
            ("New York", "America/New_York"),
            ("Amercia/New_York", "America/New_York"),
            ("Eastern Time", "America/New_York"),
            ("US Central", "America/Chicago"),
            ("Central", "America/Chicago"),
            ("Chicago", "America/Chicago"),
            ("Europe/Lodnon", "Europe/London"),
            ("somewhere warm", ""),
            ("", ""),
        ] {
            let found = parse(written).unwrap_err().unwrap_or_default();
            assert_eq!(found, meant, "{written}");
        }
    }
}
