//! What identifies a photo: its name below the photo folder, and the hash of its bytes.

use std::ffi::OsString;
use std::fmt;
use std::path::{Component, Path, PathBuf};

use serde::{Deserialize, Serialize};

/// A photo's path below the photo folder, `/` between the parts on every system; bytes that are not UTF-8,
/// control characters and backslashes are shown as `\xNN`, so that two names are never the same text.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct PhotoName(pub String);

impl PhotoName {
    /// The name of the file at `path` as seen from `folder`; from the root where it is not below.
    pub fn below(folder: &Path, path: &Path) -> PhotoName {
        let mut text = String::new();
        for component in path.strip_prefix(folder).unwrap_or(path).components() {
            if let Component::Normal(part) = component {
                if !text.is_empty() {
                    text.push('/');
                }
                push_part(&mut text, part.as_encoded_bytes());
            }
        }
        PhotoName(text)
    }

    /// Where the file lies, if the photo folder is `folder`: the inverse of [`PhotoName::below`].
    pub fn path_below(&self, folder: &Path) -> PathBuf {
        let mut path = folder.to_owned();
        path.extend(self.0.split('/').map(as_on_disk));
        path
    }

    /// The last part: the name of the file.
    pub fn file_name(&self) -> &str {
        self.0.rsplit('/').next().unwrap_or_default()
    }

    /// The folders above the file, the nearest first.
    pub fn folders(&self) -> impl Iterator<Item = &str> {
        self.0.rsplit('/').skip(1)
    }
}

/// Adds one part of a path as text that can be shown anywhere.
fn push_part(text: &mut String, bytes: &[u8]) {
    for chunk in bytes.utf8_chunks() {
        for char in chunk.valid().chars() {
            if char.is_control() || char == '\\' {
                let mut utf8 = [0; 4];
                push_escaped(text, char.encode_utf8(&mut utf8).as_bytes());
            } else {
                text.push(char);
            }
        }
        push_escaped(text, chunk.invalid());
    }
}

/// One part of a path as the file system has it.
fn as_on_disk(part: &str) -> OsString {
    let mut bytes = Vec::with_capacity(part.len());
    let mut rest = part;
    while let Some((plain, escaped)) = rest.split_once("\\x") {
        bytes.extend_from_slice(plain.as_bytes());
        // A backslash in a name is itself escaped: every one that is left begins two digits.
        let (digits, after) = escaped.split_at_checked(2).unwrap_or((escaped, ""));
        bytes.extend(u8::from_str_radix(digits, 16));
        rest = after;
    }
    bytes.extend_from_slice(rest.as_bytes());
    of_bytes(bytes)
}

#[cfg(unix)]
fn of_bytes(bytes: Vec<u8>) -> OsString {
    std::os::unix::ffi::OsStringExt::from_vec(bytes)
}

#[cfg(not(unix))]
fn of_bytes(bytes: Vec<u8>) -> OsString {
    String::from_utf8_lossy(&bytes).into_owned().into()
}

fn push_escaped(text: &mut String, bytes: &[u8]) {
    for byte in bytes {
        text.push_str(&format!("\\x{byte:02X}"));
    }
}

impl fmt::Display for PhotoName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// BLAKE3 hash of a file's bytes: the identity of a photo, whatever its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ContentHash(pub [u8; 32]);

impl ContentHash {
    /// Hashes the bytes of a file.
    pub fn of(bytes: &[u8]) -> ContentHash {
        ContentHash(*blake3::hash(bytes).as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_joined_by_slashes_and_read_back() {
        let name = PhotoName::below(Path::new("a/b"), Path::new("a/b/2027-06-14/G07/IMG 1.jpg"));
        assert_eq!(name.0, "2027-06-14/G07/IMG 1.jpg");
        assert_eq!(name.file_name(), "IMG 1.jpg");
        assert_eq!(
            name.folders().collect::<Vec<_>>(),
            ["G07", "2027-06-14"],
            "nearest first"
        );
    }

    #[test]
    #[cfg(unix)]
    fn two_names_are_never_the_same_text() {
        use std::ffi::OsStr;
        use std::os::unix::ffi::OsStrExt;
        let name = |bytes: &[u8]| {
            PhotoName::below(
                Path::new("p"),
                &Path::new("p").join(OsStr::from_bytes(bytes)),
            )
            .0
        };
        assert_eq!(name(b"a\xff.jpg"), r"a\xFF.jpg");
        assert_eq!(name(br"a\xFF.jpg"), r"a\x5CxFF.jpg");
        assert_eq!(name(b"green\x1b[2J.jpg"), r"green\x1B[2J.jpg");
        assert_eq!(name("grün.jpg".as_bytes()), "grün.jpg");
    }

    #[test]
    #[cfg(unix)]
    fn a_name_tells_where_its_file_lies() {
        use std::ffi::OsStr;
        use std::os::unix::ffi::OsStrExt;
        let folder = Path::new("p");
        for bytes in [
            b"G07/a\xff.jpg".as_slice(),
            br"G07/a\xFF.jpg",
            b"a\x1b[2J.jpg",
            "Grün 7/ä.jpg".as_bytes(),
            br"C:\photos\x",
            b"G07/\xff\xfe",
        ] {
            let path = folder.join(OsStr::from_bytes(bytes));
            assert_eq!(PhotoName::below(folder, &path).path_below(folder), path);
        }
    }
}
