//! The only file that names picture decoders; beside it only [`metadata`] reads
//! EXIF blocks.

use super::format::{self, Format};
use super::metadata::{self, Metadata};
use super::{Limits, SMALLEST_SIDE_PX, icc, jpeg, unreadable};
use crate::record::{Code, PhotoFacts, Reason};
use image::codecs::{jpeg::JpegDecoder, png::PngDecoder, tiff::TiffDecoder};
use image::metadata::Orientation;
use image::{ColorType, DynamicImage, ImageDecoder, ImageError, ImageResult, RgbImage};
use rayon::prelude::*;
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Interleaved 8-bit RGB, upright.
pub(super) struct Decoded {
    pub width: usize,
    pub height: usize,
    pub rgb: Vec<u8>,
    /// See [`super::Photo`].
    pub focal_half_diagonals: Option<f64>,
}

/// Decodes a file of a format that is read; fills in size, orientation, notes.
pub(super) fn decode(
    bytes: &[u8],
    format: Format,
    limits: &Limits,
    facts: &mut PhotoFacts,
) -> Result<Decoded, Reason> {
    // Decoders are other people's code fed with anything: a panic of theirs
    // means a damaged file, not the end of a batch.
    catch_unwind(AssertUnwindSafe(|| decode_as(bytes, format, limits, facts))).unwrap_or_else(
        |_| {
            Err(unreadable(format!(
                "the {} decoder gave up on the file",
                format.name()
            )))
        },
    )
}

fn decode_as(
    bytes: &[u8],
    format: Format,
    limits: &Limits,
    facts: &mut PhotoFacts,
) -> Result<Decoded, Reason> {
    let structure = (format == Format::Jpeg).then(|| jpeg::structure(bytes));
    if format == Format::Tiff && is_camera_raw(bytes) {
        return Err(format::unsupported(Format::Unread("camera raw")));
    }
    let mut decoder = open(bytes, format).map_err(|e| failed(format, &e))?;
    let (width, height) = decoder.dimensions();
    (facts.width_px, facts.height_px) = (width, height);
    check_size(width, height, decoder.color_type(), limits)?;

    if let Some(structure) = structure {
        if !structure.complete {
            return Err(unreadable(format!(
                "the JPEG file breaks off after {} bytes, before its end marker: a part of the \
                 picture is missing",
                bytes.len()
            )));
        }
        if structure.components == 4 && !structure.adobe {
            return Err(Reason::new(
                Code::UnsupportedFormat,
                "the JPEG file has four inks (CMYK) and does not say whether they are stored \
                 inverted, so light and dark could be swapped",
                "export as an RGB JPEG or PNG",
            ));
        }
    }

    let exif = decoder.exif_metadata().ok().flatten();
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let profile = decoder.icc_profile().ok().flatten();
    let colour = decoder.color_type();
    let original = decoder.original_color_type();

    let mut decoder_limits = image::Limits::no_limits();
    decoder_limits.max_alloc = Some(limits.max_alloc_bytes);
    decoder
        .set_limits(decoder_limits)
        .map_err(|e| failed(format, &e))?;
    let picture = DynamicImage::from_decoder(decoder).map_err(|e| failed(format, &e))?;
    if format == Format::Jpeg {
        refuse_made_up(&picture)?;
    }

    facts.orientation = Some(orientation.to_exif());
    if let Some(structure) = structure {
        facts.notes.extend(jpeg_note(structure));
    }
    facts.notes.extend(depth_note(colour));
    if matches!(
        original,
        image::ExtendedColorType::Cmyk8 | image::ExtendedColorType::Cmyk16
    ) {
        facts
            .notes
            .push("CMYK turned to RGB by plain ink multiplication".into());
    }
    if colour.has_alpha() {
        facts
            .notes
            .push("transparency laid over white paper".into());
    }
    if let Some(name) = profile.as_deref().and_then(icc::description)
        && !icc::is_srgb(&name)
    {
        facts.notes.push(format!(
            "colour profile \"{name}\" is not sRGB; colours were taken as stored"
        ));
    }
    let metadata = exif.map_or_else(Metadata::default, |raw| Metadata::read(raw, width, height));
    facts.notes.extend(metadata.notes);

    let mut upright = DynamicImage::ImageRgb8(to_rgb8(picture)?);
    upright.apply_orientation(orientation);
    let upright = upright.into_rgb8();
    (facts.width_px, facts.height_px) = upright.dimensions();
    let (width, height) = (upright.width() as usize, upright.height() as usize);
    Ok(Decoded {
        width,
        height,
        rgb: upright.into_raw(),
        focal_half_diagonals: metadata.focal_half_diagonals,
    })
}

