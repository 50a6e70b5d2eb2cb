//! One photo's circumstances: when, where, how the phone was held, what light, and what the phone did.

use jiff::ToSpan;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::camera::{self, Picture, Shot};
use crate::exif::{Exif, Place};
use crate::files;
use crate::ground::GroundStyle;
use crate::light::{Light, Person, sun_position};
use crate::marks::Marks;
use crate::plan::{Filing, GreenPlan, Hold, SeasonPlan, Spot, Visit};
use crate::raster::View;
use crate::scene::{Rendered, Scene};
use crate::stand::Stand;

/// Height of the lens as a share of the width of the ground seen: that of a lens of 35 mm equivalent.
const LENS_HEIGHT: f32 = 35.0 / 36.0;

/// One photo's circumstances.
pub(crate) struct Look {
    pub(crate) at: DateTime,
    offset: &'static str,
    heading: f32,
    wander: [f32; 2],
    lean: [f32; 2],
    field: f32,
    pub(crate) light: Light,
    person: Option<Person>,
    pub(crate) shot: Shot,
    size: [usize; 2],
    has_new_phone: bool,
    number: u32,
    gps_error: [f64; 3],
}

impl Look {
    pub(crate) fn new(
        plan: &SeasonPlan,
        visit_idx: usize,
        green_idx: usize,
        spot_idx: usize,
        seed: u64,
    ) -> Look {
        let visit = &plan.visits[visit_idx];
        let spot = &plan.greens[green_idx].spots[spot_idx];
        let mut rng = ChaCha8Rng::seed_from_u64(
            seed ^ (visit_idx as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15),
        );
        let mut spread = |half: f32| rng.random_range(-1.0_f32..1.0) * half;
        // The walk: a few minutes to a green, some fifty seconds to a photo.
        let seconds = green_idx as i64 * plan.seconds_per_green
            + spot_idx as i64 * 55
            + (20.0 + spread(17.0)) as i64;
        let start = visit.date.at(visit.starts[0], visit.starts[1], 0, 0);
        let at = start.saturating_add(seconds.seconds());
        let zone = TimeZone::get("America/New_York").unwrap_or(TimeZone::UTC);
        let instant = zone
            .to_ambiguous_timestamp(at)
            .compatible()
            .unwrap_or_default();
        let (height, azimuth) = sun_position(instant, plan.latitude, plan.longitude);
        let light = Light::new(visit.sky, height, azimuth);
        let turn = if spot.hold == Hold::Portrait {
            std::f32::consts::FRAC_PI_2
        } else {
            0.0
        };
        let own = std::f32::consts::TAU * ((seed >> 20) % 97) as f32 / 97.0;
        let wander = spot.wander_mm.min(60.0);
        let tidy = wander / 60.0;
        let heading = own + turn + spread(0.03 + 0.07 * tidy);
        let dark = 1.0 / light.on_level_ground()[1].clamp(0.15, 1.2);
        let shot = Shot {
            seed: (seed ^ (visit_idx as u64 * 7_919)) as u32,
            balance: [1.0 + spread(0.035), 1.0 + spread(0.05)],
            exposure_stops: spread(0.22),
            vignette: 0.14 + spread(0.06),
            blur_px: 0.62 + spread(0.16),
            noise: (0.0065 + spread(0.0015)) * dark.sqrt(),
        };
        let has_new_phone = visit_idx % 3 != 2;
        Look {
            at,
            offset: "-04:00",
            heading,
            wander: [spread(wander), spread(wander)],
            lean: [spread(0.03), spread(0.03)],
            field: plan.field_mm * (1.0 + spread(0.05)),
            light,
            person: None,
            shot,
            size: [plan.width, plan.width * 3 / 4],
            has_new_phone,
            number: 400 + (visit_idx * 61 + green_idx * 9 + spot_idx) as u32,
            gps_error: [
                f64::from(spread(3.0)),
                f64::from(spread(3.0)),
                f64::from(5.5 + spread(2.5)),
            ],
        }
        .with_person(spread(1.0), spread(1.0))
    }

