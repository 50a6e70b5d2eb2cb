//! A season of as many photos as wanted, to measure speed with.

use jiff::civil::date;

use crate::ground::{Dye, Sand};
use crate::light::Sky;
use crate::plan::{Filing, GreenPlan, Hold, Oddities, SeasonPlan, Spot, Visit};
use crate::plants::Grass;
use crate::season::weekly;

/// A season of many photos to measure speed with: ten greens, eight walks, as many spots as it takes. Small
/// photos show a smaller piece of ground at the usual scale.
pub(crate) fn season(n_photos: usize, width: usize) -> SeasonPlan {
    const N_VISITS: usize = 8;
    let n_greens = n_photos.div_ceil(N_VISITS).min(10);
    let field_mm = (950.0 * width as f32 / 800.0).clamp(330.0, 950.0);
    let per_green = n_photos.div_ceil(N_VISITS * n_greens.max(1));
    let mut n_left = n_photos.div_ceil(N_VISITS);
    let greens = (1..=n_greens)
        .map(|number| {
            let id = format!("G{number:02}");
            let n_spots = per_green.min(n_left);
            n_left -= n_spots;
            GreenPlan {
                name: number.to_string(),
                planted: date(2027, 5, 10 + number as i8),
                grass: if number % 2 == 0 {
                    Grass::Bermuda
                } else {
                    Grass::Zoysia
                },
                sprig_rate: "1200 bu/ac".to_owned(),
                area: "6000 ft2".to_owned(),
                block: if number <= 5 { "front" } else { "back" }.to_owned(),
                factors: Vec::new(),
                offset_m: [(number % 4) as f64 * 90.0, (number / 4) as f64 * 90.0],
                half_m: [14.0, 12.5],
                sprigs_per_m2: 420.0 + 30.0 * number as f32,
                take: 0.2,
                mottling: 0.6,
                spread: 1.1,
                sand: Sand::Tan,
                dye: Dye::None,
                spots: (0..n_spots)
                    .map(|k| Spot {
                        name: format!("{id}-{k:02}"),
                        offset_m: [(k % 5) as f64 * 3.0 - 6.0, (k / 5) as f64 * 3.0 - 6.0],
                        wander_mm: 40.0,
                        hold: if k % 4 == 3 {
                            Hold::Portrait
                        } else {
                            Hold::Landscape
                        },
                    })
                    .collect(),
                filing: Filing::FolderWithStamp,
                slate_on: None,
                works: Vec::new(),
                mown: None,
                id,
            }
        })
        .collect();
    let skies = [Sky::Clear, Sky::Overcast, Sky::Hazy, Sky::Clear];
    SeasonPlan {
        name: "Pennywhistle Bend, many photos",
        seed: 0xB16,
        latitude: 36.1,
        longitude: -79.4,
        open_by: Some(date(2027, 8, 14)),
        n_earlier_years: 3,
        visits: weekly(date(2027, 6, 7), N_VISITS)
            .into_iter()
            .zip(skies.into_iter().cycle())
            .map(|(date, sky)| Visit {
                date,
                starts: [8, 0],
                sky,
                moisture: 0.35,
            })
            .collect(),
        greens,
        stations: Vec::new(),
        field_mm,
        width,
        quality: 92,
        seconds_per_green: 60 * per_green as i64 + 120,
        oddities: Oddities::None,
    }
}
