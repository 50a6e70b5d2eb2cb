//! Where each green stands against the opening date, and which need a look first.

use jiff::civil::Date;

use super::{GreenReport, Opening, ReportData, Stage, Status, VisitPoint};
use crate::forecast::EIGHT_IN_TEN;
use crate::report::format::{Dates, days_between};

/// A green is on pace while its chance of being full by the opening date is at least this: two in three,
/// where "likely" begins. Our own choice; the report says it.
pub(crate) const ON_PACE_CHANCE: f64 = 0.66;

/// Of so few visits, and an interval wider than six weeks, nobody learns whether a green is on pace, unless it hardly has a
/// chance; our own choice, which the report says.
const FEW_VISITS: usize = 3;
const WIDE_DAYS: i32 = 42;
const HOPELESS: f64 = 0.2;

/// One walk takes no longer than this; photos further apart are of two walks.
const ONE_WALK_DAYS: i32 = 3;

/// A week between visits, and two days' grace.
const OVERDUE_DAYS: i32 = 9;

/// After three walks without a photo nobody knows how a green stands; our own choice, which the report says.
const UNSEEN_DAYS: i32 = 21;

/// Growth of warm-season grass lasts no longer than half a year where it has a winter (common practice, no source).
const SEASON_DAYS: i32 = 183;

/// Less than so many points of cover may be scatter, however sure the visits are.
const LEAST_LOSS: f64 = 3.0;

/// How a green stands against the opening date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pace {
    /// Its photos have shown the goal.
    Full,
    /// Full by its curve, its photos within five points of the goal.
    AboutFull,
    /// Likely full by the opening date; without such a date, growing, not losing cover, and expected to be full within
    /// the season.
    OnPace,
    /// Not on pace, not full when the opening date had passed, or short of what its curve says.
    Behind,
    /// Too few visits to tell, or an interval too wide.
    TooEarly,
    /// Its planting lies ahead.
    NotPlanted,
    /// It is planted, and no photo of it has been measured.
    NoVisit,
    /// No photo of late.
    Unseen,
}

impl Pace {
    /// Every pace, in the order in which it is told.
    pub(crate) const ALL: [Pace; 8] = [
        Pace::Full,
        Pace::AboutFull,
        Pace::OnPace,
        Pace::Behind,
        Pace::TooEarly,
        Pace::NotPlanted,
        Pace::NoVisit,
        Pace::Unseen,
    ];

    /// In a word or two.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Pace::Full => "full",
            Pace::AboutFull => "about full",
            Pace::OnPace => "on pace",
            Pace::Behind => "behind",
            Pace::TooEarly => "too early to say",
            Pace::NotPlanted => "not planted yet",
            Pace::NoVisit => "without a visit yet",
            Pace::Unseen => "without recent photos",
        }
    }

    /// As short as it can be said.
    pub(crate) fn tag(self) -> &'static str {
        match self {
            Pace::TooEarly => "too early",
            Pace::NoVisit => "no visit yet",
            Pace::Unseen => "no photos",
            Pace::Full | Pace::AboutFull | Pace::OnPace | Pace::Behind | Pace::NotPlanted => {
                self.words()
            }
        }
    }
}

impl GreenReport {
    /// How the green stands against the opening date.
    pub fn pace(&self) -> Pace {
        if self.days_grown.is_none() {
            return Pace::NotPlanted;
        }
        if self.visits.is_empty() {
            return Pace::NoVisit;
        }
        let is_unseen = self.photo_age_days.is_some_and(|days| days >= UNSEEN_DAYS);
        match (self.outlook.status, self.outlook.chance_by_opening) {
            (Status::Full, _) => Pace::Full,
            _ if is_unseen => Pace::Unseen,
            (Status::TooEarly, _) => Pace::TooEarly,
            (Status::Growing, _) if matches!(self.outlook.stage, Stage::AboutFull { .. }) => {
                Pace::AboutFull
            }
            _ if self.outlook.opening == Opening::Passed => Pace::Behind,
            (Status::Growing, Some(chance)) if chance >= HOPELESS && self.is_young() => {
                Pace::TooEarly
            }
            _ if self.is_short_of_its_curve() => Pace::Behind,
            (_, Some(chance)) if chance >= ON_PACE_CHANCE => Pace::OnPace,
            (_, Some(_)) => Pace::Behind,
            (Status::Growing, None) if self.is_losing_cover() || !self.is_full_this_season() => {
                Pace::Behind
            }
            (Status::Growing, None) => Pace::OnPace,
            (Status::Stalled | Status::SetBack | Status::SeasonEndsFirst, None) => Pace::Behind,
        }
    }

