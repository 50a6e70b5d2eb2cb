//! The colours of a file to sRGB, before anybody takes a hue from them: the same grass has other numbers in
//! the wider Display P3 of phones.

use std::sync::Arc;

use moxcms::{
    CicpColorPrimaries, CicpProfile, ColorProfile, DataColorSpace, InPlaceTransformExecutor,
    Layout, MatrixCoefficients, ProfileText, TransferCharacteristics, TransformOptions,
};
use serde::{Deserialize, Serialize};

/// What a file says of its colours.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum ColourTag {
    /// Nothing.
    None,
    /// An ICC profile.
    Icc(Vec<u8>),
    /// Adobe RGB (1998), as EXIF says without a profile.
    AdobeRgb,
    /// Code points of ITU-T H.273.
    CodePoints {
        /// Table 2.
        primaries: u16,
        /// Table 3.
        transfer: u16,
    },
    /// A profile that is not all there.
    Broken,
}

/// The colours that a photo's file had, and what was done about them.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Colour {
    /// The file does not say; taken as sRGB.
    #[default]
    Unsaid,
    /// sRGB, or so near that no 8-bit channel differs by more than 2 levels.
    Srgb,
    /// Converted to sRGB.
    Converted {
        /// From this colour space.
        from: String,
    },
    /// The profile is damaged; taken as sRGB.
    BrokenProfile,
    /// The profile is of another kind than RGB; taken as sRGB.
    OtherProfile,
}

type Transform = Arc<dyn InPlaceTransformExecutor<u8> + Send + Sync>;

/// Converts pixels to sRGB; remembers the last profile, since all photos of a camera have the same.
#[derive(Default)]
pub(crate) struct Converter {
    last: Option<(ColourTag, Recipe)>,
}

#[derive(Clone)]
struct Recipe {
    colour: Colour,
    transform: Option<Transform>,
}

impl Recipe {
    fn leave(colour: Colour) -> Recipe {
        Recipe {
            colour,
            transform: None,
        }
    }
}

impl Converter {
    /// Converts RGB pixels in place and says what they were.
    pub(crate) fn convert(&mut self, tag: &ColourTag, rgb: &mut [u8]) -> Colour {
        let recipe = match &self.last {
            Some((last, recipe)) if last == tag => recipe.clone(),
            _ => {
                let recipe = recipe(tag);
                self.last = Some((tag.clone(), recipe.clone()));
                recipe
            }
        };
        match &recipe.transform {
            Some(transform) if transform.transform(rgb).is_err() => Colour::BrokenProfile,
            _ => recipe.colour,
        }
    }
}

fn recipe(tag: &ColourTag) -> Recipe {
    match tag {
        ColourTag::None => Recipe::leave(Colour::Unsaid),
        ColourTag::Broken => Recipe::leave(Colour::BrokenProfile),
        ColourTag::AdobeRgb => conversion(&ColorProfile::new_adobe_rgb(), "Adobe RGB (1998)"),
        ColourTag::Icc(bytes) => match ColorProfile::new_from_slice(bytes) {
            Ok(profile) if profile.color_space == DataColorSpace::Rgb => {
                conversion(&profile, &name(&profile))
            }
            Ok(_) => Recipe::leave(Colour::OtherProfile),
            Err(_) => Recipe::leave(Colour::BrokenProfile),
        },
        ColourTag::CodePoints {
            primaries,
            transfer,
        } => code_points(*primaries, *transfer),
    }
}

/// ITU-T H.273 in HEIC: 1 BT.709 (whose primaries are those of sRGB), 9 BT.2020, 12 Display P3.
///
/// Cameras write sRGB's curve, whatever transfer they name among those for ordinary brightness, which is why
/// pictures of BT.709 are left alone.
fn code_points(primaries: u16, transfer: u16) -> Recipe {
    let primaries_known = u8::try_from(primaries)
        .ok()
        .and_then(|primaries| CicpColorPrimaries::try_from(primaries).ok());
    match primaries_known {
        Some(CicpColorPrimaries::Bt709) => Recipe::leave(Colour::Srgb),
        Some(
            primaries @ (CicpColorPrimaries::Smpte432
            | CicpColorPrimaries::Smpte431
            | CicpColorPrimaries::Bt2020),
        ) => {
            let transfer = match u8::try_from(transfer) {
                Ok(8) => TransferCharacteristics::Linear,
                _ => TransferCharacteristics::Srgb,
            };
            let profile = ColorProfile::new_from_cicp(CicpProfile {
                color_primaries: primaries,
                transfer_characteristics: transfer,
                matrix_coefficients: MatrixCoefficients::Identity,
                full_range: true,
            });
            let name = match primaries {
                CicpColorPrimaries::Bt2020 => "BT.2020",
                _ => "Display P3",
            };
            conversion(&profile, name)
        }
        _ => Recipe::leave(Colour::Unsaid),
    }
}

/// The conversion from a profile, unless it is sRGB in all but name.
fn conversion(profile: &ColorProfile, name: &str) -> Recipe {
    let transform = profile.create_in_place_transform_8bit(
        Layout::Rgb,
        &ColorProfile::new_srgb(),
        TransformOptions::default(),
    );
    match transform {
        Ok(transform) if changes_nothing(&transform) => Recipe::leave(Colour::Srgb),
        Ok(transform) => Recipe {
            colour: Colour::Converted {
                from: name.to_owned(),
            },
            transform: Some(transform),
        },
        Err(_) => Recipe::leave(Colour::BrokenProfile),
    }
}

/// Whether no colour of a grid of 9 × 9 × 9 changes by more than 2 levels of 255: sRGB profiles come with many
/// names and roundings, and decoders of JPEG differ by more.
fn changes_nothing(transform: &Transform) -> bool {
    const STEPS: [u8; 9] = [0, 32, 64, 96, 128, 160, 192, 224, 255];
    let grid: Vec<u8> = STEPS
        .iter()
        .flat_map(|r| STEPS.iter().map(move |g| (*r, *g)))
        .flat_map(|(r, g)| STEPS.iter().flat_map(move |b| [r, g, *b]))
        .collect();
    let mut changed = grid.clone();
    transform.transform(&mut changed).is_ok()
        && grid.iter().zip(&changed).all(|(a, b)| a.abs_diff(*b) <= 2)
}

/// What the profile calls itself.
fn name(profile: &ColorProfile) -> String {
    let text = match &profile.description {
        Some(ProfileText::PlainString(text)) => text.clone(),
        Some(ProfileText::Localizable(texts)) => texts
            .first()
            .map(|text| text.value.clone())
            .unwrap_or_default(),
        Some(ProfileText::Description(text)) => text.ascii_string.clone(),
        None => String::new(),
    };
    let text: String = text.chars().filter(|c| !c.is_control()).take(60).collect();
    if text.trim().is_empty() {
        "an unnamed profile".to_owned()
    } else {
        text.trim().to_owned()
    }
}
