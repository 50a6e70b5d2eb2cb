//! One way to write a file, whoever asks for it.

use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::WriteError;

/// A chain of more links than this is a ring; Linux follows as many.
const MOST_LINKS: usize = 40;

/// Writes `bytes` to `path`, making its folder where needed.
///
/// The bytes go to a file beside it first, which is then renamed: whoever reads `path` sees the old file or
/// the new one, never a half, even after the power failed: it is on the disk before it has its name. Where `path` is a
/// link, the file that it leads to is written.
///
/// # Errors
/// [`WriteError::Folder`] and [`WriteError::Write`]; a file that was there before is then unchanged.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let folder = folder_of(path);
    fs::create_dir_all(folder).map_err(|source| WriteError::Folder {
        path: folder.to_owned(),
        source,
    })?;
    replace(path, bytes)
}

/// Writes `bytes` to a place that a person named: a file as [`write_whole`] does, but into a folder that is
/// there already; what is no file, such as `/dev/stdout` or a named pipe, is written to as it stands.
///
/// # Errors
/// [`WriteError::NoFolder`], [`WriteError::Stream`] and [`WriteError::Write`].
pub fn write_where_told(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let is_special = fs::metadata(path).is_ok_and(|there| !there.is_file() && !there.is_dir());
    if is_special || names_an_open_stream(path) {
        // Standard output may be a file that already holds something.
        let stream = OpenOptions::new().append(true).open(path);
        return stream
            .and_then(|mut stream| stream.write_all(bytes))
            .map_err(|source| WriteError::Stream {
                path: path.to_owned(),
                source,
            });
    }
    let folder = folder_of(path);
    if !folder.is_dir() {
        return Err(WriteError::NoFolder {
            path: folder.to_owned(),
        });
    }
    replace(path, bytes)
}

/// Takes a file away.
///
/// # Errors
/// [`WriteError::Remove`].
pub fn remove(path: &Path) -> Result<(), WriteError> {
    fs::remove_file(path).map_err(|source| WriteError::Remove {
        path: path.to_owned(),
        source,
    })
}

/// Where a file lies or would lie, once links to it are followed.
///
/// # Errors
/// Where links lead in a ring.
pub fn followed(path: &Path) -> io::Result<PathBuf> {
    let mut place = path.to_owned();
    for _ in 0..MOST_LINKS {
        match fs::read_link(&place) {
            Ok(next) => place = folder_of(&place).join(next),
            Err(_) => return Ok(place),
        }
    }
    Err(io::Error::other("its links lead back to themselves"))
}

fn replace(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let failed = |source| WriteError::Write {
        path: path.to_owned(),
        source: plain(source),
    };
    let place = followed(path).map_err(failed)?;
    let mut file = builder().tempfile_in(folder_of(&place)).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    file.persist(&place).map_err(|error| failed(error.error))?;
    Ok(())
}

/// The system's answer without the name of the temporary file, which means nothing to the reader.
fn plain(error: io::Error) -> io::Error {
    match (error.raw_os_error(), error.kind()) {
        (None, kind) if kind != io::ErrorKind::Other => kind.into(),
        _ => error,
    }
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// Whether a path stands for something that this program has open, whatever that is.
fn names_an_open_stream(path: &Path) -> bool {
    ["/dev/stdout", "/dev/stderr", "/dev/fd", "/proc"]
        .iter()
        .any(|stream| path.starts_with(stream))
}

/// Temporary files that others may read once they are results: the default is for the owner's eyes only.
fn builder() -> tempfile::Builder<'static, 'static> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".sprigcast-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // The umask takes away what the system's user does not want to give.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_nothing_else_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out/cover.csv");
        write_whole(&path, b"first").unwrap();
        write_whole(&path, b"second").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"second");
        assert_eq!(fs::read_dir(path.parent().unwrap()).unwrap().count(), 1);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_the_file_behind_it_is_written() {
        use std::os::unix::fs::symlink;
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::create_dir(at("shared")).unwrap();
        symlink("second", at("first")).unwrap();
        symlink("shared/cover.csv", at("second")).unwrap();
        for bytes in [b"old", b"new"] {
            write_where_told(&at("first"), bytes).unwrap();
            assert_eq!(fs::read(at("shared/cover.csv")).unwrap(), bytes);
        }
        assert!(at("first").is_symlink() && at("second").is_symlink());
        symlink("ring", at("ring")).unwrap();
        let error = write_where_told(&at("ring"), b"").unwrap_err();
        assert!(error.to_string().contains("lead back"), "{error}");
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn what_is_no_file_is_written_to_and_not_replaced() {
        use std::os::unix::fs::symlink;
        let folder = tempfile::tempdir().unwrap();
        let link = folder.path().join("full");
        symlink("/dev/full", &link).unwrap();
        for path in [Path::new("/dev/full"), &link] {
            let error = write_where_told(path, b"bytes").unwrap_err();
            assert!(matches!(error, WriteError::Stream { .. }), "{error}");
        }
        write_where_told(Path::new("/dev/null"), b"bytes").unwrap();
        assert!(!fs::metadata("/dev/null").unwrap().is_file());
    }

    #[test]
    fn a_missing_folder_is_told_and_not_made() {
        let folder = tempfile::tempdir().unwrap();
        let error = write_where_told(&folder.path().join("a/b/cover.csv"), b"").unwrap_err();
        assert!(error.to_string().contains("there is no folder"), "{error}");
        assert!(!folder.path().join("a").exists());
    }

    #[cfg(unix)]
    #[test]
    fn a_result_has_the_permissions_of_any_new_file() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let ordinary = folder.path().join("ordinary");
        fs::write(&ordinary, b"").unwrap();
        let result = folder.path().join("result");
        write_whole(&result, b"").unwrap();
        let mode = |path| fs::metadata(path).unwrap().permissions().mode();
        assert_eq!(mode(&result), mode(&ordinary));
    }

    #[test]
    fn a_folder_that_cannot_be_made_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let in_the_way = folder.path().join("out");
        fs::write(&in_the_way, b"a file, not a folder").unwrap();
        let error = write_whole(&in_the_way.join("cover.csv"), b"").unwrap_err();
        assert!(matches!(&error, WriteError::Folder { path, .. } if *path == in_the_way));
        assert!(error.to_string().contains("out"));
    }

    #[test]
    fn a_file_that_cannot_be_replaced_leaves_no_rubbish() {
        let folder = tempfile::tempdir().unwrap();
        let in_the_way = folder.path().join("cover.csv");
        fs::create_dir_all(in_the_way.join("not empty")).unwrap();
        let error = write_whole(&in_the_way, b"").unwrap_err();
        assert!(matches!(error, WriteError::Write { .. }));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
