//! Which vector instructions a loop over pixels is compiled for.
//!
//! The loops are plain Rust. Compiled a second time with AVX2 switched on they run three times as fast on
//! an Intel or AMD processor that has it, which is known only when the program runs; compiled once more with AVX-512,
//! faster still.
#![expect(
    unsafe_code,
    reason = "calling what is compiled for AVX2 or AVX-512 needs a check that only we can make, and what every x86-64 has is not \
              taken for safe either"
)]

/// Work on pixels that is compiled once for each set of instructions.
///
/// `run` and whatever it calls in its inner loops must be `#[inline(always)]`: only what is inlined is
/// compiled for the wider instructions.
pub trait Work {
    /// What comes of it.
    type Output;
    /// Does it.
    fn run(self) -> Self::Output;
}

/// A set of vector instructions that this processor has. All give the same results.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lanes(Kind);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Portable,
    /// Made only by [`Lanes::all`], where the processor has AVX2.
    #[cfg(target_arch = "x86_64")]
    Avx2,
    /// Made only by [`Lanes::all`], where the processor has AVX-512 with what moves single bytes: earlier ones slow
    /// down for vectors so wide.
    #[cfg(target_arch = "x86_64")]
    Avx512,
}

impl Lanes {
    /// What every processor of the architecture has.
    pub const PORTABLE: Lanes = Lanes(Kind::Portable);

    /// The fastest that this processor has.
    pub fn best() -> Lanes {
        Lanes::all().next().unwrap_or(Lanes::PORTABLE)
    }

    /// Every set that this processor has, the fastest first.
    pub fn all() -> impl Iterator<Item = Lanes> {
        #[cfg(target_arch = "x86_64")]
        let wide = {
            use std::arch::is_x86_feature_detected as has;
            let has_avx512 = has!("avx512bw") && has!("avx512vl") && has!("avx512vbmi");
            [
                has_avx512.then_some(Lanes(Kind::Avx512)),
                has!("avx2").then_some(Lanes(Kind::Avx2)),
            ]
        };
        #[cfg(not(target_arch = "x86_64"))]
        let wide: [Option<Lanes>; 0] = [];
        wide.into_iter().flatten().chain([Lanes::PORTABLE])
    }

    /// Runs `work` with these instructions.
    #[inline]
    pub fn run<W: Work>(self, work: W) -> W::Output {
        match self.0 {
            Kind::Portable => work.run(),
            // SAFETY: `Kind::Avx2` exists only where `Lanes::all` has found AVX2.
            #[cfg(target_arch = "x86_64")]
            Kind::Avx2 => unsafe { run_avx2(work) },
            // SAFETY: `Kind::Avx512` exists only where `Lanes::all` has found all that is switched on here.
            #[cfg(target_arch = "x86_64")]
            Kind::Avx512 => unsafe { run_avx512(work) },
        }
    }
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn run_avx2<W: Work>(work: W) -> W::Output {
    work.run()
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx512bw,avx512vl,avx512vbmi")]
fn run_avx512<W: Work>(work: W) -> W::Output {
    work.run()
}

/// The highest bit of each byte, the first lowest.
#[cfg(target_arch = "x86_64")]
#[inline(always)]
pub(super) fn highest_bits(bytes: [u8; 16]) -> u16 {
    use std::arch::x86_64::{_mm_movemask_epi8, _mm_set_epi64x};
    let bytes = u128::from_le_bytes(bytes);
    let (high, low) = ((bytes >> 64) as i64, bytes as i64);
    // SAFETY: SSE2 is part of x86-64.
    unsafe { _mm_movemask_epi8(_mm_set_epi64x(high, low)) as u16 }
}

/// The highest bit of each byte, the first lowest.
#[cfg(not(target_arch = "x86_64"))]
#[inline(always)]
pub(super) fn highest_bits(bytes: [u8; 16]) -> u16 {
    let of_eight = |bytes: u64| {
        let highest = bytes >> 7 & 0x0101_0101_0101_0101;
        // Each factor brings the bit of one byte to its place in the highest byte; no two meet elsewhere.
        (highest.wrapping_mul(0x0102_0408_1020_4080) >> 56) as u8
    };
    let bytes = u128::from_le_bytes(bytes);
    u16::from_le_bytes([of_eight(bytes as u64), of_eight((bytes >> 64) as u64)])
}
