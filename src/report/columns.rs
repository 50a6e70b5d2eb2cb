//! Aligned columns and wrapped lines for a terminal.

use unicode_width::{UnicodeWidthChar as _, UnicodeWidthStr as _};

/// Gap between two columns.
const GAP: usize = 2;

/// To which side a column's cells are pushed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A column: its heading in two lines and its cells.
#[derive(Debug, Clone)]
pub(crate) struct Column {
    /// The upper line may be empty.
    pub(crate) heading: [String; 2],
    /// For heading and cells alike.
    pub(crate) side: Side,
    /// One a row.
    pub(crate) cells: Vec<String>,
}

impl Column {
    fn width(&self) -> usize {
        let texts = self.heading.iter().chain(&self.cells);
        texts.map(|text| text.width()).max().unwrap_or(0)
    }

    fn padded(&self, text: &str) -> String {
        let blanks = " ".repeat(self.width() - text.width());
        match self.side {
            Side::Left => format!("{text}{blanks}"),
            Side::Right => format!("{blanks}{text}"),
        }
    }
}

/// How many terminal cells wide the columns are together.
pub(crate) fn total_width(columns: &[Column]) -> usize {
    let gaps = GAP * columns.len().saturating_sub(1);
    columns.iter().map(Column::width).sum::<usize>() + gaps
}

/// The lines of the columns: two of headings, then one a row; none ends in a blank.
///
/// `paint` may wrap the finished text of a cell (row, column) in something that takes no room.
pub(crate) fn lines(
    columns: &[Column],
    paint: impl Fn(usize, usize, String) -> String,
) -> Vec<String> {
    let joined = |cells: Vec<String>| cells.join(&" ".repeat(GAP)).trim_end().to_owned();
    let heading = |line: usize| {
        let cells = columns.iter().map(|c| c.padded(&c.heading[line]));
        joined(cells.collect())
    };
    let n_rows = columns.first().map_or(0, |column| column.cells.len());
    let row = |row: usize| {
        let cells = columns.iter().enumerate().map(|(index, column)| {
            let cell = &column.cells[row];
            // Paint the words, not the blanks beside them.
            column
                .padded(cell)
                .replace(cell.as_str(), &paint(row, index, cell.clone()))
        });
        joined(cells.collect())
    };
    [heading(0), heading(1)]
        .into_iter()
        .chain((0..n_rows).map(row))
        .collect()
}

/// `text`, cut to `width` terminal cells, the last of them `…` where something was cut.
pub(crate) fn cut(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_owned();
    }
    let mut kept = String::new();
    let mut used = 1;
    for letter in text.chars() {
        used += letter.width().unwrap_or(0);
        if used > width {
            break;
        }
        kept.push(letter);
    }
    kept + "…"
}

/// `text` in lines of at most `width` terminal cells, broken between words; the second and later lines begin
/// with `indent`. A word longer than a line gets a line of its own.
pub(crate) fn wrap(text: &str, width: usize, indent: &str) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let is_start = line.trim().is_empty();
        if !is_start && line.width() + 1 + word.width() > width {
            lines.push(std::mem::replace(&mut line, indent.to_owned()));
        } else if !is_start {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines.push(line);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn column(heading: &str, side: Side, cells: &[&str]) -> Column {
        Column {
            heading: [String::new(), heading.to_owned()],
            side,
            cells: cells.iter().map(|cell| (*cell).to_owned()).collect(),
        }
    }

    #[test]
    fn wide_letters_keep_the_columns_aligned() {
        let columns = [
            column("green", Side::Left, &["G1", "果嶺"]),
            column("cover", Side::Right, &["5%", "100%"]),
        ];
        let lines = lines(&columns, |_, _, text| text);
        assert_eq!(lines[1..], ["green  cover", "G1        5%", "果嶺    100%"]);
        assert_eq!(total_width(&columns), 12);
    }

    #[test]
    fn what_is_cut_says_so() {
        assert_eq!(cut("Practice green", 8), "Practic…");
        assert_eq!(cut("果嶺果嶺", 6), "果嶺…");
        assert_eq!(cut("G07", 3), "G07");
    }

    #[test]
    fn lines_break_between_words_and_lose_none() {
        let lines = wrap("  one two three four", 9, "    ");
        assert_eq!(lines, ["one two", "    three", "    four"]);
        assert_eq!(wrap("", 9, "  "), [""]);
        assert_eq!(wrap("a-very-long-word b", 5, ""), ["a-very-long-word", "b"]);
    }
}
