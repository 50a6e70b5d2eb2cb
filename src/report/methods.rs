//! How it was measured, for those who check, and the cautions that apply.

use super::audit_text::audited;
use super::format::{chance_words, goal, visible};
use super::{Caution, Estimate, GreenReport, ReportData};
use crate::forecast::Clock;

/// How it was measured and computed.
pub(crate) struct Methods {
    pub(crate) goal: String,
    pub(crate) colours: String,
    pub(crate) decoder: String,
    pub(crate) version: String,
    pub(crate) level: String,
    /// Words for chances, the likeliest first, with their bounds.
    pub(crate) chances: Vec<(&'static str, &'static str)>,
    pub(crate) curves: Vec<CurveRow>,
    /// What an audit found.
    pub(crate) audit: Option<String>,
    /// Which visits are weighted by area.
    pub(crate) by_area: Option<String>,
}

/// The numbers of one curve.
pub(crate) struct CurveRow {
    pub(crate) green: String,
    pub(crate) clock: &'static str,
    pub(crate) midpoint: String,
    pub(crate) rate: String,
    pub(crate) rmse: String,
}

impl Methods {
    pub(crate) fn of(data: &ReportData) -> Methods {
        let level = data.greens.first().map_or(0.8, |green| green.outlook.level);
        let shown = |text: &str| visible(text);
        Methods {
            goal: goal(data.goal),
            colours: as_sentences(&shown(&data.method.colours)),
            decoder: shown(&data.method.decoder),
            version: shown(&data.method.version),
            level: format!("{:.0}%", level * 100.0),
            chances: [
                (0.99, "99% or more"),
                (0.90, "90 to 99%"),
                (0.66, "66 to 90%"),
                (0.33, "33 to 66%"),
                (0.10, "10 to 33%"),
                (0.01, "1 to 10%"),
                (0.00, "less than 1%"),
            ]
            .map(|(bound, range)| (chance_words(bound), range))
            .to_vec(),
            curves: data.greens.iter().filter_map(curve_row).collect(),
            audit: data
                .audit
                .as_ref()
                .map(|audit| audited(audit, data.date_style)),
            by_area: by_area(&data.greens),
        }
    }
}

/// How many visits are weighted by area, and why; `None` where none is.
fn by_area(greens: &[GreenReport]) -> Option<String> {
    let n_of = |green: &GreenReport| {
        let visits = green.visits.iter();
        visits
            .filter(|visit| visit.estimate == Estimate::Area)
            .count()
    };
    let told: Vec<String> = greens
        .iter()
        .filter(|green| n_of(green) > 0)
        .map(|green| format!("{} ({})", visible(green.id.as_str()), n_of(green)))
        .collect();
    let n: usize = greens.iter().map(n_of).sum();
    let visits = if n == 1 { "visit" } else { "visits" };
    (n > 0).then(|| {
        format!(
            "On {n} {visits} photos lay so unevenly that spots were weighted by the area that each stands for, by \
             ordinary kriging that takes the error of positions into account: {}.",
            told.join(", ")
        )
    })
}

/// Which colours count, as sentences of their own: a rule that was fitted brings its own.
fn as_sentences(colours: &str) -> String {
    if colours.ends_with('.') {
        colours.to_owned()
    } else {
        format!("Green counted here: {colours}.")
    }
}

fn curve_row(green: &GreenReport) -> Option<CurveRow> {
    let facts = green.curve_facts.as_ref()?;
    let with_error = |value: String, error: Option<String>| match error {
        Some(error) => format!("{value} ± {error}"),
        None => value,
    };
    Some(CurveRow {
        green: visible(green.id.as_str()),
        clock: match facts.clock {
            Clock::DaysAfterPlanting => "days after planting",
            Clock::DegreeDays => "degree days",
        },
        midpoint: with_error(
            format!("{:.1}", facts.midpoint),
            facts.midpoint_se.map(|se| format!("{se:.1}")),
        ),
        rate: with_error(
            format!("{:.4}", facts.rate),
            facts.rate_se.map(|se| format!("{se:.4}")),
        ),
        rmse: facts
            .rmse_percent
            .map_or(String::new(), |rmse| format!("{rmse:.1}")),
    })
}

/// The cautions that apply, a line each.
pub(crate) fn cautions(data: &ReportData) -> Vec<&'static str> {
    let always = [
        "Dates and chances are estimates from photos, not a promise of playability.",
        "Cover is seen from above; it says nothing of rooting depth or the health of the turf.",
    ];
    let mut applying = data.cautions.clone();
    applying.sort_unstable();
    applying.dedup();
    let applying = applying.into_iter().map(|caution| match caution {
        Caution::Products => {
            "Fertiliser, herbicide and other products: the label is the law; follow local codes and \
             have licensed applicators apply them."
        }
        Caution::Drone => "Drone photos: follow the local rules of flight.",
    });
    always.into_iter().chain(applying).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;

    #[test]
    fn cautions_are_told_once_and_only_where_they_apply() {
        let mut season = example::season();
        season.cautions = vec![Caution::Drone, Caution::Products, Caution::Drone];
        assert_eq!(cautions(&season).len(), 4);
        season.cautions.clear();
        let told = cautions(&season);
        assert_eq!(told.len(), 2);
        assert!(told.iter().all(|line| !line.contains("label")));
    }

    #[test]
    fn visits_weighted_by_area_are_told() {
        let mut season = example::season();
        assert_eq!(Methods::of(&season).by_area, None);
        season.greens[0].visits[0].estimate = Estimate::Area;
        let told = Methods::of(&season).by_area.unwrap();
        assert!(told.starts_with("On 1 visit photos lay"), "{told}");
        assert!(told.contains(season.greens[0].id.as_str()), "{told}");
    }

    #[test]
    fn the_words_for_chances_are_each_explained_once() {
        let methods = Methods::of(&example::season());
        let mut words: Vec<&str> = methods.chances.iter().map(|(words, _)| *words).collect();
        words.dedup();
        assert_eq!(words.len(), 7);
    }
}
