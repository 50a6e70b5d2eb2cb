//! What the look of a green says beside its cover: leaves that have turned colour, sand on the leaves, green
//! that is no turf. From the numbers of the photos, visit by visit.

use jiff::civil::Date;

use super::quality::{Fault, GreenColours, Judgement, Quality, SMOOTH_GREEN};

/// Turn of the hue, in degrees, from which leaves have turned colour. The change from sun to cloud turns the
/// hue of rendered turf by up to 11°; drought and autumn turned that of a published series from 104° to 76°
/// within a month.
const TURN_DEG: f64 = 15.0;
/// Days within which the greener look has to lie.
const TURN_DAYS: i32 = 35;
/// Leaves are still there where this share of the roughness is.
const SAME_TEXTURE: f64 = 0.85;
/// Below this cover most of what is green is mixed with ground, and its hue says little.
const LEAST_COVER: f64 = 0.3;
/// Fall of cover, as a fraction, from which it is told that it fell.
pub const FELL: f64 = 0.03;

/// Sand on leaves hides 10 to 20 points for about a week (common practice); less than this is no sign of it.
const SANDED: f64 = 0.08;
/// … and brightens the photo by this share.
const SANDED_BRIGHTER: f64 = 1.05;
/// … and the cover is back, to within this, at the next visit, so many days later at the most.
const BACK_AGAIN: f64 = 0.03;
const BACK_DAYS: i32 = 21;

/// Green of this cover and more, this smooth, is dye, mulch or a crust of algae: rendered turf has a roughness
/// of 0.09 at least under clouds and 0.2 in sun, dyed bare sand 0.03, a crust 0.06.
const SMOOTH_COVER: f64 = 0.25;
const SMOOTH: f64 = 0.07;
/// Turf that has been mown and topdressed for longer than this after planting can be as smooth.
const SMOOTH_DAYS: i32 = 35;
/// Cover up to which enough ground is seen for dye or algae to show between the leaves: on drawn sand dye does up to 60 %.
const MOST_GROUND_COVER: f64 = 0.6;
/// Visits with so much ground from which a season is judged by them.
const LEAST_WITH_GROUND: usize = 4;
/// Distance of hues from visits of about the same cover from which colours do not fit: between the visits of a
/// rendered season it is 10° at most.
const MISFIT_DEG: f64 = 15.0;
/// Visits of about the same cover that are needed for it, and how near their cover has to be.
const LEAST_ALIKE: usize = 3;
const ALIKE: f64 = 0.15;

/// How the photos of one visit look together.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// When.
    pub date: Date,
    /// Days after planting.
    pub days: i32,
    /// Cover as a fraction.
    pub cover: f64,
    /// Standard deviation of cover between spots, as a fraction.
    pub sd: f64,
    /// The colours of what is green.
    pub greens: Option<GreenColours>,
    /// Mean roughness.
    pub roughness: f64,
    /// Mean of the photos' middle brightness.
    pub brightness: f64,
    /// Mean share that is green and as smooth as no blades are, where that has no other cause.
    pub smooth_green: f64,
}

impl Look {
    /// Puts the photos of a visit together; `None` of none.
    pub fn of(
        date: Date,
        days: i32,
        (cover, sd): (f64, f64),
        photos: &[(&Quality, &Judgement)],
    ) -> Option<Look> {
        let n = photos.len() as f64;
        let mean = |of: &dyn Fn(&Quality) -> f64| {
            photos.iter().map(|(photo, _)| of(photo)).sum::<f64>() / n
        };
        let smooth = photos
            .iter()
            .filter(|(_, judgement)| judgement.has(Fault::SmoothGreen))
            .map(|(photo, _)| photo.smooth_green);
        (!photos.is_empty()).then(|| Look {
            date,
            days,
            cover,
            sd,
            greens: GreenColours::mean(
                photos.iter().filter_map(|(photo, _)| photo.greens.as_ref()),
            ),
            roughness: mean(&|photo| photo.roughness),
            brightness: mean(&|photo| photo.middle_luma),
            smooth_green: smooth.sum::<f64>() / n,
        })
    }

