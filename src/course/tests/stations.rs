use super::{GREEN, LEAST, good, told};
use crate::course::Crop;

/// A course with the green G1 and a station that has these lines; they begin on line 8.
fn station(lines: &str) -> String {
    format!("{LEAST}{GREEN}[[station]]\n{lines}\n")
}

#[test]
fn a_station_is_read_with_its_green_as_the_green_spells_it() {
    let course = good(&station(
        "id = \"G1-A\"\ngreen = \"g1\"\ncrop = [0.1, 0, 0.9, 1]",
    ));
    assert_eq!(course.stations[0].green.as_str(), "G1");
    let crop = Crop {
        left: 0.1,
        top: 0.0,
        right: 0.9,
        bottom: 1.0,
    };
    assert_eq!(course.stations[0].crop, Some(crop));
}

#[test]
fn a_station_needs_an_id_and_a_green_of_the_file() {
    assert_eq!(
        told(&station("")),
        [
            "line 7, [[station]]: this station has no id; add id = \"G07-A\", as the station is called in folder and photo names",
            "line 7, [[station]]: station `?` is on no green; add green = \"G07\", with the id of the green that it is on",
        ]
    );
    assert_eq!(
        told(&station("id = \"G1-A\"\ngreen = \"Q9\"")),
        [
            "line 9, \"Q9\": station `G1-A` is on green `Q9`, which this file does not have; the greens of this file are `G1`"
        ]
    );
    let text = station("id = \"A\"\ngreen = \"G071\"").replace("\"G1\"", "\"G07\"");
    assert_eq!(
        told(&text),
        [
            "line 9, \"G071\": station `A` is on green `G071`, which this file does not have; did you mean green = \"G07\"?"
        ]
    );
}

#[test]
fn a_station_of_a_faulty_green_is_not_called_homeless() {
    let text = station("id = \"A\"\ngreen = \"G1\"").replace("2027-05-18", "2027-02-30");
    let faults = told(&text);
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(faults[0].starts_with("line 6, 2027-02-30"), "{faults:?}");
}

#[test]
fn ids_are_used_once_among_stations_and_greens() {
    assert_eq!(
        told(&format!(
            "{}[[station]]\nid = \"a\"\ngreen = \"G1\"\n",
            station("id = \"A\"\ngreen = \"G1\"")
        )),
        [
            "line 11, \"a\": two stations are called `A`; give one of them another id; capital and small letters count as the same"
        ]
    );
    assert_eq!(
        told(&station("id = \"G1\"\ngreen = \"G1\"")),
        [
            "line 8, \"G1\": a green and a station are both called `G1`; give the station an id of its own, such as the green's with a letter: `G07-A`"
        ]
    );
}

#[test]
fn a_crop_lies_inside_the_photo_and_leaves_something_of_it() {
    let crop = |crop: &str| {
        let faults = told(&station(&format!(
            "id = \"A\"\ngreen = \"G1\"\ncrop = {crop}"
        )));
        assert_eq!(faults.len(), 1, "{faults:?}");
        faults[0].clone()
    };
    let order = "write left, top, right, bottom as fractions of the upright photo";
    assert_eq!(
        crop("[0.9, 0.1, 0.1, 0.8]"),
        format!(
            "line 10, [0.9, 0.1, 0.1, 0.8]: the crop of station `A` is reversed; {order}: crop = [0.1, 0.1, 0.9, 0.8]"
        )
    );
    assert_eq!(
        crop("[10, 10, 90, 90]"),
        format!(
            "line 10, [10, 10, 90, 90]: the crop of station `A` leaves the photo: 0 to 1 is all of it; {order}: crop = [0.1, 0.1, 0.9, 0.9] if percent were meant"
        )
    );
    assert_eq!(
        crop("[-0.1, 0, 1, 1]"),
        format!(
            "line 10, [-0.1, 0, 1, 1]: the crop of station `A` leaves the photo: 0 to 1 is all of it; {order}, such as crop = [0.1, 0.1, 0.9, 0.9]"
        )
    );
    assert_eq!(
        crop("[0.5, 0, 0.5, 1]"),
        format!(
            "line 10, [0.5, 0, 0.5, 1]: the crop of station `A` leaves nothing; {order}, such as crop = [0.1, 0.1, 0.9, 0.9]"
        )
    );
    assert_eq!(
        crop("[0.1, 0.9]"),
        "line 10, [0.1, 0.9]: `crop` must be four numbers in brackets; write crop = [0.1, 0.1, 0.9, 0.9]"
    );
}
