//! Walks with cards: which photo belongs to which, and what is asked where one was forgotten.

use std::path::Path;

use super::place_tests::{fix_at, neighbours};
use super::testing::{COURSE, EIGHT, card, course, photos, places, remarks, taken};
use super::*;

#[test]
fn photos_belong_to_the_card_before_them_until_the_next_or_a_long_pause() {
    let mut seen = vec![
        taken("walk/early.jpg", EIGHT - 60),
        card("walk/c1.jpg", EIGHT, "G01"),
    ];
    seen.extend(photos("walk", EIGHT, 3));
    seen.push(card("walk/c2.jpg", EIGHT + 300, "G03/G03-A"));
    seen.extend(photos("walk", EIGHT + 300, 2));
    seen.push(taken("walk/late.jpg", EIGHT + 3000));
    assert_eq!(
        places(&course(), &seen),
        [
            "no_green", "slate", "G01", "G01", "G01", "slate", "G03-A", "G03-A", "no_green"
        ]
    );
    assert_eq!(remarks(&course(), &seen), Vec::<String>::new());
}

#[test]
fn two_cards_in_one_picture_are_asked_about_and_a_folder_answers() {
    let mut seen = vec![card("walk/c1.jpg", EIGHT, "G01")];
    seen[0].code = Some("SPRIGCAST/1/G01\nSPRIGCAST/1/G02".to_owned());
    seen.extend(photos("walk", EIGHT, 2));
    assert_eq!(
        places(&course(), &seen),
        ["slate", "two_greens", "two_greens"]
    );
    for photo in &mut seen[1..] {
        photo.name.0 = photo.name.0.replace("walk/", "walk/G02/");
    }
    assert_eq!(places(&course(), &seen), ["slate", "G02", "G02"]);
    // Two of the same green are one.
    seen[0].code = Some("SPRIGCAST/1/G01\nSPRIGCAST/1/G01".to_owned());
    assert_eq!(places(&course(), &seen)[0], "slate");
}

#[test]
fn two_phones_on_one_walk_follow_each_its_own_cards() {
    let phone = |mut photo: Seen, model: &str| {
        photo.name.0 = photo.name.0.replace("walk/", &format!("walk/{model}-"));
        photo.camera = Some(model.to_owned());
        photo
    };
    // The second phone's clock is an hour ahead, and it is at the greens in another order.
    let mut seen = vec![phone(card("walk/a.jpg", EIGHT, "G01"), "Fernhill")];
    seen.extend(
        photos("walk", EIGHT, 2)
            .into_iter()
            .map(|photo| phone(photo, "Fernhill")),
    );
    seen.push(phone(card("walk/b.jpg", EIGHT + 30, "G02"), "Hollyhock"));
    seen.extend(
        photos("walk", EIGHT + 10, 2)
            .into_iter()
            .map(|photo| phone(photo, "Hollyhock")),
    );
    let found = places(&course(), &seen);
    assert_eq!(found, ["slate", "G01", "G01", "slate", "G02", "G02"]);
}

#[test]
fn a_card_that_folder_or_name_contradicts_is_reported_and_never_guessed_over() {
    let seen = [
        card("walk/card.jpg", EIGHT, "G01"),
        taken("walk/G02.jpg", EIGHT + 40),
        taken("walk/G01.jpg", EIGHT + 80),
        card("G02/card.jpg", EIGHT, "G01"),
        taken("G02/a.jpg", EIGHT + 40),
    ];
    let course = course();
    assert_eq!(
        places(&course, &seen),
        ["slate", "two_greens", "G01", "slate", "two_greens"]
    );
    let assigner = Assigner::new(&course).with_clues(Clues::of(&course, &seen));
    assert_eq!(
        assigner.place(&seen[4].name).unwrap_err().to_string(),
        "G01 by its slate, G02 by its folder; move or rename it"
    );
}

#[test]
fn cards_are_no_photos_of_turf_even_where_they_are_no_evidence() {
    let text = COURSE.replace(
        "[[green]]\nid = \"G01\"",
        "[photos]\nassign = [\"folder\"]\n[[green]]\nid = \"G01\"",
    );
    let course = Course::parse(&text, "course.toml", Path::new(".")).expect("valid");
    let seen = [
        card("G02/card.jpg", EIGHT, "G01"),
        taken("G02/a.jpg", EIGHT + 40),
    ];
    assert_eq!(places(&course, &seen), ["slate", "G02"]);
}

