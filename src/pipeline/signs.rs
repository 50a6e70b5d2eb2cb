//! What the look of the greens says, visit by visit: visits that are shown and not fitted, and the sentences on
//! leaves that turned and on green that is no turf.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::Season;
use crate::course::{Course, Cover, DateStyle, GreenId};
use crate::cover::quality::{Judgement, Quality};
use crate::cover::signs::{
    FELL, Look, Misfit, is_smooth_all_along, looks_topdressed, misfit, turned,
};
use crate::cover::{Mark, Visit, VisitKey};
use crate::ledger::PhotoOutcome;
use crate::season::{HIDDEN_DAYS, Log, What};

/// How each visit looks; those without numbers are left out.
///
/// Taken from the cover that was measured, before it is freed of what an audit found: what a look tells was found on
/// cover as photos show it, and is the same after the audit as before it.
pub(super) type Looks = BTreeMap<VisitKey, Look>;

/// Marks the visits whose cover does not tell how the turf has grown.
pub(super) fn mark_visits(course: &Course, log: &Log, season: &mut Season) {
    season.visits = marked_visits(course, log, season, season.visits.clone());
}

/// Visits of a season as they were known on a day, marked by what had been seen by then.
pub(super) fn visits_known_on(
    course: &Course,
    log: &Log,
    season: &Season,
    day: Date,
) -> Vec<Visit> {
    let mut visits = season.visits.clone();
    visits.retain(|visit| visit.date <= day);
    marked_visits(course, log, season, visits)
}

fn marked_visits(
    course: &Course,
    log: &Log,
    season: &Season,
    mut visits: Vec<Visit>,
) -> Vec<Visit> {
    let looks = looks_of(season, &visits);
    for visit in &mut visits {
        visit.mark = mark(log, &looks, course.goal.full_cover, visit);
    }
    for green in &course.greens {
        keep_routine_visits(&mut visits, &green.id);
    }
    visits
}

/// Where sand is spread so often that most visits come after it, it belongs to the green: all its visits are
/// alike, and without them there would be nothing to fit.
fn keep_routine_visits(visits: &mut [Visit], green: &GreenId) {
    let is_sanded = |visit: &&Visit| visit.mark == Some(Mark::Topdressed);
    let n = visits.iter().filter(|visit| visit.green == *green).count();
    let of_green = visits.iter().filter(|visit| visit.green == *green);
    if 2 * of_green.filter(is_sanded).count() <= n {
        return;
    }
    for visit in visits.iter_mut().filter(|visit| visit.green == *green) {
        if visit.mark == Some(Mark::Topdressed) {
            visit.mark = None;
        }
    }
}

fn mark(
    log: &Log,
    looks: &BTreeMap<GreenId, Vec<Look>>,
    goal: Cover,
    visit: &Visit,
) -> Option<Mark> {
    // Sand hides leaves and makes none: what is full beneath it is full.
    if visit.cover < goal && topdressed_on(log, visit).is_some() {
        return Some(Mark::Topdressed);
    }
    let looks = looks.get(&visit.green)?;
    let at = looks.iter().position(|look| look.date == visit.date)?;
    if looks_topdressed(looks, at) {
        return Some(Mark::LooksTopdressed);
    }
    let turn = turned(looks, at)?;
    (turn.fell >= FELL).then_some(Mark::Turned)
}

/// The last day before a visit on which its green was topdressed, if that is not long ago.
fn topdressed_on(log: &Log, visit: &Visit) -> Option<Date> {
    log.hidden_since(&visit.green, What::Topdressed, visit.date)
}

/// Sentences on the look of each green.
pub(super) fn sentences(
    course: &Course,
    log: &Log,
    season: &Season,
) -> BTreeMap<GreenId, Vec<String>> {
    let looks = looks_of(season, &season.visits);
    let mut told = BTreeMap::new();
    for green in &course.greens {
        let mut lines: Vec<String> = season
            .visits_of(&green.id)
            .filter_map(|visit| marked(log, &looks, visit, course.dates))
            .collect();
        lines.extend(routine(log, season, &green.id));
        lines.extend(last_turn(&looks, &green.id, course.dates));
        lines.extend(last_misfit(season, &looks, &green.id, course.dates));
        told.insert(green.id.clone(), lines);
    }
    told
}

