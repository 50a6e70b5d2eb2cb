use super::{GREEN, LEAST, good, parse, told};
use crate::course::{Bushel, ClockFace, DateStyle, DayOrder, DisplayUnits};

/// A course whose `[course]` has these lines besides its name; they begin on line 4.
fn with(lines: &str) -> String {
    format!("{LEAST}{lines}\n{GREEN}")
}

#[test]
fn the_least_file_has_defaults_for_everything_else() {
    let course = good(&format!("{LEAST}{GREEN}"));
    assert_eq!(course.units, DisplayUnits::Us);
    assert_eq!(course.bushel, None);
    assert_eq!(course.goal.full_cover.percent(), 95.0);
    assert_eq!(
        (course.weather.base_c, course.weather.ceiling_c),
        (10.0, 32.0)
    );
    assert_eq!(course.photos.folder, std::path::Path::new("season/photos"));
    assert_eq!(course.photos.assign.len(), 4);
    assert_eq!(course.cover, None);
    assert_eq!(course.greens[0].name, "G1");
    assert_eq!(course.notes, Vec::<String>::new());
}

#[test]
fn a_course_without_name_is_told_what_to_add() {
    assert_eq!(
        told(&format!("[course]\n{GREEN}")),
        [
            "line 1, [course]: the course has no name; below [course] write name = \"Pennywhistle Bend\", with your course's own name"
        ]
    );
    assert_eq!(
        told(GREEN),
        [
            "line 1, [[green]]: the course has no name; below [course] write name = \"Pennywhistle Bend\", with your course's own name"
        ]
    );
    assert_eq!(
        told(&format!("[course]\nname = \" \"\n{GREEN}")),
        [
            "line 2, \" \": the course's name is empty; write name = \"Pennywhistle Bend\", with your course's own name"
        ]
    );
}

#[test]
fn a_course_name_that_could_drive_a_terminal_or_turn_text_is_refused() {
    for hidden in [
        r"\n",
        r"\t",
        r"\u001b[31m",
        r"\u202e",
        r"\u2067",
        r"\u200f",
        r"\u2028",
    ] {
        let faults = told(&format!(
            "[course]\nname = \"Penny{hidden}whistle\"\n{GREEN}"
        ));
        assert_eq!(faults.len(), 1, "{hidden}: {faults:?}");
        assert!(
            faults[0].starts_with("line 2, ")
                && faults[0].contains("the course's name holds a line break"),
            "{faults:?}"
        );
    }
    let course = good(&format!("[course]\nname = \" Grün ⛳ Bend \"\n{GREEN}"));
    assert_eq!(course.name, "Grün ⛳ Bend");
}

#[test]
fn a_value_of_the_wrong_kind_is_told_how_to_write_it() {
    assert_eq!(
        told(&format!("[course]\nname = 7\n{GREEN}")),
        ["line 2, 7: `name` must be text in quotes; write name = \"7\""]
    );
    assert_eq!(
        told(&with("latitude = \"36.1\"\nlongitude = true")),
        [
            "line 4, \"36.1\": `latitude` must be a number, without quotes; write latitude = 36.1",
            "line 5, true: `longitude` must be a number, without quotes; write longitude = -79.4",
        ]
    );
    assert_eq!(
        told(&format!("course = 3\n{GREEN}")),
        [
            "line 1, 3: `course` must be a table; write [course] on a line of its own and its keys below",
        ]
    );
}

#[test]
fn an_unknown_key_names_the_nearest_known_one() {
    assert_eq!(
        told(&format!(
            "[course]\nname = \"X\"\ntimezone = \"UTC\"\n{GREEN}"
        )),
        ["line 3, timezone: unknown key `timezone` in [course]; did you mean `time_zone`?"]
    );
    assert_eq!(
        told(&with("greenkeeper = \"nobody\"")),
        [
            "line 4, greenkeeper: unknown key `greenkeeper` in [course]; [course] knows `name`, `time_zone`, `sprig_bushel`, `units`, `dates`, `clock`, `latitude`, `longitude` and `elevation`"
        ]
    );
}

