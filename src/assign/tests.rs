use std::path::Path;

use proptest::prelude::*;

use super::*;

const COURSE: &str = r#"
[course]
name = "Pennywhistle Bend"
time_zone = "America/New_York"
[[green]]
id = "G01"
name = "1"
planted = 2027-05-18
[[green]]
id = "G07"
name = "7"
planted = 2027-05-18
[[green]]
id = "G12"
name = "Chapel"
planted = 2027-05-18
[[station]]
id = "G07-A"
green = "G07"
"#;

const TRIAL: &str = r#"
[course]
name = "Trial"
time_zone = "UTC"
[[green]]
id = "101"
planted = 2027-05-18
[[green]]
id = "6"
planted = 2027-05-18
[[green]]
id = "D"
planted = 2027-05-18
"#;

fn course(text: &str) -> Course {
    Course::parse(text, "course.toml", Path::new(".")).expect("the course file is valid")
}

fn place(text: &str, name: &str) -> Result<(String, Option<String>), &'static str> {
    let course = course(text);
    Assigner::new(&course)
        .place(&PhotoName(name.to_owned()))
        .map(|place| {
            (
                place.green.to_string(),
                place.station.map(|station| station.to_string()),
            )
        })
        .map_err(|reason| reason.code())
}

fn green(id: &str) -> Result<(String, Option<String>), &'static str> {
    Ok((id.to_owned(), None))
}

fn station(green: &str, id: &str) -> Result<(String, Option<String>), &'static str> {
    Ok((green.to_owned(), Some(id.to_owned())))
}

#[test]
fn the_nearest_folder_or_the_file_name_tells_the_green() {
    assert_eq!(place(COURSE, "G07/IMG_0001.jpg"), green("G07"));
    assert_eq!(place(COURSE, "g7/2027-06-14/IMG_0001.jpg"), green("G07"));
    assert_eq!(place(COURSE, "2027-06-14/G07/IMG_0001.jpg"), green("G07"));
    assert_eq!(place(COURSE, "walk/G07_2027-06-14.jpg"), green("G07"));
    assert_eq!(place(COURSE, "IMG_20270614_G12.jpg"), green("G12"));
    assert_eq!(place(COURSE, "Green 7/a.jpg"), green("G07"));
    assert_eq!(place(COURSE, "green_07/a.jpg"), green("G07"));
    assert_eq!(place(COURSE, "chapel/a.jpg"), green("G12"));
    assert_eq!(place(COURSE, "7/a.jpg"), green("G07"));
}

#[test]
fn stations_are_found_and_imply_their_green() {
    assert_eq!(place(COURSE, "G07-A/x.jpg"), station("G07", "G07-A"));
    assert_eq!(place(COURSE, "G07/G07-A_2027.jpg"), station("G07", "G07-A"));
    assert_eq!(place(COURSE, "g07_a.jpg"), station("G07", "G07-A"));
    assert_eq!(place(COURSE, "G07-B.jpg"), green("G07"));
}

#[test]
fn the_second_photo_of_green_one_is_not_green_twelve() {
    assert_eq!(place(COURSE, "G1-2.jpg"), green("G01"));
    assert_eq!(place(COURSE, "G01 (2).jpg"), green("G01"));
}

#[test]
fn a_green_that_the_course_file_lacks_is_named() {
    assert_eq!(place(COURSE, "G99/x.jpg"), Err("no_green"));
    let course = course(COURSE);
    let reason = Assigner::new(&course)
        .place(&PhotoName("G99/x.jpg".to_owned()))
        .expect_err("there is no green G99");
    assert_eq!(
        reason.to_string(),
        "`G99` is not a green of the course file; add it there, rename, or where it is not renovated name photo or folder in `leave_out`"
    );
}

