//! Walks with cards, clocks and positions, from what the photos say to where each belongs.

use std::path::Path;

use jiff::SignedDuration;
use jiff::civil::date;

use super::place_tests::{fix_at, neighbours};
use super::testing::taken;
use super::*;
use crate::photo::{Taken, TakenFrom};

const COURSE: &str = r#"
[course]
name = "Pennywhistle Bend"
time_zone = "America/New_York"
[[green]]
id = "G01"
planted = 2027-05-18
[[green]]
id = "G02"
planted = 2027-05-18
[[green]]
id = "G03"
planted = 2027-05-18
[[station]]
id = "G03-A"
green = "G03"
"#;

/// Eight in the morning, in seconds.
const EIGHT: i64 = 8 * 3600;

fn course() -> Course {
    Course::parse(COURSE, "course.toml", Path::new(".")).expect("the course file is valid")
}

fn card(name: &str, seconds: i64, green: &str) -> Seen {
    Seen {
        code: Some(format!("SPRIGCAST/1/{green}")),
        ..taken(name, seconds)
    }
}

/// `n` photos forty seconds apart, the first forty seconds after `start`.
fn photos(folder: &str, start: i64, n: i64) -> Vec<Seen> {
    (1..=n)
        .map(|k| {
            taken(
                &format!("{folder}/{:05}.jpg", start + 40 * k),
                start + 40 * k,
            )
        })
        .collect()
}

/// The place of a photo as `G01`, `G03-A`, or the code of its reason.
fn places(course: &Course, seen: &[Seen]) -> Vec<String> {
    let assigner = Assigner::new(course).with_clues(Clues::of(course, seen));
    let place = |photo: &Seen| match assigner.place(&photo.name) {
        Ok(place) => match place.station {
            Some(station) => station.to_string(),
            None => place.green.to_string(),
        },
        Err(reason) => reason.code().to_owned(),
    };
    seen.iter().map(place).collect()
}

fn remarks(course: &Course, seen: &[Seen]) -> Vec<String> {
    let clues = Clues::of(course, seen);
    {
        let told = clues.remarks().iter();
        told.map(|remark| remark.in_words(course.dates)).collect()
    }
}

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

/// Photos after a card, on a clock that is `ahead` of GPS time.
fn with_gps(start: i64, ahead: i64) -> Vec<Seen> {
    let mut seen = vec![card("walk/card.jpg", start, "G01")];
    seen.extend(photos("walk", start, 4));
    for photo in &mut seen {
        let at = photo.date.to_datetime(photo.time.unwrap());
        photo.gps_time = Some(at - SignedDuration::from_secs(ahead));
        photo.camera = Some("Fernhill K2".to_owned());
    }
    seen
}

fn corrected(course: &Course, seen: &[Seen]) -> Vec<Taken> {
    let clues = Clues::of(course, seen);
    let taken = |photo: &Seen| {
        let taken = Taken {
            date: photo.date,
            time: photo.time,
            instant: None,
            from: TakenFrom::Camera,
        };
        clues.corrected(&photo.name, taken)
    };
    seen.iter().map(taken).collect()
}

#[test]
fn evening_photos_of_a_clock_on_universal_time_count_for_their_evening() {
    let course = course();
    // 19:58 to 20:00 in New York is 23:58 to midnight and after, in UTC.
    let seen = with_gps(23 * 3600 + 58 * 60, 4 * 3600);
    let taken = corrected(&course, &seen);
    assert!(
        taken.iter().all(|taken| taken.date == date(2027, 6, 14)),
        "{taken:?}"
    );
    assert_eq!(taken[0].time, Some(jiff::civil::time(19, 58, 0, 0)));
    assert_eq!(places(&course, &seen)[1..], ["G01"; 4]);
    assert_eq!(
        remarks(&course, &seen),
        [
            "The clock of Fernhill K2 is 4 h ahead of GPS time: the times of 5 photos (Jun 14 to Jun 15) are corrected by it, and 2 of them count for another day. Set its time and time zone."
        ]
    );
}

#[test]
fn photos_over_midnight_by_a_clock_of_which_nothing_is_known_are_asked_about() {
    let mut seen = with_gps(23 * 3600 + 58 * 60, 4 * 3600);
    for photo in &mut seen {
        photo.gps_time = None;
    }
    let told = remarks(&course(), &seen);
    assert!(
        told[0].starts_with(
            "5 photos of Fernhill K2 run over midnight, from 11:58 PM on Jun 14: does its clock"
        ),
        "{told:?}"
    );
}