#[test]
fn an_unknown_key_that_another_table_knows_is_sent_there() {
    assert_eq!(
        told(&with("open_by = 2027-08-14")),
        [
            "line 4, open_by: unknown key `open_by` in [course]; `open_by` belongs below [goal]: move the line there"
        ]
    );
    assert_eq!(
        told(&format!("latitude = 36.1\n{LEAST}{GREEN}")),
        [
            "line 1, latitude: unknown key `latitude` in the course file; `latitude` belongs below [course]: move the line there"
        ]
    );
}

#[test]
fn an_unknown_table_names_the_nearest_known_one_and_its_contents_are_not_missed() {
    assert_eq!(
        told(&format!(
            "{LEAST}[[greens]]\nid = \"G1\"\nplanted = 2027-05-18\n"
        )),
        ["line 4, greens: unknown key `greens` in the course file; write [[green]]"]
    );
    assert_eq!(
        told(&format!("{LEAST}[goals]\n{GREEN}")),
        ["line 4, goals: unknown key `goals` in the course file; write [goal]"]
    );
}

#[test]
fn an_unknown_time_zone_names_the_nearest_known_one() {
    let zone = |zone: &str| {
        told(&format!(
            "[course]\nname = \"X\"\ntime_zone = \"{zone}\"\n{GREEN}"
        ))
    };
    assert_eq!(
        zone("America/NewYork"),
        [
            "line 3, \"America/NewYork\": there is no time zone `America/NewYork`; did you mean time_zone = \"America/New_York\"?"
        ]
    );
    assert_eq!(
        zone("somewhere"),
        [
            "line 3, \"somewhere\": there is no time zone `somewhere`; write a region and a city of the time zone database, such as time_zone = \"America/New_York\""
        ]
    );
}

#[test]
fn a_file_without_time_zone_is_read_by_utc_and_says_so() {
    let course = good(&format!("[course]\nname = \"X\"\n{GREEN}"));
    assert_eq!(course.time_zone, jiff::tz::TimeZone::UTC);
    assert_eq!(
        course.notes,
        [
            "course.toml line 1: no time zone is given, so that days begin and end by UTC where a photo does not say its own offset; add time_zone = \"America/New_York\" (or your own) below [course]"
        ]
    );
}

#[test]
fn a_zone_that_is_hardly_meant_is_noted() {
    let notes = |lines: &str| good(&format!("[course]\nname = \"X\"\n{lines}\n{GREEN}")).notes;
    assert_eq!(
        notes("time_zone = \"EST\""),
        [
            "course.toml line 3: the zone EST has no summer time; if your clocks change, write time_zone = \"America/New_York\""
        ]
    );
    assert_eq!(
        notes("time_zone = \"America/New_York\"\nlatitude = 36.1\nlongitude = 79.4"),
        [
            "course.toml line 3: longitude 79.4 is far from the time zone America/New_York; degrees west of Greenwich are negative"
        ]
    );
    assert_eq!(
        notes("time_zone = \"America/New_York\"\nlatitude = 36.1\nlongitude = -79.4"),
        Vec::<String>::new()
    );
    // Across the date line they are neighbours.
    assert_eq!(
        notes("time_zone = \"Pacific/Auckland\"\nlatitude = -36.8\nlongitude = -176.5"),
        Vec::<String>::new()
    );
}

#[test]
fn latitude_and_longitude_stand_together_and_in_range() {
    assert_eq!(
        told(&with("latitude = 91.5\nlongitude = -180.1")),
        [
            "line 4, 91.5: `latitude` is 91.5, outside −90 to 90 degrees; write degrees and decimals, north and east positive, such as latitude = 36.1",
            "line 5, -180.1: `longitude` is -180.1, outside −180 to 180 degrees; write degrees and decimals, north and east positive, such as longitude = -79.4",
        ]
    );
    assert_eq!(
        told(&with("latitude = 36.1")),
        [
            "line 4, 36.1: a place needs both latitude and longitude: there is no `longitude`; add longitude = … in degrees below [course], or take this line away"
        ]
    );
    assert_eq!(
        told(&with("longitude = 36.1")),
        [
            "line 4, 36.1: a place needs both latitude and longitude: there is no `latitude`; add latitude = … in degrees below [course], or take this line away"
        ]
    );
    for not_finite in ["nan", "inf", "1e400"] {
        let faults = told(&with(&format!("latitude = {not_finite}\nlongitude = 1")));
        assert_eq!(
            faults,
            [format!(
                "line 4, {not_finite}: `latitude` must be a number, without quotes; write latitude = 36.1"
            )]
        );
    }
}