    fn hue(&self) -> Option<f64> {
        let greens = self.greens.as_ref()?;
        (self.cover >= LEAST_COVER).then_some(greens.hue_deg)
    }
}

/// A turn of colour: hues in degrees, cover as fractions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// When it was greener.
    pub since: Date,
    /// Mean hue then.
    pub hue_before: f64,
    /// Mean hue now.
    pub hue_now: f64,
    /// By how much less cover was measured; 0 where it was not less.
    pub fell: f64,
}

/// Whether the leaves at visit `at` of a green have turned colour while their texture stayed: then a fall of
/// cover is one of colour. `looks` are the green's visits by date.
pub fn turned(looks: &[Look], at: usize) -> Option<Turn> {
    let now = looks.get(at)?;
    let hue_now = now.hue()?;
    let (before, hue_before) = looks[..at]
        .iter()
        .filter(|before| (now.date - before.date).get_days() <= TURN_DAYS)
        .filter_map(|before| Some((before, before.hue()?)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let is_there = now.roughness >= SAME_TEXTURE * before.roughness;
    (hue_before - hue_now >= TURN_DEG && is_there).then(|| Turn {
        since: before.date,
        hue_before,
        hue_now,
        fell: (before.cover - now.cover).max(0.0),
    })
}

/// Whether visit `at` looks as if sand lay on the leaves: cover fell at all spots together and was back at the
/// next visit, the photos are brighter and smoother. Never said of the last visit: a loss looks the same until
/// it is back.
pub fn looks_topdressed(looks: &[Look], at: usize) -> bool {
    let (Some(before), Some(now), Some(next)) = (
        at.checked_sub(1).and_then(|before| looks.get(before)),
        looks.get(at),
        looks.get(at + 1),
    ) else {
        return false;
    };
    let fell_everywhere = before.cover - now.cover >= SANDED.max(now.sd);
    let is_sandier =
        now.brightness >= SANDED_BRIGHTER * before.brightness && now.roughness <= before.roughness;
    let is_back =
        next.cover >= before.cover - BACK_AGAIN && (next.date - now.date).get_days() <= BACK_DAYS;
    fell_everywhere && is_sandier && is_back
}

/// Why the green of a visit may not be turf.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Misfit {
    /// As smooth as no leaves are.
    Smooth,
    /// So much of the photos, a share, is green and as smooth as no blades are.
    SmoothParts(f64),
    /// Of other hues than visits of about the same cover, by so many degrees.
    OtherHues(f64),
}

/// Whether the colours of a visit do not fit the season's turf. `others` are the other visits of the season, of
/// all greens.
pub fn misfit<'a>(look: &Look, others: impl IntoIterator<Item = &'a Look>) -> Option<Misfit> {
    if look.cover >= SMOOTH_COVER && look.roughness < SMOOTH && look.days <= SMOOTH_DAYS {
        return Some(Misfit::Smooth);
    }
    if look.smooth_green >= SMOOTH_GREEN {
        return Some(Misfit::SmoothParts(look.smooth_green));
    }
    let alike: Vec<&GreenColours> = others
        .into_iter()
        .filter(|other| (other.cover - look.cover).abs() <= ALIKE)
        .filter_map(|other| other.greens.as_ref())
        .collect();
    if alike.len() < LEAST_ALIKE || look.cover < LEAST_COVER {
        return None;
    }
    let usual = GreenColours::mean(alike)?;
    let distance = look.greens.as_ref()?.distance_deg(&usual);
    (distance >= MISFIT_DEG).then_some(Misfit::OtherHues(distance))
}

