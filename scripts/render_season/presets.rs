//! The seasons that can be rendered.

use jiff::civil::{Date, date};

use crate::ground::{Dye, Sand};
use crate::light::Sky;
use crate::plan::{
    Filing, GreenPlan, Hold, Oddities, SeasonPlan, Spot, StationPlan, Visit, What, Work,
};
use crate::plants::Grass;
use crate::season::weekly;

/// The sample season: four zoysiagrass greens of a made-up course, eight weekly walks, three photos a green.
pub(crate) fn pennywhistle_bend() -> SeasonPlan {
    let walks = [
        ([8, 20], Sky::Clear, 0.55),
        ([8, 5], Sky::Hazy, 0.35),
        ([9, 40], Sky::Overcast, 0.50),
        ([8, 30], Sky::Clear, 0.25),
        ([12, 15], Sky::Clear, 0.15),
        ([8, 10], Sky::Overcast, 0.60),
        ([7, 50], Sky::Clear, 0.35),
        ([9, 5], Sky::Hazy, 0.40),
    ];
    let visits = weekly(date(2027, 6, 7), 8)
        .into_iter()
        .zip(walks)
        .map(|(date, (starts, sky, moisture))| Visit {
            date,
            starts,
            sky,
            moisture,
        })
        .collect();
    let base = |id: &str, name: &str, planted: Date, rate: &str| GreenPlan {
        id: id.to_owned(),
        name: name.to_owned(),
        planted,
        grass: Grass::Zoysia,
        sprig_rate: rate.to_owned(),
        area: String::new(),
        block: String::new(),
        factors: Vec::new(),
        offset_m: [0.0, 0.0],
        half_m: [13.8, 12.3],
        sprigs_per_m2: 520.0,
        take: 0.20,
        mottling: 0.6,
        spread: 1.0,
        sand: Sand::Tan,
        dye: Dye::None,
        spots: Vec::new(),
        filing: Filing::FolderWithStamp,
        slate_on: None,
        works: Vec::new(),
        mown: None,
    };
    let fed = |date, note| Work {
        date,
        what: What::Fertiliser,
        amount: "0.5",
        unit: "lb/1000ft2",
        analysis: "18-24-12",
        note,
    };
    let watered = |date| Work {
        date,
        what: What::Irrigation,
        amount: "0.15",
        unit: "in",
        analysis: "",
        note: "five short cycles",
    };
    let sanded = |date, mm, amount, note| Work {
        date,
        what: What::Topdressing(mm),
        amount,
        unit: "in",
        analysis: "",
        note,
    };
    let greens = vec![
        GreenPlan {
            area: "5800 ft2".into(),
            block: "front".into(),
            factors: vec![("topdressing", "light".into())],
            offset_m: [-180.0, 60.0],
            sprigs_per_m2: 520.0,
            take: 0.30,
            spots: spots(
                "G03",
                [Hold::Landscape, Hold::Portrait, Hold::Landscape],
                60.0,
            ),
            works: vec![
                watered(date(2027, 5, 18)),
                fed(date(2027, 6, 3), "first feeding"),
                sanded(date(2027, 7, 7), 1.2, "0.05", "light; brushed in"),
                fed(date(2027, 7, 1), "second feeding"),
            ],
            mown: Some((date(2027, 7, 15), 15.0)),
            ..base("G03", "3", date(2027, 5, 17), "1200 bu/ac")
        },
        GreenPlan {
            area: "6100 ft2".into(),
            block: "front".into(),
            factors: vec![("topdressing", "light".into())],
            offset_m: [40.0, 130.0],
            half_m: [14.2, 12.6],
            sprigs_per_m2: 760.0,
            take: 0.46,
            spread: 1.2,
            mottling: 0.45,
            spots: spots("G07", [Hold::Landscape; 3], 12.0),
            filing: Filing::WalkByName,
            works: vec![
                watered(date(2027, 5, 19)),
                fed(date(2027, 5, 31), "first feeding"),
                fed(date(2027, 6, 21), "second feeding"),
                sanded(date(2027, 7, 8), 1.0, "0.04", "light; brushed in"),
            ],
            mown: Some((date(2027, 7, 8), 17.0)),
            ..base("G07", "7", date(2027, 5, 18), "1800 bu/ac")
        },
        GreenPlan {
            area: "5400 ft2".into(),
            block: "back".into(),
            factors: vec![("topdressing", "none".into())],
            offset_m: [210.0, -90.0],
            half_m: [13.0, 12.15],
            take: 0.19,
            mottling: 0.6,
            spots: spots("G12", [Hold::Portrait, Hold::Landscape, Hold::Turned], 60.0),
            filing: Filing::FolderWithNumber,
            slate_on: Some(date(2027, 7, 26)),
            works: vec![
                watered(date(2027, 5, 21)),
                fed(date(2027, 6, 10), "late feeding; wet in the north"),
            ],
            mown: None,
            ..base("G12", "12", date(2027, 5, 20), "1200 bu/ac")
        },
        GreenPlan {
            area: "6600 ft2".into(),
            block: "back".into(),
            factors: vec![("topdressing", "none".into())],
            offset_m: [-60.0, -170.0],
            half_m: [14.6, 13.2],
            sprigs_per_m2: 350.0,
            take: 0.30,
            mottling: 0.6,
            spots: spots(
                "G16",
                [Hold::Landscape, Hold::Portrait, Hold::Landscape],
                60.0,
            ),
            filing: Filing::FolderWithStampThenWalk,
            slate_on: Some(date(2027, 7, 26)),
            works: vec![
                watered(date(2027, 6, 4)),
                fed(date(2027, 6, 17), "first feeding"),
            ],
            mown: None,
            ..base("G16", "16", date(2027, 6, 3), "800 bu/ac")
        },
    ];
    SeasonPlan {
        name: "Pennywhistle Bend",
        seed: 0x5EED_2027,
        latitude: 36.1,
        longitude: -79.4,
        open_by: Some(date(2027, 8, 14)),
        n_earlier_years: 3,
        visits,
        greens,
        stations: ["A", "B", "C"]
            .iter()
            .map(|letter| StationPlan {
                id: format!("G07-{letter}"),
                green: "G07".to_owned(),
                crop: (*letter == "B").then_some([0.05, 0.05, 0.95, 0.95]),
            })
            .collect(),
        field_mm: 760.0,
        width: 800,
        quality: 66,
        seconds_per_green: 430,
        oddities: Oddities::Three,
    }
}