    /// Whether there is a visit that curves are fitted to.
    fn has_visit_that_counts(&self) -> bool {
        self.visits.iter().any(|visit| visit.mark.is_none())
    }

    /// Whether its visits tell nothing of its pace yet: few of them, and a wide interval.
    fn is_young(&self) -> bool {
        let fitted = self.visits.iter().filter(|visit| visit.mark.is_none());
        let is_wide = match (self.outlook.early, self.outlook.late) {
            (Some(early), Some(late)) => days_between(early, late) > WIDE_DAYS,
            (_, None) => true,
            (None, Some(_)) => false,
        };
        fitted.count() <= FEW_VISITS && is_wide
    }

    /// Whether its photos, taken when it was full by its curve, are far from showing it.
    pub(crate) fn is_short_of_its_curve(&self) -> bool {
        match (self.outlook.stage, self.visits.last()) {
            (Stage::Unshown { by_curve }, Some(last)) => by_curve <= last.date,
            _ => false,
        }
    }

    /// Whether it has stopped, or its photos and its curve disagree: no day can be named, for it or for all greens.
    pub(crate) fn has_no_date(&self) -> bool {
        self.outlook.status == Status::Stalled || self.is_short_of_its_curve()
    }

    /// Whether a day is named for it that no winter comes before. A green that is likely not full when growth ends has a
    /// status of its own; here the end of growth may not be known.
    fn is_full_this_season(&self) -> bool {
        let by_curve = match self.outlook.stage {
            Stage::AboutFull { by_curve } | Stage::Unshown { by_curve } => Some(by_curve),
            Stage::Ahead | Stage::Shown { .. } => self.outlook.told_date(),
        };
        by_curve.is_some_and(|day| days_between(self.planted, day) <= SEASON_DAYS)
    }

    /// Whether the last visit shows less than the one before, by more than the errors of the two may do; visits that
    /// are not fitted are passed over.
    fn is_losing_cover(&self) -> bool {
        let mut fitted = self
            .visits
            .iter()
            .rev()
            .filter(|visit| visit.mark.is_none());
        let (Some(last), Some(before)) = (fitted.next(), fitted.next()) else {
            return false;
        };
        let error = |visit: &VisitPoint| visit.se_percent.unwrap_or(0.0);
        let lost = before.cover.percent() - last.cover.percent();
        lost > LEAST_LOSS.max(EIGHT_IN_TEN * error(before).hypot(error(last)))
    }

    /// How it stands in a word or two: what is the matter where something is, else against the opening date.
    pub(crate) fn standing(&self) -> &'static str {
        match self.outlook.status {
            _ if matches!(self.pace(), Pace::NotPlanted | Pace::NoVisit) => self.pace().tag(),
            Status::Full | Status::Growing | Status::TooEarly => self.unsure(self.pace().tag()),
            status @ (Status::Stalled | Status::SetBack | Status::SeasonEndsFirst) => {
                status.words()
            }
        }
    }

    /// `words` of how it stands, with a doubt where its cover is in doubt and they rest on it.
    pub(crate) fn unsure(&self, words: &'static str) -> &'static str {
        match (self.is_unsure, self.pace()) {
            (true, Pace::OnPace) => "on pace, unsure",
            (true, Pace::Behind) => "behind, unsure",
            (true, Pace::Full | Pace::AboutFull) => "full, unsure",
            _ => words,
        }
    }

    /// Days without a photo, where that is too long; a full green need not be photographed.
    pub(crate) fn overdue_days(&self, as_of: Date) -> Option<i32> {
        let last = self.visits.last().map_or(self.planted, |visit| visit.date);
        let days = days_between(last, as_of);
        (self.pace() != Pace::Full && days > OVERDUE_DAYS).then_some(days)
    }

    /// Whether somebody should look at it soon.
    fn needs_attention(&self, as_of: Date) -> bool {
        let troubled = matches!(
            self.outlook.status,
            Status::Stalled | Status::SetBack | Status::SeasonEndsFirst
        );
        let is_behind = matches!(self.pace(), Pace::Behind | Pace::Unseen);
        troubled || is_behind || self.overdue_days(as_of).is_some()
    }
}

