use super::{GREEN, LEAST, good, told};
use crate::course::{CoverLimits, Evidence};

/// A course with these lines; they begin on line 4.
fn with(lines: &str) -> String {
    format!("{LEAST}{lines}\n{GREEN}")
}

#[test]
fn every_kind_of_evidence_is_known_in_the_order_written() {
    let course = good(&with("[photos]\nassign = [\"name\", \"Folder\"]"));
    assert_eq!(course.photos.assign, [Evidence::Name, Evidence::Folder]);
}

#[test]
fn unknown_doubled_and_missing_evidence_is_told() {
    assert_eq!(
        told(&with(
            "[photos]\nassign = [\"foldr\", \"gut feeling\", \"name\", \"name\"]"
        )),
        [
            "line 5, \"foldr\": `foldr` cannot tell the green of a photo; did you mean `folder`?",
            "line 5, \"gut feeling\": `gut feeling` cannot tell the green of a photo; what can tell the green of a photo: `slate`, `folder`, `name` and `place`",
            "line 5, \"name\": `name` stands twice in `assign`; name each kind of evidence once, the strongest first",
        ]
    );
    assert_eq!(
        told(&with("[photos]\nassign = []")),
        [
            "line 5, []: nothing is allowed to tell the green of a photo; name at least one of `slate`, `folder`, `name` and `place`"
        ]
    );
    assert_eq!(
        told(&with("[photos]\nassign = \"folder\"")),
        [
            "line 5, \"folder\": `assign` must be a list of words; write assign = [\"slate\", \"folder\", \"name\", \"place\"]"
        ]
    );
}

#[test]
fn a_folder_or_file_without_name_is_told() {
    assert_eq!(
        told(&with("[photos]\nfolder = \"\"\n[weather]\nfile = \" \"")),
        [
            "line 5, \"\": `folder` names nothing; write folder = \"photos\"; it is looked for in the season folder",
            "line 7, \" \": `file` names nothing; write file = \"weather.csv\"; it is looked for in the season folder",
        ]
    );
}

#[test]
fn hue_and_saturation_are_fixed_together_or_not_at_all() {
    let course = good(&with("[cover]\nhue = [45, 120]\nsaturation = [10.0, 100]"));
    assert_eq!(course.cover, Some(CoverLimits::PUBLISHED));
    assert_eq!(good(&with("[cover]")).cover, None);
    assert_eq!(
        told(&with("[cover]\nhue = [45, 120]")),
        [
            "line 5, [45, 120]: `hue` is fixed without `saturation`; add saturation = [10.0, 100.0], or take this line away and both are fitted to the season's photos"
        ]
    );
    assert_eq!(
        told(&with("[cover]\nsaturation = [10, 100]")),
        [
            "line 5, [10, 100]: `saturation` is fixed without `hue`; add hue = [45.0, 120.0], or take this line away and both are fitted to the season's photos"
        ]
    );
}

/// What is told of these hue limits.
fn hue(limits: &str) -> String {
    let faults = told(&with(&format!(
        "[cover]\nhue = {limits}\nsaturation = [10, 100]"
    )));
    assert_eq!(faults.len(), 1, "{faults:?}");
    faults[0].clone()
}

#[test]
fn hue_limits_are_in_order_in_range_and_less_than_half_the_circle_apart() {
    assert_eq!(
        hue("[120, 45]"),
        "line 5, [120, 45]: the hue limits 120 and 45 are reversed; write hue = [45.0, 120.0]"
    );
    assert_eq!(
        hue("[-10, 120]"),
        "line 5, [-10, 120]: hue from -10 to 120 leaves the circle of 0 to 360 degrees; write two degrees of the colour circle, such as hue = [45.0, 120.0]"
    );
    assert_eq!(
        hue("[45, 225]"),
        "line 5, [45, 225]: hue from 45 to 225 is 180 degrees wide; write two degrees of the colour circle, such as hue = [45.0, 120.0]: at least 1 and less than 180 degrees wide"
    );
    assert!(hue("[0, 360]").contains("is 360 degrees wide"));
    assert!(hue("[60, 60.5]").contains("is 0.5 degrees wide"));
    assert_eq!(
        hue("[45]"),
        "line 5, [45]: `hue` must be two numbers in brackets; write hue = [45.0, 120.0]"
    );
    assert_eq!(
        hue("[45, \"120\"]"),
        "line 5, [45, \"120\"]: `hue` must be two numbers in brackets; write hue = [45.0, 120.0]"
    );
}

#[test]
fn whatever_limits_pass_here_make_a_window_of_the_cover_room() {
    use crate::cover::Window;
    let edges = [
        0.0, 0.4, 30.0, 45.0, 120.0, 179.9, 180.0, 230.0, 350.0, 360.0,
    ];
    for from in edges {
        for to in edges {
            let text = with(&format!(
                "[cover]\nhue = [{from:?}, {to:?}]\nsaturation = [10, 100]"
            ));
            let limits = CoverLimits {
                hue: [from, to],
                saturation: [10.0, 100.0],
            };
            let is_window = Window::new(&limits).is_ok();
            assert_eq!(super::parse(&text).is_ok(), is_window, "{from} to {to}");
        }
    }
}