/// Says where a green is fitted although most of its visits came soon after topdressing.
fn routine(log: &Log, season: &Season, green: &GreenId) -> Option<String> {
    let visits = || season.visits_of(green);
    let is_sanded = |visit: &&Visit| topdressed_on(log, visit).is_some();
    let (n, n_sanded) = (visits().count(), visits().filter(is_sanded).count());
    (2 * n_sanded > n).then(|| {
        format!(
            "{n_sanded} of its {n} visits came within {HIDDEN_DAYS} days of topdressing, too many to leave out: all are fitted, and sand may hide some of the cover of each"
        )
    })
}

fn marked(
    log: &Log,
    looks: &BTreeMap<GreenId, Vec<Look>>,
    visit: &Visit,
    dates: DateStyle,
) -> Option<String> {
    let on = dates.short(visit.date);
    Some(match visit.mark? {
        Mark::Topdressed => {
            let sanded = topdressed_on(log, visit).map_or(String::new(), |date| dates.short(date));
            format!(
                "topdressed on {sanded}: sand may hide leaves for {HIDDEN_DAYS} days, so the visit of {on} is shown and not fitted"
            )
        }
        Mark::LooksTopdressed => format!(
            "the visit of {on} looks topdressed (less cover everywhere, brighter ground, back a visit later): it is shown and not fitted; write topdressing into log.csv"
        ),
        Mark::Turned => {
            let looks = looks.get(&visit.green)?;
            let at = looks.iter().position(|look| look.date == visit.date)?;
            let turn = turned(looks, at)?;
            format!(
                "the leaves turned from hue {:.0}° to {:.0}° between {} and {on} while their texture stayed: the {:.0} points of cover that are missing are colour, not turf, and the visit is not fitted",
                turn.hue_before,
                turn.hue_now,
                dates.short(turn.since),
                100.0 * turn.fell
            )
        }
    })
}

/// Leaves that have turned without a loss of cover, at the last visit.
fn last_turn(
    looks: &BTreeMap<GreenId, Vec<Look>>,
    green: &GreenId,
    dates: DateStyle,
) -> Option<String> {
    let looks = looks.get(green)?;
    let turn = turned(looks, looks.len().checked_sub(1)?)?;
    (turn.fell < FELL).then(|| {
        format!(
            "the leaves have turned colour since {} (hue {:.0}° to {:.0}°); the cover stands",
            dates.short(turn.since),
            turn.hue_before,
            turn.hue_now
        )
    })
}

/// What is to be said of all visits: that the green of a whole season may be no turf.
pub(super) fn on_season(season: &Season) -> Option<String> {
    let looks = looks_of(season, &season.visits);
    is_smooth_all_along(looks.values().flatten()).then(|| {
        "Most photos that show ground show green on it that is smoother than blades are: sand that is dyed or overgrown with algae all season, or broad leaves. Colour cannot tell that from turf: run `sprigcast audit` before you trust the cover"
            .to_owned()
    })
}

/// The last visit whose green may be no turf.
fn last_misfit(
    season: &Season,
    looks: &BTreeMap<GreenId, Vec<Look>>,
    green: &GreenId,
    dates: DateStyle,
) -> Option<String> {
    let is_told_of_season = is_smooth_all_along(looks.values().flatten());
    let of_green = looks.get(green)?;
    let (at, look, misfit) = of_green.iter().enumerate().rev().find_map(|(at, look)| {
        let others = looks.values().flatten().filter(|other| *other != look);
        match misfit(look, others)? {
            Misfit::SmoothParts(_) if is_told_of_season => None,
            misfit => Some((at, look, misfit)),
        }
    })?;
    let on = dates.short(look.date);
    let percent = 100.0 * cover_told(season, green, look);
    Some(match misfit {
        Misfit::Smooth => format!(
            "the green of {on} ({percent:.0}%) is as smooth as no turf is: dyed sand, mulch or algae? Look at the overlays and audit it"
        ),
        Misfit::SmoothParts(share) => {
            let smooth = 100.0 * share;
            let beside = beside(season, green, (of_green, at), dates);
            format!(
                "on {on} ({percent:.0}%{beside}) {smooth:.1}% of what the photos show is green and smoother than blades are: sand that is dyed or overgrown with algae, or a broad leaf? All of it counts as cover, so the error of the visit is widened; look at the overlays, or audit it"
            )
        }
        Misfit::OtherHues(by) => format!(
            "the green of {on} is of other hues, by {by:.0}°, than the season's turf at this cover: weeds, dye or algae? Look at the overlays and audit it"
        ),
    })
}

