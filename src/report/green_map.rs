//! The map of one green: cells by their cover, the areas that lag, scale bar and north.

use geo::{BoundingRect, LineString, MultiPolygon};

use super::columns::wrap;
use super::format::visible;
use super::palette::{SHADES, shade};
use super::svg::{Dress, escaped};
use crate::course::{DateStyle, DisplayUnits, Outline};
use crate::forecast::EIGHT_IN_TEN;
use crate::map::{Cell, GreenMap};

/// Pixels.
const WIDTH: f64 = 460.0;
const MARGIN: f64 = 16.0;
/// Down to the first line below the name, of 12 pixels.
const NAME: f64 = 22.0;
const LINE: f64 = 16.0;
/// Letters on a line beside the arrow: as many as fit where the font's are wide, 6.8 pixels in the middle.
const LETTERS: usize = 58;
/// In the page, whose words stand beside the picture.
const PAGE_HEAD: f64 = 8.0;
const FOOT: f64 = 84.0;

/// Violet around thin areas, on every ground: their cells are light whatever the page's colours.
const THIN: &str = "#5d3d90";

/// Colours of what is not turf.
struct Inks {
    ink: &'static str,
    quiet: &'static str,
    /// Cells that no photo tells of.
    unseen: &'static str,
}

impl Inks {
    fn of(dress: Dress) -> Inks {
        match dress {
            Dress::Alone => Inks {
                ink: "#1c2521",
                quiet: "#525f58",
                unseen: "#ffffff",
            },
            Dress::Page => Inks {
                ink: "var(--ink)",
                quiet: "var(--quiet)",
                unseen: "var(--card)",
            },
        }
    }
}

/// One green as an SVG file of its own.
///
/// North is up. Cells that are estimated have the shade of their cover, others stay white; dots are photos, heavy
/// lines go around thin areas, numbered as in the list.
pub fn green_map(
    map: &GreenMap,
    outline: &Outline,
    name: &str,
    units: DisplayUnits,
    dates: DateStyle,
) -> String {
    let inks = Inks::of(Dress::Alone);
    let told = format!("{}, {}", dates.full(map.date), in_words(map));
    let told = wrap(&told, LETTERS, "");
    let head = NAME + LINE * told.len() as f64 + 8.0;
    let Some(Drawn { body, height, .. }) = drawn(map, outline, units, &inks, head) else {
        return String::new();
    };
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height:.0}\" width=\"{WIDTH}\" \
         height=\"{height:.0}\" role=\"img\" font-family=\"system-ui, sans-serif\" font-size=\"12\">\n\
         <title>{}</title>\n<desc>{}</desc>\n<path fill=\"#ffffff\" d=\"M0 0H{WIDTH}V{height:.0}H0Z\"/>\n{}{body}</svg>\n",
        escaped(&format!("Map of green {name}")),
        escaped(&in_words(map)),
        heading(name, &told, &inks) + &north_arrow(6.0, &inks),
    )
}

/// The same as a part of the owner's page, which says in words around it what it shows. `id` is unique there.
pub(crate) fn green_map_in_page(
    map: &GreenMap,
    outline: &Outline,
    title: &str,
    units: DisplayUnits,
    id: &str,
) -> String {
    let inks = Inks::of(Dress::Page);
    let Some(Drawn { body, height, foot }) = drawn(map, outline, units, &inks, PAGE_HEAD) else {
        return String::new();
    };
    let arrow = north_arrow(foot + 8.0, &inks);
    format!(
        "<svg viewBox=\"0 0 {WIDTH} {height:.0}\" class=\"chart\" role=\"img\" aria-labelledby=\"{id}-t {id}-d\">\n\
         <title id=\"{id}-t\">{}</title>\n<desc id=\"{id}-d\">{}</desc>\n{body}{arrow}</svg>\n",
        escaped(&format!("{title}: map of its cover")),
        escaped(&in_words(map)),
    )
}

/// All but heading and arrow.
struct Drawn {
    body: String,
    height: f64,
    /// Where the green ends.
    foot: f64,
}

/// `None` where the outline encloses nothing.
fn drawn(
    map: &GreenMap,
    outline: &Outline,
    units: DisplayUnits,
    inks: &Inks,
    head: f64,
) -> Option<Drawn> {
    let bounds = outline.in_metres().bounding_rect()?;
    let scale = (WIDTH - 2.0 * MARGIN) / bounds.width().max(bounds.height());
    let height = head + scale * bounds.height() + FOOT;
    let view = View {
        west: bounds.min().x - (WIDTH / scale - bounds.width()) / 2.0,
        north: bounds.max().y,
        scale,
        head,
    };
    let mut body = String::new();
    for cell in &map.cells {
        body += &format!(
            "<path class=\"cell\" fill=\"{}\" stroke=\"#9aa39d\" stroke-width=\"0.4\" fill-rule=\"evenodd\" d=\"{}\"><title>{}</title></path>\n",
            cell.cover.map_or(inks.unseen, |found| shade(found.cover)),
            view.track(&cell.shape),
            cell_in_words(cell)
        );
    }
    body += &format!(
        "<path fill=\"none\" stroke=\"{}\" stroke-width=\"1.6\" d=\"{}\"/>\n",
        inks.ink,
        view.track(outline.in_metres())
    );
    // Beneath the violet line a white one, which keeps it apart from dark cells.
    for (colour, width) in [("#ffffff", 5.0), (THIN, 2.6)] {
        for thin in &map.thin {
            body += &format!(
                "<path fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-linejoin=\"round\" d=\"{}\"/>\n",
                view.track(&thin.shape)
            );
        }
    }
    for sample in &map.samples {
        let [x, y] = view.at(sample.at);
        body += &format!(
            "<circle class=\"photo\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3\" fill=\"#1c2521\" stroke=\"#ffffff\"/>\n"
        );
    }
    for (idx, thin) in map.thin.iter().enumerate() {
        let [x, y] = view.at(outline.plane().metres(thin.position));
        body += &format!(
            "<circle class=\"number\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"9\" fill=\"{THIN}\" stroke=\"#ffffff\"/>\
             <text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\" style=\"fill:#fff\" font-weight=\"bold\">{}</text>\n",
            y + 4.0,
            idx + 1
        );
    }
    let foot = head + scale * bounds.height();
    body += &scale_bar(scale, foot + 22.0, units, inks);
    body += &key(foot + 44.0, inks);
    Some(Drawn { body, height, foot })
}

