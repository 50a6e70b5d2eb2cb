//! Places in photos that a person has marked as green or not, as read from a file.

use serde::Deserialize;
use thiserror::Error;

use crate::written::{Row, Table, TableError, excerpt, table, text_of, visible};

/// A place in a photo and what it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Path of the photo below the photo folder.
    pub photo: String,
    /// Column of the upright photo, from 0 at the left; the left edge of a rectangle.
    pub x: u32,
    /// Row of the upright photo, from 0 at the top; the upper edge of a rectangle.
    pub y: u32,
    /// Columns; 1 for a point.
    pub width: u32,
    /// Rows; 1 for a point.
    pub height: u32,
    /// What the person saw there.
    pub is: Marking,
}

/// What a person says of a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Marking {
    /// Green turf.
    Green,
    /// Anything else.
    NotGreen,
}

/// Why a file of marks cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MarksError {
    /// The table cannot be taken apart.
    #[error(transparent)]
    Table(#[from] TableError),
    /// Neither CSV nor JSON of the right shape.
    #[error(
        "{0}; write a CSV with the columns photo,x,y,green (and width,height for rectangles), or the same as a JSON list of objects"
    )]
    Shape(String),
    /// Not a word for green or not green.
    #[error("mark {number}: green is `{found}`; write yes or no")]
    Green {
        /// Which mark of the file, from 1.
        number: usize,
        /// As written.
        found: String,
    },
    /// No place.
    #[error("mark {number}: a rectangle without pixels; width and height are 1 or more")]
    Empty {
        /// Which mark of the file, from 1.
        number: usize,
    },
    /// Nothing in it.
    #[error("no marks in it; mark some places that are green and some that are not")]
    None,
}

/// A mark as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    photo: String,
    x: u32,
    y: u32,
    green: Word,
    #[serde(default)]
    width: Option<u32>,
    #[serde(default)]
    height: Option<u32>,
}

#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum Word {
    Said(bool),
    Number(u8),
    Text(String),
}

/// Reads marks from a table, saved as any spreadsheet saves it, or a JSON list, whichever the file holds.
///
/// # Errors
/// [`MarksError`] with the number of the mark at fault.
pub fn read_marks(file: impl AsRef<[u8]>) -> Result<Vec<Mark>, MarksError> {
    let file = file.as_ref();
    let text = text_of(file)?;
    let written: Vec<Written> = if text.trim_start().starts_with('[') {
        serde_json::from_str(&text)
            .map_err(|error| MarksError::Shape(visible(&error.to_string())))?
    } else {
        from_table(&table(file)?)?
    };
    if written.is_empty() {
        return Err(MarksError::None);
    }
    (1..).zip(written).map(mark).collect()
}

fn from_table(table: &Table) -> Result<Vec<Written>, MarksError> {
    let column = |name| {
        table
            .column(name)?
            .ok_or_else(|| MarksError::Shape(format!("there is no column `{name}`")))
    };
    let (photo_at, green_at) = (column("photo")?, column("green")?);
    let (x_at, y_at) = (column("x")?, column("y")?);
    let (width_at, height_at) = (table.column("width")?, table.column("height")?);
    let read = |row: &Row| -> Result<Written, MarksError> {
        let row = row.fits()?;
        let pixels = |name: &str, place: usize| {
            let written = row.at(place);
            let whole = row
                .number(place)
                .filter(|n| n.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(n));
            whole.map(|n| n as u32).ok_or_else(|| {
                MarksError::Shape(format!(
                    "line {}: {name} is `{}` and no number of pixels",
                    row.line,
                    excerpt(written)
                ))
            })
        };
        let size = |name: &str, place: Option<usize>| match place {
            Some(place) if !row.at(place).is_empty() => pixels(name, place).map(Some),
            _ => Ok(None),
        };
        Ok(Written {
            photo: row.at(photo_at).to_owned(),
            x: pixels("x", x_at)?,
            y: pixels("y", y_at)?,
            green: match row.at(green_at) {
                "1" => Word::Number(1),
                "0" => Word::Number(0),
                word => Word::Text(word.to_owned()),
            },
            width: size("width", width_at)?,
            height: size("height", height_at)?,
        })
    };
    table.rows.iter().map(read).collect()
}

fn mark((number, written): (usize, Written)) -> Result<Mark, MarksError> {
    let is = match &written.green {
        Word::Said(true) | Word::Number(1) => Marking::Green,
        Word::Said(false) | Word::Number(0) => Marking::NotGreen,
        Word::Text(text) => match text.to_lowercase().as_str() {
            "yes" | "y" | "true" | "green" => Marking::Green,
            "no" | "n" | "false" | "not" => Marking::NotGreen,
            _ => {
                let found = excerpt(text);
                return Err(MarksError::Green { number, found });
            }
        },
        Word::Number(found) => {
            let found = found.to_string();
            return Err(MarksError::Green { number, found });
        }
    };
    let (width, height) = (written.width.unwrap_or(1), written.height.unwrap_or(1));
    if width == 0 || height == 0 {
        return Err(MarksError::Empty { number });
    }
    Ok(Mark {
        photo: written.photo,
        x: written.x,
        y: written.y,
        width,
        height,
        is,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_and_rectangles_are_read_from_csv_and_json_alike() {
        let csv = "photo,x,y,width,height,green\nG03/a.jpg,10,20,,,yes\nG03/b.jpg, 0,5,30,40, No\n";
        let json = r#"[{"photo": "G03/a.jpg", "x": 10, "y": 20, "green": true},
            {"photo": "G03/b.jpg", "x": 0, "y": 5, "width": 30, "height": 40, "green": "no"}]"#;
        let marks = read_marks(csv).unwrap();
        assert_eq!(marks, read_marks(json).unwrap());
        assert_eq!((marks[0].width, marks[0].is), (1, Marking::Green));
        assert_eq!((marks[1].height, marks[1].is), (40, Marking::NotGreen));
        let short = read_marks("\u{feff}photo,x,y,green\na.jpg,1,2,1\na.jpg,1,2,0\n").unwrap();
        assert_eq!(
            (short[0].is, short[1].is),
            (Marking::Green, Marking::NotGreen)
        );
    }

    #[test]
    fn faults_are_told_with_the_mark_that_has_them() {
        let green = read_marks("photo,x,y,green\na.jpg,1,2,yes\na.jpg,1,2,maybe\n");
        assert_eq!(
            green,
            Err(MarksError::Green {
                number: 2,
                found: "maybe".into()
            })
        );
        let empty = read_marks(r#"[{"photo":"a","x":1,"y":1,"width":0,"green":1}]"#);
        assert_eq!(empty, Err(MarksError::Empty { number: 1 }));
        assert_eq!(read_marks("photo,x,y,green\n"), Err(MarksError::None));
        assert_eq!(read_marks("[]"), Err(MarksError::None));
        for text in ["", "[", "photo,x\na,1\n", "photo,x,y,green\na,-1,2,yes\n"] {
            assert!(read_marks(text).is_err(), "{text}");
        }
    }
}