#[test]
fn greens_are_known_by_the_ways_in_which_people_write_them() {
    let unnamed = COURSE.replace("name = \"7\"\n", "");
    for name in [
        "Green 7/a.jpg",
        "green_07/a.jpg",
        "Green7/a.jpg",
        "green7-1.jpg",
        "7/a.jpg",
    ] {
        assert_eq!(place(&unnamed, name), green("G07"), "{name}");
    }
    assert_eq!(place(COURSE, "G07A/a.jpg"), station("G07", "G07-A"));
    assert_eq!(place(COURSE, "IMG_7.jpg"), Err("no_green"));
}

/// Folders and the tables that people write name greens alike.
#[test]
fn what_a_folder_names_a_table_names_too() {
    let course = course(COURSE);
    let book = IdBook::new(&course);
    for text in [
        "G07", "g7", "7", "Green 7", "green7", "hole 7", "no. 7", "#7", "G12", "12", "green 12",
    ] {
        let Some(Named::Green { green, .. }) = book.in_text(text) else {
            panic!("{text} names no green");
        };
        let called = crate::course::green_called(text, &course.greens);
        let in_table = called.one(text, &course.greens).map(|called| &called.id);
        assert_eq!(in_table, Ok(&green), "{text}");
    }
}

#[test]
fn a_green_within_another_greens_folder_is_reported() {
    assert_eq!(place(COURSE, "G07/G12/a.jpg"), Err("two_greens"));
    assert_eq!(place(COURSE, "G07/G07-A/a.jpg"), station("G07", "G07-A"));
    assert_eq!(place(COURSE, "G99/G07/a.jpg"), green("G07"));
}

#[test]
fn evidence_that_disagrees_is_reported_and_never_guessed_over() {
    assert_eq!(place(COURSE, "G07/G12_2027-06-14.jpg"), Err("two_greens"));
    assert_eq!(place(COURSE, "G07 seen from G12.jpg"), Err("two_greens"));
    assert_eq!(place(COURSE, "G07/G99.jpg"), Err("two_greens"));
}

#[test]
fn other_turf_beside_a_number_is_no_green_unless_the_course_file_names_it() {
    for folder in [
        "practice green 7",
        "Nursery green 7",
        "chipping green 07",
        "hole 7 tee",
        "hole 7 fairway",
        "fairway G7",
        "G07 collar",
        "G07-A bunker",
        "practice G07 2027-06-14",
    ] {
        let name = PhotoName(format!("{folder}/IMG_1.jpg"));
        let reason = Assigner::new(&course(COURSE)).place(&name).unwrap_err();
        let named = folder.to_owned();
        assert_eq!(reason, Reason::UnknownGreen { named }, "{folder}");
    }
    for text in ["hole 7/a.jpg", "tee time/G07.jpg", "G07/tee.jpg"] {
        assert_eq!(place(COURSE, text), green("G07"), "{text}");
    }
    let named = COURSE.replace("name = \"7\"", "name = \"Practice green\"");
    assert_eq!(place(&named, "practice green/a.jpg"), green("G07"));
    assert_eq!(place(&named, "practice G07/a.jpg"), green("G07"));
    let nursery = COURSE.replace("name = \"Pennywhistle Bend\"", "name = \"Bend nursery\"");
    assert_eq!(place(&nursery, "nursery green 7/a.jpg"), green("G07"));
}

#[test]
fn two_numbers_that_are_joined_are_two_greens() {
    for folder in [
        "Green 7 and 12",
        "G7 & 12",
        "G07+12",
        "G7, 12",
        "green 7,12 and 7",
    ] {
        let name = PhotoName(format!("{folder}/a.jpg"));
        let reason = Assigner::new(&course(COURSE)).place(&name).unwrap_err();
        assert_eq!(reason.code(), "two_greens", "{folder}: {reason}");
    }
    assert_eq!(place(COURSE, "Green 7 and 19/a.jpg"), Err("no_green"));
    for text in [
        "G07, 12 June.jpg",
        "G7, photo 12.jpg",
        "G07 and sand/a.jpg",
        "G7-12/a.jpg",
    ] {
        assert_eq!(place(COURSE, text), green("G07"), "{text}");
    }
}

