use super::{GREEN, LEAST, good, told};
use crate::course::{GreenId, Species};

/// A course with one green that has these lines besides its id; they begin on line 6.
fn green(lines: &str) -> String {
    format!("{LEAST}[[green]]\nid = \"G07\"\n{lines}\n")
}

/// The same with a planting date on line 6; the lines begin on line 7.
fn planted(lines: &str) -> String {
    green(&format!("planted = 2027-05-18\n{lines}"))
}

fn only(text: &str) -> String {
    let faults = told(text);
    assert_eq!(faults.len(), 1, "{faults:#?}");
    faults[0].clone()
}

#[test]
fn a_green_is_read_with_all_that_it_says() {
    let course = good(
        "[course]\nname = \"X\"\ntime_zone = \"UTC\"\nsprig_bushel = \"us\"\n[[green]]\nid = \"G07\"\nname = \"7\"\nplanted = \"2027-05-18\"\nspecies = \"Ultradwarf bermudagrass\"\nsprig_rate = \"1,200 bu/ac\"\narea = \"6100 ft2\"\nblock = 2\n[green.factors]\ntopdressing = \"weekly\"\nnitrogen = 0.5\n",
    );
    let green = course.green(&GreenId::new("g07").unwrap()).unwrap();
    assert_eq!(green.name, "7");
    assert_eq!(green.planted, jiff::civil::date(2027, 5, 18));
    assert_eq!(green.species, Some(Species::Bermudagrass));
    assert_eq!(green.sprig_rate_text.as_deref(), Some("1,200 bu/ac"));
    let rate = green.sprig_rate.unwrap().cubic_metres_per_hectare;
    assert!((rate - 104.493).abs() < 1e-3, "{rate}");
    assert!((green.area.unwrap().0 - 566.7085).abs() < 1e-3);
    assert_eq!(green.block.as_deref(), Some("2"));
    let factors: Vec<(&str, &str)> = green
        .factors
        .iter()
        .map(|(name, level)| (name.as_str(), level.as_str()))
        .collect();
    assert_eq!(factors, [("nitrogen", "0.5"), ("topdressing", "weekly")]);
    assert_eq!(
        &course.source.text()[green.planted_at.clone()],
        "\"2027-05-18\""
    );
}

#[test]
fn a_green_without_id_or_planting_date_is_told_what_to_add() {
    assert_eq!(
        told(&format!("{LEAST}[[green]]\nname = \"7\"\n")),
        [
            "line 4, [[green]]: this green has no id; add id = \"G07\", as the green is called in folder and photo names",
            "line 4, [[green]]: green `?` has no planting date; add planted = 2027-05-18, with the day on which its sprigs were planted; a green that is not renovated does not belong into the file",
        ]
    );
    assert_eq!(
        only(&green("")),
        "line 4, [[green]]: green `G07` has no planting date; add planted = 2027-05-18, with the day on which its sprigs were planted; a green that is not renovated does not belong into the file"
    );
}

#[test]
fn greens_that_are_not_renovated_are_told_once_with_a_date_of_this_season() {
    let dated = "[[green]]\nid = \"G03\"\nplanted = 2026-05-20\n";
    let without = |ids: std::ops::Range<u32>| {
        let tables = ids.map(|id| format!("[[green]]\nid = \"G{id}\"\n"));
        tables.collect::<String>()
    };
    assert_eq!(
        only(&format!("{LEAST}{dated}{}", without(10..20))),
        "line 7, [[green]]: 10 greens have no planting date: G10, G11, G12, G13, G14, G15, G16, G17 and 2 more; take greens that are not renovated out of the file; to the others add planted = 2026-05-20, with the day on which the sprigs of each were planted"
    );
    let one = only(&format!("{LEAST}{dated}{}", without(10..11)));
    assert!(one.contains("add planted = 2026-05-20"), "{one}");
}

#[test]
fn a_misspelt_key_is_not_missed_as_well() {
    assert_eq!(
        only(&green("plantd = 2027-05-18")),
        "line 6, plantd: unknown key `plantd` in [[green]]; did you mean `planted`?"
    );
}

