//! Reference systems in degrees that are taken for WGS 84, as orthomosaics in them are: their coordinates of one place are
//! within a metre or two of it, less than a phone's position errs by.

/// Codes of the EPSG registry: WGS 84, NAD83 with its later realisations and Canada's, ETRS89, GDA94, GDA2020, NZGD2000,
/// SIRGAS 2000, JGD2000 and JGD2011.
const CODES: [u16; 14] = [
    4326, 4269, 4152, 4759, 6318, 4617, 4258, 4283, 7844, 4167, 4674, 4612, 6668, 4979,
];
/// How their names begin in well-known text, without what is no letter or digit.
const NAMES: [&str; 16] = [
    "WGS84",
    "WGS1984",
    "NAD83",
    "NAD1983",
    "NORTHAMERICAN1983",
    "ETRS89",
    "ETRS1989",
    "GDA94",
    "GDA1994",
    "GDA2020",
    "NZGD2000",
    "SIRGAS2000",
    "JGD2000",
    "JGD2011",
    "GEODETICDATUMOFAUSTRALIA",
    "EUROPEANTERRESTRIALREFERENCE",
];

/// Whether `text`, the well-known text of a reference system (OGC 01-009, ISO 19162), says degrees in one of them.
pub(super) fn by_well_known_text(text: &str) -> bool {
    let is_geographic = ["GEOGCS", "GEOGCRS", "GEODCRS"]
        .iter()
        .any(|start| text.starts_with(start));
    let named = text.split('"').nth(1).unwrap_or_default();
    let named: String = named
        .chars()
        .filter(char::is_ascii_alphanumeric)
        .collect::<String>()
        .to_ascii_uppercase();
    let named = named.strip_prefix("GCS").unwrap_or(&named);
    is_geographic && NAMES.iter().any(|start| named.starts_with(start))
}

/// Whether `name`, as in older GeoJSON, is one of them: `EPSG:4269`, `urn:ogc:def:crs:OGC:1.3:CRS84`.
pub(super) fn by_name(name: &str) -> bool {
    let last = name.rsplit([':', '/']).next().unwrap_or_default();
    match last.parse::<u16>() {
        Ok(code) => name.contains("EPSG") && CODES.contains(&code),
        Err(_) => ["CRS84", "CRS84h", "CRS83", "WGS84"].contains(&last),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn systems_within_metres_are_taken_and_others_are_not() {
        for (name, is_near) in [
            ("GCS_WGS_1984", true),
            ("WGS 84", true),
            ("GCS_North_American_1983", true),
            ("GCS_NAD_1983_2011", true),
            ("NAD83(CSRS)", true),
            ("GCS_ETRS_1989", true),
            ("GCS_GDA_1994", true),
            ("GDA2020", true),
            ("GCS_North_American_1927", false),
            ("NAD27", false),
            ("GCS_European_1950", false),
            ("Tokyo", false),
        ] {
            let text = format!("GEOGCS[\"{name}\",DATUM[\"D\"]]");
            assert_eq!(by_well_known_text(&text), is_near, "{name}");
        }
        assert!(!by_well_known_text(
            "PROJCS[\"NAD83 / UTM zone 17N\",GEOGCS[\"NAD83\"]]"
        ));
        for (name, is_near) in [
            ("urn:ogc:def:crs:OGC:1.3:CRS84", true),
            ("urn:ogc:def:crs:EPSG::4269", true),
            ("EPSG:4258", true),
            ("http://www.opengis.net/def/crs/OGC/1.3/CRS84", true),
            ("http://www.opengis.net/def/crs/EPSG/0/4326", true),
            ("EPSG:4267", false),
            ("EPSG:32617", false),
            ("", false),
        ] {
            assert_eq!(by_name(name), is_near, "{name}");
        }
    }
}