#[test]
fn the_order_of_dates_and_the_clock_are_asked_for() {
    let style = |lines: &str| good(&with(lines)).dates;
    let day_first = DateStyle {
        order: DayOrder::DayMonth,
        clock: ClockFace::TwentyFourHours,
    };
    assert_eq!(style("units = \"us\""), DateStyle::default());
    // Metres go with a day of 24 hours; the order of dates is never taken for granted.
    assert_eq!(
        style("units = \"metric\""),
        DateStyle {
            order: DayOrder::MonthDay,
            ..day_first
        }
    );
    assert_eq!(
        style("dates = \"Day-Month\"\nclock = \"24 hours\""),
        day_first
    );
    assert_eq!(
        told(&with("dates = \"day moth\"")),
        ["line 4, \"day moth\": dates cannot be `day moth`; did you mean dates = \"day month\"?"]
    );
    assert_eq!(
        told(&with("clock = \"noon\"")),
        [
            "line 4, \"noon\": clock cannot be `noon`; write clock = \"12 hours\" or clock = \"24 hours\""
        ]
    );
}

#[test]
fn unknown_units_name_the_known_ones() {
    assert_eq!(
        told(&with("units = \"metrics\"")),
        ["line 4, \"metrics\": there are no units `metrics`; did you mean units = \"metric\"?"]
    );
    assert_eq!(
        told(&with("units = \"furlongs\"")),
        [
            "line 4, \"furlongs\": there are no units `furlongs`; write units = \"us\" or units = \"metric\""
        ]
    );
}

#[test]
fn a_bushel_is_the_us_one_or_a_volume() {
    let bushel = |text: &str| good(&with(&format!("sprig_bushel = \"{text}\""))).bushel;
    assert_eq!(bushel("US"), Some(Bushel::US));
    let foot = 0.3048_f64.powi(3);
    let volume = bushel("0.4 ft3").expect("defined").cubic_metres;
    assert!((volume - 0.4 * foot).abs() < 1e-15);
    let volume = bushel("55 L").expect("defined").cubic_metres;
    assert!((volume - 0.055).abs() < 1e-15);
}

#[test]
fn a_bad_bushel_is_told_what_would_do() {
    let bushel = |value: &str| {
        let faults = told(&with(&format!("sprig_bushel = {value}")));
        assert_eq!(faults.len(), 1, "{faults:?}");
        faults[0].clone()
    };
    assert_eq!(
        bushel("\"imperial\""),
        "line 4, \"imperial\": there is no bushel `imperial`; write sprig_bushel = \"us\" (1.2445 ft³) or a volume such as \"0.4 ft3\" or \"55 L\""
    );
    assert_eq!(
        bushel("\"0.4\""),
        "line 4, \"0.4\": the volume of the sprig bushel cannot be read; `0.4` has no unit; write \"0.4 ft3\" (units: ft3, yd3, in3, L, m3)"
    );
    assert_eq!(
        bushel("\"0.4 ft\""),
        "line 4, \"0.4 ft\": the volume of the sprig bushel cannot be read; `ft` is not a known unit here; write one of ft3, yd3, in3, L, m3, such as \"0.4 ft3\""
    );
    assert_eq!(
        bushel("\"40 ft3\""),
        "line 4, \"40 ft3\": no bushel of sprigs is `40 ft3`: they run from 0.32 to 1.2445 ft³; write sprig_bushel = \"us\" (1.2445 ft³) or a volume such as \"0.4 ft3\" or \"55 L\""
    );
    assert_eq!(
        bushel("0.4"),
        "line 4, 0.4: `sprig_bushel` must be text in quotes, with its unit; write sprig_bushel = \"0.4 ft3\""
    );
}

#[test]
fn a_file_without_greens_is_told_what_to_add() {
    assert_eq!(
        told(LEAST),
        [
            "line 1, [course]: the file has no greens; add [[green]] with id = \"G07\" and planted = 2027-05-18 below it, once for each green"
        ]
    );
    assert!(parse(&format!("green = []\n{LEAST}")).is_err());
}
