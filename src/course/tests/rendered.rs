use super::{GREEN, LEAST, good, parse, rendered};

#[test]
fn a_fault_is_shown_with_its_line_and_a_caret() {
    let error = parse(&format!("{LEAST}[goal]\nfull_cover = 0.95\n{GREEN}")).unwrap_err();
    insta::assert_snapshot!(rendered(&error), @r#"
     × course.toml line 5: a green with 0.95 percent cover is not full
      ╭─[course.toml:5:14]
    4 │ [goal]
    5 │ full_cover = 0.95
      ·              ──┬─
      ·                ╰── a fraction?
    6 │ [[green]]
      ╰────
     help: the goal is in percent: write full_cover = 95.0
    "#);
}

#[test]
fn two_greens_of_one_id_are_both_shown() {
    let many = (2..30).map(|n| format!("[[green]]\nid = \"G{n}\"\nplanted = 2027-05-18\n"));
    let text = format!("{LEAST}{GREEN}{}{GREEN}", many.collect::<String>());
    insta::assert_snapshot!(rendered(&parse(&text).unwrap_err()), @r#"
     × course.toml line 92: two greens are called `G1`
      ╭─[course.toml:5:6]
    4 │ [[green]]
    5 │ id = "G1"
      ·      ──┬─
      ·        ╰── first here
    6 │ planted = 2027-05-18
      ╰────
       ╭─[course.toml:92:6]
    91 │ [[green]]
    92 │ id = "G1"
       ·      ──┬─
       ·        ╰── again here
    93 │ planted = 2027-05-18
       ╰────
     help: give one of them another id; capital and small letters count as the same
    "#);
}

#[test]
fn a_rate_in_bushels_shows_its_own_line_and_the_line_to_add() {
    let text = format!("{LEAST}\n\n\n{GREEN}sprig_rate = \"1200 bu/ac\"\n");
    insta::assert_snapshot!(rendered(&parse(&text).unwrap_err()), @r#"
     × course.toml line 10: the sprig rate of green `G1` is in bushels, and the file does
     │ not say how much a bushel is
      ╭─[course.toml:1:1]
    1 │ [course]
      · ────┬───
      ·     ╰── add sprig_bushel = "us" below
    2 │ name = "X"
      ╰────
       ╭─[course.toml:10:14]
     9 │ planted = 2027-05-18
    10 │ sprig_rate = "1200 bu/ac"
       ·              ──────┬─────
       ·                    ╰── `1200 bu/ac`: which bushel?
       ╰────
     help: bushels of sprigs run from 0.32 to 1.2445 ft³; add sprig_bushel = "us" (1.2445
           ft³) or a volume such as "0.4 ft3" below line 1
    "#);
}

#[test]
fn several_faults_are_shown_one_below_the_other() {
    let error = parse("[course]\nname = \"X\"\n[[green]]\nplantd = 18/05/2027\n").unwrap_err();
    insta::assert_snapshot!(rendered(&error), @r#"
      × course.toml has 2 faults

    Error:
      × course.toml line 3: this green has no id
       ╭─[course.toml:3:1]
     2 │ name = "X"
     3 │ [[green]]
       · ────┬────
       ·     ╰── no `id` below
     4 │ plantd = 18/05/2027
       ╰────
      help: add id = "G07", as the green is called in folder and photo names

    Error:
      × course.toml line 4: unknown key `plantd` in [[green]]
       ╭─[course.toml:4:1]
     3 │ [[green]]
     4 │ plantd = 18/05/2027
       · ───┬──
       ·    ╰── unknown
       ╰────
      help: did you mean `planted`?
    "#);
}

#[test]
fn a_green_planted_after_its_first_photo_is_shown_as_a_warning() {
    let course = good(&format!("{LEAST}{GREEN}"));
    let warning = course.planted_after_photo(
        &course.greens[0],
        "G1/IMG_2041.jpg",
        jiff::civil::date(2027, 5, 11),
    );
    assert_eq!(warning.line(), 6);
    insta::assert_snapshot!(rendered(&warning), @r#"
     ⚠ course.toml line 6: green `G1` is planted on 2027-05-18, after its first photo of
     │ 2027-05-11
      ╭─[course.toml:6:11]
    5 │ id = "G1"
    6 │ planted = 2027-05-18
      ·           ─────┬────
      ·                ╰── planted after the photo
      ╰────
     help: write the day of planting if it was 2027-05-11 or earlier; else G1/IMG_2041.jpg
           shows bare ground, another green, or has a wrong date
    "#);
}

#[test]
fn an_empty_file_is_shown_without_lines() {
    insta::assert_snapshot!(rendered(&parse("").unwrap_err()), @r#"
    × course.toml is empty
    help: it needs at least [course] with a name and one [[green]] with id and planted;
          `sprigcast new DIR` makes one to fill in
    "#);
}
