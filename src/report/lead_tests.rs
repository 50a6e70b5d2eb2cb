//! The first screen of seasons of every kind.

use jiff::civil::date;

use super::*;
use crate::report::{AllFull, example};

fn plain(text: &str) -> String {
    let marks = ['\u{2068}', '\u{2069}'];
    text.replace(marks, "").replace('\u{a0}', " ")
}

fn headline(data: &ReportData) -> String {
    plain(&Lead::of(data).headline)
}

#[test]
fn the_first_screen_answers_when_whether_in_time_and_what_changed() {
    let lead = Lead::of(&example::season());
    assert_eq!(
        plain(&lead.headline),
        "The last green is expected to be full about Sep 2, most likely not before Aug 24."
    );
    assert_eq!(
        lead.sentences.iter().map(|s| plain(s)).collect::<Vec<_>>(),
        [
            "It is very unlikely that all of them are full by the opening on Aug 14 (3%). 13 of 18 \
             greens are full or on pace for it. Of one it is too early to say.",
            "In the last week the greens that are not yet full went up 13 points on average, Green 17 \
             (up 16) the most and Green 14 (unchanged) the least.",
        ]
    );
}

#[test]
fn each_state_of_the_whole_course_has_its_headline() {
    let mut season = example::season();
    season.all_full = None;
    assert_eq!(
        headline(&season),
        "No date can be given for Green 12 (season ends first) and Green 18 (too early), and so none for \
         all greens. The last of the others, Green 14, is expected to be full about Sep 9, most likely between Aug 28 \
         and Sep 30."
    );
    assert_eq!(
        plain(&Lead::of(&season).sentences[0]),
        "13 of 18 greens are full or on pace for the opening on Aug 14. Of one it is too early to say. \
         That every green is full by then is at best as likely as Green 18 alone: very unlikely (1%)."
    );
    let mut stopped = season.clone();
    stopped.greens[17].outlook.status = Status::Stalled;
    stopped.greens[17].outlook.chance_by_opening = None;
    let told = plain(&Lead::of(&stopped).sentences[0]);
    let end = "Whether every green is full by then cannot be told: Green 18 has stopped gaining.";
    assert!(told.ends_with(end), "{told}");
    season.all_full = Some(AllFull {
        date: None,
        early: None,
        late: None,
        chance_by_opening: None,
    });
    assert_eq!(
        headline(&season),
        "Not every green is expected to be full this season."
    );
    season.greens.truncate(4);
    assert_eq!(headline(&season), "All 4 greens are full.");
    season.greens.truncate(1);
    assert_eq!(headline(&season), "The green is full.");
    season.greens.clear();
    assert_eq!(headline(&season), "This course has no greens yet.");
}

#[test]
fn an_opening_that_has_passed_is_not_forecast() {
    let mut season = example::season();
    season.open_by = Some(date(2027, 7, 1));
    assert_eq!(
        plain(&Lead::of(&season).sentences[0]),
        "The opening on Jul 1 has passed; 4 of 18 greens are full."
    );
}

/// One green, about full by a curve whose day lies behind.
fn about_full() -> ReportData {
    let mut season = example::season();
    let mut green = season.greens.swap_remove(4);
    green.outlook.stage = Stage::AboutFull {
        by_curve: date(2027, 7, 5),
    };
    (green.outlook.date, green.outlook.early, green.outlook.late) = (None, None, None);
    season.greens = vec![green];
    season.all_full = None;
    season
}

#[test]
fn a_green_whose_day_lies_behind_is_about_full_and_not_expected() {
    let mut season = about_full();
    let told = headline(&season);
    assert!(told.starts_with("Green 5 is about full: "), "{told}");
    assert!(told.ends_with("% on Jul 6."), "{told}");
    let tally = Lead::of(&season).tally;
    let about_full = tally.iter().find(|one| one.words == "about full");
    assert_eq!(about_full.map(|one| one.n), Some(1));
    let of_green = plain(&season.greens[0].explanation(&season));
    assert!(
        of_green.contains("by its curve it reached 95% about Jul 5, its photos of Jul 6 show"),
        "{of_green}"
    );
    season.greens.push(example::season().greens.swap_remove(0));
    season.all_full = Some(AllFull {
        date: Some(date(2027, 7, 8)),
        early: None,
        late: Some(date(2027, 7, 12)),
        chance_by_opening: Some(0.99),
    });
    assert_eq!(headline(&season), "Every green is full or about full.");
}

#[test]
fn weeks_after_the_last_photo_their_age_is_told_and_no_last_week() {
    let mut season = example::season();
    season.as_of = date(2027, 8, 30);
    for green in &mut season.greens {
        green.photo_age_days = Some(55);
        green.gain_last_week = None;
    }
    assert_eq!(
        headline(&season),
        "The last photos are 55 days old, of Jul 6: whether every green is full now nobody has seen."
    );
    let lead = Lead::of(&season);
    assert_eq!(
        lead.sentences.iter().map(|s| plain(s)).collect::<Vec<_>>(),
        [
            "The opening on Aug 14 has passed; when photos were last taken, 4 of 18 greens were full."
        ]
    );
    assert!(
        lead.pace_rule.contains("Without recent photos"),
        "{}",
        lead.pace_rule
    );
}

#[test]
fn only_so_many_are_listed_and_the_rest_is_counted() {
    let mut season = example::season();
    for green in &mut season.greens {
        green.outlook.status = Status::Stalled;
        green.outlook.chance_by_opening = Some(0.1);
    }
    let lead = Lead::of(&season);
    assert_eq!((lead.attention.len(), lead.n_more), (6, 12));
}

/// As nobody has seen it: planted, without a chance, left out of what is told of all.
fn unseen(green: &mut GreenReport) {
    green.visits.clear();
    green.gain_last_week = None;
    green.photo_age_days = None;
    green.outlook.status = Status::TooEarly;
    green.outlook.chance_by_opening = None;
}

#[test]
fn a_date_for_all_says_which_greens_it_leaves_out_since_nobody_has_seen_them() {
    let mut season = example::season();
    unseen(&mut season.greens[6]);
    assert_eq!(
        headline(&season),
        "The last green with a visit is expected to be full about Sep 2, most likely not before Aug 24; \
         Green 7 has no visit yet and is left out."
    );
    let lead = Lead::of(&season);
    let in_time = plain(&lead.sentences[0]);
    assert!(
        in_time.starts_with(
            "It is very unlikely that all greens with a visit are full by the opening"
        ) && in_time.ends_with("One has no visit yet."),
        "{in_time}"
    );
    let tally = lead.tally.iter().map(|one| (one.n, one.words));
    assert!(tally.clone().any(|one| one == (1, "without a visit yet")));
    assert_eq!(tally.map(|(n, _)| n).sum::<usize>(), season.greens.len());
    assert!(lead.pace_rule.contains("Without a visit yet: planted"));
    assert_eq!(season.greens[6].standing(), "no visit yet");
    season.greens.truncate(4);
    unseen(&mut season.greens[3]);
    assert_eq!(
        headline(&season),
        "All 3 greens with a visit are full; Green 4 has no visit yet and is left out."
    );
    for green in &mut season.greens {
        unseen(green);
    }
    season.all_full.as_mut().unwrap().chance_by_opening = None;
    assert_eq!(
        headline(&season),
        "It is too early to say; going by what is usual every green is full about Sep 2, most likely not \
         before Aug 24."
    );
    let in_time = plain(&Lead::of(&season).sentences[0]);
    assert!(
        in_time.contains("Of no green there are visits enough") && !in_time.contains("likely"),
        "{in_time}"
    );
}
