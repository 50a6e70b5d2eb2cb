//! Where photos are opened: worker threads, and what each keeps from photo to photo.

use std::num::NonZeroUsize;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::{Mutex, MutexGuard, PoisonError};

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use rayon::{ThreadPool, ThreadPoolBuilder};

use super::PipelineError;
use crate::photo::{self, Decoder, FoundPhoto, LaidAside, PhotoName, Unreadable};

/// Phones take up to 50 megapixels; of larger pictures, with 16 bits a channel perhaps, every worker's own would not
/// find room.
const LARGE_PIXELS: u64 = 64_000_000;

/// Worker threads, and the benches they work at.
pub(super) struct Workshop {
    pool: ThreadPool,
    free: Mutex<Vec<Bench>>,
}

impl Workshop {
    /// With so many workers; one per core where not said.
    pub(super) fn of(workers: Option<NonZeroUsize>) -> Result<Workshop, PipelineError> {
        let pool = ThreadPoolBuilder::new()
            .num_threads(workers.map_or(0, NonZeroUsize::get))
            .build()
            .map_err(|error| PipelineError::Workers(error.to_string()))?;
        Ok(Workshop {
            pool,
            free: Mutex::new(Vec::new()),
        })
    }

    /// Runs what asks for parallel work on the workers.
    pub(super) fn install<T: Send>(&self, work: impl FnOnce() -> T + Send) -> T {
        self.pool.install(work)
    }

    /// What each photo gives, with the name of the photo; a photo at which the program fails is unreadable.
    pub(super) fn of_each<T: Send>(
        &self,
        photos: &[FoundPhoto],
        work: impl Fn(&FoundPhoto, &mut Bench) -> Result<T, Unreadable> + Sync,
    ) -> impl Iterator<Item = (PhotoName, Result<T, Unreadable>)> {
        let one = |photo: &FoundPhoto| {
            let done = self.at_bench(|bench| work(photo, bench));
            (photo.name.clone(), done.flatten())
        };
        let all: Vec<_> = self.install(|| photos.par_iter().map(one).collect());
        all.into_iter()
    }

    pub(super) fn n_workers(&self) -> usize {
        self.pool.current_num_threads()
    }

    /// Works on one photo at a bench that no other worker is at.
    ///
    /// # Errors
    ///
    /// [`Unreadable::ProgramFailed`] where a decoder panicked: one photo must not end the run for all others. Its bench is
    /// given up, since nobody knows in what state it was left.
    pub(super) fn at_bench<T>(&self, work: impl FnOnce(&mut Bench) -> T) -> Result<T, Unreadable> {
        let free = || self.free.lock().unwrap_or_else(PoisonError::into_inner);
        let mut bench = free().pop().unwrap_or_default();
        let done = catch_unwind(AssertUnwindSafe(|| work(&mut bench)));
        let done = done.map_err(|_| Unreadable::ProgramFailed)?;
        bench.tidy();
        free().push(bench);
        Ok(done)
    }
}

/// What a worker keeps from photo to photo: its memory is expensive to get anew.
#[derive(Default)]
pub(super) struct Bench {
    pub(super) bytes: Vec<u8>,
    pub(super) decoder: Decoder,
    /// Whether the decoder holds the photo at hand, of which there are no bytes then.
    pub(super) is_decoded: bool,
    /// Whether the photo at hand is so large that it is not to be held.
    pub(super) holds_large: bool,
}

impl Bench {
    /// Reads the bytes of a photo file that may be a picture.
    pub(super) fn read(&mut self, photo: &FoundPhoto) -> Result<(), Unreadable> {
        match photo.unreadable_by_name() {
            Some(why) => Err(why),
            None => self.read_file(&photo.path),
        }
    }

    /// Reads the bytes of a file.
    pub(super) fn read_file(&mut self, path: &Path) -> Result<(), Unreadable> {
        self.is_decoded = false;
        photo::read(path, &mut self.bytes)
    }

    /// Takes a photo that was held; whether that could be done.
    pub(super) fn put(&mut self, pixels: LaidAside) -> bool {
        self.is_decoded = self.decoder.take_back(pixels).is_ok();
        self.is_decoded
    }

    /// Waits for its turn where the photo at hand is so large that only one such may be in memory at a time.
    pub(super) fn turn(&mut self) -> Option<MutexGuard<'static, ()>> {
        static LARGE: Mutex<()> = Mutex::new(());
        let limits = photo::Limits {
            max_pixels: LARGE_PIXELS,
        };
        let size = (!self.is_decoded).then(|| photo::inspect(&self.bytes, &limits));
        let is_large = matches!(size, Some(Err(Unreadable::TooManyPixels { .. })));
        self.holds_large |= is_large;
        is_large.then(|| LARGE.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Gives back the memory of a large photo.
    fn tidy(&mut self) {
        if std::mem::take(&mut self.holds_large) {
            self.decoder = Decoder::new();
        }
    }

    /// The photo at hand, decoded.
    pub(super) fn picture(
        &mut self,
        limits: &photo::Limits,
    ) -> Result<photo::Picture<'_>, Unreadable> {
        if self.is_decoded {
            return Ok(self.decoder.held().expect("what is held is decoded"));
        }
        self.decoder.decode(&self.bytes, limits)
    }
}

#[cfg(test)]
mod tests {
    use super::super::jobs::may_be_mended;
    use super::*;

    #[test]
    fn a_photo_at_which_the_program_fails_is_tried_again_and_its_bench_is_given_up() {
        let workshop = Workshop::of(NonZeroUsize::new(1)).unwrap();
        let fill = |bench: &mut Bench| bench.bytes = vec![1];
        assert_eq!(workshop.at_bench(fill), Ok(()));
        let is_kept = workshop.at_bench(|bench| bench.bytes == [1]);
        assert_eq!(is_kept, Ok(true));
        let failed = workshop.at_bench(|_| -> () { panic!("a decoder's mistake") });
        assert!(failed.is_err_and(|why| may_be_mended(&why)));
        let is_kept = workshop.at_bench(|bench| bench.bytes == [1]);
        assert_eq!(is_kept, Ok(false));
    }

    #[test]
    fn a_photo_at_which_the_program_fails_leaves_the_others_as_they_are() {
        let photo = |name: &str| FoundPhoto {
            name: PhotoName(name.to_owned()),
            path: name.into(),
            bytes: 1,
            modified: None,
        };
        let photos = ["a.jpg", "b.jpg", "c.jpg"].map(photo);
        let workshop = Workshop::of(NonZeroUsize::new(2)).unwrap();
        let look = |photo: &FoundPhoto, _: &mut Bench| match photo.name.0.as_str() {
            "b.jpg" => panic!("a decoder's mistake"),
            name => Ok(name.to_owned()),
        };
        let looked: Vec<_> = workshop.of_each(&photos, look).collect();
        let name = |index: usize| photos[index].name.clone();
        assert_eq!(
            looked,
            [
                (name(0), Ok("a.jpg".to_owned())),
                (name(1), Err(Unreadable::ProgramFailed)),
                (name(2), Ok("c.jpg".to_owned())),
            ]
        );
    }
}
