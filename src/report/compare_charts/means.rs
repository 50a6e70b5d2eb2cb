//! The means of a response with their intervals and letters.

use super::line::Line;
use super::{LETTER, WIDTH};
use crate::compare::{Comparison, DescribedLevel, LevelMean, MeansTable, Outcome};
use crate::report::Room;
use crate::report::columns::cut;
use crate::report::compare_words::{decimal, heading, in_words, level_name, level_of};
use crate::report::svg::{Anchor, Dress, Svg};

const ROW: f64 = 26.0;
/// Over the first row.
const TOP: f64 = 40.0;
/// Room for a letter of a name where there is little.
const NARROW_LETTER: f64 = 6.6;

/// One mark with its interval.
struct Row {
    label: String,
    mean: f64,
    low: f64,
    high: f64,
    letters: String,
}

/// Rows under a name: the levels of a factor.
struct Group {
    name: String,
    rows: Vec<Row>,
}

/// Means of the response that decides with their 95 % intervals and letters, best read from the left: days.
/// `place` tells apart the charts of one page.
pub fn means_chart(comparison: &Comparison, place: usize, room: Room, dress: Dress) -> String {
    let answer = &comparison.answers[0];
    let groups = match &answer.outcome {
        Outcome::Tested(tested) => tested
            .means
            .iter()
            .map(|table| of_table(comparison, table))
            .collect(),
        Outcome::Described(described) => vec![Group {
            name: comparison.by.join(" × "),
            rows: described
                .levels
                .iter()
                .map(|level| Row::described(comparison, level))
                .collect(),
        }],
    };
    let frame = Frame::around(&groups, room);
    let title = heading(comparison, answer);
    let words: Vec<String> = rows(&groups).map(Row::words).collect();
    let mut svg = Svg::new(
        (frame.width, frame.bottom + 40.0),
        &format!("means-{place}{}", room.letter()),
        &title,
        &words.join("; "),
    );
    svg.text("c-name", Anchor::Start, (10.0, 20.0), &title);
    frame.axis(&mut svg);
    let mut y = TOP;
    for group in &groups {
        y += ROW;
        let name = cut(&in_words(&group.name), (frame.width / LETTER) as usize);
        svg.text("c-note", Anchor::Start, (10.0, y - 9.0), &name);
        for row in &group.rows {
            y += ROW;
            frame.row(&mut svg, row, y - 13.0);
        }
    }
    svg.finish(dress)
}

fn of_table(comparison: &Comparison, table: &MeansTable) -> Group {
    let row = |mean: &LevelMean| Row {
        label: level_name(&table.of, &mean.level, comparison.dates),
        mean: mean.mean,
        low: mean.low,
        high: mean.high,
        letters: mean.letters.clone(),
    };
    Group {
        name: match &table.within {
            Some(within) => format!("{} with {within}", table.of),
            None => table.of.clone(),
        },
        rows: table.means.iter().map(row).collect(),
    }
}

fn rows(groups: &[Group]) -> impl Iterator<Item = &Row> {
    groups.iter().flat_map(|group| &group.rows)
}

impl Row {
    fn described(comparison: &Comparison, level: &DescribedLevel) -> Row {
        Row {
            label: level_of(comparison, &level.level),
            mean: level.mean,
            low: level.low.unwrap_or(level.mean),
            high: level.high.unwrap_or(level.mean),
            letters: "not tested".to_owned(),
        }
    }

    /// For those who cannot see the chart.
    fn words(&self) -> String {
        format!(
            "{}: {} ({} to {}) {}",
            self.label,
            decimal(self.mean, 1),
            decimal(self.low, 1),
            decimal(self.high, 1),
            self.letters
        )
    }
}

/// Where things are.
struct Frame {
    width: f64,
    /// Room for a letter of a name.
    letter: f64,
    left: f64,
    right: f64,
    bottom: f64,
    axis: Line,
}

impl Frame {
    fn around(groups: &[Group], room: Room) -> Frame {
        let (width, most_left, letter, beyond) = match room {
            Room::Wide => (WIDTH, 260.0, LETTER, 110.0),
            Room::Narrow => (350.0, 165.0, NARROW_LETTER, 84.0),
        };
        let (low, high) = rows(groups)
            .map(|row| (row.low, row.high))
            .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
            .unwrap_or((0.0, 1.0));
        let lengths = rows(groups).map(|row| row.label.chars().count());
        let longest = lengths.max().unwrap_or(0) as f64;
        let left = (longest * letter + 24.0).clamp(70.0, most_left);
        let right = width - beyond;
        let n_lines = rows(groups).count() + groups.len();
        Frame {
            width,
            letter,
            left,
            right,
            bottom: TOP + ROW * n_lines as f64,
            axis: Line::of_steps(low, high, (left, right), (width / 100.0).round()),
        }
    }

    fn axis(&self, svg: &mut Svg) {
        for tick in self.axis.ticks() {
            let x = self.axis.at(tick);
            svg.line("c-grid", (x, 34.0), (x, self.bottom));
            let label = self.axis.label(tick);
            svg.text("c-tick", Anchor::Middle, (x, self.bottom + 18.0), &label);
        }
        svg.line(
            "c-axis",
            (self.left, self.bottom),
            (self.right, self.bottom),
        );
    }

    fn row(&self, svg: &mut Svg, row: &Row, middle: f64) {
        let label = cut(&row.label, ((self.left - 14.0) / self.letter) as usize);
        let base = middle + 4.0;
        svg.text("c-name", Anchor::End, (self.left - 10.0, base), &label);
        let at = |value: f64| (self.axis.at(value), middle);
        svg.line("c-error", at(row.low), at(row.high));
        svg.dot("c-mark-ok", at(row.mean), 5.0);
        let words = format!("{}  {}", decimal(row.mean, 1), row.letters);
        svg.text("c-value", Anchor::Start, (self.right + 10.0, base), &words);
    }
}