/// A plot trial: three sprig rates in four blocks, bermudagrass, eight weekly walks, two photos a plot.
pub(crate) fn trial() -> SeasonPlan {
    let rates = [
        ("400 bu/ac", 180.0_f32),
        ("800 bu/ac", 350.0),
        ("1200 bu/ac", 520.0),
    ];
    // Each block holds every rate once, in an order drawn beforehand.
    let orders = [[1, 0, 2], [2, 1, 0], [0, 2, 1], [1, 2, 0]];
    let mut greens = Vec::new();
    for (block, order) in orders.iter().enumerate() {
        for (column, &rate_idx) in order.iter().enumerate() {
            let (rate, sprigs_per_m2) = rates[rate_idx];
            let id = format!("P{}{:02}", block + 1, column + 1);
            greens.push(GreenPlan {
                name: id.clone(),
                planted: date(2027, 6, 1),
                grass: Grass::Bermuda,
                sprig_rate: rate.to_owned(),
                area: "36 ft2".to_owned(),
                block: format!("{}", block + 1),
                factors: vec![("rate", rate.to_owned())],
                offset_m: [column as f64 * 2.0, block as f64 * 2.0],
                half_m: [0.9, 0.9],
                sprigs_per_m2,
                take: 0.36 + 0.02 * block as f32,
                mottling: 0.5,
                spread: 1.15 * Grass::Bermuda.usual_spread(),
                sand: Sand::Buff,
                dye: Dye::None,
                spots: vec![
                    Spot {
                        name: format!("{id}-1"),
                        offset_m: [-0.4, 0.0],
                        wander_mm: 25.0,
                        hold: Hold::Landscape,
                    },
                    Spot {
                        name: format!("{id}-2"),
                        offset_m: [0.4, 0.0],
                        wander_mm: 25.0,
                        hold: Hold::Landscape,
                    },
                ],
                filing: Filing::WalkByName,
                slate_on: None,
                works: Vec::new(),
                mown: None,
                id,
            });
        }
    }
    let skies = [
        Sky::Clear,
        Sky::Overcast,
        Sky::Hazy,
        Sky::Clear,
        Sky::Clear,
        Sky::Overcast,
        Sky::Hazy,
        Sky::Clear,
    ];
    SeasonPlan {
        name: "Pennywhistle Bend plots",
        seed: 0x0071_21A1,
        latitude: 36.1,
        longitude: -79.4,
        open_by: None,
        n_earlier_years: 3,
        visits: weekly(date(2027, 6, 9), 8)
            .into_iter()
            .zip(skies)
            .map(|(date, sky)| Visit {
                date,
                starts: [9, 10],
                sky,
                moisture: 0.35,
            })
            .collect(),
        greens,
        stations: Vec::new(),
        field_mm: 760.0,
        width: 800,
        quality: 80,
        seconds_per_green: 130,
        oddities: Oddities::None,
    }
}

fn spots(green: &str, holds: [Hold; 3], wander_mm: f32) -> Vec<Spot> {
    let places = [[-5.5, 2.0], [0.5, -4.0], [6.0, 3.0]];
    ["A", "B", "C"]
        .into_iter()
        .zip(places)
        .zip(holds)
        .map(|((letter, offset_m), hold)| Spot {
            name: format!("{green}-{letter}"),
            offset_m,
            wander_mm,
            hold,
        })
        .collect()
}