    /// In one photo out of nine the photographer's shadow comes in at a side.
    fn with_person(mut self, lot: f32, side: f32) -> Look {
        if lot > 0.78 {
            let away = 0.42 * self.field + 150.0;
            let aside = (0.34 + 0.10 * side.abs()) * self.field * side.signum();
            self.person = Some(Person::towards_sun(self.light.to_sun, away, aside));
        }
        self
    }

    pub(crate) fn view(&self) -> View {
        View {
            centre: self.wander,
            heading: self.heading,
            height: LENS_HEIGHT * self.field,
            field: self.field,
            lean: self.lean,
            width: self.size[0],
            rows: self.size[1],
        }
    }

    /// What stands in front of the lens; `age` in growth days.
    pub(crate) fn scene<'a>(
        &self,
        green: &GreenPlan,
        visit: &Visit,
        stand: &'a Stand,
        age: f32,
        ground_seed: u32,
    ) -> Scene<'a> {
        Scene {
            stand,
            age: Some(age),
            grass: green.grass,
            mown_mm: green.mown_mm(visit.date),
            feed: green.feed(visit.date),
            ground: GroundStyle {
                sand: green.sand,
                dye: green.dye,
                moisture: visit.moisture,
            },
            ground_seed,
            topdressing_mm: green.topdressing_mm(visit.date),
            light: self.light,
            person: self.person,
            marks: Marks::None,
        }
    }

    pub(crate) fn take(&self, rendered: &Rendered) -> Picture {
        camera::take(rendered, self.light.on_level_ground(), &self.shot)
    }

    /// Path below the photo folder.
    pub(crate) fn file_name(&self, green: &GreenPlan, spot: &Spot, visit: &Visit) -> String {
        match green.filing {
            Filing::FolderWithStampThenWalk if green.slate_on == Some(visit.date) => {
                format!("walk-{}/IMG_{:04}.jpg", visit.date, self.number)
            }
            Filing::FolderWithStamp | Filing::FolderWithStampThenWalk => {
                format!("{}/{}.jpg", green.id, self.at.strftime("%Y%m%d_%H%M%S"))
            }
            Filing::FolderWithNumber => format!("{}/IMG_{:04}.jpg", green.id, self.number),
            Filing::WalkByName => format!(
                "walk-{}/{}_{}.jpg",
                visit.date,
                spot.name,
                self.at.strftime("%H%M")
            ),
        }
    }

    /// The photo of the slate, half a minute before.
    pub(crate) fn of_slate(&self) -> Look {
        Look {
            at: self.at.saturating_sub(28.seconds()),
            number: self.number - 1,
            shot: Shot {
                seed: self.shot.seed ^ 0x51A7E,
                ..self.shot
            },
            ..*self
        }
    }

    /// What the phone writes into the file.
    pub(crate) fn exif(
        &self,
        plan: &SeasonPlan,
        green: &GreenPlan,
        spot: &Spot,
        picture: &Picture,
    ) -> Exif {
        let [latitude, longitude] = files::place(
            plan,
            green,
            [
                spot.offset_m[0] + self.gps_error[0],
                spot.offset_m[1] + self.gps_error[1],
            ],
        );
        let (model, offset) = if self.has_new_phone {
            ("Larkfield P3", Some(self.offset))
        } else {
            ("Larkfield P2", None)
        };
        let bright = self.light.on_level_ground()[1];
        Exif {
            model: Some(model.to_owned()),
            taken: Some(self.at),
            offset: offset.map(str::to_owned),
            orientation: Some(match spot.hold {
                Hold::Landscape => 1,
                Hold::Portrait => 6,
                Hold::Turned => 3,
            }),
            exposure_seconds: Some([1, (1_100.0 * bright) as u32 + 60]),
            iso: Some(if bright > 0.6 { 50 } else { 100 }),
            focal: Some((57, 35)),
            pixels: Some([picture.width as u32, picture.rows as u32]),
            place: Some(Place {
                latitude,
                longitude,
                altitude_m: 214.0 + self.gps_error[0],
                error_m: self.has_new_phone.then_some(self.gps_error[2]),
                direction_deg: Some(f64::from((-self.heading).to_degrees().rem_euclid(360.0))),
                at: self.at.checked_add(4.hours()).ok(),
            }),
        }
    }
}
