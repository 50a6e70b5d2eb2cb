//! One invented season: greens, weather, visits, and the truth.

use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::path::Path;

use jiff::ToSpan;
use jiff::civil::{Date, date};
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use sprigcast::course::{Course, Cover, GreenId};
use sprigcast::forecast::{CoverPoint, Visits};
use sprigcast::season::Weather;

use super::climate::normal;
use super::growth::{Make, Turf};
use super::worlds::{LONG_DAY, Loss, Washouts, World};

/// What happened in a season and what was seen of it.
pub(crate) struct Season {
    pub(crate) course: Course,
    /// The course file that it was read from.
    pub(crate) course_text: String,
    /// Three earlier years and all of this one.
    pub(crate) weather: Weather,
    /// Every visit of the season.
    pub(crate) visits: Visits,
    /// The first day on which the true mean cover was at the goal; `None` where it was not by the year's end.
    pub(crate) full: BTreeMap<GreenId, Option<Date>>,
    /// True mean cover by day.
    pub(crate) cover: BTreeMap<GreenId, Vec<(Date, f64)>>,
    pub(crate) last_planting: Date,
    /// Washouts: the day and the share of the ground or of the cover lost.
    pub(crate) losses: BTreeMap<GreenId, (Date, f64)>,
}

const YEAR: i16 = 2027;

/// The season of this world with this seed.
pub(crate) fn season(world: &World, seed: u64) -> Season {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let record = world.climate.years(YEAR - 3, YEAR, &mut rng);
    let first_planting = date(YEAR, 1, 1)
        .saturating_add((i64::from(rng.random_range(world.plant_from..=world.plant_to))).days());
    let season_pace = (world.season_pace_sd * normal(&mut rng)).exp();
    let weekly: Vec<f64> = (0..60)
        .map(|_| (world.week_sd * normal(&mut rng)).exp())
        .collect();
    let weeks_from = date(YEAR, 1, 1);
    let n_greens = world.n_greens;
    let rates = [700.0, 1000.0, 1200.0, 1500.0];
    let mut greens: Vec<Planting> = Vec::new();
    let mut made = Vec::new();
    for idx in 0..n_greens {
        let offset = if idx == 0 {
            0
        } else if idx == 1 {
            10
        } else {
            rng.random_range(0..=10)
        };
        let rate = if world.rates_differ {
            rates[rng.random_range(0..rates.len())]
        } else {
            1200.0
        };
        let start = world.start * (rate / 1200.0) * (world.start_sd * normal(&mut rng)).exp();
        let days = world.days_to_full * season_pace * (world.pace_sd * normal(&mut rng)).exp();
        let ceiling = world.ceiling.0 + (world.ceiling.1 - world.ceiling.0) * rng.random::<f64>();
        let lag = (world.lag_days + world.lag_sd * normal(&mut rng)).max(0.0);
        greens.push(Planting {
            id: GreenId::new(&format!("G{:02}", idx + 1)).expect("not empty"),
            planted: first_planting.saturating_add((i64::from(offset)).days()),
            bushels_per_acre: rate,
        });
        made.push(Make {
            form: world.form,
            start: start.min(0.3),
            days_to_full: days,
            lag_days: lag,
            ceiling,
        });
    }
    let last_planting = greens
        .iter()
        .map(|green| green.planted)
        .max()
        .expect("there are greens");
    let bad_visits: Vec<f64> = (0..60)
        .map(|_| {
            if rng.random::<f64>() < world.bad_visit {
                0.10 + 0.15 * rng.random::<f64>()
            } else {
                0.0
            }
        })
        .collect();

    let mut visits = Visits::new();
    let mut full = BTreeMap::new();
    let mut truth = BTreeMap::new();
    let mut losses = BTreeMap::new();
    for (idx, (green, make)) in greens.iter().zip(made).enumerate() {
        let mut turf = Turf::new(make, &mut rng);
        let washed = match world.washouts {
            Washouts::Chance(chance) => (rng.random::<f64>() < chance)
                .then(|| (rng.random_range(10..55), rng.random_range(0.2..0.5))),
            // Greens are alike: the first may as well be the ones.
            Washouts::Exactly { n, day, share } => (idx < n).then_some((day, share)),
        };
        let washed = washed.map(|(day, share)| (green.planted.saturating_add(day.days()), share));
        if let Some(loss) = washed {
            losses.insert(green.id.clone(), loss);
        }
        let mut own = 0.0;
        let mut first_full = None;
        let mut days = Vec::new();
        let mut points = Vec::new();
        let mut dead = false;
        let mut today = green.planted;
        while today.year() == YEAR {
            let weather = record[&today];
            if today.month() > 8 && weather.tmin_c < world.freeze_c {
                dead = true;
            }
            let week =
                usize::try_from(weeks_from.duration_until(today).as_hours() / 24 / 7).unwrap_or(0);
            own = 0.85 * own + world.own_day_sd * normal(&mut rng);
            if !dead {
                let growth = world.response.of_day(weather)
                    * daylight_factor(world, today)
                    * weekly[week]
                    * (1.0 + own).max(0.0);
                turf.day(growth, &mut rng);
            }
            if let Some((day, share)) = washed
                && day == today
            {
                match world.loss {
                    Loss::Even => turf.thin(share, &mut rng),
                    Loss::Stripped => turf.strip(share, &mut rng),
                }
            }
            let cover = turf.cover();
            days.push((today, cover));
            if cover >= 0.95 && first_full.is_none() {
                first_full = Some(today);
            }
            let since = first_planting.duration_until(today).as_hours() / 24;
            if since > 0
                && since % 7 == 0
                && today > green.planted
                && rng.random::<f64>() >= world.missed_visit
            {
                let dimmed = 1.0 - bad_visits[week];
                points.push(visit(today, &turf, dimmed, world, &mut rng));
            }
            today = today.saturating_add(1.day());
        }
        visits.insert(green.id.clone(), points);
        full.insert(green.id.clone(), first_full);
        truth.insert(green.id.clone(), days);
    }
    let text = course_text(&greens);
    Season {
        course: Course::parse(&text, "course.toml", Path::new(".")).expect("a sound course file"),
        course_text: text,
        weather: Weather::from_record(record),
        visits,
        full,
        cover: truth,
        last_planting,
        losses,
    }
}

