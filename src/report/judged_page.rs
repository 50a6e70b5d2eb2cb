//! What pages share on which a person judges photos: looks, script, and how pictures and data lie in them.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

use super::palette::variables;

const PAGE_CSS: &str = include_str!("templates/page.css");
const JUDGED_CSS: &str = include_str!("templates/judged.css");
const JUDGED_SCRIPT: &str = include_str!("templates/judged.js");

/// The looks of a page, with `own` after what all have.
pub(super) fn css(own: &str) -> String {
    variables() + PAGE_CSS + JUDGED_CSS + own
}

/// The script of a page, with `own` after what all have.
pub(super) fn script(own: &str) -> String {
    JUDGED_SCRIPT.to_owned() + own
}

/// Data for the script, such that nothing in it could end the element that it stands in.
pub(super) fn data(value: &serde_json::Value) -> String {
    value.to_string().replace('<', "\\u003c")
}

/// A picture as the page carries it.
pub(super) fn in_base64(jpeg: &[u8]) -> String {
    STANDARD.encode(jpeg)
}
