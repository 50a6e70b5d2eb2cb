//! What must hold for the sheets of a photo walk.

use jiff::civil::Time;
use roxmltree::{Document, ParsingOptions};

use super::{Daylight, Walk, example, slates_page, walk_page};
use crate::course::{ClockFace, DisplayUnits};

fn n_elements(page: &str, name: &str) -> usize {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    let document = Document::parse_with_options(page, options).unwrap();
    let nodes = document.descendants();
    nodes.filter(|node| node.tag_name().name() == name).count()
}

#[test]
fn the_sheet_has_a_row_for_every_stop_and_a_picture_for_every_station_seen_before() {
    let walk = example::walk();
    let page = walk_page(&walk).unwrap();
    assert_eq!(n_elements(&page, "tr"), 1 + walk.stops.len());
    let stations = walk.stops.iter().flat_map(|stop| &stop.stations);
    let n_seen = stations.filter(|station| station.last.is_some()).count();
    assert!(n_seen > 0);
    assert_eq!(n_elements(&page, "img"), n_seen);
    assert!(page.contains("30 photos on 6 greens, and 12.1 bu of sprigs to carry"));
    assert!(page.contains("8:50 AM to 6:20 PM, while the sun stands 25° or higher"));
}

#[test]
fn what_to_carry_to_a_green_stands_in_its_row() {
    let mut walk = example::walk();
    let carried = |walk: &Walk| {
        let told: Vec<String> = walk
            .stops
            .iter()
            .filter_map(|stop| walk.carried(stop))
            .collect();
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(walk_page(walk).unwrap().contains(&told[0]));
        told[0].clone()
    };
    assert_eq!(
        carried(&walk),
        "Carry 12.1 bu of sprigs: 9.42 bu to the north side (344 ft²), 2.65 bu to the south side (97 ft²)."
    );
    let stop = walk.stops.iter_mut().find(|stop| stop.carry.is_some());
    let carry = stop.unwrap().carry.as_mut().unwrap();
    let places = carry.places.clone();
    carry.places.truncate(1);
    assert_eq!(
        carried(&walk),
        "Carry 12.1 bu of sprigs to the north side (344 ft²)."
    );
    let stop = walk.stops.iter_mut().find(|stop| stop.carry.is_some());
    let carry = stop.unwrap().carry.as_mut().unwrap();
    carry.sprigs = None;
    carry.places = places
        .iter()
        .chain(&places)
        .chain(&places)
        .cloned()
        .collect();
    for place in &mut carry.places {
        place.sprigs = None;
    }
    assert_eq!(
        carried(&walk),
        "Carry sprigs: to the north side (344 ft²), to the south side (97 ft²), to the north side \
         (344 ft²), to the south side (97 ft²), and 2 more (out/thin_areas.csv)."
    );
    assert_eq!(walk.all_of_it(), "30 photos on 6 greens");
}

#[test]
fn a_metric_course_reads_metres_and_twenty_four_hours() {
    let mut walk = example::walk();
    walk.units = DisplayUnits::Metric;
    walk.date_style.clock = ClockFace::TwentyFourHours;
    walk.daylight.push(Daylight {
        from: Time::constant(20, 0, 0, 0),
        until: Time::constant(21, 5, 0, 0),
        sun_degrees: 25.0,
    });
    let page = walk_page(&walk).unwrap();
    assert!(page.contains("8:50 to 18:20 and 20:00 to 21:05"));
    assert!(page.contains("210 m from the one before"));
    walk.daylight.clear();
    assert!(!walk_page(&walk).unwrap().contains("Best light"));
}

#[test]
fn there_is_a_slate_for_every_station_and_for_every_green_without() {
    let walk = example::walk();
    let n_slates: usize = walk
        .stops
        .iter()
        .map(|stop| stop.stations.len().max(1))
        .sum();
    let page = slates_page(&walk).unwrap();
    assert_eq!(n_elements(&page, "svg"), n_slates);
    assert!(page.contains("SPRIGCAST/1/G07/G07-A"));
}

#[test]
fn a_green_that_is_not_planted_yet_has_its_slates_and_no_place_on_the_sheet() {
    let mut walk = example::walk();
    let later = walk.stops.pop().unwrap();
    let card = later.slates()[0].payload();
    assert!(!slates_page(&walk).unwrap().contains(&card));
    let sheet = walk_page(&walk).unwrap();
    walk.to_come.push(later);
    assert!(slates_page(&walk).unwrap().contains(&card));
    assert_eq!(walk_page(&walk).unwrap(), sheet);
}

#[test]
fn names_are_text_and_nothing_is_fetched() {
    let mut walk = example::walk();
    walk.course = "<script>alert(1)</script>".to_owned();
    walk.stops[0].name = "\"><img src=\"https://example.org\">".to_owned();
    walk.stops[0].why = "\u{202e}<b>".to_owned();
    for page in [walk_page(&walk).unwrap(), slates_page(&walk).unwrap()] {
        assert_eq!(n_elements(&page, "script"), 0);
        assert!(!page.contains("src=\"http") && !page.contains('\u{202e}'));
    }
}

#[test]
#[ignore = "writes pages to look at into the folder named by SPRIGCAST_LOOK"]
fn sheets_to_look_at() {
    let folder = std::path::PathBuf::from(std::env::var_os("SPRIGCAST_LOOK").unwrap());
    let walk = example::walk();
    std::fs::write(folder.join("walk.html"), walk_page(&walk).unwrap()).unwrap();
    std::fs::write(folder.join("slates.html"), slates_page(&walk).unwrap()).unwrap();
}
