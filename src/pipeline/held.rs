//! Photos that were decoded to fit the season's colours, held in files so that they need not be decoded again to be
//! measured.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::bench::Bench;
use crate::photo::{ContentHash, LaidAside, Metadata, PhotoName};

/// Bytes that are held at most: 17 photos of 12 megapixels. Files that are gone after a few seconds seldom reach the
/// disk; systems keep them in memory that nobody else wants.
const ROOM: usize = 640 << 20;

/// A photo that is decoded, and is no slate.
pub(super) struct Held {
    pub(super) hash: ContentHash,
    /// As it was read without the name of the file.
    pub(super) metadata: Metadata,
    pub(super) pixels: LaidAside,
}

/// The photos that are held. Those that find no room are decoded again, which costs time and nothing else.
pub(super) struct Hold {
    inner: Mutex<Inner>,
}

#[derive(Default)]
struct Inner {
    photos: BTreeMap<PhotoName, Held>,
    /// Bytes for which there is still room.
    room: usize,
}

impl Hold {
    /// Nothing is taken into it.
    pub(super) fn nothing() -> Hold {
        Hold::with_room(0)
    }

    /// Has room for some photos.
    pub(super) fn empty() -> Hold {
        Hold::with_room(ROOM)
    }

    fn with_room(room: usize) -> Hold {
        let photos = BTreeMap::new();
        Hold {
            inner: Mutex::new(Inner { photos, room }),
        }
    }

    /// Takes the photo off a bench where there is room for it.
    pub(super) fn offer(&self, name: &PhotoName, metadata: &Metadata, bench: &mut Bench) {
        if bench.holds_large || !self.reserve(bench.decoder.n_bytes()) {
            return;
        }
        // In the folder that the system has for it, without a name: it is gone with the program, however that ends.
        let laid = tempfile::tempfile().and_then(|file| bench.decoder.lay_aside(file));
        let Ok(Some(pixels)) = laid else {
            // The disk is full, perhaps: no use trying again.
            self.lock().room = 0;
            return;
        };
        let held = Held {
            hash: ContentHash::of(&bench.bytes),
            metadata: metadata.clone(),
            pixels,
        };
        self.lock().photos.insert(name.clone(), held);
    }

    fn reserve(&self, n_bytes: usize) -> bool {
        let mut inner = self.lock();
        let left = inner.room.checked_sub(n_bytes);
        inner.room = left.unwrap_or(inner.room);
        left.is_some()
    }

    pub(super) fn has(&self, name: &PhotoName) -> bool {
        self.lock().photos.contains_key(name)
    }

    /// Hands a photo out.
    pub(super) fn take(&self, name: &PhotoName) -> Option<Held> {
        self.lock().photos.remove(name)
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use jiff::tz::TimeZone;

    use super::*;
    use crate::photo::{Limits, metadata};

    fn jpeg(colour: [u8; 3]) -> Vec<u8> {
        let mut jpeg = Vec::new();
        let image = image::RgbImage::from_pixel(8, 8, image::Rgb(colour));
        image::codecs::jpeg::JpegEncoder::new(&mut jpeg)
            .encode_image(&image)
            .unwrap();
        jpeg
    }

    /// Offers photos of these names; gives which are held.
    fn held<'n>(hold: &Hold, names: &[&'n str]) -> Vec<&'n str> {
        let mut bench = Bench {
            bytes: jpeg([60, 120, 40]),
            ..Bench::default()
        };
        let is_held = |name: &&str| {
            let name = PhotoName((*name).to_owned());
            bench.picture(&Limits::default()).unwrap();
            let metadata = metadata(&bench.bytes, &TimeZone::UTC);
            hold.offer(&name, &metadata, &mut bench);
            assert_eq!(hold.has(&name), bench.decoder.held().is_none());
            hold.has(&name)
        };
        names.iter().copied().filter(is_held).collect()
    }

    #[test]
    fn as_many_photos_are_held_as_find_room() {
        let two = Hold::with_room(2 * 3 * 8 * 8);
        assert_eq!(held(&two, &["a", "b", "c", "d"]), ["a", "b"]);
        assert_eq!(held(&Hold::nothing(), &["a"]), [""; 0]);
        assert_eq!(held(&Hold::empty(), &["a", "b", "c"]), ["a", "b", "c"]);
    }

    #[test]
    fn a_photo_that_is_handed_out_is_the_one_that_was_held() {
        let hold = Hold::empty();
        let name = PhotoName("a.jpg".to_owned());
        let mut bench = Bench {
            bytes: jpeg([60, 120, 40]),
            ..Bench::default()
        };
        let limits = Limits::default();
        let first = bench.picture(&limits).unwrap().rgb.to_vec();
        let metadata = metadata(&bench.bytes, &TimeZone::UTC);
        hold.offer(&name, &metadata, &mut bench);
        bench.bytes = jpeg([200, 190, 180]);
        assert_ne!(bench.picture(&limits).unwrap().rgb, first);
        let held = hold.take(&name).unwrap();
        assert_eq!(held.hash, ContentHash::of(&jpeg([60, 120, 40])));
        assert!(bench.put(held.pixels));
        assert_eq!(bench.picture(&limits).unwrap().rgb, first);
        assert!(hold.take(&name).is_none());
    }
}
