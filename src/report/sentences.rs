//! Sentences on greens, in the superintendent's words.

use jiff::civil::Date;

use super::format::{chance, chance_words, change, count, cover, days_between, goal};
use super::outlook::window;
use super::{GreenReport, Outlook, Pace, ReportData, Stage, Status};

/// How the season stands, in one line.
pub(crate) fn standing(data: &ReportData) -> String {
    let paces: Vec<String> = Pace::ALL
        .into_iter()
        .filter(|pace| data.n_at(*pace) > 0)
        .map(|pace| {
            format!(
                "{} {}{}",
                data.n_at(pace),
                pace.words(),
                told_otherwise(data, pace)
            )
        })
        .collect();
    let greens = count(data.greens.len(), "green", "greens");
    let unsure = match data.method.doubt {
        Some(_) => "; unsure, see the remark on colours",
        None => "",
    };
    format!("{greens}: {}{unsure}", paces.join(", "))
}

/// Of the greens at a pace those of which the table tells what is the matter instead, such as ` (1 stalled)`.
fn told_otherwise(data: &ReportData, pace: Pace) -> String {
    let troubles = [Status::Stalled, Status::SetBack, Status::SeasonEndsFirst];
    let told: Vec<String> = troubles
        .into_iter()
        .filter_map(|status| {
            let is_so =
                |green: &&GreenReport| green.pace() == pace && green.standing() == status.words();
            let n = data.greens.iter().filter(is_so).count();
            (n > 0).then(|| format!("{n} {}", status.words()))
        })
        .collect();
    match told.is_empty() {
        true => String::new(),
        false => format!(" ({})", told.join(", ")),
    }
}

/// What people call a green: its name, which may be a mere number, or its id where it has none.
pub(crate) fn title(name: &str, id: &str) -> String {
    let name = name.trim();
    if name.is_empty() {
        id.to_owned()
    } else if name.chars().all(|letter| letter.is_ascii_digit()) {
        format!("Green {name}")
    } else {
        name.to_owned()
    }
}

impl GreenReport {
    /// What people call it, such as `Green 7` or `Practice green`.
    pub fn title(&self) -> String {
        title(&self.name, self.id.as_str())
    }