#[test]
fn an_id_that_names_no_folder_is_told() {
    let id = |id: &str| {
        only(&format!(
            "{LEAST}[[green]]\nid = {id}\nplanted = 2027-05-18\n"
        ))
    };
    let help =
        "write an id of letters, digits and `-`, such as id = \"G07\": it names folders and photos";
    for (written, c) in [
        ("'G/7'", '/'),
        ("'G\\7'", '\\'),
        ("'G:7'", ':'),
        ("'G7?'", '?'),
    ] {
        assert_eq!(
            id(written),
            format!(
                "line 5, {written}: the id of a green holds `{c}`, which no folder name can have; {help}"
            )
        );
    }
    assert_eq!(
        id("\" \""),
        format!("line 5, \" \": the id of a green is empty; {help}")
    );
    assert_eq!(
        id("\"G\\n7\""),
        format!(
            "line 5, \"G\\n7\": the id of a green holds a line break or another control character; {help}"
        )
    );
    assert_eq!(
        id("\"G\u{202e}7\""),
        format!(
            "line 5, \"G\u{202e}7\": the id of a green holds a line break or another control character; {help}"
        )
    );
    for c in ["=", "+", "-", "@"] {
        let written = format!("\"{c}7\"");
        assert_eq!(
            id(&written),
            format!(
                "line 5, {written}: the id of a green begins with `{c}`, which makes it a formula in a spreadsheet; {help}"
            )
        );
    }
    assert_eq!(
        id("\"--\""),
        format!("line 5, \"--\": the id of a green has neither a letter nor a digit; {help}")
    );
    assert_eq!(
        id("\"G7.\""),
        format!(
            "line 5, \"G7.\": the id of a green begins or ends with a point, which makes a bad folder name; {help}"
        )
    );
    assert_eq!(
        id("7"),
        "line 5, 7: `id` must be text in quotes; write id = \"7\""
    );
}

#[test]
fn two_greens_of_one_id_are_told() {
    assert_eq!(
        only(&format!(
            "{LEAST}{GREEN}[[green]]\nid = \"g1\"\nplanted = 2027-05-18\n"
        )),
        "line 8, \"g1\": two greens are called `G1`; give one of them another id; capital and small letters count as the same"
    );
    assert_eq!(
        only(&format!(
            "{LEAST}{GREEN}[[green]]\nid = \"G01\"\nplanted = 2027-05-18\n"
        )),
        "line 8, \"G01\": `G1` and `G01` cannot be told apart in the names of folders and photos; give one of them another id; only its letters and numbers count, not capitals, leading zeros or signs"
    );
}

#[test]
fn bad_dates_are_told_with_the_date_that_was_meant() {
    for (written, what, help) in [
        (
            "2027-02-30",
            "there is no day 30 in February 2027, which has 28 days",
            "write year-month-day, such as planted = 2027-05-18",
        ),
        (
            "\"18/05/2027\"",
            "`18/05/2027` is not a date written as year-month-day",
            "write planted = 2027-05-18",
        ),
        (
            "18/05/2027",
            "`18/05/2027` is not a date written as year-month-day",
            "write planted = 2027-05-18",
        ),
        (
            "\"5/6/2027\"",
            "`5/6/2027` is not a date written as year-month-day",
            "write planted = 2027-05-06 or planted = 2027-06-05",
        ),
        (
            "2027-5-18",
            "`2027-5-18` is not a date written as year-month-day",
            "write planted = 2027-05-18",
        ),
        (
            "\"last week\"",
            "`last week` is not a date written as year-month-day",
            "write year-month-day, such as planted = 2027-05-18",
        ),
        (
            "20271805",
            "`20271805` is not a date written as year-month-day",
            "write year-month-day, such as planted = 2027-05-18",
        ),
        (
            "0227-05-18",
            "the year 227 is no year of a season",
            "write year-month-day, such as planted = 2027-05-18",
        ),
        (
            "07:30:00",
            "`07:30:00` is not a date written as year-month-day",
            "write year-month-day, such as planted = 2027-05-18",
        ),
    ] {
        assert_eq!(
            only(&green(&format!("planted = {written}"))),
            format!("line 6, {written}: {what}; {help}")
        );
    }
}

#[test]
fn a_rate_is_told_which_unit_it_lacks() {
    let rate = |rate: &str| only(&planted(&format!("sprig_rate = {rate}")));
    let units = "bu/ac, bu/1000ft2, ft3/1000ft2, yd3/ac, m3/ha, L/m2";
    assert_eq!(
        rate("\"1200\""),
        format!(
            "line 7, \"1200\": the sprig rate of green `G07` cannot be read; `1200` has no unit; write \"1200 bu/ac\" (units: {units})"
        )
    );
    assert_eq!(
        rate("1200"),
        "line 7, 1200: `sprig_rate` must be text in quotes, with its unit; write sprig_rate = \"1200 bu/ac\""
    );
    assert_eq!(
        rate("\"1200 lb/ac\""),
        format!(
            "line 7, \"1200 lb/ac\": the sprig rate of green `G07` cannot be read; `lb/ac` is not a known unit here; write one of {units}, such as \"1200 bu/ac\""
        )
    );
    assert_eq!(
        rate("\"plenty\""),
        "line 7, \"plenty\": the sprig rate of green `G07` cannot be read; `plenty` does not begin with a number; write a number and its unit, such as \"1200 bu/ac\""
    );
    assert_eq!(
        rate("\"-3 m3/ha\""),
        "line 7, \"-3 m3/ha\": the sprig rate of green `G07` cannot be read; `-3 m3/ha` is not greater than 0 and finite; write a number such as \"1200 bu/ac\""
    );
    assert_eq!(
        rate("\"0,5 L/m2\""),
        "line 7, \"0,5 L/m2\": the sprig rate of green `G07` cannot be read; `0,5` can be read in two ways; write a point for decimals and no comma, such as \"1200 bu/ac\""
    );
}

