//! The photos under tests/data/photos, and breaking files.

use std::path::Path;

/// The bytes of one of the photos that scripts/make_photo_fixtures.py makes.
pub(crate) fn fixture(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/photos")
        .join(name);
    std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The file with its one occurrence of `from` replaced by `to`.
pub(crate) fn replaced(bytes: &[u8], from: &[u8], to: &[u8]) -> Vec<u8> {
    let at = memchr::memmem::find(bytes, from).expect("the file has these bytes");
    [&bytes[..at], to, &bytes[at + from.len()..]].concat()
}
