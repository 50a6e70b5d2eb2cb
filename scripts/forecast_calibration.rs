//! Forecasts invented seasons and compares with what came true:
//! `cargo run --release --example forecast_calibration -- [SEASONS] [WORLD]`.

#[path = "../tests/simulate/mod.rs"]
mod simulate;

use rayon::prelude::*;
use simulate::score::{self, Case};
use simulate::{season, worlds};
use sprigcast::forecast::{self, Options};

fn main() {
    let mut arguments = std::env::args().skip(1);
    let n_seasons: u64 = arguments.next().and_then(|n| n.parse().ok()).unwrap_or(10);
    let wanted: Option<usize> = arguments.next().and_then(|n| n.parse().ok());
    let weeks = [4, 6, 8];
    let mut everything: Vec<Vec<Case>> = vec![Vec::new(); weeks.len()];
    println!("world  weeks {}", score::HEADING);
    for (idx, world) in worlds::all().iter().enumerate() {
        if wanted.is_some_and(|wanted| wanted != idx) {
            continue;
        }
        let seasons: Vec<Vec<Vec<Case>>> = (0..n_seasons)
            .into_par_iter()
            .map(|seed| {
                let season = season::season(world, 1000 * idx as u64 + seed);
                weeks
                    .iter()
                    .map(|&weeks| {
                        let options = Options {
                            as_of: Some(score::as_of(&season, weeks)),
                            weather: Some(season.weather.clone()),
                        };
                        let document = forecast::season(&season.course, &season.visits, &options);
                        score::cases(&season, &document)
                    })
                    .collect()
            })
            .collect();
        println!("-- {idx} {}", world.name);
        for (w, &weeks) in weeks.iter().enumerate() {
            let cases: Vec<Case> = seasons
                .iter()
                .flat_map(|season| season[w].clone())
                .collect();
            println!("  {idx:2}   {weeks}   {}", score::line(&cases));
            everything[w].extend(cases);
        }
    }
    println!("-- all");
    for (cases, weeks) in everything.iter().zip(&weeks) {
        println!("  all  {weeks}   {}", score::line(cases));
    }
}
