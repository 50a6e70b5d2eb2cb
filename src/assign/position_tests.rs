//! Walks whose photos know where they were taken.

use jiff::SignedDuration;

use super::place_tests::{fix_at, neighbours};
use super::testing::{EIGHT, course, places, taken};
use super::*;

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
