//! The page on which a person marks places in photos as turf or not: one file, no network, kept in the browser.

use askama::Template;

use super::ReportError;
use super::format::visible;
use super::judged_page::{css, data, in_base64, script};

const MARKS_CSS: &str = include_str!("templates/marks.css");
const SCRIPT: &str = include_str!("templates/marks.js");

/// The name under which the page saves marks.
pub const MARKS_FILE: &str = "marks.csv";

/// Marks that are enough: what more of them changed on photos with masks drawn by hand was less than chance.
const ENOUGH: usize = 60;

/// Photos to mark places in, as they are shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarksPage {
    /// Name of the course.
    pub course: String,
    /// What tells this season from others: the browser keeps marks under it, whichever photos the page shows.
    pub season: String,
    /// By date.
    pub views: Vec<MarksView>,
}

/// A part of a photo, pixel by pixel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarksView {
    /// Path of the photo below the photo folder.
    pub photo: String,
    /// Column of the upright photo that the part begins at.
    pub x: u32,
    /// Row of the upright photo that the part begins at.
    pub y: u32,
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// The part as JPEG.
    pub jpeg: Vec<u8>,
}

/// The page as HTML.
///
/// # Errors
/// [`ReportError::Page`] where the template cannot be filled in.
pub fn marks_page(marks: &MarksPage) -> Result<String, ReportError> {
    let view = |view: &MarksView| {
        serde_json::json!({
            "photo": view.photo,
            "x": view.x,
            "y": view.y,
            "width": view.width,
            "height": view.height,
            "jpeg": in_base64(&view.jpeg),
        })
    };
    let points = serde_json::json!({
        "season": marks.season,
        "file": MARKS_FILE,
        "enough": ENOUGH,
        "views": marks.views.iter().map(view).collect::<Vec<_>>(),
    });
    let course = visible(&marks.course);
    let page = Page {
        title: format!("{course}: marks"),
        course,
        file: MARKS_FILE,
        n_views: marks.views.len(),
        enough: ENOUGH,
        css: css(MARKS_CSS),
        points: data(&points),
        script: script(SCRIPT),
    };
    page.render().map_err(|source| ReportError::Page {
        page: "marks",
        source,
    })
}

#[derive(Template)]
#[template(path = "marks.html", config = "src/report/askama.toml")]
struct Page {
    title: String,
    course: String,
    file: &'static str,
    n_views: usize,
    enough: usize,
    css: String,
    points: String,
    script: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page() -> String {
        marks_page(&MarksPage {
            course: "Penny</script><b>whistle".to_owned(),
            season: "a1b2c3d4".to_owned(),
            views: vec![MarksView {
                photo: "G03/</script>.jpg".to_owned(),
                x: 100,
                y: 7,
                width: 40,
                height: 30,
                jpeg: vec![1, 2, 3],
            }],
        })
        .unwrap()
    }

    #[test]
    fn names_are_text_and_nothing_is_fetched() {
        let page = page();
        assert!(page.contains("Penny&#60;/script&#62;") || page.contains("Penny&lt;/script&gt;"));
        assert_eq!(page.matches("</script>").count(), 2);
        for fetched in ["http:", "https:", "src=\"", "@import", "url(", "fetch("] {
            let n = page.matches(fetched).count();
            // The name of SVG in the script.
            let allowed = usize::from(fetched == "http:");
            assert_eq!(n, allowed, "{fetched}");
        }
    }

    #[test]
    fn every_control_has_a_name_and_a_key() {
        let page = page();
        for (id, key) in [
            ("green", "G"),
            ("not", "N"),
            ("undo", "Z"),
            ("box", "R"),
            ("smaller", "-"),
            ("larger", "+"),
            ("back", "B"),
            ("next", "J"),
            ("save", "S"),
            ("open", "O"),
        ] {
            assert!(page.contains(&format!("id=\"{id}\"")), "{id}");
            assert!(page.contains(&format!("<kbd>{key}</kbd>")), "{key}");
        }
    }
}