impl ReportData {
    /// Writes the days of this report.
    pub(crate) fn dates(&self) -> Dates {
        Dates::as_of(self.as_of, self.date_style)
    }

    /// The opening date, while it is still to come.
    pub(crate) fn opening_ahead(&self) -> Option<Date> {
        self.open_by.filter(|open_by| *open_by >= self.as_of)
    }

    /// Days since anybody has been out with the camera, where that is too long to speak of the last week.
    pub(crate) fn stale_days(&self) -> Option<i32> {
        let days = days_between(self.last_visit()?, self.as_of);
        (days > OVERDUE_DAYS).then_some(days)
    }

    /// Planted greens of which no visit counts yet, where visits of others count: a date for all greens leaves them out.
    pub(crate) fn left_out(&self) -> Vec<&GreenReport> {
        let greens = || self.greens.iter();
        if greens().all(|green| !green.has_visit_that_counts()) {
            return Vec::new();
        }
        let is_left_out =
            |green: &&GreenReport| green.days_grown.is_some() && !green.has_visit_that_counts();
        greens().filter(is_left_out).collect()
    }

    /// How many greens stand so.
    pub(crate) fn n_at(&self, pace: Pace) -> usize {
        self.greens
            .iter()
            .filter(|green| green.pace() == pace)
            .count()
    }

    /// The greens that somebody should look at soon, the worst first: by their chance as it is told, then by their
    /// date, then by their cover.
    pub(crate) fn attention(&self) -> Vec<&GreenReport> {
        let mut greens: Vec<&GreenReport> = self
            .greens
            .iter()
            .filter(|green| green.needs_attention(self.as_of))
            .collect();
        greens.sort_by(|a, b| {
            let (a, b) = (worst_first(a), worst_first(b));
            let by_chance = a.0.total_cmp(&b.0);
            by_chance.then(b.1.cmp(&a.1)).then(a.2.total_cmp(&b.2))
        });
        greens
    }

    /// The day of a green's last photos, where it was passed over on the last walk; a full green need not be
    /// photographed.
    pub(crate) fn missed_since(&self, green: &GreenReport) -> Option<Date> {
        let (own, last) = (green.visits.last()?.date, self.last_visit()?);
        (green.pace() != Pace::Full && days_between(own, last) > ONE_WALK_DAYS).then_some(own)
    }

    /// The date up to which visits are known.
    pub(crate) fn last_visit(&self) -> Option<Date> {
        self.greens
            .iter()
            .filter_map(|green| green.visits.last())
            .map(|visit| visit.date)
            .max()
    }
}