#[test]
fn a_rate_in_bushels_needs_to_know_which_bushel() {
    assert_eq!(
        only(&planted("sprig_rate = \"1200 bu/ac\"")),
        "line 7, \"1200 bu/ac\": the sprig rate of green `G07` is in bushels, and the file does not say how much a bushel is; bushels of sprigs run from 0.32 to 1.2445 ft³; add sprig_bushel = \"us\" (1.2445 ft³) or a volume such as \"0.4 ft3\" below line 1"
    );
    let two = format!(
        "{}[[green]]\nid = \"G08\"\nplanted = 2027-05-18\nsprig_rate = \"30 bu/1000ft2\"\n",
        planted("sprig_rate = \"1200 bu/ac\"")
    );
    assert!(only(&two).contains("green `G07` (and that of 1 other) is in bushels"));
    // A bushel that is written, but badly, is told once.
    let text = two.replace("time_zone", "sprig_bushel = \"imperial\"\ntime_zone");
    assert!(only(&text).contains("there is no bushel `imperial`"));
}

#[test]
fn rates_in_several_units_are_converted_and_said_to_be() {
    let course = good(&format!(
        "[course]\nname = \"X\"\nsprig_bushel = \"us\"\ntime_zone = \"UTC\"\n[[green]]\nid = \"A\"\nplanted = 2027-05-18\nsprig_rate = \"1045 bu/ac\"\n[[green]]\nid = \"B\"\nplanted = 2027-05-18\nsprig_rate = \"91 m3/ha\"\n{GREEN}"
    ));
    let rates: Vec<f64> = course
        .greens
        .iter()
        .filter_map(|green| Some(green.sprig_rate?.cubic_metres_per_hectare))
        .collect();
    // HortScience 44(6), 2009: 91 m³/ha are 1,045 US bu/ac.
    assert!((rates[0] - rates[1]).abs() < 0.05, "{rates:?}");
    assert_eq!(
        course.notes,
        [
            "course.toml line 8: sprig rates are written in bu/ac and m3/ha; they are compared as m³/ha"
        ]
    );
}

#[test]
fn a_rate_far_from_any_plan_is_noted() {
    let notes = |rate: &str| {
        good(
            &planted(&format!("sprig_rate = \"{rate}\""))
                .replace("time_zone", "sprig_bushel = \"us\"\ntime_zone"),
        )
        .notes
    };
    assert_eq!(
        notes("1200 bu/1000ft2"),
        [
            "course.toml line 8: the sprig rate of green `G07`, 1200 bu/1000ft2, is 4,552 m³/ha, where 17 to 182 is usual; is the unit right?"
        ]
    );
    assert_eq!(notes("200 bu/ac"), Vec::<String>::new());
    assert_eq!(notes("40 bu/1000ft2"), Vec::<String>::new());
}

#[test]
fn a_bad_area_is_told_which_units_would_do() {
    let area = |area: &str| only(&planted(&format!("area = {area}")));
    assert_eq!(
        area("\"6100 ft\""),
        "line 7, \"6100 ft\": the area of green `G07` cannot be read; `ft` is not a known unit here; write one of ft2, 1000ft2, yd2, ac, m2, ha, such as \"6100 ft2\""
    );
    assert_eq!(
        area("6100"),
        "line 7, 6100: `area` must be text in quotes, with its unit; write area = \"6100 ft2\""
    );
    assert!(area("\"0 m2\"").contains("is not greater than 0"));
}