    /// How it stands, when it will be full and whether that is in time.
    pub fn explanation(&self, data: &ReportData) -> String {
        let sentences = [
            Some(self.cover_now(data)),
            Some(self.full_cover(data)),
            self.opening(data),
            // What lies behind does not move, and is told before.
            self.moved
                .clone()
                .filter(|_| self.outlook.stage == Stage::Ahead),
        ];
        sentences
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" ")
    }

    fn cover_now(&self, data: &ReportData) -> String {
        let Some(last) = self.visits.last() else {
            return match self.days_grown {
                Some(_) => "No photo of it has been measured yet.".to_owned(),
                None => "It is not planted yet.".to_owned(),
            };
        };
        let age = days(self.planted, last.date);
        let cover = cover(last.cover, data.goal);
        if data.stale_days().is_some() {
            let day = data.dates().show(last.date);
            return format!(
                "{cover} of it was green on {day}, {age} after planting; no photo is newer."
            );
        }
        if let Some(missed) = data.missed_since(self) {
            let day = data.dates().show(missed);
            let change = self.gain_last_week.map_or(String::new(), |points| {
                format!(", {} in the week before", change(points))
            });
            return format!(
                "{cover} of it was green on {day}, {age} after planting{change}; the last walk has no photo of it."
            );
        }
        let change = self.gain_last_week.map_or(String::new(), |points| {
            format!(", {} in the last week", change(points))
        });
        format!("{cover} of it is green, {age} after planting{change}.")
    }

    fn full_cover(&self, data: &ReportData) -> String {
        let dates = data.dates();
        let Outlook {
            status,
            stage,
            date,
            ..
        } = self.outlook;
        let window = window(dates, self.outlook.early, self.outlook.late);
        match status {
            Status::Full => {
                let goal = goal(data.goal);
                let by_curve = match stage {
                    Stage::Shown {
                        by_curve: Some(day),
                    } => format!("; by its curve it got there about {}", dates.show(day)),
                    _ => String::new(),
                };
                date.map_or(format!("It is full: at {goal} or above."), |date| {
                    let (day, age) = (dates.show(date), days(self.planted, date));
                    format!(
                        "It is full: photos showed {goal} first on {day}, {age} after planting{by_curve}."
                    )
                })
            }
            Status::TooEarly if self.days_grown.is_none() => {
                let day = dates.show(self.planted);
                window.map_or(String::new(), |window| {
                    format!("Planted on {day}, it is full {window}, going by its grass.")
                })
            }
            Status::TooEarly => {
                let usual = window.map_or(String::new(), |window| {
                    format!("; going by its grass alone, {window}")
                });
                format!("It is too early to say when it will be full{usual}.")
            }
            Status::SeasonEndsFirst => {
                let still = self.outlook.chance_this_season.map_or(String::new(), |p| {
                    let (words, chance) = (chance_words(p), chance(p));
                    format!(" It is {words} that it still gets there this season ({chance}).")
                });
                format!("Growth is expected to end before it is full.{still}")
            }
            Status::Growing | Status::Stalled | Status::SetBack => {
                if let Some(told) = self.short_of_its_curve(data) {
                    return format!("{}{told}", trouble(status));
                }
                let about = date.map(|date| format!("about {}", dates.show(date)));
                let when: Vec<String> = [about, window].into_iter().flatten().collect();
                let expected = if when.is_empty() {
                    "No date of full cover can be given.".to_owned()
                } else {
                    format!("Full cover is expected {}.", when.join(", "))
                };
                format!("{}{expected}", trouble(status))
            }
        }
    }

    /// What is told where the curve has reached the goal and the photos have not.
    fn short_of_its_curve(&self, data: &ReportData) -> Option<String> {
        let (dates, goal) = (data.dates(), goal(data.goal));
        let last = self.visits.last()?;
        let (shown, seen) = (cover(last.cover, data.goal), dates.show(last.date));
        match self.outlook.stage {
            Stage::AboutFull { by_curve } => Some(format!(
                "It is about full: by its curve it reached {goal} about {}, its photos of {seen} show {shown}.",
                dates.show(by_curve)
            )),
            Stage::Unshown { by_curve } => Some(format!(
                "By its curve it reached {goal} about {}; its last photos, of {seen}, showed {shown}.",
                dates.show(by_curve)
            )),
            Stage::Ahead | Stage::Shown { .. } => None,
        }
    }

    fn opening(&self, data: &ReportData) -> Option<String> {
        let probability = self.outlook.chance_by_opening?;
        let is_told = matches!(self.outlook.status, Status::Full | Status::TooEarly)
            || matches!(self.pace(), Pace::AboutFull | Pace::Unseen);
        if is_told {
            return None;
        }
        let open_by = data.opening_ahead()?;
        let opening = data.dates().show(open_by);
        let (words, chance) = (chance_words(probability), chance(probability));
        Some(format!(
            "It is {words} to be full by the opening on {opening} ({chance})."
        ))
    }
}

fn trouble(status: Status) -> &'static str {
    match status {
        Status::Stalled => "It has stalled. ",
        Status::SetBack => "It lost cover and began again from a lower level. ",
        Status::Full | Status::Growing | Status::SeasonEndsFirst | Status::TooEarly => "",
    }
}

fn days(from: Date, to: Date) -> String {
    let n = days_between(from, to);
    let unit = if n == 1 { "day" } else { "days" };
    format!("{n} {unit}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Opening, example};

    #[test]
    fn each_way_of_standing_is_explained() {
        let season = example::season();
        let told: Vec<String> = ["G01", "G05", "G09", "G12", "G14", "G16", "G18"]
            .iter()
            .map(|id| {
                let green = season.greens.iter().find(|green| green.id.matches(id));
                format!("{id}: {}", green.unwrap().explanation(&season))
            })
            .collect();
        insta::assert_snapshot!(told.join("\n"));
    }

    #[test]
    fn a_green_is_called_what_people_call_it() {
        let mut green = example::season().greens.swap_remove(6);
        assert_eq!(green.title(), "Green 7");
        green.name = "Practice green".to_owned();
        assert_eq!(green.title(), "Practice green");
        green.name = String::new();
        assert_eq!(green.title(), "G07");
    }

    #[test]
    fn a_green_without_any_answer_gets_none_made_up() {
        let season = example::season();
        let mut green = season.greens[4].clone();
        green.visits.clear();
        green.outlook = Outlook {
            status: Status::Stalled,
            stage: Stage::Ahead,
            date: None,
            early: None,
            late: None,
            level: 0.8,
            opening: Opening::Unnamed,
            chance_by_opening: None,
            chance_this_season: None,
        };
        assert_eq!(
            green.explanation(&season),
            "No photo of it has been measured yet. It has stalled. No date of full cover can be given."
        );
    }
}
