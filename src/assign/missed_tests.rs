//! Walks on which a slate was laid on the wrong green or forgotten without a long pause.

use super::place_tests::{fix_at, neighbours};
use super::testing::{EIGHT, card, course, photos, places, remarks, taken};
use super::*;

const WEEK: i64 = 7 * 24 * 3600;

/// A stop: a card, where there is one, and four photos of which the first comes 25 s after it.
fn stop(slate: Option<&str>, start: i64) -> Vec<Seen> {
    let slate = slate.map(|green| card(&format!("walk/c{start:07}.jpg"), start, green));
    let shots = (1..=4).map(|n| taken(&format!("walk/p{start:07}-{n}.jpg"), start + 25 * n));
    slate.into_iter().chain(shots).collect()
}

/// A walk past three greens with these slates, the stops so many seconds apart.
fn walk(start: i64, slates: [Option<&str>; 3], apart: [i64; 2]) -> Vec<Seen> {
    let starts = [start, start + apart[0], start + apart[0] + apart[1]];
    let stops = slates.into_iter().zip(starts);
    stops
        .flat_map(|(slate, start)| stop(slate, start))
        .collect()
}

fn by_second_phone(mut photos: Vec<Seen>) -> Vec<Seen> {
    for photo in &mut photos {
        photo.name.0 = photo.name.0.replace("walk/", "walk-b/");
    }
    photos
}

const ALL: [Option<&str>; 3] = [Some("G01"), Some("G02"), Some("G03")];

#[test]
fn a_slate_that_comes_twice_where_the_next_green_has_none_is_asked_about() {
    let mut seen = walk(EIGHT, ALL, [270, 270]);
    seen.extend(walk(
        EIGHT + WEEK,
        [Some("G01"), Some("G02"), Some("G02")],
        [270, 270],
    ));
    let course = course();
    let found = places(&course, &seen);
    assert_eq!(found[21..25], ["G02"; 4]);
    // Other walks pass G03 after G02.
    assert_eq!(found[26..], ["two_greens"; 4]);
    assert_eq!(
        remarks(&course, &seen),
        [
            "The slate of G02 comes twice on Jun 21, at 8:04 and 8:09 AM, with 4 and 4 photos after it, and G03 has none that day: was it laid there too? 4 photos between 8:09 and 8:10 AM are set aside. Move the photos of each green into its folder, and photograph its own slate next time."
        ]
    );
    // A folder answers it.
    for photo in &mut seen[26..] {
        photo.name.0 = photo.name.0.replace("walk/", "walk/G03/");
    }
    assert_eq!(places(&course, &seen)[26..], ["G03"; 4]);
    assert_eq!(remarks(&course, &seen), Vec::<String>::new());
}

#[test]
fn on_a_first_walk_nobody_knows_which_of_two_is_right() {
    let seen = walk(EIGHT, [Some("G01"), Some("G02"), Some("G02")], [270, 270]);
    let found = places(&course(), &seen);
    assert_eq!(found[1..5], ["G01"; 4]);
    assert_eq!(found[6..10], ["two_greens"; 4]);
    assert_eq!(found[11..], ["two_greens"; 4]);
}

#[test]
fn a_slate_photographed_twice_is_no_doubt_where_no_green_lacks_one_or_nothing_lies_between() {
    let course = course();
    let mut seen = walk(EIGHT, ALL, [270, 270]);
    seen.extend(stop(Some("G02"), EIGHT + 900));
    assert!(!places(&course, &seen).contains(&"two_greens".to_owned()));
    // The first picture of the slate was blurred.
    let mut seen = vec![card("walk/blurred.jpg", EIGHT - 10, "G01")];
    seen.extend(stop(Some("G01"), EIGHT));
    assert_eq!(places(&course, &seen)[2..], ["G01"; 4]);
    assert_eq!(remarks(&course, &seen), Vec::<String>::new());
    // Positions tell that both stops were on its green.
    let mut seen = walk(EIGHT, [Some("G01"), Some("G03"), Some("G01")], [270, 270]);
    let mut outlined = self::course();
    outlined.outlines = neighbours();
    for photo in &mut seen[11..] {
        photo.fix = Some(fix_at([12.0, 11.0], Some(4.0)));
    }
    assert_eq!(places(&outlined, &seen)[11..], ["G01"; 4]);
}