/// Whether most visits that show ground show smooth green on it: dye or algae all season, or a grass of broad leaves.
/// `looks` are the visits of all greens.
pub fn is_smooth_all_along<'a>(looks: impl IntoIterator<Item = &'a Look>) -> bool {
    let with_ground: Vec<bool> = looks
        .into_iter()
        .filter(|look| look.cover <= MOST_GROUND_COVER)
        .map(|look| look.smooth_green >= SMOOTH_GREEN)
        .collect();
    let n_smooth = with_ground.iter().filter(|&&smooth| smooth).count();
    with_ground.len() >= LEAST_WITH_GROUND && 2 * n_smooth > with_ground.len()
}

#[cfg(test)]
mod tests {
    use jiff::ToSpan;
    use jiff::civil::date;

    use super::*;
    use crate::cover::quality::{Effect, Finding};
    use crate::cover::{Pixels, Rule, Window};

    /// Green of one hue.
    fn green(hue_deg: f64) -> GreenColours {
        let mut classes = vec![0; 36];
        classes[((hue_deg - 20.0) / 5.0) as usize] = 1000;
        GreenColours {
            hue_deg,
            saturation: 0.4,
            classes,
        }
    }

    /// The visit of a week: cover, hue, roughness, brightness.
    fn look(week: i32, cover: f64, hue: f64, roughness: f64, brightness: f64) -> Look {
        Look {
            date: date(2027, 6, 1) + (7 * week).days(),
            days: 14 + 7 * week,
            cover,
            sd: 0.03,
            greens: Some(green(hue)),
            roughness,
            brightness,
            smooth_green: 0.0,
        }
    }

    #[test]
    fn turned_leaves_are_told_from_lost_ones_by_their_texture() {
        // Hue 104° to 76° within a month, as published; measured cover falls with it.
        let turning = [
            look(0, 0.80, 104.0, 0.24, 0.4),
            look(2, 0.78, 92.0, 0.25, 0.4),
            look(4, 0.66, 76.0, 0.23, 0.4),
        ];
        let turn = turned(&turning, 2).unwrap();
        assert_eq!((turn.hue_before, turn.hue_now), (104.0, 76.0));
        assert!((turn.fell - 0.14).abs() < 1e-9);
        assert_eq!(turned(&turning, 1), None, "12° may be the light");
        let mut lost = turning.clone();
        lost[2].roughness = 0.15;
        assert_eq!(turned(&lost, 2), None);
        let mut later = turning;
        later[2].date = date(2027, 8, 1);
        assert_eq!(turned(&later, 2), None);
    }

    #[test]
    fn hardly_any_leaves_tell_no_hue() {
        let bare = [look(0, 0.2, 100.0, 0.1, 0.5), look(1, 0.2, 70.0, 0.1, 0.5)];
        assert_eq!(turned(&bare, 1), None);
    }

    #[test]
    fn sand_on_leaves_is_a_fall_everywhere_that_is_back_a_week_later() {
        let season = |covers: [f64; 3], brightness: f64, roughness: f64| {
            [
                look(0, covers[0], 90.0, 0.2, 0.40),
                look(1, covers[1], 90.0, roughness, brightness),
                look(2, covers[2], 90.0, 0.2, 0.40),
            ]
        };
        let sanded = season([0.70, 0.55, 0.74], 0.47, 0.15);
        assert!(looks_topdressed(&sanded, 1));
        assert!(!looks_topdressed(&sanded, 0) && !looks_topdressed(&sanded, 2));
        assert!(!looks_topdressed(&sanded[..2], 1), "not back yet");
        assert!(!looks_topdressed(
            &season([0.70, 0.55, 0.60], 0.47, 0.15),
            1
        ));
        assert!(!looks_topdressed(
            &season([0.70, 0.65, 0.74], 0.47, 0.15),
            1
        ));
        assert!(!looks_topdressed(
            &season([0.70, 0.55, 0.74], 0.39, 0.15),
            1
        ));
        let mut patchy = sanded;
        patchy[1].sd = 0.2;
        assert!(!looks_topdressed(&patchy, 1));
    }