/// What the day's length leaves of growth.
fn daylight_factor(world: &World, today: Date) -> f64 {
    let phase = TAU * (f64::from(today.day_of_year()) - 172.0) / 365.25;
    // 36° N: 14.5 h at midsummer, 9.8 h at midwinter.
    let hours = 12.15 + 2.35 * phase.cos();
    (1.0 - world.short_days * (LONG_DAY - hours)).clamp(0.0, 1.0)
}

fn visit(today: Date, turf: &Turf, dimmed: f64, world: &World, rng: &mut impl Rng) -> CoverPoint {
    let photos: Vec<f64> = (0..6)
        .map(|_| {
            let cover = turf.spot(rng);
            let sd = world.photo_sd
                * (world.photo_ends
                    + (1.0 - world.photo_ends) * (4.0 * cover * (1.0 - cover)).sqrt());
            let (bare, full) = world.shown;
            let cover = bare + (full - bare) * cover;
            (dimmed * cover + sd * normal(rng)).clamp(0.0, 1.0)
        })
        .collect();
    let mean = photos.iter().sum::<f64>() / 6.0;
    let variance = photos
        .iter()
        .map(|photo| (photo - mean).powi(2))
        .sum::<f64>()
        / 5.0;
    // As a table writes it.
    let round = |x: f64, scale: f64| (scale * x).round() / scale;
    CoverPoint {
        date: today,
        cover: Cover::from_fraction(round(mean, 1000.0)).expect("a mean of fractions is one"),
        n_photos: world.scatter_told.then_some(6),
        sd: world.scatter_told.then(|| round(variance.sqrt(), 1000.0)),
        sampling_error: None,
        other_error: 0.0,
    }
}

/// A green as the season file has it.
struct Planting {
    id: GreenId,
    planted: Date,
    bushels_per_acre: f64,
}

/// The course file of a season.
fn course_text(plantings: &[Planting]) -> String {
    let mut text = String::from(
        "[course]\nname = \"Pennywhistle Bend\"\ntime_zone = \"America/New_York\"\nsprig_bushel = \"us\"\n",
    );
    for Planting {
        id,
        planted,
        bushels_per_acre,
    } in plantings
    {
        text.push_str(&format!(
            "\n[[green]]\nid = \"{id}\"\nplanted = {planted}\nspecies = \"zoysiagrass\"\n\
             sprig_rate = \"{bushels_per_acre} bu/ac\"\n"
        ));
    }
    text
}