/// The cover at the visits before and after one, as it is told behind its own.
fn beside(
    season: &Season,
    green: &GreenId,
    (looks, at): (&[Look], usize),
    dates: DateStyle,
) -> String {
    let before = at.checked_sub(1).and_then(|before| looks.get(before));
    let told = [before, looks.get(at + 1)].into_iter().flatten();
    told.map(|look| {
        let percent = 100.0 * cover_told(season, green, look);
        format!("; {percent:.0}% on {}", dates.short(look.date))
    })
    .collect()
}

/// The cover of a visit as tables have it, a fraction: freed of what an audit found.
fn cover_told(season: &Season, green: &GreenId, look: &Look) -> f64 {
    let visit = season
        .visits_of(green)
        .find(|visit| visit.date == look.date);
    visit.map_or(look.cover, |visit| visit.cover.fraction())
}

/// How these visits of each green look, by date.
fn looks_of(season: &Season, visits: &[Visit]) -> BTreeMap<GreenId, Vec<Look>> {
    let mut looks: BTreeMap<GreenId, Vec<Look>> = BTreeMap::new();
    for visit in visits {
        if let Some(look) = season.looks.get(&visit.key()) {
            let of_green = looks.entry(visit.green.clone()).or_default();
            of_green.push(look.clone());
        }
    }
    looks
}

