//! Looks for the code of a slate in every photo of the folders given, and says how many were read, rightly where
//! the file's name begins with the id written on the slate and `_`, and what looking costs beside decoding.
//!
//! `cargo run --release --example score-slates -- FOLDER...`; photos with slates are drawn by
//! `scripts/draw_slates.py`.

use std::error::Error;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use sprigcast::assign::Slate;
use sprigcast::photo::{self, Decoder, Limits};

fn main() -> Result<(), Box<dyn Error>> {
    let folders: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let mut decoder = Decoder::new();
    for folder in folders {
        let (mut n_photos, mut n_read, mut n_wrong, mut n_other) = (0, 0, 0, 0);
        let mut n_unread = 0;
        let (mut decoding, mut looking) = (Duration::ZERO, Duration::ZERO);
        let mut unread = Vec::new();
        for photo in photo::find(&folder, &[])?.photos {
            let bytes = std::fs::read(&photo.path)?;
            let start = Instant::now();
            let Ok(picture) = decoder.decode(&bytes, &Limits::default()) else {
                continue;
            };
            decoding += start.elapsed();
            let start = Instant::now();
            let photo::Codes {
                mut texts,
                has_unread,
            } = photo::look_for_codes(&picture);
            let code = texts.pop();
            n_unread += u32::from(has_unread);
            looking += start.elapsed();
            n_photos += 1;
            let name = photo.name.file_name();
            match code.as_deref().map(Slate::read) {
                Some(Ok(slate)) => {
                    n_read += 1;
                    let wanted = slate
                        .station
                        .map_or(slate.green.to_string(), |id| id.to_string());
                    n_wrong += u32::from(name.split('_').next() != Some(wanted.as_str()));
                }
                Some(Err(_)) => n_other += 1,
                None => unread.push(name.to_owned()),
            }
        }
        println!(
            "{}: {n_photos} photos, {n_read} slates read, {n_wrong} of them not what the name says, {n_other} \
             other codes, {n_unread} seen and not read; decoding {:.1} ms a photo, looking {:.2} ms",
            folder.display(),
            decoding.as_secs_f64() * 1e3 / f64::from(n_photos.max(1)),
            looking.as_secs_f64() * 1e3 / f64::from(n_photos.max(1)),
        );
        if n_read > 0 {
            for name in unread {
                println!("  not read: {name}");
            }
        }
    }
    Ok(())
}