fn open(bytes: &[u8], format: Format) -> ImageResult<Box<dyn ImageDecoder + '_>> {
    let reader = Cursor::new(bytes);
    Ok(match format {
        Format::Png => Box::new(PngDecoder::new(reader)?),
        Format::Tiff => Box::new(TiffDecoder::new(reader)?),
        _ => Box::new(JpegDecoder::new(reader)?),
    })
}

fn check_size(width: u32, height: u32, colour: ColorType, limits: &Limits) -> Result<(), Reason> {
    if width.min(height) < SMALLEST_SIDE_PX {
        return Err(unreadable(format!(
            "the picture is only {width} × {height} pixels"
        )));
    }
    let pixels = u64::from(width) * u64::from(height);
    // Decoder output, RGB, luma.
    let memory = pixels.saturating_mul(u64::from(colour.bytes_per_pixel()) + 3 + 4);
    let remedy = "export the photograph smaller (about 12 million pixels are plenty), then state \
                  the scale of the smaller picture";
    if pixels > limits.max_pixels {
        return Err(Reason::new(
            Code::TooLarge,
            format!(
                "the picture has {width} × {height} pixels; at most {} million are taken",
                limits.max_pixels / 1_000_000
            ),
            remedy,
        ));
    }
    if memory > limits.max_alloc_bytes {
        return Err(Reason::new(
            Code::TooLarge,
            format!(
                "reading {width} × {height} pixels would take {} MiB of memory; at most {} are used",
                memory >> 20,
                limits.max_alloc_bytes >> 20
            ),
            remedy,
        ));
    }
    Ok(())
}

/// Any channel layout to 8-bit RGB: 16 bits rounded to 8, transparency over white.
fn to_rgb8(picture: DynamicImage) -> Result<RgbImage, Reason> {
    let (width, height) = (picture.width(), picture.height());
    let rgb = match picture {
        DynamicImage::ImageRgb8(rgb) => return Ok(rgb),
        DynamicImage::ImageLuma8(p) => map(p.as_raw(), |[v]: [u8; 1]| [v; 3]),
        DynamicImage::ImageLumaA8(p) => map(p.as_raw(), |[v, a]: [u8; 2]| [over_white(v, a); 3]),
        DynamicImage::ImageRgba8(p) => map(p.as_raw(), |[r, g, b, a]: [u8; 4]| {
            [r, g, b].map(|v| over_white(v, a))
        }),
        DynamicImage::ImageLuma16(p) => map(p.as_raw(), |[v]: [u16; 1]| [to8(v); 3]),
        DynamicImage::ImageLumaA16(p) => map(p.as_raw(), |[v, a]: [u16; 2]| {
            [over_white(to8(v), to8(a)); 3]
        }),
        DynamicImage::ImageRgb16(p) => map(p.as_raw(), |v: [u16; 3]| v.map(to8)),
        DynamicImage::ImageRgba16(p) => map(p.as_raw(), |[r, g, b, a]: [u16; 4]| {
            [r, g, b].map(|v| over_white(to8(v), to8(a)))
        }),
        _ => {
            return Err(Reason::new(
                Code::UnsupportedFormat,
                "the picture stores its samples as floating-point numbers",
                "export as JPEG or PNG with 8 or 16 bits a channel",
            ));
        }
    };
    RgbImage::from_raw(width, height, rgb)
        .ok_or_else(|| unreadable("the decoder returned an incomplete picture"))
}