#[test]
fn a_clock_that_is_right_and_one_that_nothing_proves_wrong_keep_their_times() {
    let course = course();
    for ahead in [0, 40] {
        let seen = with_gps(EIGHT, ahead);
        assert_eq!(corrected(&course, &seen)[0].time, seen[0].time);
        assert_eq!(remarks(&course, &seen), Vec::<String>::new());
    }
    let mut seen = with_gps(EIGHT, 3600);
    for photo in &mut seen[1..] {
        photo.gps_time = None;
    }
    assert_eq!(corrected(&course, &seen)[0].time, seen[0].time);
}

/// Photos a minute apart at these places, G01 from 0 to 24 m and G02 from 30 m on, with an error that is stated.
fn walk_over(at: &[[f64; 2]], error_m: Option<f64>) -> Vec<Seen> {
    let photos = at.iter().enumerate();
    photos
        .map(|(k, metres)| Seen {
            fix: Some(fix_at(*metres, error_m)),
            ..taken(&format!("walk/p{k}.jpg"), EIGHT + 60 * k as i64)
        })
        .collect()
}

#[test]
fn photos_beside_every_green_are_set_aside_with_the_distance() {
    let mut course = course();
    course.outlines = neighbours();
    let reasons = |seen: &[Seen]| -> Vec<String> {
        let assigner = Assigner::new(&course).with_clues(Clues::of(&course, seen));
        let told = seen.iter().map(|photo| assigner.place(&photo.name));
        told.map(|place| match place {
            Ok(place) => place.green.to_string(),
            Err(reason) => reason.to_string(),
        })
        .collect()
    };
    let told = |far: &str| {
        format!("its position is on no green, {far} from G01; move it into the folder of its green")
    };
    // A tee, right after the green that it belongs to.
    let on = [12.0, 11.0];
    let walk = [on, [8.0, 9.0], [-35.0, 11.0], [-25.0, 11.0], [-45.0, 11.0]];
    assert_eq!(
        reasons(&walk_over(&walk, Some(3.0))),
        [
            "G01".to_owned(),
            "G01".to_owned(),
            told("35 m (110 ft)"),
            told("25 m (80 ft)"),
            told("45 m (150 ft)")
        ]
    );
    assert_eq!(
        reasons(&walk_over(&[[-5000.0, 11.0]], None)),
        [told("5.0 km (3.1 miles)")]
    );
    // What a phone's error explains is no other place, stated or not.
    for (error_m, far) in [(Some(3.0), 11.0), (None, 20.0), (Some(10.0), 29.0)] {
        assert_eq!(
            reasons(&walk_over(&[[-far, 11.0]], error_m)),
            ["G01"],
            "{far}"
        );
    }
    // One that strays between two on the green is theirs, and one that is too far away for that is not.
    let strays = |far: f64| reasons(&walk_over(&[on, [-far, 11.0], on], Some(3.0)))[1].clone();
    assert_eq!(strays(20.0), "G01");
    assert_eq!(strays(45.0), told("45 m (150 ft)"));
    let alone = reasons(&walk_over(&[on, [-20.0, 11.0], [42.0, 11.0]], Some(3.0)));
    assert_eq!(alone[1], told("20 m (70 ft)"));
}

#[test]
fn a_folder_whose_green_is_plainly_elsewhere_is_reported() {
    let mut course = course();
    course.outlines = neighbours();
    let place = |x: f64, error_m: Option<f64>| {
        let mut seen = walk_over(&[[x, 11.0]], error_m);
        seen[0].name.0 = "G01/a.jpg".to_owned();
        let assigner = Assigner::new(&course).with_clues(Clues::of(&course, &seen));
        let place = assigner.place(&seen[0].name);
        place
            .map(|place| place.green.to_string())
            .map_err(|reason| reason.to_string())
    };
    assert_eq!(
        place(-5000.0, Some(5.0)),
        Err("G01 by its folder, but its position is 5.0 km (3.1 miles) away from it; move it, or take `place` out of `assign` in course.toml if positions are wrong".to_owned())
    );
    assert!(place(-70.0, Some(5.0)).is_err());
    // Beside its green, or nobody knows where: the folder tells.
    for (x, error_m) in [
        (-40.0, Some(5.0)),
        (-300.0, Some(80.0)),
        (-45.0, None),
        (-2e6, None),
    ] {
        assert_eq!(place(x, error_m), Ok("G01".to_owned()), "{x}");
    }
}

