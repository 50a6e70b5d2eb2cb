//! The map of one green: cells by their cover, the areas that lag, scale bar and north.

use geo::{BoundingRect, LineString, MultiPolygon};

use super::format::visible;
use super::svg::escaped;
use crate::course::{DisplayUnits, Outline};
use crate::map::{Cell, GreenMap};

/// Colours from bare to full, each darker than the one before, so that they read in grey and to readers who
/// see no red or no green; 12.5 points of cover each.
const SHADES: [&str; 8] = [
    "#f6ecd2", "#e6dcae", "#c9cb8e", "#a3b77c", "#78a072", "#4f886c", "#2f6d63", "#174f55",
];

/// Cells that no photo tells of.
const UNSEEN: &str = "#ffffff";

/// Pixels.
const WIDTH: f64 = 460.0;
const MARGIN: f64 = 16.0;
const HEAD: f64 = 46.0;
const FOOT: f64 = 84.0;

/// One green as an SVG file of its own.
///
/// North is up. Cells that are estimated have the shade of their cover, others stay white; dots are photos, heavy
/// lines go around thin areas, numbered as in the list.
pub fn green_map(map: &GreenMap, outline: &Outline, name: &str, units: DisplayUnits) -> String {
    let Some(bounds) = outline.in_metres().bounding_rect() else {
        return String::new();
    };
    let scale = (WIDTH - 2.0 * MARGIN) / bounds.width().max(bounds.height());
    let height = HEAD + scale * bounds.height() + FOOT;
    let view = View {
        west: bounds.min().x - (WIDTH / scale - bounds.width()) / 2.0,
        north: bounds.max().y,
        scale,
    };
    let mut body = String::new();
    for cell in &map.cells {
        body += &format!(
            "<path fill=\"{}\" stroke=\"#9aa39d\" stroke-width=\"0.4\" fill-rule=\"evenodd\" d=\"{}\"><title>{}</title></path>\n",
            shade(cell),
            view.track(&cell.shape),
            cell_in_words(cell)
        );
    }
    body += &format!(
        "<path fill=\"none\" stroke=\"#1c2521\" stroke-width=\"1.6\" d=\"{}\"/>\n",
        view.track(outline.in_metres())
    );
    for (idx, thin) in map.thin.iter().enumerate() {
        let [x, y] = view.at(outline.plane().metres(thin.position));
        body += &format!(
            "<path fill=\"none\" stroke=\"#5d3d90\" stroke-width=\"2.6\" stroke-linejoin=\"round\" d=\"{}\"/>\n\
             <circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"9\" fill=\"#5d3d90\"/>\
             <text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\" fill=\"#ffffff\" font-weight=\"bold\">{}</text>\n",
            view.track(&thin.shape),
            y + 4.0,
            idx + 1
        );
    }
    for sample in &map.samples {
        let [x, y] = view.at(sample.at);
        body += &format!(
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3\" fill=\"#1c2521\" stroke=\"#ffffff\"/>\n"
        );
    }
    let foot = HEAD + scale * bounds.height();
    body += &heading(map, name);
    body += &north_arrow();
    body += &scale_bar(scale, foot + 22.0, units);
    body += &key(foot + 44.0);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height:.0}\" width=\"{WIDTH}\" \
         height=\"{height:.0}\" role=\"img\" font-family=\"system-ui, sans-serif\" font-size=\"12\">\n\
         <title>{}</title>\n<desc>{}</desc>\n<path fill=\"#ffffff\" d=\"M0 0H{WIDTH}V{height:.0}H0Z\"/>\n{body}</svg>\n",
        escaped(&format!("Map of green {name}")),
        escaped(&in_words(map)),
    )
}

/// From metres on the green's plane to pixels.
struct View {
    west: f64,
    north: f64,
    scale: f64,
}

impl View {
    fn at(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            (x - self.west) * self.scale,
            HEAD + (self.north - y) * self.scale,
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

fn shade(cell: &Cell) -> &'static str {
    cell.cover.map_or(UNSEEN, |found| {
        let step = (found.cover * SHADES.len() as f64) as usize;
        SHADES[step.min(SHADES.len() - 1)]
    })
}

fn cell_in_words(cell: &Cell) -> String {
    match cell.cover {
        Some(found) => format!(
            "{:.0}% ± {:.0}, nearest photo {:.0} m",
            found.cover * 100.0,
            found.se * 100.0,
            cell.nearest_m
        ),
        None => format!("no photo within {:.0} m", cell.nearest_m.floor()),
    }
}

fn in_words(map: &GreenMap) -> String {
    let cover = match &map.mean {
        Some(mean) => format!(
            "{:.0}% cover over the area, give or take {:.0}",
            mean.cover.cover * 100.0,
            mean.cover.se * 100.0
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

fn heading(map: &GreenMap, name: &str) -> String {
    format!(
        "<text x=\"{MARGIN}\" y=\"22\" font-size=\"16\" font-weight=\"bold\" fill=\"#1c2521\">{}</text>\n\
         <text x=\"{MARGIN}\" y=\"38\" fill=\"#525f58\">{}, {}</text>\n",
        escaped(&visible(name)),
        map.date.strftime("%b %-d, %Y"),
        escaped(&in_words(map))
    )
}

fn north_arrow() -> String {
    let x = WIDTH - MARGIN - 8.0;
    format!(
        "<path fill=\"#1c2521\" d=\"M{x} 6L{} 26L{x} 21L{} 26Z\"/><text x=\"{x}\" y=\"38\" text-anchor=\"middle\" fill=\"#1c2521\">N</text>\n",
        x + 6.0,
        x - 6.0
    )
}

fn scale_bar(scale: f64, y: f64, units: DisplayUnits) -> String {
    let (metres, words) = match units {
        DisplayUnits::Us => (20.0 * 0.3048, "20 ft"),
        DisplayUnits::Metric => (5.0, "5 m"),
    };
    let end = MARGIN + metres * scale;
    format!(
        "<path fill=\"none\" stroke=\"#1c2521\" stroke-width=\"1.6\" d=\"M{MARGIN} {:.1}V{y:.1}H{end:.1}V{:.1}\"/>\
         <text x=\"{:.1}\" y=\"{y:.1}\" fill=\"#1c2521\">{words}</text>\n",
        y - 6.0,
        y - 6.0,
        end + 6.0
    )
}

fn key(y: f64) -> String {
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
            "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\" fill=\"#525f58\">{percent}%</text>\n",
            y + 26.0
        );
    }
    let x = MARGIN + side * SHADES.len() as f64 + 24.0;
    key += &format!(
        "<path fill=\"{UNSEEN}\" stroke=\"#9aa39d\" d=\"M{x} {y:.1}h14v12h-14z\"/>\
         <text x=\"{:.1}\" y=\"{:.1}\" fill=\"#525f58\">no photo near</text>\n",
        x + 20.0,
        y + 11.0
    );
    key
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of `#rrggbb` (WCAG 2.2).
    fn luminance(colour: &str) -> f64 {
        let channel = |at: usize| {
            let share = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if share <= 0.04045 {
                share / 12.92
            } else {
                ((share + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    /// Lightness alone tells the shades apart, so the kind of colour vision does not matter.
    #[test]
    fn every_shade_is_plainly_darker_than_the_one_before() {
        for pair in SHADES.windows(2) {
            let ratio = (luminance(pair[0]) + 0.05) / (luminance(pair[1]) + 0.05);
            assert!(ratio > 1.15, "{pair:?}: {ratio:.2}");
        }
    }
}
