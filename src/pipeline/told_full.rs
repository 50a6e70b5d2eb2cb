//! A green that an earlier report told full, and that is not full by its cover as it is measured today.

use super::Season;
use crate::course::{Course, GreenId};
use crate::forecast::{ForecastDocument, GreenForecast, Status};
use crate::ledger::ForecastRow;

/// Says so, where the visit that showed it full then is short of the goal now: colours, crops or an audit have changed,
/// and the owner should not have to find out. `None` where nothing was told, or where the green has lost cover since.
pub(super) fn no_longer_full(
    course: &Course,
    season: &Season,
    now: &ForecastDocument,
    kept: &[ForecastRow],
    id: &GreenId,
) -> Option<String> {
    let green = now.of(id)?;
    if green.status == Status::Full || green.setback.is_some() {
        return None;
    }
    let rows = kept.iter().rev();
    let told: Vec<GreenForecast> = rows
        .filter(|row| row.green == *id && row.as_of <= now.as_of)
        .filter_map(|row| serde_json::from_str(&row.json).ok())
        .filter(|told: &GreenForecast| told.status == Status::Full)
        .collect();
    let shown = told.iter().find_map(|told| told.shown_full)?;
    let visit = season.visits_of(id).find(|visit| visit.date == shown)?;
    if visit.cover >= course.goal.full_cover {
        return None;
    }
    let of_then = told
        .iter()
        .find(|told| told.last_visit == Some(shown))
        .and_then(|told| told.cover_percent)
        .map_or(String::new(), |percent| format!(" ({percent:.1}%)"));
    Some(format!(
        "an earlier report told it full since {}, by its cover as it was measured then{of_then}; measured anew that visit \
         has {:.1}%, short of {}%",
        course.dates.short(shown),
        visit.cover.percent(),
        course.goal.full_cover.percent()
    ))
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;
    use jiff::civil::date;

    use super::*;
    use crate::course::Cover;
    use crate::forecast::CoverCsv;
    use crate::forecast::testing::{course, green, id};
    use crate::pipeline::season_of_table;
    use crate::season::Log;

    const SHOWN: jiff::civil::Date = date(2027, 7, 27);

    fn forecast(status: &str, shown: &str, percent: f64) -> String {
        format!(
            r#"{{"green": "G07", "planted": "2027-05-18", "visits": 9, "cover_percent": {percent},
            "last_visit": "2027-07-27", {shown} "status": "{status}", "curve": null, "chance": [], "notes": [],
            "full_cover": {{"date": null, "early": null, "late": null, "level": 0.8, "days_after_planting": null}}}}"#
        )
    }

    fn told(cover_now: f64) -> Option<String> {
        let course = course(vec![green("G07", date(2027, 5, 18))]);
        let mut visits = crate::forecast::testing::weekly(date(2027, 7, 20), &[cover_now]);
        visits[0].date = SHOWN;
        visits[0].cover = Cover::from_percent(cover_now).unwrap();
        let table = CoverCsv {
            visits: [(id("G07"), visits)].into(),
            ..CoverCsv::default()
        };
        let season = season_of_table(&course, &Log::default(), &table);
        let now = format!(
            r#"{{"format": 1, "as_of": "2027-08-03", "goal_percent": 95, "notes": [], "greens": [{}]}}"#,
            forecast("growing", "", cover_now)
        );
        let kept = [ForecastRow {
            as_of: SHOWN,
            green: id("G07"),
            made_at: Timestamp::UNIX_EPOCH,
            json: forecast("full", r#""shown_full": "2027-07-27","#, 95.5),
        }];
        let now: ForecastDocument = serde_json::from_str(&now).unwrap();
        no_longer_full(&course, &season, &now, &kept, &id("G07"))
    }

    #[test]
    fn a_green_that_new_colours_take_below_the_goal_is_owned_up_to() {
        assert_eq!(
            told(94.9).unwrap(),
            "an earlier report told it full since Jul 27, by its cover as it was measured then (95.5%); measured anew that \
             visit has 94.9%, short of 95%"
        );
        assert_eq!(told(95.2), None);
    }
}
