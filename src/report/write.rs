//! Files that appear whole or not at all.

use std::fs;
use std::io::Write as _;
use std::path::Path;

use super::ReportError;

/// Writes `bytes` to `path`, making its folder where needed.
///
/// The bytes go to a file beside it first, which is then renamed: whoever reads `path` sees the old file or
/// the new one, never a half.
///
/// # Errors
/// [`ReportError::Folder`] and [`ReportError::Write`]; a file that was there before is then unchanged.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), ReportError> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    fs::create_dir_all(folder).map_err(|source| ReportError::Folder {
        path: folder.to_owned(),
        source,
    })?;
    let failed = |source| ReportError::Write {
        path: path.to_owned(),
        source,
    };
    let mut file = builder().tempfile_in(folder).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    file.persist(path).map_err(|error| failed(error.error))?;
    Ok(())
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
        assert!(matches!(&error, ReportError::Folder { path, .. } if *path == in_the_way));
        assert!(error.to_string().contains("out"));
    }

    #[test]
    fn a_file_that_cannot_be_replaced_leaves_no_rubbish() {
        let folder = tempfile::tempdir().unwrap();
        let in_the_way = folder.path().join("cover.csv");
        fs::create_dir_all(in_the_way.join("not empty")).unwrap();
        let error = write_whole(&in_the_way, b"").unwrap_err();
        assert!(matches!(error, ReportError::Write { .. }));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