#[test]
fn one_photo_that_gps_time_puts_on_another_day_is_told_and_one_before_its_position_corrected() {
    let course = course();
    let photo = taken("G01/b.jpg", EIGHT);
    let at =
        |ahead: i64| photo.date.to_datetime(photo.time.unwrap()) - SignedDuration::from_secs(ahead);
    let one = |ahead: i64| Seen {
        camera: Some("Fernhill K2".to_owned()),
        gps_time: Some(at(ahead)),
        ..photo.clone()
    };
    let half_a_day = [one(45_000)];
    assert_eq!(
        remarks(&course, &half_a_day),
        [
            "G01/b.jpg counts for Jun 14 by the clock of Fernhill K2; GPS time says Jun 13, 12 h 30 min earlier, and one photo alone does not show which is right, since its position may be old. Set the clock and its time zone; where the clock was wrong, name the photo in `leave_out` in course.toml."
        ]
    );
    assert_eq!(corrected(&course, &half_a_day)[0].date, photo.date);
    // On the same day it changes no visit.
    assert_eq!(remarks(&course, &[one(3600)]), Vec::<String>::new());
    // Nobody knows a position before it is found: eighteen hours behind is the clock.
    let behind = corrected(&course, &[one(-64_800)]);
    assert_eq!(behind[0].date, date(2027, 6, 15));
    // A receiver that counts its weeks wrongly is years off.
    assert_eq!(corrected(&course, &[one(-600_000_000)])[0].date, photo.date);
}

#[test]
fn an_old_position_does_not_set_aside_a_photo_in_its_folder() {
    let mut course = course();
    course.outlines = neighbours();
    let mut photo = taken("G03/a.jpg", EIGHT);
    photo.fix = Some(fix_at([12.0, 11.0], Some(4.0)));
    let at =
        |age: i64| photo.date.to_datetime(photo.time.unwrap()) - SignedDuration::from_secs(age);
    for (age, place) in [
        (5, "two_greens"),
        (600, "G03"),
        (1500, "G03"),
        (3600, "G03"),
        (86_000, "G03"),
    ] {
        let seen = [Seen {
            gps_time: Some(at(age)),
            ..photo.clone()
        }];
        assert_eq!(places(&course, &seen), [place], "{age} s");
        // Nor does it give a photo without a folder to the green that was left long before.
        let loose = [Seen {
            name: PhotoName("walk/a.jpg".to_owned()),
            ..seen[0].clone()
        }];
        if age == 600 {
            assert_eq!(places(&course, &loose), ["no_green"]);
        }
    }
}

#[test]
fn the_order_of_cards_shows_that_two_clocks_are_an_hour_apart() {
    let course = course();
    let walk = |camera: &str, start: i64, late: [i64; 3]| {
        let cards = ["G01", "G02", "G03"].into_iter().zip(late);
        let stops = cards.enumerate().flat_map(|(n, (green, late))| {
            let at = start + 400 * n as i64 + late;
            let mut stop = vec![card(&format!("walk/{camera}{n}.jpg"), at, green)];
            stop.push(taken(&format!("walk/{camera}{n}a.jpg"), at + 40));
            stop
        });
        stops
            .map(|photo| Seen {
                camera: Some(camera.to_owned()),
                ..photo
            })
            .collect::<Vec<Seen>>()
    };
    let mut seen = walk("Fernhill", EIGHT, [0; 3]);
    seen.extend(walk("Hollyhock", EIGHT + 3600, [20, -30, 50]));
    assert_eq!(
        remarks(&course, &seen),
        [
            "Hollyhock shows 3 slates in the same order as Fernhill, always 1 h later (Jun 14). Was it one walk? Then one of the two clocks is wrong: compare both with the right time and set it. Their photos are kept apart, and keep their times."
        ]
    );
    // Another walk an hour and twenty minutes later is one.
    let mut seen = walk("Fernhill", EIGHT, [0; 3]);
    seen.extend(walk("Hollyhock", EIGHT + 4800, [0; 3]));
    assert_eq!(remarks(&course, &seen), Vec::<String>::new());
}
