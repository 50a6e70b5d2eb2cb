//! The text files of a season folder: course file, log, outlines.

use crate::plan::{GreenPlan, SeasonPlan};
use crate::plants::Grass;

/// `course.toml`.
pub(crate) fn course_toml(plan: &SeasonPlan) -> String {
    let mut text = format!(
        "# {name} is made up: its photos are rendered, its weather is invented.\n\n\
         [course]\nname = \"{name}\"\ntime_zone = \"America/New_York\"\n\
         sprig_bushel = \"us\"                # 1.2445 ft3\nunits = \"us\"\n\
         latitude = {:.4}\nlongitude = {:.4}\n\n\
         [photos]\nfolder = \"photos\"\nassign = [\"slate\", \"folder\", \"name\", \"place\"]\n\n\
         [goal]\nfull_cover = 95.0                  # percent\n",
        plan.latitude,
        plan.longitude,
        name = plan.name,
    );
    if let Some(date) = plan.open_by {
        text += &format!("open_by = {date}\n");
        text += "mow_at = 70.0                      # percent: mowing begins\n";
    }
    text += "\n[weather]\nfile = \"weather.csv\"\nbase_c = 10.0\nceiling_c = 32.0\n";
    for green in &plan.greens {
        text += &green_toml(green);
    }
    for station in &plan.stations {
        text += &format!(
            "\n[[station]]\nid = \"{}\"\ngreen = \"{}\"\n",
            station.id, station.green
        );
        if let Some([left, top, right, bottom]) = station.crop {
            text += &format!(
                "crop = [{left}, {top}, {right}, {bottom}]    # fractions of the upright picture\n"
            );
        }
    }
    text
}

fn green_toml(green: &GreenPlan) -> String {
    let species = match green.grass {
        Grass::Zoysia => "zoysiagrass",
        Grass::Bermuda => "bermudagrass",
    };
    let mut text = format!(
        "\n[[green]]\nid = \"{}\"\nname = \"{}\"\nplanted = {}\nspecies = \"{species}\"\n\
         sprig_rate = \"{}\"\narea = \"{}\"\nblock = \"{}\"\n",
        green.id, green.name, green.planted, green.sprig_rate, green.area, green.block
    );
    if !green.factors.is_empty() {
        text += "[green.factors]\n";
        for (factor, level) in &green.factors {
            text += &format!("{factor} = \"{level}\"\n");
        }
    }
    text
}

/// `log.csv`, in order of date.
pub(crate) fn log_csv(plan: &SeasonPlan) -> String {
    let mut rows: Vec<_> = plan
        .greens
        .iter()
        .flat_map(|green| {
            green
                .works
                .iter()
                .map(move |work| (work.date, &green.id, work))
        })
        .collect();
    rows.sort_by_key(|(date, id, work)| (*date, (*id).clone(), work.what.word()));
    let mut text = String::from("date,green,what,amount,unit,analysis,note\n");
    for (date, id, work) in rows {
        let what = work.what.word();
        text += &format!(
            "{date},{id},{what},{},{},{},{}\n",
            work.amount, work.unit, work.analysis, work.note
        );
    }
    text
}

/// `greens.geojson`: kidney-shaped outlines, anticlockwise, WGS84 (RFC 7946).
pub(crate) fn greens_geojson(plan: &SeasonPlan) -> String {
    let features: Vec<String> = plan
        .greens
        .iter()
        .map(|green| {
            let ring: Vec<String> = (0..=28)
                .map(|k| {
                    let angle = std::f64::consts::TAU * f64::from(k % 28) / 28.0;
                    let waist = 1.0 + 0.13 * (2.0 * angle + 0.7).cos() + 0.06 * (3.0 * angle).sin();
                    let east = green.half_m[0] * waist * angle.cos();
                    let north = green.half_m[1] * waist * angle.sin();
                    let [latitude, longitude] = place(plan, green, [east, north]);
                    format!("[{longitude:.7},{latitude:.7}]")
                })
                .collect();
            format!(
                "{{\"type\":\"Feature\",\"properties\":{{\"green\":\"{}\"}},\
                 \"geometry\":{{\"type\":\"Polygon\",\"coordinates\":[[{}]]}}}}",
                green.id,
                ring.join(",")
            )
        })
        .collect();
    format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}\n",
        features.join(",\n")
    )
}

/// Latitude and longitude of a place on a green, metres east and north of its middle.
///
/// Metres per degree are those of WGS84 at the course's latitude, by the series in the latitude (from memory;
/// good to a centimetre over the size of a course).
pub(crate) fn place(plan: &SeasonPlan, green: &GreenPlan, [east, north]: [f64; 2]) -> [f64; 2] {
    let phi = plan.latitude.to_radians();
    let per_latitude = 111_132.954 - 559.822 * (2.0 * phi).cos() + 1.175 * (4.0 * phi).cos();
    let per_longitude =
        111_412.84 * phi.cos() - 93.5 * (3.0 * phi).cos() + 0.118 * (5.0 * phi).cos();
    [
        plan.latitude + (green.offset_m[1] + north) / per_latitude,
        plan.longitude + (green.offset_m[0] + east) / per_longitude,
    ]
}
