//! `sprigcast new DIR`: a commented season folder to fill in.

use std::fs;
use std::path::Path;

use super::Outcome;
use super::cli::NewArgs;
use super::failure::Failure;
use super::terminal;
use crate::course::template;
use crate::files::write_whole;

pub(super) fn run(args: &NewArgs) -> Result<Outcome, Failure> {
    let folder = &args.folder;
    refuse_what_is_there(folder)?;
    let name = match &args.name {
        Some(name) => name.clone(),
        None => name_from(folder),
    };
    for (path, contents) in template::files(&name) {
        write_whole(&folder.join(path), contents.as_bytes())?;
    }
    terminal::say(&format!(
        "Made {shown}. Next:\n  1. fill in {shown}/course.toml (greens and planting dates)\n  2. put photos into {shown}/photos, one folder per green\n  3. sprigcast run {shown}\n",
        shown = folder.display()
    ))?;
    Ok(Outcome::Done)
}

fn refuse_what_is_there(folder: &Path) -> Result<(), Failure> {
    match fs::read_dir(folder) {
        Ok(mut entries) => match entries.next() {
            Some(_) => Err(Failure::FolderNotEmpty {
                folder: folder.to_owned(),
            }),
            None => Ok(()),
        },
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(Failure::write(folder, error)),
    }
}

/// `pennywhistle-bend` → `Pennywhistle Bend`.
fn name_from(folder: &Path) -> String {
    let absolute = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
    let stem = absolute
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    let words: Vec<String> = stem
        .split(['-', '_', ' '])
        .filter(|word| !word.is_empty())
        .map(|word| {
            let mut chars = word.chars();
            chars
                .next()
                .map(|first| first.to_uppercase().chain(chars).collect())
                .unwrap_or_default()
        })
        .collect();
    if words.is_empty() {
        "My course".to_owned()
    } else {
        words.join(" ")
    }
}
