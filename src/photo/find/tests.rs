use super::*;

fn folder_with(files: &[&str]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for file in files {
        let path = folder.path().join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, "x").unwrap();
    }
    folder
}

fn names(found: &Found) -> Vec<&str> {
    found.photos.iter().map(|p| p.name.0.as_str()).collect()
}

#[test]
fn photos_are_found_by_any_known_ending_and_sorted_by_name() {
    let folder = folder_with(&[
        "G07/b.JPG",
        "G07/a.jpeg",
        "G07-1/a.HEIC",
        "z.tif",
        "y.TIFF",
        "x.webp",
        "w.png",
        "v.hif",
        "u.heif",
        "t.jpe",
    ]);
    let found = find(folder.path(), &[]).unwrap();
    assert_eq!(
        names(&found),
        [
            "G07-1/a.HEIC",
            "G07/a.jpeg",
            "G07/b.JPG",
            "t.jpe",
            "u.heif",
            "v.hif",
            "w.png",
            "x.webp",
            "y.TIFF",
            "z.tif",
        ]
    );
    assert_eq!(found.n_other_files, 0);
    assert!(found.photos.iter().all(|photo| photo.bytes == 1));
    assert!(found.photos.iter().all(|photo| photo.modified.is_some()));
}

#[test]
fn hidden_and_system_files_are_passed_over_and_others_counted() {
    let folder = folder_with(&[
        "a.jpg",
        "._a.jpg",
        ".DS_Store",
        "Thumbs.db",
        "@eaDir/a.jpg/thumb.jpg",
        "__MACOSX/._a.jpg",
        ".hidden/a.jpg",
        "clip.mov",
        "notes.txt",
        "noending",
    ]);
    let found = find(folder.path(), &[]).unwrap();
    assert_eq!(names(&found), ["a.jpg"]);
    assert_eq!(found.n_other_files, 3);
    assert_eq!(found.problems, []);
}

#[test]
fn placeholders_of_photos_that_are_still_in_the_cloud_are_told_by_the_photos_name() {
    let folder = folder_with(&[
        "G07/.IMG_0001.HEIC.icloud",
        "G07/.IMG_0002.jpg.icloud",
        "G07/IMG_0002.jpg",
        "G07/.notes.txt.icloud",
    ]);
    let found = find(folder.path(), &[]).unwrap();
    assert_eq!(names(&found), ["G07/IMG_0001.HEIC", "G07/IMG_0002.jpg"]);
    let told: Vec<Option<Unreadable>> = found
        .photos
        .iter()
        .map(FoundPhoto::unreadable_by_name)
        .collect();
    assert_eq!(told, [Some(Unreadable::InTheCloud), None]);
    assert_eq!(found.n_other_files, 0);
}

#[test]
fn pictures_of_formats_that_are_not_read_are_found_and_not_lost() {
    let folder = folder_with(&["a.GIF", "b.avif", "c.bmp", "d.dng", "e.jpg"]);
    let found = find(folder.path(), &[]).unwrap();
    assert_eq!(
        names(&found),
        ["a.GIF", "b.avif", "c.bmp", "d.dng", "e.jpg"]
    );
}

#[test]
fn raw_files_are_found_and_known_to_be_unsupported() {
    let folder = folder_with(&["a.CR3", "b.dng", "c.jpg"]);
    let found = find(folder.path(), &[]).unwrap();
    let verdicts: Vec<_> = found
        .photos
        .iter()
        .map(|photo| photo.unreadable_by_name().map(|why| why.to_string()))
        .collect();
    assert_eq!(
        verdicts,
        [
            Some("camera raw (cr3) is not read; export it as JPEG".to_owned()),
            Some("camera raw (dng) is not read; export it as JPEG".to_owned()),
            None,
        ]
    );
}

#[test]
fn folders_to_leave_out_are_not_entered() {
    let folder = folder_with(&["a.jpg", "out/overlay.png"]);
    let out = folder.path().join("sub/../out");
    fs::create_dir(folder.path().join("sub")).unwrap();
    let found = find(folder.path(), &[out, folder.path().join("not-there")]).unwrap();
    assert_eq!(names(&found), ["a.jpg"]);
}

