//! What other programs make of a PDF, where they are installed.

use std::io::Write as _;
use std::process::Command;

use image::GrayImage;

/// The text as `pdftotext` reads it, laid out as on the page or in the order of the file; `None`, and a line
/// that says so, where that program cannot be run.
pub(crate) fn text(pdf: &[u8], is_laid_out: bool) -> Option<String> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(pdf).unwrap();
    let mut command = Command::new("pdftotext");
    if is_laid_out {
        command.arg("-layout");
    }
    let output = command
        .args(["-enc", "UTF-8"])
        .arg(file.path())
        .arg("-")
        .output();
    match output {
        Ok(output) => {
            assert!(output.status.success(), "{output:?}");
            Some(String::from_utf8(output.stdout).unwrap())
        }
        Err(error) => {
            println!("skipped: pdftotext cannot be run ({error})");
            None
        }
    }
}

/// Every page in grey as `pdftoppm` draws it, with so many pixels an inch; `None`, and a line that says so,
/// where that program cannot be run.
pub(crate) fn pictures(pdf: &[u8], per_inch: u32) -> Option<Vec<GrayImage>> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pages.pdf");
    std::fs::write(&path, pdf).unwrap();
    let output = Command::new("pdftoppm")
        .args(["-gray", "-png", "-r", &per_inch.to_string()])
        .arg(&path)
        .arg(folder.path().join("page"))
        .output();
    match output {
        Ok(output) => assert!(output.status.success(), "{output:?}"),
        Err(error) => {
            println!("skipped: pdftoppm cannot be run ({error})");
            return None;
        }
    }
    let entries = std::fs::read_dir(folder.path()).unwrap();
    let mut files: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|ending| ending == "png"));
    files.sort();
    let page = |file| image::open(file).unwrap().into_luma8();
    Some(files.iter().map(page).collect())
}