/// Looks at every visit of a season whose visits have the cover that was measured.
pub(super) fn look_at(course: &Course, season: &Season) -> Looks {
    let mut photos: BTreeMap<(&GreenId, Date), Vec<(&Quality, &Judgement)>> = BTreeMap::new();
    for row in &season.photos {
        if let (Some(green), Some(date)) = (&row.green, row.date)
            && let PhotoOutcome::Measured { .. } = row.outcome
            && let Some(judged) = season.quality.get(&row.photo)
        {
            photos
                .entry((green, date))
                .or_default()
                .push((&judged.quality, &judged.judgement));
        }
    }
    let mut looks = Looks::new();
    for visit in &season.visits {
        let of_visit = photos.get(&(&visit.green, visit.date));
        let days = course
            .green(&visit.green)
            .map_or(0, |green| (visit.date - green.planted).get_days());
        let cover = (visit.cover.fraction(), visit.sd.unwrap_or(0.0));
        if let Some(look) = of_visit.and_then(|photos| Look::of(visit.date, days, cover, photos)) {
            looks.insert(visit.key(), look);
        }
    }
    looks
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use jiff::ToSpan;
    use jiff::civil::date;

    use super::*;
    use crate::course::Cover;
    use crate::cover::{Misread, Pixels, Rate, Rule, Window, measure};
    use crate::ledger::{PhotoQuality, PhotoRow};
    use crate::photo::PhotoName;
    use crate::season::read_log_csv;

    fn visits(marks: &[Option<Mark>]) -> Vec<Visit> {
        let visit = |(week, mark): (usize, &Option<Mark>)| Visit {
            green: GreenId::new("G07").unwrap(),
            date: date(2027, 6, 1) + (7 * week as i64).days(),
            cover: Cover::from_percent(50.0).unwrap(),
            n_photos: 3,
            n_spots: 3,
            sd: None,
            doubt: 0.0,
            seen: None,
            area_error: None,
            mark: *mark,
        };
        marks.iter().enumerate().map(visit).collect()
    }

    /// Two visits of G07 with the same pattern of leaves, which have turned from green to yellow between them.
    fn turned_leaves(course: &Course, covers: [f64; 2]) -> Season {
        let mut season = Season {
            visits: visits(&[None, None]),
            ..Season::default()
        };
        let leaves = [[60, 130, 40], [96, 114, 35]];
        let rule = Rule::Window(Window::published());
        for ((visit, cover), leaf) in season.visits.iter_mut().zip(covers).zip(leaves) {
            visit.cover = Cover::from_fraction(cover).unwrap();
            let pixels = [leaf, leaf, leaf, [200, 190, 170]].repeat(10 * 20);
            let pixels = Pixels::new(pixels.as_flattened(), 40, 20);
            let photo = PhotoName(format!("{}.jpg", visit.date));
            season.photos.push(PhotoRow {
                photo: photo.clone(),
                green: Some(visit.green.clone()),
                station: None,
                date: Some(visit.date),
                time: None,
                position: None,
                outcome: PhotoOutcome::Measured {
                    reading: measure(pixels, pixels.whole(), &rule),
                    limits: None,
                    parts: Vec::new(),
                },
                missing_since: None,
            });
            let judged = PhotoQuality {
                quality: Quality::of(pixels, pixels.whole(), &rule),
                sun_deg: None,
                tilt_deg: None,
                judgement: Judgement::default(),
            };
            season.quality.insert(photo, judged);
        }
        season.looks = look_at(course, &season);
        season
    }

    #[test]
    fn an_audit_does_not_change_which_visits_are_fitted() {
        let text = "[course]\nname = \"A\"\n\n[[green]]\nid = \"G07\"\nplanted = 2027-05-18\n";
        let course = Course::parse(text, "course.toml", Path::new(".")).unwrap();
        let log = Log::default();
        let marks = |visits: &[Visit]| visits.iter().map(|visit| visit.mark).collect::<Vec<_>>();
        // Cover seems to have fallen by less or by more than 3 points; freed of its error by more or by less.
        for (covers, missed, mark) in [
            ([0.600, 0.575], 0.3, None),
            ([0.600, 0.565], -0.3, Some(Mark::Turned)),
        ] {
            let mut season = turned_leaves(&course, covers);
            mark_visits(&course, &log, &mut season);
            assert_eq!(marks(&season.visits), [None, mark]);
            let rate = Rate {
                value: missed,
                ..Rate::default()
            };
            let misread = Misread {
                missed: rate,
                ..Misread::default()
            };
            for visit in &mut season.visits {
                visit.cover = misread.freed(visit.cover);
            }
            let day = season.visits[1].date;
            let known = visits_known_on(&course, &log, &season, day);
            assert_eq!(marks(&known), [None, mark]);
            let told = sentences(&course, &log, &season).remove(&GreenId::new("G07").unwrap());
            let is_of_colour = |line: &String| line.contains("are colour, not turf");
            assert_eq!(told.unwrap().iter().any(is_of_colour), mark.is_some());
            // What is guarded against: looks taken after the audit tell otherwise.
            season.looks = look_at(&course, &season);
            let after = visits_known_on(&course, &log, &season, day);
            assert_ne!(marks(&after), [None, mark]);
        }
    }

    fn goal(percent: f64) -> Cover {
        Cover::from_percent(percent).unwrap()
    }

    #[test]
    fn sand_of_the_day_hides_the_visits_after_it_and_not_that_of_the_day() {
        let log = read_log_csv("date,green,what\n2027-06-08,G07,topdressing\n").unwrap();
        let marks = visits(&[None, None, None, None]);
        let marks: Vec<Option<Mark>> = marks
            .iter()
            .map(|visit| mark(&log, &BTreeMap::new(), goal(95.0), visit))
            .collect();
        assert_eq!(marks, [None, None, Some(Mark::Topdressed), None]);
        // What shows the goal through sand has reached it.
        let shown = visits(&[None, None, None])[2].cover.percent();
        let through = mark(
            &log,
            &BTreeMap::new(),
            goal(shown),
            &visits(&[None, None, None])[2],
        );
        assert_eq!(through, None);
    }

    #[test]
    fn sand_every_week_leaves_no_visit_out() {
        let green = GreenId::new("G07").unwrap();
        let sanded = Some(Mark::Topdressed);
        let n_marked = |marks: &[Option<Mark>]| {
            let mut visits = visits(marks);
            keep_routine_visits(&mut visits, &green);
            visits.iter().filter(|visit| visit.mark.is_some()).count()
        };
        assert_eq!(n_marked(&[None, sanded, sanded, sanded]), 0);
        assert_eq!(n_marked(&[None, None, sanded, sanded]), 2);
        assert_eq!(n_marked(&[Some(Mark::Turned), sanded, sanded]), 1);
    }
}
