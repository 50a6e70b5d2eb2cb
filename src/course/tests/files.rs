use std::fs;
use std::path::Path;

use miette::Diagnostic;

use super::{GREEN, LEAST, rendered};
use crate::course::{Course, CourseError};

fn season(contents: impl AsRef<[u8]>) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("course.toml"), contents).unwrap();
    folder
}

fn failure(path: &Path) -> (String, String) {
    let error = Course::read(path).unwrap_err();
    let help = error.help().map(|help| help.to_string());
    (error.to_string(), help.unwrap_or_default())
}

#[test]
fn a_season_is_read_by_its_folder_or_by_its_course_file() {
    let folder = season(format!("{LEAST}{GREEN}"));
    let by_folder = Course::read(folder.path()).unwrap();
    let by_file = Course::read(&folder.path().join("course.toml")).unwrap();
    assert_eq!(by_folder.folder, folder.path());
    assert_eq!(by_file.folder, folder.path());
    assert_eq!(by_folder.photos.folder, folder.path().join("photos"));
    assert_eq!(by_folder.greens, by_file.greens);
}

#[test]
fn lines_that_end_in_a_carriage_return_alone_are_lines() {
    let text = format!("# Pennywhistle Bend\n{LEAST}{GREEN}");
    let (usual, old) = (season(&text), season(text.replace('\n', "\r")));
    let [usual, old] = [usual, old].map(|folder| Course::read(folder.path()).unwrap().greens);
    assert_eq!(usual, old);
    let folder = season(format!("{LEAST}{GREEN}nonsense\n").replace('\n', "\r"));
    let n_lines = format!("{LEAST}{GREEN}").matches('\n').count();
    let error = rendered(&Course::read(folder.path()).unwrap_err());
    assert!(error.contains(&format!(":{}:", n_lines + 1)), "{error}");
}

#[test]
fn a_missing_course_file_is_told_how_to_make_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("course.toml");
    let (what, help) = failure(folder.path());
    assert_eq!(what, format!("there is no course file {}", path.display()));
    assert_eq!(
        help,
        "name the folder that holds course.toml; `sprigcast new DIR` makes a season folder with one to fill in"
    );
    let nowhere = folder.path().join("nowhere");
    let (what, help) = failure(&nowhere);
    assert_eq!(what, format!("there is no folder {}", nowhere.display()));
    assert!(help.contains("`sprigcast new DIR`"), "{help}");
}

#[test]
fn a_file_that_is_not_utf_8_is_told_where() {
    let folder = season(b"[course]\nname = \"Pe\xf1a\"\n");
    let path = folder.path().join("course.toml");
    let (what, help) = failure(folder.path());
    assert_eq!(
        what,
        format!(
            "{} line 2: this is not UTF-8 text (it looks like text in an older encoding)",
            path.display()
        )
    );
    assert_eq!(
        help,
        "open it in a text editor and save it again with the encoding UTF-8"
    );
    let (what, _) = failure(season(b"\xff\xfe[\0c\0").path());
    assert!(what.contains("UTF-16"), "{what}");
    let (what, _) = failure(season(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR").path());
    assert!(what.contains("not like text"), "{what}");
}

#[test]
fn a_file_larger_than_any_course_file_is_not_read() {
    let folder = season(vec![b'#'; 1024 * 1024 + 1]);
    let error = Course::read(folder.path()).unwrap_err();
    assert!(matches!(error, CourseError::TooLarge { .. }), "{error}");
}

#[test]
fn a_folder_in_place_of_the_course_file_is_told() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("course.toml")).unwrap();
    let error = Course::read(folder.path()).unwrap_err();
    assert!(matches!(error, CourseError::NoAccess { .. }), "{error}");
}

#[test]
fn a_weather_file_that_is_named_must_be_there() {
    let folder = season(format!(
        "{LEAST}[weather]\nfile = \"wether.csv\"\n[goal]\nfull_cover = 0\n{GREEN}"
    ));
    let error = Course::read(folder.path()).unwrap_err();
    let faults: Vec<(usize, &str)> = error
        .faults()
        .map(|fault| (fault.line(), fault.advice()))
        .collect();
    assert_eq!(
        faults,
        [
            (
                5,
                "put the file into the season folder, or take this line away: the forecast then counts days"
            ),
            (7, "write a percentage, such as full_cover = 95.0"),
        ]
    );
    let path = folder.path().join("wether.csv");
    assert!(rendered(&error).contains("there is no weather file"));
    fs::write(&path, "date,tmin_c,tmax_c\n").unwrap();
    let error = Course::read(folder.path()).unwrap_err();
    assert_eq!(error.faults().count(), 1);
}

#[test]
fn the_weather_of_the_folder_is_found_where_none_is_named() {
    let folder = season(format!("{LEAST}{GREEN}"));
    assert_eq!(Course::read(folder.path()).unwrap().weather.file, None);
    let path = folder.path().join("weather.csv");
    fs::write(&path, "date,tmin_c,tmax_c\n").unwrap();
    assert_eq!(
        Course::read(folder.path()).unwrap().weather.file,
        Some(path)
    );
}