#[test]
fn numbers_and_letters_that_are_no_ids_stay_counters_and_dates() {
    assert_eq!(place(TRIAL, "101_2027-06-14.jpg"), green("101"));
    assert_eq!(place(TRIAL, "plot 6.jpg"), green("6"));
    assert_eq!(place(TRIAL, "IMG_6.jpg"), Err("no_green"));
    assert_eq!(place(TRIAL, "2027-06-14.jpg"), Err("no_green"));
    assert_eq!(place(TRIAL, "2027/06/14/IMG_1.jpg"), Err("no_green"));
    assert_eq!(
        place(TRIAL, "DJI_20270614101530_0001_D.JPG"),
        Err("no_green")
    );
    assert_eq!(place(TRIAL, "D/1.jpg"), green("D"));
}

#[test]
fn a_photo_that_says_nothing_belongs_to_the_only_green_or_to_none() {
    assert_eq!(place(COURSE, "IMG_0001.jpg"), Err("no_green"));
    let only = "[course]\nname = \"x\"\n[[green]]\nid = \"P1\"\nplanted = 2027-05-18\n";
    assert_eq!(place(only, "IMG_0001.jpg"), green("P1"));
    assert_eq!(place(only, "P2/IMG_0001.jpg"), Err("no_green"));
}

proptest! {
    #[test]
    fn every_name_gets_a_place_or_a_reason(name in "\\PC{0,60}") {
        let course = course(COURSE);
        let assigner = Assigner::new(&course);
        match assigner.place(&PhotoName(name)) {
            Ok(place) => prop_assert!(course.green(&place.green).is_some()),
            Err(reason) => prop_assert!(!reason.to_string().is_empty()),
        }
    }

    #[test]
    fn case_and_leading_zeros_do_not_matter(zeros in 0usize..3, upper: bool) {
        let id = format!("{}{}7", if upper { "G" } else { "g" }, "0".repeat(zeros));
        prop_assert_eq!(place(COURSE, &format!("{id}/x.jpg")), green("G07"));
    }
}

#[test]
fn a_folder_whose_accents_stand_apart_is_that_of_its_green() {
    for (written, found) in [
        ("Gr\u{fc}n 1", "Gru\u{308}n 1"),
        ("Gru\u{308}n 1", "Gr\u{fc}n 1"),
    ] {
        let text = format!(
            "[course]\nname = \"x\"\n[photos]\nleave_out = [\"{written}/b.jpg\"]\n[[green]]\nid = \"{written}\"\nplanted = 2027-05-18\n[[green]]\nid = \"Gr\u{fc}n 2\"\nplanted = 2027-05-18\n"
        );
        assert_eq!(
            place(&text, &format!("{found}/a.jpg")),
            green("Gr\u{fc}n 1")
        );
        assert_eq!(
            place(&text, &format!("2027 {found} a.jpg")),
            green("Gr\u{fc}n 1")
        );
        assert_eq!(place(&text, &format!("{found}/b.jpg")), Err("left_out"));
    }
}

#[test]
fn what_the_course_file_leaves_out_belongs_nowhere() {
    let text = COURSE.replace(
        "[[station]]",
        "[photos]\nleave_out = [\"G07/a.jpg\", \"./G12/\"]\n[[station]]",
    );
    assert_eq!(place(&text, "G07/a.jpg"), Err("left_out"));
    assert_eq!(place(&text, "G12/old/a.jpg"), Err("left_out"));
    for (name, id) in [
        ("G07/a.jpg.jpg", "G07"),
        ("G12 west/a.jpg", "G12"),
        ("G07/G07/a.jpg", "G07"),
    ] {
        assert_eq!(place(&text, name), green(id), "{name}");
    }
}
