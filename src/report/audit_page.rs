//! The page on which a person judges the points of an audit: one file, no network, kept in the browser.

use askama::Template;

use super::ReportError;
use super::format::visible;
use super::judged_page::{css, data, in_base64, script};

const AUDIT_CSS: &str = include_str!("templates/audit.css");
const SCRIPT: &str = include_str!("templates/audit.js");

/// Points to judge, as they are shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditPage {
    /// Name of the course.
    pub course: String,
    /// Short name of the audit: letters and digits.
    pub audit: String,
    /// The surroundings of each point as JPEG, from the first point on; nothing tells what the program calls
    /// them.
    pub views: Vec<Vec<u8>>,
}

/// The name under which the page saves answers.
pub fn answers_file(audit: &str) -> String {
    format!("audit-{audit}-answers.csv")
}

/// The page as HTML.
///
/// # Errors
/// [`ReportError::Page`] where the template cannot be filled in.
pub fn audit_page(audit: &AuditPage) -> Result<String, ReportError> {
    let views: Vec<String> = audit.views.iter().map(|jpeg| in_base64(jpeg)).collect();
    let points = serde_json::json!({
        "audit": audit.audit,
        "file": answers_file(&audit.audit),
        "views": views,
    });
    let course = visible(&audit.course);
    let page = Page {
        title: format!("{course}: audit {}", audit.audit),
        course,
        audit: &audit.audit,
        file: answers_file(&audit.audit),
        n_points: audit.views.len(),
        css: css(AUDIT_CSS),
        points: data(&points),
        script: script(SCRIPT),
    };
    page.render().map_err(|source| ReportError::Page {
        page: "audit",
        source,
    })
}

#[derive(Template)]
#[template(path = "audit.html", config = "src/report/askama.toml")]
struct Page<'a> {
    title: String,
    course: String,
    audit: &'a str,
    file: String,
    n_points: usize,
    css: String,
    points: String,
    script: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page() -> String {
        audit_page(&AuditPage {
            course: "Penny</script><b>whistle".to_owned(),
            audit: "a1b2c3d4".to_owned(),
            views: vec![vec![1, 2, 3], vec![255; 40]],
        })
        .unwrap()
    }

    #[test]
    fn names_are_text_and_nothing_is_fetched() {
        let page = page();
        assert!(page.contains("Penny&#60;/script&#62;") || page.contains("Penny&lt;/script&gt;"));
        for fetched in ["http:", "https:", "src=\"", "@import", "url(", "fetch("] {
            assert!(!page.contains(fetched), "{fetched}");
        }
    }

    #[test]
    fn every_control_has_a_name_and_a_key() {
        let page = page();
        for (id, key) in [
            ("green", "G"),
            ("not", "N"),
            ("unsure", "U"),
            ("back", "B"),
            ("save", "S"),
            ("open", "O"),
        ] {
            assert!(page.contains(&format!("id=\"{id}\"")), "{id}");
            assert!(page.contains(&format!("<kbd>{key}</kbd>")), "{key}");
        }
        assert_eq!(
            page.matches("<img").count(),
            page.matches(" alt=\"").count()
        );
    }
}