#[test]
fn twice_the_usual_photos_with_a_plain_gap_are_two_greens() {
    let mut seen = walk(EIGHT, ALL, [270, 270]);
    // Fifty-five seconds after the last of G01 the photos of G02 begin.
    seen.extend(walk(
        EIGHT + WEEK,
        [Some("G01"), None, Some("G03")],
        [130, 270],
    ));
    seen.extend(by_second_phone(stop(Some("G03"), EIGHT + WEEK + 700)));
    let course = course();
    let found = places(&course, &seen);
    assert_eq!(found[16..20], ["G01"; 4]);
    assert_eq!(found[20..24], ["two_greens"; 4]);
    assert!(
        remarks(&course, &seen)[0]
            .starts_with("No slate for G02 on Jun 21: 4 photos between 8:02 and 8:03 AM follow the slate of G01 after a pause"),
        "{:?}",
        remarks(&course, &seen)
    );
}

#[test]
fn twice_the_usual_photos_without_a_gap_are_told() {
    let mut seen = walk(EIGHT, ALL, [270, 270]);
    seen.extend(walk(
        EIGHT + WEEK,
        [Some("G01"), None, Some("G03")],
        [100, 270],
    ));
    // Two other stops of four photos, so that the day itself tells what is usual.
    seen.extend(by_second_phone(stop(Some("G03"), EIGHT + WEEK + 700)));
    let told = remarks(&course(), &seen);
    assert_eq!(
        told,
        [
            "8 photos between 8:00 and 8:03 AM on Jun 21 follow the slate of G01, where 4 are usual, and G02 has none that day: was its slate forgotten? All of them count for G01 now; move those of G02 into a folder of that name."
        ]
    );
    assert!(!places(&course(), &seen).contains(&"two_greens".to_owned()));
    // A green that always gets so many.
    for photo in 0..4 {
        seen.insert(
            5,
            taken(&format!("walk/more-{photo}.jpg"), EIGHT + 110 + photo),
        );
    }
    assert_eq!(remarks(&course(), &seen), Vec::<String>::new());
}

#[test]
fn photos_before_the_first_slate_of_a_walk_are_told_with_the_green_that_has_none() {
    let mut seen = walk(EIGHT, ALL, [270, 270]);
    seen.extend(walk(
        EIGHT + WEEK,
        [None, Some("G02"), Some("G03")],
        [270, 270],
    ));
    let course = course();
    assert_eq!(places(&course, &seen)[15..19], ["no_green"; 4]);
    assert_eq!(
        remarks(&course, &seen),
        [
            "No slate for G01 on Jun 21: 4 photos between 8:00 and 8:01 AM have no slate before them and are set aside. Move them into the folder of their green, and photograph each slate first next time."
        ]
    );
}

#[test]
fn of_two_phones_each_lacks_the_greens_that_its_own_walks_pass() {
    // The second phone passes only G03, and did not walk at all this week.
    let mut seen = stop(Some("G01"), EIGHT);
    seen.extend(stop(Some("G02"), EIGHT + 270));
    seen.extend(by_second_phone(stop(Some("G03"), EIGHT + 20)));
    let mut this_week = photos("walk", EIGHT + WEEK, 3);
    this_week.extend(stop(Some("G02"), EIGHT + WEEK + 300));
    seen.extend(this_week);
    let told = remarks(&course(), &seen);
    assert!(
        told[0].starts_with("No slate for G01 on Jun 21: 3 photos between"),
        "{told:?}"
    );
}
