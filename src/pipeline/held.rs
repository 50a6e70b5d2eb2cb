//! Photos that were decoded to fit the season's colours, held so that they need not be decoded again to be measured.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::bench::Bench;
use crate::photo::{ContentHash, Decoder, Metadata, PhotoName};

/// Memory for held photos, in bytes, beside one more than there are workers: what is promised (README, "Limits") less
/// what files, results and the program itself take.
const ROOM: usize = 110 << 20;

/// A photo that is decoded, and is no slate.
pub(super) struct Held {
    pub(super) hash: ContentHash,
    /// As it was read without the name of the file.
    pub(super) metadata: Metadata,
    pub(super) decoder: Decoder,
}

/// The photos that are held. Those that find no room are decoded again, which costs time and nothing else.
pub(super) struct Hold {
    n_workers: usize,
    /// Bytes for held photos beside those of the workers and one more.
    room: usize,
    inner: Mutex<Inner>,
}

#[derive(Default)]
struct Inner {
    photos: BTreeMap<PhotoName, Held>,
    n_bytes: usize,
    /// Photos that are still to be decoded, or being decoded.
    n_to_come: usize,
}

impl Hold {
    /// Of nothing; nothing is taken into it.
    pub(super) fn nothing() -> Hold {
        Hold::of(0, 0)
    }

    /// For the photos that so many workers are about to decode.
    pub(super) fn of(n_photos: usize, n_workers: usize) -> Hold {
        let inner = Inner {
            n_to_come: n_photos,
            ..Inner::default()
        };
        Hold {
            n_workers,
            room: ROOM,
            inner: Mutex::new(inner),
        }
    }

    /// Takes a photo off a bench where there is room for it. Asked once for each photo that is decoded, with `None`
    /// for one that is not wanted.
    pub(super) fn offer(&self, photo: Option<(&PhotoName, &Metadata)>, bench: &mut Bench) {
        let mut inner = self.lock();
        inner.n_to_come = inner.n_to_come.saturating_sub(1);
        let n_bytes = bench.decoder.n_bytes();
        // Each worker has one photo at hand, as long as there are so many to come.
        let n_at_hand = self.n_workers.min(inner.n_to_come);
        let needed = inner.n_bytes + (1 + n_at_hand) * n_bytes;
        let Some((name, metadata)) = photo else {
            return;
        };
        if self.n_workers == 0 || needed > (self.n_workers + 1) * n_bytes + self.room {
            return;
        }
        inner.n_bytes += n_bytes;
        let held = Held {
            hash: ContentHash::of(&bench.bytes),
            metadata: metadata.clone(),
            decoder: std::mem::take(&mut bench.decoder),
        };
        inner.photos.insert(name.clone(), held);
    }

    pub(super) fn has(&self, name: &PhotoName) -> bool {
        self.lock().photos.contains_key(name)
    }

    /// Hands a photo out.
    pub(super) fn take(&self, name: &PhotoName) -> Option<Held> {
        self.lock().photos.remove(name)
    }

    /// Lets go of all that is held.
    pub(super) fn clear(&self) {
        self.lock().photos.clear();
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

    /// Offers `n_photos` photos to two workers, with room for three more; which were held.
    fn held(n_photos: usize) -> Vec<bool> {
        const SIDE: u32 = 64;
        let mut jpeg = Vec::new();
        image::codecs::jpeg::JpegEncoder::new(&mut jpeg)
            .encode_image(&image::RgbImage::new(SIDE, SIDE))
            .unwrap();
        let hold = Hold {
            room: 3 * 3 * (SIDE * SIDE) as usize,
            ..Hold::of(n_photos, 2)
        };
        let names = (0..n_photos).map(|at| PhotoName(at.to_string()));
        names
            .map(|name| {
                let mut bench = Bench {
                    bytes: jpeg.clone(),
                    ..Bench::default()
                };
                bench.picture(&Limits::default()).unwrap();
                let metadata = metadata(&jpeg, &name, &TimeZone::UTC);
                hold.offer(Some((&name, &metadata)), &mut bench);
                let is_held = hold.has(&name);
                assert_eq!(is_held, bench.decoder.held().is_none());
                is_held
            })
            .collect()
    }

    #[test]
    fn as_many_photos_are_held_as_find_room_beside_those_at_hand() {
        let n_held = |n_photos| held(n_photos).iter().filter(|held| **held).count();
        assert_eq!(n_held(3), 3);
        assert_eq!(n_held(6), 6);
        assert_eq!(n_held(9), 6);
        // The last ones too, whose workers need no memory for another.
        let nine = held(9);
        assert_eq!(nine[..4], [true; 4]);
        assert_eq!(nine[7..], [true; 2]);
    }

    #[test]
    fn a_photo_that_is_handed_out_is_the_one_that_was_held() {
        let hold = Hold::of(1, 1);
        let name = PhotoName("a.jpg".to_owned());
        let mut jpeg = Vec::new();
        let image = image::RgbImage::from_pixel(8, 8, image::Rgb([60, 120, 40]));
        image::codecs::jpeg::JpegEncoder::new(&mut jpeg)
            .encode_image(&image)
            .unwrap();
        let mut bench = Bench {
            bytes: jpeg.clone(),
            ..Bench::default()
        };
        let limits = Limits::default();
        let first = bench.picture(&limits).unwrap().rgb.to_vec();
        let metadata = metadata(&jpeg, &name, &TimeZone::UTC);
        hold.offer(Some((&name, &metadata)), &mut bench);
        let held = hold.take(&name).unwrap();
        assert_eq!(held.hash, ContentHash::of(&jpeg));
        assert_eq!(held.decoder.held().unwrap().rgb, first);
        assert!(hold.take(&name).is_none());
    }

    #[test]
    fn nothing_is_held_where_nothing_is_to_be() {
        let hold = Hold::nothing();
        let name = PhotoName("a.jpg".to_owned());
        let metadata = metadata(&[], &name, &TimeZone::UTC);
        hold.offer(Some((&name, &metadata)), &mut Bench::default());
        assert!(!hold.has(&name));
    }
}
