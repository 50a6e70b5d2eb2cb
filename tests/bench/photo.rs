//! What one photo of 12 megapixels costs on one thread: classification alone in each of its forms, all that
//! is measured on pixels, decoding, and the whole. Shows what measuring adds to decoding.
//!
//! `SPRIGCAST_PHOTO=IMG_0042.jpg cargo bench --bench photo -- photo` takes a camera's file instead of a drawn
//! one for the second half.

use std::hint::black_box;
use std::time::Duration;

use criterion::{Criterion, criterion_group, criterion_main};
use image::RgbImage;
use jiff::tz::TimeZone;
use sprigcast::course::CoverLimits;
use sprigcast::cover::quality::{Quality, smooth_green};
use sprigcast::cover::tune::{self, Palette};
use sprigcast::cover::{
    ColourTable, Lanes, Pixels, Rule, View, Window, count, mask, measure, strip,
};
use sprigcast::photo::{self, ContentHash, Decoder, Fingerprint, Limits, Picture};

mod scene;

fn window(hue: [f64; 2], saturation: [f64; 2]) -> Rule {
    let limits = CoverLimits { hue, saturation };
    Rule::Window(Window::new(&limits).expect("limits in range"))
}

/// One rule for each form that the test of a pixel takes.
fn rules() -> [(&'static str, Rule); 5] {
    let published = Window::published();
    [
        ("half degrees", Rule::Window(published.clone())),
        (
            "half degrees, upper saturation",
            window([44.5, 110.5], [12.0, 90.0]),
        ),
        ("tenths of a degree", window([44.3, 110.7], [12.0, 90.0])),
        (
            "table",
            Rule::Table(ColourTable::of(|pixel| published.contains(pixel))),
        ),
        ("fitted", Rule::Fitted(tune::fit(&[]).rule())),
    ]
}

fn classify(criterion: &mut Criterion) {
    let image = scene::scene();
    let pixels = view(&image);
    let mut group = criterion.benchmark_group("classify 12 MP");
    for (name, rule) in rules() {
        for (lanes, lanes_name) in [(Lanes::best(), "best"), (Lanes::PORTABLE, "portable")] {
            group.bench_function(format!("{name}, {lanes_name}"), |bencher| {
                bencher.iter(|| count(black_box(pixels), pixels.whole(), &rule, lanes));
            });
        }
    }
    let noisy = scene::noisy(&image);
    let fitted = Rule::Fitted(tune::fit(&[]).rule());
    for (lanes, lanes_name) in [(Lanes::best(), "best"), (Lanes::PORTABLE, "portable")] {
        group.bench_function(format!("fitted, noisy photo, {lanes_name}"), |bencher| {
            let pixels = view(&noisy);
            bencher.iter(|| count(black_box(pixels), pixels.whole(), &fitted, lanes));
        });
    }
    let (_, published) = &rules()[0];
    group.bench_function("mask", |bencher| {
        bencher.iter(|| mask(black_box(pixels), pixels.whole(), published, Lanes::best()));
    });
    group.bench_function("measure", |bencher| {
        bencher.iter(|| measure(black_box(pixels), pixels.whole(), published));
    });
    group.finish();
}

fn fit(criterion: &mut Criterion) {
    let image = scene::scene();
    let pixels = view(&image);
    let palettes = vec![Palette::of(pixels, pixels.whole()); 2000];
    criterion.bench_function("palette of 12 MP", |bencher| {
        bencher.iter(|| Palette::of(black_box(pixels), pixels.whole()));
    });
    criterion.bench_function("fit to 2000 photos", |bencher| {
        bencher.iter(|| tune::fit(black_box(&palettes)));
    });
}

fn whole_photo(criterion: &mut Criterion) {
    let bytes = match std::env::var_os("SPRIGCAST_PHOTO") {
        Some(path) => std::fs::read(path).expect("SPRIGCAST_PHOTO names a photo"),
        None => scene::jpeg(&scene::scene()),
    };
    let rule = Rule::Window(Window::published());
    let limits = Limits::default();
    let mut decoder = Decoder::new();
    let mut group = criterion.benchmark_group("photo");
    group.bench_function("decode", |bencher| {
        bencher.iter(|| {
            decoder
                .decode(black_box(&bytes), &limits)
                .map(|picture| picture.width)
        });
    });
    group.bench_function("hash", |bencher| {
        bencher.iter(|| ContentHash::of(black_box(&bytes)));
    });
    group.bench_function("hash, decode, measure by the published window", |bencher| {
        bencher.iter(|| {
            let hash = ContentHash::of(black_box(&bytes));
            let picture = decoder.decode(&bytes, &limits).expect("a sound JPEG");
            let pixels = Pixels::of(&picture);
            (hash, measure(pixels, pixels.whole(), &rule))
        });
    });
    let rule = Rule::Fitted(tune::fit(&[]).rule());
    group.bench_function("all that a run does with it", |bencher| {
        bencher.iter(|| {
            let hash = ContentHash::of(black_box(&bytes));
            let metadata = photo::metadata(&bytes, &TimeZone::UTC);
            let picture = decoder.decode(&bytes, &limits).expect("a sound JPEG");
            assert!(photo::codes(&picture).is_empty(), "no slate");
            let pixels = Pixels::of(&picture);
            let rule = rule.on_photo(pixels, pixels.whole());
            let reading = measure(pixels, pixels.whole(), &rule);
            let strip = sheet(&picture, &rule);
            let fingerprint = Fingerprint::of(&picture).to_bytes();
            let quality = Quality::of(pixels, pixels.whole(), &rule);
            (hash, metadata, reading, strip, fingerprint, quality)
        });
    });
    let picture = decoder.decode(&bytes, &limits).expect("a sound JPEG");
    let pixels = Pixels::of(&picture);
    let on_photo = rule.on_photo(pixels, pixels.whole());
    group.bench_function("search for a slate", |bencher| {
        bencher.iter(|| photo::codes(black_box(&picture)));
    });
    group.bench_function("ground and noise", |bencher| {
        bencher.iter(|| {
            rule.on_photo(black_box(pixels), pixels.whole())
                .into_owned()
        });
    });
    group.bench_function("count", |bencher| {
        bencher.iter(|| count(black_box(pixels), pixels.whole(), &on_photo, Lanes::best()));
    });
    group.bench_function("measure", |bencher| {
        bencher.iter(|| measure(black_box(pixels), pixels.whole(), &on_photo));
    });
    group.bench_function("strip for the contact sheet", |bencher| {
        bencher.iter(|| sheet(black_box(&picture), &on_photo));
    });
    group.bench_function("fingerprint", |bencher| {
        bencher.iter(|| Fingerprint::of(black_box(&picture)).to_bytes());
    });
    group.bench_function("quality", |bencher| {
        bencher.iter(|| Quality::of(black_box(pixels), pixels.whole(), &on_photo));
    });
    group.bench_function("of which smooth green", |bencher| {
        bencher.iter(|| smooth_green(black_box(pixels), pixels.whole(), &on_photo));
    });
    group.finish();
}

fn sheet(picture: &Picture<'_>, rule: &Rule) -> sprigcast::cover::Strip {
    let pixels = Pixels::of(picture);
    let view = View {
        analysed: pixels.whole(),
        orientation: picture.orientation,
    };
    strip(pixels, view, rule, "G07/IMG_0042.jpg", String::new())
}

fn view(image: &RgbImage) -> Pixels<'_> {
    Pixels::new(image.as_raw(), image.width(), image.height())
}

criterion_group! {
    name = benches;
    config = Criterion::default()
        .sample_size(20)
        .warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(2));
    targets = classify, fit, whole_photo
}
criterion_main!(benches);