#[test]
fn a_missing_folder_is_an_error_that_says_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("photos");
    let error = find(&missing, &[]).unwrap_err();
    assert!(matches!(error, FindError::Missing { .. }));
    assert!(
        error
            .to_string()
            .ends_with("photos; make it, or name another under [photos] folder in course.toml")
    );
    fs::write(&missing, "").unwrap();
    assert!(matches!(
        find(&missing, &[]),
        Err(FindError::NotAFolder { .. })
    ));
}

#[test]
#[cfg(unix)]
fn loops_and_broken_links_are_listed_and_the_rest_is_found() {
    use std::os::unix::fs::symlink;
    let folder = folder_with(&["G07/a.jpg", "elsewhere/b.jpg"]);
    let at = |name: &str| folder.path().join(name);
    symlink(folder.path(), at("G07/again")).unwrap();
    symlink(at("self.jpg"), at("self.jpg")).unwrap();
    symlink(at("gone.jpg"), at("G07/linked.jpg")).unwrap();
    symlink(at("gone.txt"), at("G07/notes.txt")).unwrap();
    symlink(at("elsewhere/b.jpg"), at("G07/c.jpg")).unwrap();
    let found = find(folder.path(), &[]).unwrap();
    assert_eq!(names(&found), ["G07/a.jpg", "G07/c.jpg", "elsewhere/b.jpg"]);
    assert_eq!(found.n_other_files, 1);
    let problems: Vec<_> = found.problems.iter().map(ToString::to_string).collect();
    assert_eq!(
        problems[..2],
        [
            "G07/again is a link to a folder above itself; it is not followed",
            "G07/linked.jpg is a link to a file that is not there",
        ]
    );
    assert!(problems[2].starts_with("self.jpg cannot be opened ("));
    assert_eq!(problems.len(), 3);
}

#[test]
#[cfg(unix)]
fn a_shut_folder_is_listed_and_the_rest_is_found() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder_with(&["a.jpg", "shut/b.jpg"]);
    let shut = folder.path().join("shut");
    fs::set_permissions(&shut, fs::Permissions::from_mode(0o000)).unwrap();
    let is_shut_to_us = fs::read_dir(&shut).is_err();
    let found = find(folder.path(), &[]).unwrap();
    fs::set_permissions(&shut, fs::Permissions::from_mode(0o700)).unwrap();
    if is_shut_to_us {
        assert_eq!(names(&found), ["a.jpg"]);
        assert_eq!(found.problems[0].name.0, "shut");
        assert!(matches!(
            found.problems[0].what,
            FindProblemKind::NoAccess { .. }
        ));
    } else {
        // The superuser looks into everything.
        assert_eq!(names(&found), ["a.jpg", "shut/b.jpg"]);
    }
}

#[test]
#[cfg(unix)]
fn a_pipe_that_is_named_like_a_photo_does_not_block() {
    let folder = folder_with(&["a.jpg"]);
    let made = std::process::Command::new("mkfifo")
        .arg(folder.path().join("b.jpg"))
        .status();
    assert!(made.is_ok_and(|status| status.success()));
    let found = find(folder.path(), &[]).unwrap();
    assert_eq!(names(&found), ["a.jpg"]);
    assert_eq!(found.n_other_files, 1);
}

#[test]
#[cfg(target_os = "linux")]
fn names_that_are_long_or_not_utf8_are_found() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let folder = tempfile::tempdir().unwrap();
    let long = format!("{}.jpg", "g".repeat(251));
    fs::write(folder.path().join(&long), "x").unwrap();
    let broken = folder.path().join(OsStr::from_bytes(b"gr\xfcn.jpg"));
    fs::write(&broken, "x").unwrap();
    let found = find(folder.path(), &[]).unwrap();
    assert_eq!(names(&found), [long.as_str(), r"gr\xFCn.jpg"]);
    let mut bytes = Vec::new();
    read(&found.photos[1].path, &mut bytes).unwrap();
    assert_eq!(bytes, b"x");
}

#[test]
fn reading_says_what_is_wrong_with_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.jpg");
    let mut bytes = vec![1, 2, 3];
    assert!(matches!(
        read(&path, &mut bytes),
        Err(Unreadable::NoAccess { .. })
    ));
    fs::write(&path, "").unwrap();
    assert_eq!(read(&path, &mut bytes), Err(Unreadable::Empty));
    fs::write(&path, "x").unwrap();
    assert_eq!(read(&path, &mut bytes), Ok(()));
    assert_eq!(bytes, b"x");
}