/// Chance in whole percent, then date, then cover; no date is the latest. An unknown chance counts as none where the green is in trouble,
/// and as certain where it is only waiting for photos.
fn worst_first(green: &GreenReport) -> (f64, Date, f64) {
    let unknown = match green.pace() {
        Pace::Behind | Pace::Unseen => 0.0,
        Pace::Full
        | Pace::AboutFull
        | Pace::OnPace
        | Pace::TooEarly
        | Pace::NotPlanted
        | Pace::NoVisit => 1.0,
    };
    let chance = green.outlook.chance_by_opening.unwrap_or(unknown);
    let last = green.visits.last();
    (
        (100.0 * chance).round(),
        green.outlook.told_date().unwrap_or(Date::MAX),
        last.map_or(0.0, |visit| visit.cover.fraction()),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::course::Cover;
    use crate::cover::Mark;
    use crate::report::example;
    use jiff::ToSpan as _;
    use jiff::civil::date;

    #[test]
    fn a_green_that_is_not_planted_yet_is_said_to_be_so() {
        let mut season = example::season();
        let green = &mut season.greens[17];
        green.planted = date(2027, 7, 31);
        green.days_grown = None;
        green.visits.clear();
        assert_eq!(season.greens[17].standing(), "not planted yet");
        let text = crate::report::greens_table(&season, crate::report::Style::Plain);
        let row = text.lines().find(|line| line.starts_with("G18")).unwrap();
        assert!(
            row.ends_with("not planted yet") && !row.contains('−') && !row.contains("-2"),
            "{row}"
        );
    }

    #[test]
    fn every_green_has_one_pace_and_the_counts_add_up() {
        let season = example::season();
        let total: usize = Pace::ALL.iter().map(|pace| season.n_at(*pace)).sum();
        assert_eq!(total, season.greens.len());
        for pace in [Pace::Full, Pace::OnPace, Pace::Behind, Pace::TooEarly] {
            assert!(season.n_at(pace) > 0, "the example has none {pace:?}");
        }
    }

    #[test]
    fn what_is_full_by_its_curve_alone_or_unseen_or_late_is_not_on_pace() {
        let mut green = example::season().greens.swap_remove(4);
        assert_eq!(green.pace(), Pace::OnPace);
        let by_curve = date(2027, 7, 6);
        green.outlook.stage = Stage::AboutFull { by_curve };
        assert_eq!(green.pace(), Pace::AboutFull);
        green.outlook.stage = Stage::Unshown { by_curve };
        green.outlook.opening = Opening::Passed;
        assert_eq!(green.pace(), Pace::Behind);
        green.photo_age_days = Some(35);
        assert_eq!(green.pace(), Pace::Unseen);
        green.outlook.status = Status::Full;
        assert_eq!(green.pace(), Pace::Full);
    }

    #[test]
    fn without_an_opening_date_a_growing_green_is_on_pace_and_a_stalled_one_behind() {
        let mut green = example::season().greens.swap_remove(0);
        green.outlook.chance_by_opening = None;
        green.outlook.status = Status::Growing;
        green.outlook.date = Some(date(2027, 8, 2));
        assert_eq!(green.pace(), Pace::OnPace);
        // A date beyond the season, or none, is not one to plan on.
        for beyond in [Some(date(2028, 3, 9)), None] {
            green.outlook.date = beyond;
            assert_eq!(green.pace(), Pace::Behind);
        }
        green.outlook.status = Status::Stalled;
        assert_eq!(green.pace(), Pace::Behind);
    }

    #[test]
    fn a_few_visits_with_a_wide_interval_are_too_early_to_call_behind_or_on_pace() {
        let mut green = example::season().greens.swap_remove(4);
        let as_of = date(2027, 7, 11);
        green.visits.truncate(2);
        green.outlook.chance_by_opening = Some(0.6);
        green.outlook.early = as_of.checked_add(10.days()).ok();
        green.outlook.late = as_of.checked_add(80.days()).ok();
        assert_eq!(green.pace(), Pace::TooEarly);
        assert_eq!(green.standing(), "too early");
        green.outlook.chance_by_opening = Some(0.7);
        assert_eq!(green.pace(), Pace::TooEarly);
        // It can hardly be in time; or its interval is narrow.
        green.outlook.chance_by_opening = Some(0.1);
        assert_eq!(green.pace(), Pace::Behind);
        green.outlook.chance_by_opening = Some(0.6);
        green.outlook.late = as_of.checked_add(40.days()).ok();
        assert_eq!(green.pace(), Pace::Behind);
    }

    #[test]
    fn a_green_whose_photos_contradict_its_curve_is_behind() {
        let mut green = example::season().greens.swap_remove(4);
        let last = green.visits.last().unwrap().date;
        green.outlook.chance_by_opening = Some(0.99);
        green.outlook.stage = Stage::Unshown {
            by_curve: last.yesterday().unwrap(),
        };
        assert_eq!(green.pace(), Pace::Behind);
        // The curve got there after the last photo: nothing contradicts it.
        green.outlook.stage = Stage::Unshown {
            by_curve: last.tomorrow().unwrap(),
        };
        assert_eq!(green.pace(), Pace::OnPace);
    }

    #[test]
    fn without_an_opening_date_a_green_that_is_losing_cover_is_not_on_pace() {
        let mut green = example::season().greens.swap_remove(4);
        green.outlook.chance_by_opening = None;
        green.outlook.status = Status::Growing;
        assert_eq!(green.pace(), Pace::OnPace);
        for visit in &mut green.visits {
            visit.se_percent = Some(1.0);
        }
        let before = green.visits[green.visits.len() - 2];
        let mut show = |points: f64, mark| {
            let last = green.visits.last_mut().unwrap();
            last.cover = Cover::from_percent(before.cover.percent() - points).unwrap();
            last.mark = mark;
            green.pace()
        };
        assert_eq!(show(8.0, None), Pace::Behind);
        assert_eq!(show(2.0, None), Pace::OnPace);
        assert_eq!(show(8.0, Some(Mark::Topdressed)), Pace::OnPace);
        // With a date to open by, the chance decides.
        green.outlook.chance_by_opening = Some(0.9);
        green.visits.last_mut().unwrap().mark = None;
        assert_eq!(green.pace(), Pace::OnPace);
    }

    #[test]
    fn by_colours_that_are_in_doubt_no_green_is_called_on_pace_or_behind_for_sure() {
        let mut season = example::season();
        for green in &mut season.greens {
            green.is_unsure = true;
        }
        for green in &season.greens {
            let told = green.standing();
            let is_told = told != "on pace" && told != "behind" && told != "full";
            assert!(is_told, "{}: {told}", green.id);
        }
    }

    #[test]
    fn a_green_that_was_passed_over_on_the_last_walk_is_known() {
        let mut season = example::season();
        let missed = |season: &ReportData| -> Vec<String> {
            let greens = season.greens.iter();
            let of = greens.filter(|green| season.missed_since(green).is_some());
            of.map(|green| green.id.to_string()).collect()
        };
        assert!(missed(&season).is_empty(), "{:?}", missed(&season));
        for idx in [0, 5] {
            season.greens[idx].visits.pop();
        }
        // The first is full.
        assert_eq!(missed(&season), ["G06"]);
    }

    #[test]
    fn the_worst_green_comes_first_and_a_full_one_never() {
        let season = example::season();
        let attention = season.attention();
        let chances: Vec<f64> = attention
            .iter()
            .map(|green| (100.0 * green.outlook.chance_by_opening.unwrap_or(1.0)).round())
            .collect();
        assert!(chances.is_sorted(), "{chances:?}");
        assert!(attention.len() > 1);
        assert!(attention.iter().all(|green| green.pace() != Pace::Full));
    }

    #[test]
    fn of_greens_that_are_told_the_same_chance_the_later_comes_first() {
        let mut season = example::season();
        season.greens.truncate(7);
        for (green, (chance, day)) in
            season.greens[4..]
                .iter_mut()
                .zip([(0.293, 17), (0.291, 16), (0.294, 18)])
        {
            green.outlook.chance_by_opening = Some(chance);
            green.outlook.date = Some(date(2027, 8, day));
        }
        let ids: Vec<&str> = season
            .attention()
            .iter()
            .map(|green| green.id.as_str())
            .collect();
        assert_eq!(ids, ["G07", "G05", "G06"]);
    }

    #[test]
    fn a_green_without_photos_for_ten_days_is_overdue_unless_it_is_full() {
        let mut green = example::season().greens.swap_remove(0);
        let last = green.visits.last().unwrap().date;
        let later = |days: i64| last.checked_add(jiff::Span::new().days(days)).unwrap();
        green.outlook.status = Status::Growing;
        assert_eq!(green.overdue_days(later(9)), None);
        assert_eq!(green.overdue_days(later(10)), Some(10));
        green.outlook.status = Status::Full;
        assert_eq!(green.overdue_days(later(40)), None);
    }
}
