//! Sheets into the bytes of a PDF file.

use std::collections::BTreeMap;

use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Finish as _, Name, Pdf, Rect, Ref, Str, TextStr};

use super::face::{REGULAR, STRONG};
use super::{Faces, Sheet, Weight};
use crate::course::DisplayUnits;

/// How hard streams are pressed: 6 is zlib's own usual.
const LEVEL: u8 = 6;

/// What pages are printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Paper {
    /// 8.5 by 11 inches.
    Letter,
    /// 210 by 297 millimetres.
    A4,
}

impl Paper {
    /// The paper of those who use these units.
    pub(crate) fn of(units: DisplayUnits) -> Paper {
        match units {
            DisplayUnits::Us => Paper::Letter,
            DisplayUnits::Metric => Paper::A4,
        }
    }

    /// Width and height in points.
    pub(crate) fn size(self) -> (f64, f64) {
        match self {
            Paper::Letter => (612.0, 792.0),
            Paper::A4 => (595.28, 841.89),
        }
    }
}

/// A finished document.
pub(crate) struct Document<'f> {
    pub(crate) title: String,
    pub(crate) faces: &'f Faces,
    pub(crate) sheets: Vec<Sheet<'f>>,
}

/// Numbers of the objects in a file, one after the other.
struct Numbers(i32);

impl Numbers {
    fn next(&mut self) -> Ref {
        self.0 += 1;
        Ref::new(self.0)
    }
}

impl Document<'_> {
    /// The bytes of the file.
    pub(crate) fn finish(self) -> Vec<u8> {
        let mut pdf = Pdf::new();
        let mut numbers = Numbers(0);
        let (catalog, tree, info) = (numbers.next(), numbers.next(), numbers.next());
        let mut entry = pdf.catalog(catalog);
        entry.pages(tree).lang(TextStr("en"));
        entry.viewer_preferences().display_doc_title(true);
        entry.finish();
        let about = concat!("sprigcast ", env!("CARGO_PKG_VERSION"));
        pdf.document_info(info)
            .title(TextStr(&self.title))
            .producer(TextStr(about));

        let mut used: BTreeMap<(Weight, u16), char> = BTreeMap::new();
        for sheet in &self.sheets {
            used.extend(&sheet.used);
        }
        let fonts = [Weight::Regular, Weight::Strong].map(|weight| {
            (
                weight,
                font(&mut pdf, &mut numbers, self.faces, weight, &used),
            )
        });
        let pages: Vec<Ref> = self.sheets.iter().map(|_| numbers.next()).collect();
        pdf.pages(tree)
            .kids(pages.iter().copied())
            .count(pages.len() as i32);
        for (sheet, page) in self.sheets.into_iter().zip(pages) {
            put(&mut pdf, &mut numbers, sheet, page, tree, fonts);
        }
        pdf.finish()
    }
}

fn put(
    pdf: &mut Pdf,
    numbers: &mut Numbers,
    sheet: Sheet<'_>,
    page: Ref,
    tree: Ref,
    fonts: [(Weight, Ref); 2],
) {
    let content = numbers.next();
    let images: Vec<Ref> = sheet.jpegs.iter().map(|_| numbers.next()).collect();
    let mut entry = pdf.page(page);
    let (width, height) = (sheet.width as f32, sheet.height as f32);
    entry
        .media_box(Rect::new(0.0, 0.0, width, height))
        .parent(tree)
        .contents(content);
    let mut resources = entry.resources();
    let mut names = resources.fonts();
    for (weight, font) in fonts {
        names.pair(
            match weight {
                Weight::Regular => Name(b"R"),
                Weight::Strong => Name(b"S"),
            },
            font,
        );
    }
    names.finish();
    let mut names = resources.x_objects();
    for (index, image) in images.iter().enumerate() {
        names.pair(Name(format!("J{index}").as_bytes()), *image);
    }
    names.finish();
    let mut states = resources.ext_g_states();
    for percent in &sheet.alphas {
        let name = format!("A{percent}");
        let mut state = states
            .insert(Name(name.as_bytes()))
            .start::<pdf_writer::writers::ExtGraphicsState<'_>>();
        state.non_stroking_alpha(f32::from(*percent) / 100.0);
    }
    states.finish();
    resources.finish();
    entry.finish();
    let stream = compress_to_vec_zlib(&sheet.content.finish(), LEVEL);
    pdf.stream(content, &stream).filter(Filter::FlateDecode);
    for (jpeg, image) in sheet.jpegs.iter().zip(images) {
        let mut object = pdf.image_xobject(image, &jpeg.bytes);
        object.filter(Filter::DctDecode);
        object
            .width(jpeg.size.0 as i32)
            .height(jpeg.size.1 as i32)
            .bits_per_component(8)
            .color_space()
            .device_rgb();
    }
}

/// A face as a font of the file: every glyph of it with its width, and what the used ones stand for.
fn font(
    pdf: &mut Pdf,
    numbers: &mut Numbers,
    faces: &Faces,
    weight: Weight,
    used: &BTreeMap<(Weight, u16), char>,
) -> Ref {
    let [id, cid, descriptor, file, map] = [(); 5].map(|()| numbers.next());
    let (name, bytes) = match weight {
        Weight::Regular => (Name(b"NotoSans-Report"), REGULAR),
        Weight::Strong => (Name(b"NotoSans-ReportStrong"), STRONG),
    };
    let system = SystemInfo {
        registry: Str(b"Adobe"),
        ordering: Str(b"Identity"),
        supplement: 0,
    };
    pdf.type0_font(id)
        .base_font(name)
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid)
        .to_unicode(map);
    let face = faces.face(weight);
    let widths = (0..face.number_of_glyphs()).map(|glyph| faces.advance(weight, glyph) as f32);
    let mut entry = pdf.cid_font(cid);
    entry
        .subtype(CidFontType::Type2)
        .base_font(name)
        .system_info(system)
        .font_descriptor(descriptor)
        .cid_to_gid_map_predefined(Name(b"Identity"));
    entry.widths().consecutive(0, widths);
    entry.finish();
    let scale = 1000.0 / f32::from(face.units_per_em());
    let bounds = face.global_bounding_box();
    let scaled = |value: i16| f32::from(value) * scale;
    pdf.font_descriptor(descriptor)
        .name(name)
        .flags(FontFlags::NON_SYMBOLIC)
        .bbox(Rect::new(
            scaled(bounds.x_min),
            scaled(bounds.y_min),
            scaled(bounds.x_max),
            scaled(bounds.y_max),
        ))
        .italic_angle(0.0)
        .ascent(scaled(face.ascender()))
        .descent(scaled(face.descender()))
        .cap_height(scaled(face.capital_height().unwrap_or(face.ascender())))
        .stem_v(match weight {
            Weight::Regular => 80.0,
            Weight::Strong => 120.0,
        })
        .font_file2(file);
    let pressed = compress_to_vec_zlib(bytes, LEVEL);
    let mut stream = pdf.stream(file, &pressed);
    stream.filter(Filter::FlateDecode);
    stream.pair(Name(b"Length1"), bytes.len() as i32);
    stream.finish();
    let mut unicode = UnicodeCmap::new(Name(b"Letters"), system);
    for ((_, glyph), letter) in used.iter().filter(|((of, _), _)| *of == weight) {
        unicode.pair(*glyph, *letter);
    }
    pdf.cmap(map, &unicode.finish());
    id
}
