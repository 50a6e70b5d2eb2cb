//! Forecasts of a cover series that others measured and published, and of oddities in a season.
//!
//! National Turfgrass Evaluation Program, 2007 bermudagrass trial, table 6C (2009 data, Gainesville, Florida;
//! file bg0710t06c): percent living ground cover recovering after wear, means of three plots.

use jiff::civil::{Date, date};

use super::dates::{days_after, days_between};
use super::testing::{course, green, weekly};
use super::{CoverPoint, Options, Visits, season};
use crate::course::{Cover, Green, GreenId, Species};

const DAYS: [Date; 5] = [
    date(2009, 4, 10),
    date(2009, 4, 17),
    date(2009, 4, 24),
    date(2009, 5, 1),
    date(2009, 5, 8),
];
const ENTRIES: [[f64; 5]; 6] = [
    [18.3, 21.3, 41.7, 57.3, 71.7],
    [46.3, 56.3, 78.3, 87.3, 94.0],
    [40.7, 51.3, 78.0, 88.0, 97.0],
    [22.3, 26.3, 43.3, 63.3, 81.0],
    [30.7, 43.3, 66.7, 79.0, 88.7],
    [45.7, 50.7, 74.0, 84.3, 94.0],
];
/// The table's LSD (0.05) of the two later dates: two means differ by chance by less, 19 times of 20. A mean's
/// own error is this over 2.0 √2.
const LSD: [f64; 2] = [9.9, 13.1];

fn id(text: &str) -> GreenId {
    GreenId::new(text).expect("tests write ids")
}

/// The plots were whole before the wear: three weeks before the first reading stands for a planting.
fn entries() -> (Vec<Green>, Visits) {
    let planted = days_after(DAYS[0], -21);
    ENTRIES
        .iter()
        .enumerate()
        .map(|(idx, percent)| {
            let name = format!("E{}", idx + 1);
            let mut green = green(&name, planted);
            green.species = Some(Species::Bermudagrass);
            let visits = DAYS
                .iter()
                .zip(percent)
                .map(|(&date, &percent)| CoverPoint {
                    date,
                    cover: Cover::from_percent(percent).expect("a percent"),
                    n_photos: Some(3),
                    sd: None,
                    sampling_error: None,
                    other_error: 0.0,
                })
                .collect();
            (green, (id(&name), visits))
        })
        .unzip()
}

#[test]
fn from_the_first_three_dates_of_a_published_trial_the_next_two_lie_in_their_bands() {
    let (greens, visits) = entries();
    let options = Options {
        as_of: Some(DAYS[2]),
        weather: None,
        ..Options::default()
    };
    let document = season(&course(greens), &visits, &options);
    let mut n_inside = 0;
    for (answer, percent) in document.greens.iter().zip(&ENTRIES) {
        for (place, lsd) in [3, 4].into_iter().zip(LSD) {
            let point = answer
                .track
                .iter()
                .find(|point| point.date == DAYS[place])
                .expect("the band reaches that far");
            // The band is of the mean's expectation; a reading has its own error beside it.
            let reading_sd = lsd / (2.0 * 2f64.sqrt());
            let widened = |side: f64| (side.powi(2) + (1.2816 * reading_sd).powi(2)).sqrt();
            let (down, up) = (
                widened(point.middle_percent - point.low_percent),
                widened(point.high_percent - point.middle_percent),
            );
            let seen = percent[place];
            if (point.middle_percent - down..=point.middle_percent + up).contains(&seen) {
                n_inside += 1;
            }
        }
    }
    // Four in five of twelve is 9.6; seven or fewer would come about in one season in fourteen.
    assert!((8..=12).contains(&n_inside), "{n_inside} of 12");
}

/// Eighteen greens that grow alike, a day apart in planting at most, eight weeks of visits.
fn sisters() -> (Vec<Green>, Visits) {
    let planted = date(2027, 5, 18);
    (0..18)
        .map(|idx| {
            let name = format!("G{:02}", idx + 1);
            let start = 0.03 + 0.0006 * f64::from(idx);
            let percent: Vec<f64> = (1..=8)
                .map(|week| {
                    let line = (start / (1.0 - start)).ln() + 0.095 * 7.0 * f64::from(week);
                    100.0 / (1.0 + (-line).exp())
                })
                .collect();
            (
                green(&name, planted),
                (id(&name), weekly(planted, &percent)),
            )
        })
        .unzip()
}

fn middle_of(greens: &[Green], visits: &Visits, name: &str, as_of: Date) -> Date {
    let options = Options {
        as_of: Some(as_of),
        weather: None,
        ..Options::default()
    };
    season(&course(greens.to_vec()), visits, &options)
        .greens
        .into_iter()
        .find(|answer| answer.green == id(name))
        .and_then(|answer| answer.full_cover.date)
        .expect("a date")
}

fn scaled(visits: &Visits, name: &str, week: usize, by: f64) -> Visits {
    let mut visits = visits.clone();
    let point = &mut visits.get_mut(&id(name)).expect("the green")[week];
    point.cover = Cover::from_fraction(by * point.cover.fraction()).expect("a fraction");
    visits
}

#[test]
fn one_bad_visit_hardly_moves_a_date() {
    let (greens, visits) = sisters();
    let as_of = date(2027, 7, 6);
    let good = middle_of(&greens, &visits, "G09", as_of);
    let bad = middle_of(&greens, &scaled(&visits, "G09", 5, 0.6), "G09", as_of);
    assert!(days_between(good, bad).abs() <= 2, "{good} {bad}");
}

#[test]
fn a_round_of_visits_after_topdressing_hardly_moves_the_dates() {
    let (greens, visits) = sisters();
    let as_of = date(2027, 7, 13);
    let good = middle_of(&greens, &visits, "G09", as_of);
    let mut dimmed = visits.clone();
    for green in &greens {
        dimmed = scaled(&dimmed, green.id.as_str(), 5, 0.75);
    }
    let bad = middle_of(&greens, &dimmed, "G09", as_of);
    assert!(days_between(good, bad).abs() <= 3, "{good} {bad}");
}

#[test]
fn a_part_stripped_bare_holds_a_green_back_though_its_mean_still_rises() {
    let (greens, mut visits) = sisters();
    let as_of = date(2027, 7, 6);
    let good = middle_of(&greens, &visits, "G09", as_of);
    // Two fifths of the ground lose nine tenths of their cover after the third visit.
    for point in &mut visits.get_mut(&id("G09")).expect("the green")[3..] {
        let whole = point.cover.fraction();
        let line = (whole / (1.0 - whole)).ln() - 2.3;
        let bare = 1.0 / (1.0 + (-line).exp());
        point.cover = Cover::from_fraction(0.6 * whole + 0.4 * bare).expect("a fraction");
    }
    let covers: Vec<f64> = visits[&id("G09")]
        .iter()
        .map(|p| p.cover.fraction())
        .collect();
    assert!(covers.windows(2).all(|two| two[1] > two[0]), "{covers:?}");
    let stripped = middle_of(&greens, &visits, "G09", as_of);
    // The truth, 0.6 c(t) + 0.4 c(t − 2.3/k) = 0.95, comes 15 days later.
    let late = days_between(good, stripped);
    assert!((9..=22).contains(&late), "{good} {stripped}");
}