#[test]
fn species_are_known_by_many_names_and_a_slip_is_noted() {
    let species = |text: &str| {
        let course = good(&planted(&format!("species = \"{text}\"")));
        (course.greens[0].species.clone(), course.notes)
    };
    for zoysia in ["zoysiagrass", "Zoysia", "manila zoysia"] {
        assert_eq!(
            species(zoysia),
            (Some(Species::Zoysiagrass), vec![]),
            "{zoysia}"
        );
    }
    for bermuda in [
        "bermudagrass",
        "bermuda",
        "hybrid bermudagrass",
        "ultradwarf bermudagrass",
        "Ultradwarf",
    ] {
        assert_eq!(
            species(bermuda),
            (Some(Species::Bermudagrass), vec![]),
            "{bermuda}"
        );
    }
    let other = Some(Species::Other("seashore paspalum".to_owned()));
    assert_eq!(
        species("seashore paspalum"),
        (
            other,
            vec!["course.toml line 7: the pace of species `seashore paspalum` is not known (zoysiagrass and bermudagrass are known): until photos tell, its greens are expected to be full in 6 to 12 weeks, as warm-season grass from sprigs".to_owned()]
        )
    );
    let two = planted("species = \"bentgrass\"")
        + "[[green]]\nid = \"G2\"\nplanted = 2027-05-18\nspecies = \"bentgrass\"\n";
    assert_eq!(good(&two).notes.len(), 1);
    assert_eq!(
        species("bermdagrass").1,
        [
            "course.toml line 7: species `bermdagrass` is taken as it stands, and its pace is not known; if bermudagrass is meant, write species = \"bermudagrass\""
        ]
    );
    assert_eq!(
        only(&planted("species = \"\"")),
        "line 7, \"\": the species is empty; write species = \"zoysiagrass\", \"bermudagrass\" or another name, or take this line away"
    );
}

#[test]
fn factors_are_names_with_levels_spelt_alike_everywhere() {
    assert_eq!(
        only(&planted("factors = \"weekly\"")),
        "line 7, \"weekly\": `factors` must be a table of names and levels; write factors = { topdressing = \"weekly\" }"
    );
    assert_eq!(
        told(&planted("factors = { a = [1], b = \"\" }")),
        [
            "line 7, [1]: the level of `a` must be a word or a number; write a = \"…\"",
            "line 7, \"\": a factor or its level is empty; write a word, or take this line away",
        ]
    );
    let second = "[[green]]\nid = \"G08\"\nplanted = 2027-05-18\n";
    assert_eq!(
        only(&format!(
            "{}{second}factors = {{ a = \"Weekly\" }}\n",
            planted("factors = { a = \"weekly\" }")
        )),
        "line 11, \"Weekly\": `weekly` and `Weekly` would be compared as if they were two things; write `weekly` everywhere, or give one of them another name"
    );
    assert_eq!(
        only(&format!(
            "{}{second}factors = {{ Mow = 2 }}\n",
            planted("factors = { mow = 1 }")
        )),
        "line 11, Mow: `mow` and `Mow` would be compared as if they were two things; write `mow` everywhere, or give one of them another name"
    );
    assert_eq!(
        only(&format!(
            "{}{second}block = \"Front\"\n",
            planted("block = \"front\"")
        )),
        "line 11, \"Front\": `front` and `Front` would be compared as if they were two things; write `front` everywhere, or give one of them another name"
    );
}

#[test]
fn one_bracket_too_few_or_too_many_is_told() {
    assert_eq!(
        only(&format!(
            "{LEAST}[green]\nid = \"G1\"\nplanted = 2027-05-18\n"
        )),
        "line 4, [green]: there can be several: [green] is one; write [[green]] with two brackets on each side"
    );
    assert_eq!(
        only(&format!("{LEAST}[[goal]]\nfull_cover = 90\n{GREEN}")),
        "line 4, [[goal]]: [goal] stands in a list; write [goal] once, with one bracket on each side"
    );
}

#[test]
fn a_planting_of_another_year_is_told_with_the_day_that_is_meant() {
    let three = |other: &str| {
        format!(
            "{LEAST}{GREEN}[[green]]\nid = \"G2\"\nplanted = {other}\n[[green]]\nid = \"G3\"\nplanted = 2027-06-03\n"
        )
    };
    assert_eq!(
        only(&three("2072-05-17")),
        "line 9, 2072-05-17: green `G2` is planted 16420 days after the others; write planted = 2027-05-17 if that is meant; greens of another year go into a season folder of their own"
    );
    assert!(only(&three("2026-05-17")).contains("is planted 366 days before the others"));
    assert_eq!(good(&three("2027-10-01")).greens.len(), 3);
    // Leap days have no day that is meant.
    assert!(only(&three("2024-02-29")).contains("write the day on which its sprigs were planted;"));
}

#[test]
fn of_two_greens_of_different_years_neither_is_accused() {
    for (one, other) in [("2017-05-18", "2027-05-18"), ("2027-05-18", "2017-05-18")] {
        let text = format!(
            "{LEAST}[[green]]\nid = \"G1\"\nplanted = {one}\n[[green]]\nid = \"G2\"\nplanted = {other}\n"
        );
        let told = only(&text);
        assert!(
            told.contains("2017-05-18: greens `G") && told.contains("are planted 3652 days apart"),
            "{told}"
        );
    }
}