#[test]
fn a_card_of_a_green_that_the_course_lacks_and_a_newer_card_are_told() {
    let course = course();
    let mut seen = vec![
        card("walk/c.jpg", EIGHT, "G99"),
        taken("walk/a.jpg", EIGHT + 40),
    ];
    seen.push(Seen {
        code: Some("SPRIGCAST/2/G01".to_owned()),
        ..taken("walk/d.jpg", EIGHT + 80)
    });
    seen.push(taken("walk/e.jpg", EIGHT + 120));
    assert_eq!(
        places(&course, &seen),
        ["slate", "no_green", "slate", "no_green"]
    );
    let assigner = Assigner::new(&course).with_clues(Clues::of(&course, &seen));
    let reason = |idx: usize| assigner.place(&seen[idx].name).unwrap_err();
    assert_eq!(
        reason(1),
        Reason::UnknownGreen {
            named: "G99".to_owned()
        }
    );
    assert!(reason(2).needs_a_person() && !reason(0).needs_a_person());
    assert_eq!(reason(3), Reason::NoGreen);
}

/// Cards of the first and the third green, with six photos after the first, and six more after a gap.
fn forgotten(gap: i64) -> Vec<Seen> {
    let mut seen = vec![card("walk/c1.jpg", EIGHT, "G01")];
    seen.extend(photos("walk", EIGHT, 6));
    let second = EIGHT + 240 + gap - 40;
    seen.extend(photos("walk", second, 6));
    let third = second + 240 + gap;
    seen.push(card("walk/c3.jpg", third, "G03"));
    seen.extend(photos("walk", third, 6));
    seen
}

#[test]
fn a_forgotten_card_is_noticed_by_position_and_gap_and_its_photos_placed() {
    let mut course = course();
    course.outlines = neighbours();
    let mut seen = forgotten(90);
    for (photo, x) in seen[1..].iter_mut().zip([[12.0; 6], [42.0; 6]].concat()) {
        photo.fix = Some(fix_at([x, 11.0], Some(4.0)));
    }
    // One of them has no position.
    seen[9].fix = None;
    let found = places(&course, &seen);
    assert_eq!(found[1..7], ["G01"; 6]);
    assert_eq!(found[7..13], ["G02"; 6]);
    assert_eq!(found[14..], ["G03"; 6]);
    assert_eq!(
        remarks(&course, &seen),
        [
            "No slate for G02 on Jun 14: 6 photos between 8:05 and 8:08 AM placed by position and gap. Photograph its slate first next time; if these are of another green, move them into its folder."
        ]
    );
    // Without a gap the card and the position are at odds.
    let mut seen = forgotten(40);
    for (photo, x) in seen[1..].iter_mut().zip([[12.0; 6], [42.0; 6]].concat()) {
        photo.fix = Some(fix_at([x, 11.0], Some(4.0)));
    }
    assert!(places(&course, &seen).contains(&"two_greens".to_owned()));
}

#[test]
fn without_positions_photos_after_a_pause_are_set_aside_and_asked_about() {
    let course = course();
    let mut seen = forgotten(240);
    let found = places(&course, &seen);
    assert_eq!(found[1..7], ["G01"; 6]);
    assert_eq!(found[7..13], ["two_greens"; 6]);
    let told = remarks(&course, &seen);
    assert!(
        told[0].starts_with("No slate for G02 on Jun 14: 6 photos between 8:08 and 8:11 AM follow the slate of G01 after a pause"),
        "{told:?}"
    );
    // A folder answers it.
    for photo in &mut seen[7..13] {
        photo.name.0 = photo.name.0.replace("walk/", "walk/G02/");
    }
    assert_eq!(places(&course, &seen)[7..13], ["G02"; 6]);
    assert_eq!(remarks(&course, &seen), Vec::<String>::new());
}

#[test]
fn a_pause_alone_makes_no_second_green() {
    let course = course();
    // All greens have cards: the pause was a telephone call.
    let mut seen = forgotten(240);
    seen.push(card("walk/c2.jpg", EIGHT + 3600, "G02"));
    seen.extend(photos("walk", EIGHT + 3600, 6));
    assert!(
        places(&course, &seen)
            .iter()
            .all(|place| place != "two_greens")
    );
    // A short one.
    assert!(
        places(&course, &forgotten(100))
            .iter()
            .all(|place| place != "two_greens")
    );
}

#[test]
fn a_card_without_photos_is_told() {
    let mut seen = vec![
        card("walk/c1.jpg", EIGHT, "G01"),
        card("walk/c2.jpg", EIGHT + 60, "G02"),
    ];
    seen.extend(photos("walk", EIGHT + 60, 3));
    assert_eq!(
        remarks(&course(), &seen),
        [
            "No photo follows the slate of G01 on Jun 14 at 8:00 AM: are its photos still on the phone?"
        ]
    );
}