fn map<T: Copy + Sync, const N: usize>(
    samples: &[T],
    pixel: impl Fn([T; N]) -> [u8; 3] + Sync,
) -> Vec<u8> {
    let pixels = samples.as_chunks::<N>().0;
    let mut rgb = vec![0; 3 * pixels.len()];
    rgb.par_chunks_mut(3 * 4096)
        .zip(pixels.par_chunks(4096))
        .for_each(|(out, pixels)| {
            for (o, p) in out.as_chunks_mut::<3>().0.iter_mut().zip(pixels) {
                *o = pixel(*p);
            }
        });
    rgb
}

/// 16 to 8 bits, rounded, so that 0 and 65 535 become 0 and 255.
fn to8(v: u16) -> u8 {
    ((u32::from(v) * 255 + 32_767) / 65_535) as u8
}

fn over_white(v: u8, alpha: u8) -> u8 {
    let (v, a) = (u32::from(v), u32::from(alpha));
    ((v * a + 255 * (255 - a) + 127) / 255) as u8
}

/// A JPEG whose coded data ran out in the middle comes back filled up.
fn refuse_made_up(picture: &DynamicImage) -> Result<(), Reason> {
    let rows = picture.height() as usize;
    let samples = picture.as_bytes();
    let channels = usize::from(picture.color().channel_count());
    let filled = jpeg::made_up_rows(samples, samples.len() / rows, channels);
    // One block of 8 rows: less does not come from missing data.
    if filled >= 8 {
        return Err(unreadable(format!(
            "the JPEG file is damaged: the lowest {filled} of {rows} rows hold no picture"
        )));
    }
    Ok(())
}

fn jpeg_note(structure: jpeg::Structure) -> Option<String> {
    match structure {
        jpeg::Structure { components: 4, .. } => Some(
            "CMYK with inverted inks, turned to RGB by plain ink multiplication; colours are \
             approximate"
                .into(),
        ),
        jpeg::Structure { components: 1, .. } => Some("greyscale".into()),
        jpeg::Structure {
            progressive: true, ..
        } => Some("progressive".into()),
        _ => None,
    }
}

fn depth_note(colour: ColorType) -> Option<String> {
    (colour.bytes_per_pixel() / colour.channel_count() == 2)
        .then(|| "16 bits a channel, measured at 8".into())
}

/// Camera raw files (DNG and most makers' own) dress as TIFF. Their marks: the
/// DNG version tag; a first image that is declared a preview; a colour filter
/// array as the first image (TIFF/EP, ISO 12234-2).
fn is_camera_raw(bytes: &[u8]) -> bool {
    use exif::{Context, In, Tag};
    const DNG_VERSION: u16 = 0xc612;
    const NEW_SUBFILE_TYPE: u16 = 0x00fe;
    const COLOUR_FILTER_ARRAY: u32 = 32_803;
    // Directories stand anywhere in the file, so the reader needs all of it.
    let Some(exif) = metadata::fields(bytes.to_vec()) else {
        return false;
    };
    let value = |tag| exif.get_field(tag, In::PRIMARY)?.value.get_uint(0);
    let has = |number| {
        exif.get_field(Tag(Context::Tiff, number), In::PRIMARY)
            .is_some()
    };
    has(DNG_VERSION)
        || value(Tag::PhotometricInterpretation) == Some(COLOUR_FILTER_ARRAY)
        || (value(Tag(Context::Tiff, NEW_SUBFILE_TYPE)) == Some(1) && has(0x014a))
}

fn failed(format: Format, error: &ImageError) -> Reason {
    match error {
        ImageError::Unsupported(e) => Reason::new(
            Code::UnsupportedFormat,
            format!("this kind of {} is not read: {e}", format.name()),
            "export as JPEG or PNG with 8 bits a channel",
        ),
        ImageError::Limits(e) => Reason::new(
            Code::TooLarge,
            format!("reading the {} takes too much memory: {e}", format.name()),
            "export the photograph smaller (about 12 million pixels are plenty)",
        ),
        e => unreadable(format!(
            "the {} file is damaged or cut off: {e}",
            format.name()
        )),
    }
}