#[test]
fn saturation_limits_are_percentages_in_order() {
    let saturation = |limits: &str| {
        let faults = told(&with(&format!(
            "[cover]\nhue = [45, 120]\nsaturation = {limits}"
        )));
        assert_eq!(faults.len(), 1, "{faults:?}");
        faults[0].clone()
    };
    assert_eq!(
        saturation("[100, 10]"),
        "line 6, [100, 10]: the saturation limits 100 and 10 are reversed; write saturation = [10.0, 100.0]"
    );
    assert_eq!(
        saturation("[10, 101]"),
        "line 6, [10, 101]: saturation from 10 to 101 leaves 0 to 100 percent; write two percentages, such as saturation = [10.0, 100.0]"
    );
    assert_eq!(
        saturation("[20, 20]"),
        "line 6, [20, 20]: saturation from 20 to 20 leaves no colours; write two percentages, such as saturation = [10.0, 100.0]"
    );
    assert_eq!(
        saturation("[0.1, 1]"),
        "line 6, [0.1, 1]: saturation from 0.1 to 1 percent leaves hardly a colour; limits are in percent: write saturation = [10.0, 100.0]"
    );
}

#[test]
fn the_goal_is_a_percentage_above_zero() {
    let goal = |percent: &str| {
        let faults = told(&with(&format!("[goal]\nfull_cover = {percent}")));
        assert_eq!(faults.len(), 1, "{faults:?}");
        faults[0].clone()
    };
    for percent in ["0", "-5", "100.1"] {
        assert_eq!(
            goal(percent),
            format!(
                "line 5, {percent}: full cover of {percent} percent cannot be: more than 0, at most 100; write a percentage, such as full_cover = 95.0"
            )
        );
    }
    assert_eq!(
        goal("0.95"),
        "line 5, 0.95: a green with 0.95 percent cover is not full; the goal is in percent: write full_cover = 95.0"
    );
    assert_eq!(
        goal("\"95%\""),
        "line 5, \"95%\": `full_cover` must be a number alone; write full_cover = 95"
    );
    let course = good(&with("[goal]\nfull_cover = 100\nopen_by = \"2027-08-14\""));
    assert_eq!(course.goal.full_cover.percent(), 100.0);
    assert_eq!(course.goal.open_by, Some(jiff::civil::date(2027, 8, 14)));
}

#[test]
fn the_opening_comes_after_the_first_planting() {
    assert_eq!(
        told(&with("[goal]\nopen_by = 2026-08-14")),
        [
            "line 5, 2026-08-14: the opening date 2026-08-14 is not after the first planting; write the day on which the course is to open, after its greens are planted"
        ]
    );
}

#[test]
fn the_base_of_the_degree_days_lies_below_their_ceiling() {
    assert_eq!(
        told(&with("[weather]\nbase_c = 20\nceiling_c = 20")),
        [
            "line 5, 20: the base of the degree days, 20 °C, is not below their ceiling, 20 °C; write a base below the ceiling, such as base_c = 10.0 and ceiling_c = 32.0"
        ]
    );
    // Against the default of the other.
    assert_eq!(
        told(&with("[weather]\nceiling_c = 10")),
        [
            "line 5, 10: the base of the degree days, 10 °C, is not below their ceiling, 10 °C; write a base below the ceiling, such as base_c = 10.0 and ceiling_c = 32.0"
        ]
    );
}

#[test]
fn temperatures_in_fahrenheit_are_told_in_celsius() {
    assert_eq!(
        told(&with("[weather]\nbase_c = 50\nceiling_c = 86")),
        [
            "line 5, 50: `base_c` is 50 °C, which fits no grass; if 50 °F is meant, write base_c = 10.0",
            "line 6, 86: `ceiling_c` is 86 °C, which fits no grass; if 86 °F is meant, write ceiling_c = 30.0",
        ]
    );
    assert_eq!(
        told(&with("[weather]\nbase_c = 500")),
        [
            "line 5, 500: `base_c` is 500 °C, which fits no grass; write degrees Celsius from -10 to 30, such as base_c = 10.0"
        ]
    );
}

#[test]
fn mowing_begins_below_full_cover() {
    let mow_at = |written: &str| {
        let faults = told(&with(&format!(
            "[goal]\nfull_cover = 90\nmow_at = {written}"
        )));
        assert_eq!(faults.len(), 1, "{faults:?}");
        faults[0].clone()
    };
    assert_eq!(
        mow_at("0.7"),
        "line 6, 0.7: nobody mows a green with 0.7 percent cover; the cover is in percent: write mow_at = 70.0"
    );
    for percent in ["90", "120", "-5"] {
        assert!(mow_at(percent).contains("less than full cover (90 percent)"));
    }
    let course = good(&with("[goal]\nmow_at = 70"));
    assert_eq!(
        course.goal.mow_at.map(|cover| cover.percent().round()),
        Some(70.0)
    );
    assert_eq!(good(&with("")).goal.mow_at, None);
}

#[test]
fn results_are_no_photos() {
    for folder in ["out", "./out/visits", "photos/../out"] {
        let told = told(&with(&format!("[photos]\nfolder = \"{folder}\"")));
        assert!(told[0].contains("is where results are written"), "{told:?}");
    }
    let course = good(&with("[photos]\nfolder = \"outdoors\""));
    assert!(course.photos.folder.ends_with("outdoors"));
}