    #[test]
    fn dyed_sand_is_green_and_smooth() {
        let dyed = look(0, 0.97, 79.0, 0.034, 0.3);
        assert_eq!(misfit(&dyed, []), Some(Misfit::Smooth));
        let crust = look(0, 0.28, 58.0, 0.062, 0.4);
        assert_eq!(misfit(&crust, []), Some(Misfit::Smooth));
        // Turf of the renderer: under clouds, in sun; a mown green of ten weeks.
        assert_eq!(misfit(&look(0, 0.65, 65.0, 0.124, 0.5), []), None);
        assert_eq!(misfit(&look(0, 0.24, 64.0, 0.09, 0.5), []), None);
        assert_eq!(misfit(&look(8, 0.98, 90.0, 0.05, 0.4), []), None);
    }

    /// A visit of which so much is smooth green.
    fn with_smooth(week: i32, cover: f64, share: f64) -> Look {
        Look {
            smooth_green: share,
            ..look(week, cover, 85.0, 0.2, 0.4)
        }
    }

    #[test]
    fn smooth_green_between_leaves_does_not_fit() {
        let dyed = with_smooth(2, 0.38, 0.12);
        assert_eq!(misfit(&dyed, []), Some(Misfit::SmoothParts(0.12)));
        assert_eq!(misfit(&with_smooth(2, 0.38, 0.001), []), None);
    }

    #[test]
    fn smooth_green_counts_where_nothing_else_explains_it() {
        let quality = Quality {
            smooth_green: 0.2,
            ..sharp()
        };
        let finding = |fault| Finding {
            fault,
            number: 0.2,
            effect: Effect::Told,
        };
        let share = |faults: &[Fault]| {
            let judgement = Judgement {
                findings: faults.iter().map(|&fault| finding(fault)).collect(),
            };
            let photos = [(&quality, &judgement), (&quality, &Judgement::default())];
            Look::of(date(2027, 6, 1), 14, (0.4, 0.1), &photos)
                .unwrap()
                .smooth_green
        };
        assert_eq!(share(&[Fault::SmoothGreen]), 0.1);
        assert_eq!(share(&[Fault::Blurred]), 0.0);
    }

    fn sharp() -> Quality {
        let rgb = [[90, 140, 60], [200, 180, 150]].repeat(40 * 40);
        let pixels = Pixels::new(rgb.as_flattened(), 80, 40);
        Quality::of(pixels, pixels.whole(), &Rule::Window(Window::published()))
    }

    #[test]
    fn dye_all_along_is_told_from_dye_at_one_visit() {
        let season = |dyed: &[i32]| -> Vec<Look> {
            let share = |week: i32| if dyed.contains(&week) { 0.06 } else { 0.0 };
            (0..8)
                .map(|week| with_smooth(week, 0.12 * f64::from(week), share(week)))
                .collect()
        };
        assert!(is_smooth_all_along(&season(&[0, 1, 2, 3])));
        assert!(!is_smooth_all_along(&season(&[2])));
        assert!(!is_smooth_all_along(&season(&[0, 1, 2, 3])[..3]), "too few");
        assert!(
            !is_smooth_all_along(&season(&[5, 6, 7])),
            "no ground is seen"
        );
    }

    #[test]
    fn other_hues_at_the_same_cover_do_not_fit() {
        let others = [
            look(0, 0.80, 85.0, 0.3, 0.4),
            look(1, 0.85, 87.0, 0.3, 0.4),
            look(2, 0.90, 92.0, 0.3, 0.4),
            look(3, 0.20, 60.0, 0.2, 0.5),
        ];
        let weeds = look(4, 0.82, 110.0, 0.3, 0.4);
        assert!(matches!(misfit(&weeds, &others), Some(Misfit::OtherHues(by)) if by > 15.0));
        assert_eq!(misfit(&look(4, 0.82, 95.0, 0.3, 0.4), &others), None);
        assert_eq!(
            misfit(&weeds, &others[2..]),
            None,
            "too few to compare with"
        );
    }
}