/// From metres on the green's plane to pixels.
struct View {
    west: f64,
    north: f64,
    scale: f64,
    head: f64,
}

impl View {
    fn at(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            (x - self.west) * self.scale,
            self.head + (self.north - y) * self.scale,
        ]
    }

    fn track(&self, shape: &MultiPolygon<f64>) -> String {
        let rings = shape
            .iter()
            .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
        rings.map(|ring| self.ring(ring)).collect()
    }

    fn ring(&self, ring: &LineString<f64>) -> String {
        let mut track = String::new();
        for (idx, place) in ring.0.iter().enumerate() {
            let [x, y] = self.at([place.x, place.y]);
            track.push(if idx == 0 { 'M' } else { 'L' });
            track += &format!("{x:.1} {y:.1}");
        }
        track + "Z"
    }
}

fn cell_in_words(cell: &Cell) -> String {
    match cell.cover {
        Some(found) => format!(
            "{:.0}% ± {:.0} (8 in 10), nearest photo {:.0} m",
            found.cover * 100.0,
            found.se * 100.0 * EIGHT_IN_TEN,
            cell.nearest_m
        ),
        None => format!("no photo within {:.0} m", cell.nearest_m.floor()),
    }
}

fn in_words(map: &GreenMap) -> String {
    let cover = match &map.mean {
        Some(mean) => format!(
            "{:.0}% cover over the area, {:.0} more or less 8 times in 10",
            mean.cover.cover * 100.0,
            mean.cover.se * 100.0 * EIGHT_IN_TEN
        ),
        None => "No photo with a place".to_owned(),
    };
    let thin: Vec<String> = map
        .thin
        .iter()
        .map(|thin| format!("{} at {:.0}%", thin.side, thin.cover * 100.0))
        .collect();
    if thin.is_empty() {
        format!("{cover}; no thin area")
    } else {
        format!("{cover}; thin: {}", thin.join(", "))
    }
}

fn heading(name: &str, told: &[String], inks: &Inks) -> String {
    let mut heading = format!(
        "<text x=\"{MARGIN}\" y=\"{NAME}\" font-size=\"16\" font-weight=\"bold\" fill=\"{}\">{}</text>\n",
        inks.ink,
        escaped(&visible(name)),
    );
    for (line, idx) in told.iter().zip(1..) {
        heading += &format!(
            "<text x=\"{MARGIN}\" y=\"{}\" fill=\"{}\">{}</text>\n",
            NAME + LINE * f64::from(idx),
            inks.quiet,
            escaped(line)
        );
    }
    heading
}

/// Its point at height `y`.
fn north_arrow(y: f64, inks: &Inks) -> String {
    let (x, ink) = (WIDTH - MARGIN - 8.0, inks.ink);
    format!(
        "<path fill=\"{ink}\" d=\"M{x} {y:.1}l6 20l-6 -5l-6 5Z\"/><text x=\"{x}\" y=\"{:.1}\" text-anchor=\"middle\" fill=\"{ink}\">N</text>\n",
        y + 32.0
    )
}

fn scale_bar(scale: f64, y: f64, units: DisplayUnits, inks: &Inks) -> String {
    let ink = inks.ink;
    let (metres, words) = match units {
        DisplayUnits::Us => (20.0 * 0.3048, "20 ft"),
        DisplayUnits::Metric => (5.0, "5 m"),
    };
    let end = MARGIN + metres * scale;
    format!(
        "<path fill=\"none\" stroke=\"{ink}\" stroke-width=\"1.6\" d=\"M{MARGIN} {:.1}V{y:.1}H{end:.1}V{:.1}\"/>\
         <text x=\"{:.1}\" y=\"{y:.1}\" fill=\"{ink}\">{words}</text>\n",
        y - 6.0,
        y - 6.0,
        end + 6.0
    )
}

fn key(y: f64, inks: &Inks) -> String {
    let Inks { quiet, unseen, .. } = inks;
    let side = 34.0;
    let mut key = String::new();
    for (idx, shade) in SHADES.iter().enumerate() {
        let x = MARGIN + idx as f64 * side;
        key += &format!(
            "<path fill=\"{shade}\" stroke=\"#9aa39d\" stroke-width=\"0.4\" d=\"M{x} {y:.1}h{side}v12h-{side}z\"/>\n"
        );
    }
    for percent in [0, 25, 50, 75, 100] {
        let x = MARGIN + f64::from(percent) / 100.0 * side * SHADES.len() as f64;
        key += &format!(
            "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\" fill=\"{quiet}\">{percent}%</text>\n",
            y + 26.0
        );
    }
    let x = MARGIN + side * SHADES.len() as f64 + 24.0;
    key += &format!(
        "<path fill=\"{unseen}\" stroke=\"#9aa39d\" d=\"M{x} {y:.1}h14v12h-14z\"/>\
         <text x=\"{:.1}\" y=\"{:.1}\" fill=\"{quiet}\">no photo near</text>\n",
        x + 20.0,
        y + 11.0
    );
    key
}
