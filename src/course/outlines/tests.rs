use std::fs;
use std::path::Path;

use proptest::prelude::*;

use super::*;
use crate::course::{Course, CourseError};

const COURSE: &str = r#"
[course]
name = "Pennywhistle Bend"
time_zone = "UTC"
latitude = 36.1
longitude = -79.4
[[green]]
id = "G01"
planted = 2027-05-18
[[green]]
id = "G07"
name = "Chapel"
planted = 2027-05-18
area = "6100 ft2"
"#;

/// A season folder with these files beside its course file.
fn season(files: &[(&str, &[u8])]) -> Result<Course, CourseError> {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("course.toml"), COURSE).unwrap();
    for (name, bytes) in files {
        fs::write(folder.path().join(name), bytes).unwrap();
    }
    Course::read(folder.path())
}

fn geojson(features: &str) -> Result<Course, CourseError> {
    let text = format!(r#"{{"type":"FeatureCollection","features":[{features}]}}"#);
    season(&[("greens.geojson", text.as_bytes())])
}

fn feature(property: &str, coordinates: &str) -> String {
    format!(
        r#"{{"type":"Feature","properties":{{{property}}},"geometry":{{"type":"Polygon","coordinates":{coordinates}}}}}"#
    )
}

/// Shared values: 36.1–36.1004 N, 79.4–79.3995 W is 1,998.394 m² (Karney 2013, geographiclib).
const BOX: &str =
    "[[[-79.4,36.1],[-79.3995,36.1],[-79.3995,36.1004],[-79.4,36.1004],[-79.4,36.1]]]";

fn g(id: &str) -> GreenId {
    GreenId::new(id).unwrap()
}

#[test]
fn an_outline_fills_in_the_area_on_the_ellipsoid_where_the_course_file_has_none() {
    let course = geojson(
        &[
            feature(r#""green":"g1""#, BOX),
            feature(r#""name":"chapel""#, &BOX.replace("36.1", "36.2")),
        ]
        .join(","),
    )
    .unwrap();
    let area = course.green(&g("G01")).unwrap().area.unwrap().0;
    assert!((area - 1_998.394).abs() < 0.001, "{area}");
    let stated = course.green(&g("G07")).unwrap().area.unwrap().0;
    assert!((stated - 6100.0 * 0.092_903_04).abs() < 1e-9);
    assert_eq!(course.outlines.iter().len(), 2);
}

#[test]
fn holes_are_left_out_and_parts_are_added() {
    let hole = "[[-79.3998,36.1001],[-79.3997,36.1001],[-79.3997,36.1002],[-79.3998,36.1002],[-79.3998,36.1001]]";
    let outer = BOX.strip_suffix(']').unwrap();
    let with_hole = format!("{outer},{hole}]");
    let course = geojson(&feature(r#""green":"G01""#, &with_hole)).unwrap();
    let area = course.outlines.of(&g("G01")).unwrap().area().0;
    // The hole is 9.0047 × 11.0963 m by the lengths of a degree there (geographiclib): 99.919 m².
    assert!((area - (1_998.394 - 99.919)).abs() < 0.01, "{area}");
    let both = format!(
        r#"{{"type":"Feature","properties":{{"green":"G01"}},"geometry":{{"type":"MultiPolygon","coordinates":[{BOX},{}]}}}}"#,
        BOX.replace("-79.4,", "-79.41,")
            .replace("-79.3995", "-79.4095")
    );
    let area = geojson(&both)
        .unwrap()
        .outlines
        .of(&g("G01"))
        .unwrap()
        .area()
        .0;
    assert!((area - 2.0 * 1_998.394).abs() < 0.002, "{area}");
}

#[test]
fn other_turf_has_an_outline_of_its_own_and_an_unknown_green_is_told() {
    let course = geojson(
        &[
            feature(r#""green":"G01""#, BOX),
            feature(r#""name":"Practice""#, &BOX.replace("36.1", "36.2")),
            feature(r#""green":"G71""#, &BOX.replace("36.1", "36.3")),
        ]
        .join(","),
    )
    .unwrap();
    let labels: Vec<&str> = course
        .outlines
        .iter()
        .map(|one| one.owner.label())
        .collect();
    assert_eq!(labels, ["G01", "G71", "Practice"]);
    let notes = course.notes.join("\n");
    assert!(notes.contains("feature 3: `G71` is no green"), "{notes}");
    assert!(notes.contains("G07 has no outline"), "{notes}");
    assert!(!notes.contains("Practice"), "{notes}");
}

#[test]
fn faults_name_the_feature_and_the_place() {
    let crossing = "[[[-79.4,36.1],[-79.399,36.101],[-79.399,36.1],[-79.4,36.101],[-79.4,36.1]]]";
    for (text, told) in [
        (feature(r#""green":"G01""#, crossing), "feature 1 (G01): its line crosses itself at 36.100500 N, 79.399500 W"),
        (feature(r#""green":"G01""#, "[[[600123,4001000],[600150,4001000],[600150,4001040]]]"), "600123, 4001000 is no longitude and latitude"),
        (feature(r#""green":"G01""#, "[[[0,0],[1,0],[1,1]]]"), "157 km across"),
        (feature(r#""green":"G01""#, "[[[-79.4,36.1],[-79.3995,36.1]]]"), "encloses nothing"),
        (r#"{"type":"Feature","properties":{"green":"G01"},"geometry":{"type":"Point","coordinates":[-79.4,36.1]}}"#.to_owned(), "feature 1: it is a Point"),
        (feature("", BOX), "feature 1: nothing says what it is"),
        (String::new(), "holds no outline"),
    ] {
        let error = geojson(&text).unwrap_err().to_string();
        assert!(error.contains(told) && error.starts_with("greens.geojson"), "{error}");
    }
}

#[test]
fn a_file_that_cannot_be_used_says_what_to_do() {
    let old = format!(
        r#"{{"type":"FeatureCollection","crs":{{"type":"name","properties":{{"name":"urn:ogc:def:crs:EPSG::26917"}}}},"features":[{}]}}"#,
        feature(r#""green":"G01""#, BOX)
    );
    for (files, told) in [
        (
            vec![("greens.geojson", old.as_bytes())],
            "EPSG::26917; save it again in WGS 84",
        ),
        (
            vec![("greens.geojson", b"{".as_slice())],
            "no GeoJSON file that can be read",
        ),
        (
            vec![
                ("greens.kml", b"<kml><Document>".as_slice()),
                ("greens.json", b"{}"),
            ],
            "two outline files",
        ),
        (vec![("greens.kmz", b"PK".as_slice())], "unpack it"),
        (vec![("greens.shp", b"abc".as_slice())], "no shapefile"),
        (
            vec![
                ("greens.shp", b"abc".as_slice()),
                (
                    "greens.prj",
                    br#"PROJCS["NAD83 / UTM zone 17N",GEOGCS["WGS 84"]]"#,
                ),
            ],
            "NAD83 / UTM zone 17N",
        ),
    ] {
        let error = season(&files).unwrap_err().to_string();
        assert!(error.contains(told), "{error}");
    }
}

#[test]
fn outlines_far_from_the_course_and_overlapping_ones_are_told() {
    let far = geojson(&feature(r#""green":"G01""#, &BOX.replace("36.1", "37.1"))).unwrap();
    assert!(
        far.notes.iter().any(|note| note.contains("111 km from")),
        "{:?}",
        far.notes
    );
    let both = [
        feature(r#""green":"G01""#, BOX),
        feature(r#""green":"G07""#, BOX),
    ]
    .join(",");
    let notes = geojson(&both).unwrap().notes.join("\n");
    assert!(notes.contains("G01 and G07 overlap by 1998 m²"), "{notes}");
    assert!(notes.contains("course.toml says"), "{notes}");
}

const KML: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><name>Greens</name><Folder>
<Placemark><name>Green 1</name><Polygon><outerBoundaryIs><LinearRing><coordinates>
-79.4,36.1,0 -79.3995,36.1,0 -79.3995,36.1004,0 -79.4,36.1004,0 -79.4,36.1,0
</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>
<Placemark><name>back</name><ExtendedData><Data name="green"><value>G07</value></Data></ExtendedData>
<MultiGeometry><Polygon><outerBoundaryIs><LinearRing><coordinates>
-79.41,36.1 -79.4095,36.1 -79.4095,36.1004 -79.41,36.1004 -79.41,36.1
</coordinates></LinearRing></outerBoundaryIs></Polygon></MultiGeometry></Placemark>
<Placemark><name>clubhouse</name><Point><coordinates>-79.4,36.1</coordinates></Point></Placemark>
</Folder></Document></kml>"#;

#[test]
fn kml_placemarks_are_read_by_name_or_by_their_data() {
    let course = season(&[("greens.kml", KML.as_bytes())]).unwrap();
    for id in ["G01", "G07"] {
        let area = course.outlines.of(&g(id)).unwrap().area().0;
        assert!((area - 1_998.394).abs() < 0.001, "{id}: {area}");
    }
    assert_eq!(course.outlines.iter().len(), 2);
}

/// Written by another library's writer: outer ring clockwise, hole anticlockwise, ids in a text column.
fn shapefile_in(folder: &Path) {
    use ::shapefile::dbase::{FieldName, Record, TableWriterBuilder};
    use ::shapefile::{Point, Polygon, PolygonRing, Writer};
    let table = TableWriterBuilder::new().add_character_field(
        FieldName::try_from("GREEN").unwrap(),
        12.try_into().unwrap(),
    );
    let mut writer = Writer::from_path(folder.join("greens.shp"), table).unwrap();
    let ring = |places: &[(f64, f64)]| places.iter().map(|(x, y)| Point::new(*x, *y)).collect();
    let shape = Polygon::with_rings(vec![
        PolygonRing::Outer(ring(&[
            (-79.4, 36.1),
            (-79.4, 36.1004),
            (-79.3995, 36.1004),
            (-79.3995, 36.1),
            (-79.4, 36.1),
        ])),
        PolygonRing::Inner(ring(&[
            (-79.3998, 36.1001),
            (-79.3997, 36.1001),
            (-79.3997, 36.1002),
            (-79.3998, 36.1002),
            (-79.3998, 36.1001),
        ])),
    ]);
    let mut record = Record::default();
    record.insert("GREEN".to_owned(), "g07".to_owned().into());
    writer.write_shape_and_record(&shape, &record).unwrap();
}

#[test]
fn a_shapefile_is_read_with_its_holes() {
    let folder = tempfile::tempdir().unwrap();
    shapefile_in(folder.path());
    fs::write(folder.path().join("course.toml"), COURSE).unwrap();
    for system in [
        r#"GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984"]]"#,
        r#"GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983"]]"#,
    ] {
        fs::write(folder.path().join("greens.prj"), system).unwrap();
        let course = Course::read(folder.path()).unwrap();
        let area = course.outlines.of(&g("G07")).unwrap().area().0;
        assert!((area - (1_998.394 - 99.919)).abs() < 0.01, "{area}");
    }
}

proptest! {
    /// The law: flat area on the plane of a green and area on the ellipsoid are one.
    #[test]
    fn the_flat_outline_has_the_area_of_the_ellipsoid(
        latitude in -70.0..70.0_f64, longitude in -170.0..170.0_f64,
        radii in prop::collection::vec(5.0..40.0_f64, 5..30),
    ) {
        use geo::Area as _;
        let plane = Plane::around(Position { latitude, longitude });
        let ring = radii.iter().enumerate().map(|(idx, radius)| {
            let angle = std::f64::consts::TAU * idx as f64 / radii.len() as f64;
            let at = plane.position([radius * angle.cos(), radius * angle.sin()]);
            (at.longitude, at.latitude)
        });
        let shape = MultiPolygon::new(vec![geo::Polygon::new(ring.collect(), Vec::new())]);
        let outline = Outline::new(Owner::Other("x".to_owned()), shape).unwrap();
        let flat = outline.in_metres().unsigned_area();
        prop_assert!((flat / outline.area().0 - 1.0).abs() < 1e-6, "{} {}", flat, outline.area().0);
    }

    #[test]
    fn no_outline_file_makes_the_program_fail(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        for name in ["greens.geojson", "greens.kml", "greens.shp"] {
            prop_assert!(season(&[(name, &bytes)]).is_err());
        }
    }
}

#[test]
fn a_green_that_is_drawn_twice_far_apart_is_asked_about() {
    let twice = |second: &str| {
        geojson(
            &[
                feature(r#""green":"G01""#, BOX),
                feature(r#""green":"G01""#, second),
            ]
            .join(","),
        )
    };
    let shifted = |west: &str, east: &str| {
        BOX.replace("-79.3995", east)
            .replace("-79.4,", &format!("{west},"))
    };
    // 0.004 degrees of longitude at 36.1 N, less the width of the box: 315 m by pyproj's 90,049.7 m a degree.
    let error = twice(&shifted("-79.396", "-79.3955"))
        .unwrap_err()
        .to_string();
    assert!(
        error.starts_with(
            "greens.geojson, feature 2 (G01): this green is drawn once more 315 m away"
        ),
        "{error}"
    );
    // Two parts with a path between them are one green.
    assert!(twice(&shifted("-79.3993", "-79.3988")).is_ok());
}
