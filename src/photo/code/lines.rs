//! Dark and light along a line of pixels, whatever the light on it.

/// Along a line, dark is at most so much of the light beside it: ink is a tenth of paper and haze, blur and
/// glare leave at least so much of the difference; a shadow that ends across the line is one more edge.
const DARK_PERCENT: u16 = 68;
/// Levels of 255 between dark and light, at least: less is noise.
const LEVELS: u8 = 22;
/// A change of less than so much of the last one is a ripple: ink has its grain, which in the dark is as strong by
/// [`DARK_PERCENT`] as an edge.
const RIPPLE_PERCENT: u16 = 35;

/// An edge between dark and light.
#[derive(Debug, Clone, Copy)]
pub(super) struct Edge {
    /// Along the line, in values.
    pub(super) at: f32,
    /// Whether it is dark behind it.
    pub(super) into_dark: bool,
}

fn is_darker(dark: u8, light: u8) -> bool {
    u16::from(dark) * 100 <= DARK_PERCENT * u16::from(light) && light - dark >= LEVELS
}

/// The edges of a line, in order; each lies where the brightness is half way between the extremes on either side.
///
/// Extremes are told from ripples by their contrast alone, so that no level has to be chosen for the line: a part
/// of it may lie in the shade.
pub(super) fn edges(line: &[u8], edges: &mut Vec<Edge>) {
    edges.clear();
    let Some(&first) = line.first() else { return };
    // The brightest and the darkest value since the last edge, with their places.
    let (mut light, mut dark) = ((first, 0), (first, 0));
    // Whether the line is in the dark; not known before the first edge.
    let mut in_dark = None;
    // The extreme before the last edge, from which the last change is measured.
    let mut before = first;
    let is_ripple = |from: u8, to: u8, before: u8| {
        u16::from(from.abs_diff(to)) * 100 < RIPPLE_PERCENT * u16::from(from.abs_diff(before))
    };
    for (at, &value) in line.iter().enumerate() {
        if value >= light.0 {
            light = (value, at);
            if in_dark == Some(false) {
                continue;
            }
        } else if value <= dark.0 {
            dark = (value, at);
            if in_dark == Some(true) {
                continue;
            }
        }
        if in_dark != Some(true)
            && is_darker(value, light.0.max(value))
            && !(in_dark.is_some() && is_ripple(light.0, value, before))
        {
            edges.push(edge(line, light.1, at, true));
            before = light.0;
            (in_dark, dark, light) = (Some(true), (value, at), (value, at));
        } else if in_dark != Some(false)
            && is_darker(dark.0.min(value), value)
            && !(in_dark.is_some() && is_ripple(dark.0, value, before))
        {
            edges.push(edge(line, dark.1, at, false));
            before = dark.0;
            (in_dark, dark, light) = (Some(false), (value, at), (value, at));
        }
    }
}

/// Where the line crosses from one extreme to the other; how far the new one goes is seen from a few values more.
fn edge(line: &[u8], from: usize, to: usize, into_dark: bool) -> Edge {
    let mut end = to;
    let goes_on = |end: usize| match line.get(end + 1) {
        Some(next) if into_dark => *next <= line[end],
        Some(next) => *next >= line[end],
        None => false,
    };
    while goes_on(end) && end < to + (to - from) + 2 {
        end += 1;
    }
    let middle = (f32::from(line[from]) + f32::from(line[end])) / 2.0;
    let is_behind = |value: u8| (f32::from(value) < middle) == into_dark;
    let behind = (from + 1..=end)
        .find(|&at| is_behind(line[at]))
        .unwrap_or(end);
    let (before, after) = (f32::from(line[behind - 1]), f32::from(line[behind]));
    let part = if before == after {
        0.5
    } else {
        ((before - middle) / (before - after)).clamp(0.0, 1.0)
    };
    Edge {
        // Values lie in the middle of their place.
        at: (behind - 1) as f32 + 0.5 + part,
        into_dark,
    }
}

/// Whether the five runs between six edges stand as 1 : 1 : 3 : 1 : 1, as far as blur and slant leave it; then the
/// width of one.
pub(super) fn square(six: &[Edge]) -> Option<f32> {
    let runs: [f32; 5] = std::array::from_fn(|idx| six[idx + 1].at - six[idx].at);
    let one = runs.iter().sum::<f32>() / 7.0;
    let is_about = |run: f32, n: f32, slack: f32| (run - n * one).abs() <= slack * one;
    let fits = is_about(runs[2], 3.0, 0.9)
        && [0, 1, 3, 4]
            .iter()
            .all(|&idx| is_about(runs[idx], 1.0, 0.55));
    fits.then_some(one)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(line: &[u8]) -> Vec<f32> {
        let mut edges_found = Vec::new();
        edges(line, &mut edges_found);
        edges_found.iter().map(|edge| edge.at).collect()
    }

    #[test]
    fn edges_lie_half_way_and_ripples_are_none() {
        assert_eq!(found(&[200, 200, 40, 40, 40, 200, 200]), [2.0, 5.0]);
        assert_eq!(found(&[200, 200, 120, 40, 40, 200]), [2.5, 5.0]);
        assert!(found(&[200, 180, 200, 170, 190, 200]).is_empty());
        assert!(found(&[20, 8, 20, 5, 19, 20]).is_empty());
        // The grain of ink.
        assert_eq!(found(&[220, 220, 30, 58, 30, 220, 220]), [2.0, 5.0]);
        assert!(found(&[]).is_empty());
    }

    #[test]
    fn a_mark_is_known_in_the_sun_and_in_the_shade() {
        for light in [1.0, 0.3] {
            let mut line = vec![(220.0 * light) as u8; 10];
            for (n, level) in [
                (4, 40.0),
                (4, 220.0),
                (12, 40.0),
                (4, 220.0),
                (4, 40.0),
                (10, 220.0),
            ] {
                line.extend(vec![(level * light) as u8; n]);
            }
            let mut all = Vec::new();
            edges(&line, &mut all);
            assert_eq!(all.len(), 6);
            assert!((square(&all).expect("a mark") - 4.0).abs() < 0.1);
        }
    }
}
