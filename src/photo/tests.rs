//! Every picture here is made in memory.

use super::*;
use image::{DynamicImage, GrayImage, ImageBuffer, ImageFormat, Luma, Rgb, RgbImage, Rgba};
use proptest::prelude::*;
use std::io::Cursor;

const W: u32 = 48;
const H: u32 = 40;

/// Light grey with a red block at the top left and a dark one at the bottom right.
fn drawing() -> RgbImage {
    RgbImage::from_fn(W, H, |x, y| match (x < 16, y < 16, x >= 32 && y >= 24) {
        (true, true, _) => Rgb([230, 20, 20]),
        (_, _, true) => Rgb([20, 20, 20]),
        _ => Rgb([200, 200, 200]),
    })
}

fn encode(picture: impl Into<DynamicImage>, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.into().write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

fn read_ok(bytes: &[u8], name: &str) -> (Photo, PhotoFacts) {
    read(bytes, name, &Limits::default()).unwrap_or_else(|r| panic!("{name}: {:?}", r.reason))
}

#[track_caller]
fn refusal(bytes: &[u8], limits: &Limits) -> Box<Refused> {
    match read(bytes, "HR-01.jpg", limits) {
        Err(refused) => refused,
        Ok((_, facts)) => panic!("taken: {facts:?}"),
    }
}

#[track_caller]
fn code(bytes: &[u8]) -> Code {
    let refused = refusal(bytes, &Limits::default());
    assert_eq!(refused.facts.sha256, sha256_hex(bytes));
    assert_eq!(refused.facts.file, "HR-01.jpg");
    assert!(!refused.reason.remedy.is_empty());
    refused.reason.code
}

fn at(photo: &Photo, x: usize, y: usize) -> [u8; 3] {
    photo.rgb.as_chunks::<3>().0[y * photo.width + x]
}

#[track_caller]
fn assert_near(seen: [u8; 3], expected: [u8; 3], tolerance: u8) {
    let close = seen
        .iter()
        .zip(expected)
        .all(|(s, e)| s.abs_diff(e) <= tolerance);
    assert!(close, "{seen:?} is not {expected:?} ± {tolerance}");
}

/// A JPEG with an EXIF segment that holds one orientation entry.
fn with_orientation(jpeg: &[u8], orientation: u16) -> Vec<u8> {
    let mut exif = b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01".to_vec();
    exif.extend(orientation.to_be_bytes());
    exif.extend([0; 6]);
    let mut bytes = jpeg[..2].to_vec();
    bytes.extend([0xff, 0xe1]);
    bytes.extend((exif.len() as u16 + 2).to_be_bytes());
    bytes.extend(exif);
    bytes.extend(&jpeg[2..]);
    bytes
}

#[test]
fn the_hash_is_the_published_one() {
    // FIPS 180-4 example "abc".
    assert_eq!(
        sha256_hex(b"abc"),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
}

#[test]
fn lossless_formats_come_back_exactly() {
    for (format, name) in [(ImageFormat::Png, "PNG"), (ImageFormat::Tiff, "TIFF")] {
        let (photo, facts) = read_ok(&encode(drawing(), format), name);
        assert_eq!(photo.rgb, drawing().into_raw(), "{name}");
        assert_eq!(facts.format.as_deref(), Some(name));
        assert_eq!((facts.width_px, facts.height_px), (W, H));
        // 0.299 · 230 + 0.587 · 20 + 0.114 · 20
        assert!((photo.luma.at(3, 3) - 82.79).abs() < 1e-3);
    }
}

#[test]
fn sixteen_bits_grey_and_alpha_become_plain_colour() {
    let deep = ImageBuffer::from_fn(W, H, |x, _| Luma([if x < 24 { 65_535u16 } else { 32_896 }]));
    for format in [ImageFormat::Png, ImageFormat::Tiff] {
        let (photo, facts) = read_ok(
            &encode(DynamicImage::ImageLuma16(deep.clone()), format),
            "x",
        );
        assert_eq!(at(&photo, 0, 0), [255; 3]);
        assert_eq!(at(&photo, 40, 0), [128; 3]);
        assert!(facts.notes.iter().any(|n| n.contains("16 bits")));
    }
    let clear = ImageBuffer::from_fn(W, H, |x, _| {
        Rgba([100u8, 0, 0, [0, 255, 51][x as usize * 3 / W as usize]])
    });
    let (photo, facts) = read_ok(&encode(clear, ImageFormat::Png), "x");
    assert_eq!(at(&photo, 0, 0), [255, 255, 255]);
    assert_eq!(at(&photo, 24, 0), [100, 0, 0]);
    assert_eq!(at(&photo, 47, 0), [224, 204, 204]);
    assert!(facts.notes.iter().any(|n| n.contains("white")));
    let grey = GrayImage::from_fn(W, H, |x, _| Luma([x as u8]));
    let (photo, _) = read_ok(&encode(grey, ImageFormat::Png), "x");
    assert_eq!(at(&photo, 17, 5), [17; 3]);
}

#[test]
fn every_orientation_puts_the_red_block_where_the_camera_saw_it() {
    let jpeg = encode(drawing(), ImageFormat::Jpeg);
    // Where row 0, column 0 of the stored picture is seen (EXIF 2.3, tag 274):
    // top left, top right, bottom right, bottom left; 5 … 8 turn the sides.
    for orientation in 1..=8u16 {
        let (photo, facts) = read_ok(&with_orientation(&jpeg, orientation), "x.jpg");
        let turned = orientation >= 5;
        let (w, h) = if turned { (H, W) } else { (W, H) };
        assert_eq!((photo.width, photo.height), (w as usize, h as usize));
        assert_eq!((facts.width_px, facts.height_px), (w, h));
        assert_eq!(facts.orientation, Some(orientation as u8));
        let (right, bottom) = match orientation {
            1 | 5 => (false, false),
            2 | 6 => (true, false),
            3 | 7 => (true, true),
            _ => (false, true),
        };
        let x = if right { photo.width - 5 } else { 4 };
        let y = if bottom { photo.height - 5 } else { 4 };
        assert_near(at(&photo, x, y), [230, 20, 20], 25);
        let (x, y) = (photo.width - 1 - x, photo.height - 1 - y);
        assert_near(at(&photo, x, y), [20, 20, 20], 25);
    }
}

#[test]
fn a_mirrored_orientation_is_not_a_turned_one() {
    // Orientation 5 transposes: what was right of the block is now below it.
    let mut picture = drawing();
    for y in 0..16 {
        for x in 24..40 {
            picture.put_pixel(x, y, Rgb([20, 200, 20]));
        }
    }
    let jpeg = encode(picture, ImageFormat::Jpeg);
    let (photo, _) = read_ok(&with_orientation(&jpeg, 5), "x.jpg");
    assert_near(at(&photo, 8, 32), [20, 200, 20], 40);
}

#[test]
fn cmyk_with_inverted_inks_looks_as_drawn() {
    let bytes = include_bytes!("../../testdata/intake/cmyk-inverted.jpg");
    let (photo, facts) = read_ok(bytes, "cmyk-inverted.jpg");
    assert_near(at(&photo, 8, 8), [255, 255, 255], 6);
    assert_near(at(&photo, 56, 8), [0, 0, 0], 6);
    assert_near(at(&photo, 8, 40), [220, 30, 30], 8);
    assert_near(at(&photo, 56, 40), [128, 128, 128], 6);
    assert!(facts.notes.iter().any(|n| n.contains("CMYK")));
    // The same file without the marker that says so: no guessing.
    let marker = bytes.windows(5).position(|w| w == b"Adobe").unwrap();
    let mut unmarked = bytes.to_vec();
    unmarked[marker] = b'X';
    assert_eq!(code(&unmarked), Code::UnsupportedFormat);
}

#[test]
fn the_content_counts_not_the_name() {
    let (_, facts) = read_ok(&encode(drawing(), ImageFormat::Png), "HR-02.jpg");
    assert_eq!(facts.format.as_deref(), Some("PNG"));
    assert!(facts.notes.iter().any(|n| n.contains(".jpg")));
}

#[test]
fn empty_tiny_and_garbage_files_are_unreadable() {
    assert_eq!(code(b""), Code::UnreadableFile);
    assert_eq!(code(b"not a picture at all"), Code::UnreadableFile);
    let one = RgbImage::from_pixel(1, 1, Rgb([9; 3]));
    for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::Tiff] {
        assert_eq!(code(&encode(one.clone(), format)), Code::UnreadableFile);
    }
}

#[test]
fn no_part_of_a_file_passes_for_the_whole() {
    for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::Tiff] {
        let bytes = encode(drawing(), format);
        for cut in 0..bytes.len() {
            match read(&bytes[..cut], "x", &Limits::default()) {
                Err(refused) => assert!(
                    matches!(
                        refused.reason.code,
                        Code::UnreadableFile | Code::UnsupportedFormat
                    ),
                    "{format:?} cut at {cut}: {:?}",
                    refused.reason
                ),
                // The last bytes of these formats carry no pixels.
                Ok((photo, _)) => assert!(
                    format != ImageFormat::Jpeg && photo.rgb == drawing().into_raw(),
                    "{format:?} cut at {cut} of {} was taken",
                    bytes.len()
                ),
            }
        }
    }
}

#[test]
fn a_jpeg_that_lost_its_middle_is_refused_although_it_ends_properly() {
    let noisy = RgbImage::from_fn(256, 256, |x, y| {
        Rgb([
            (x * y % 251) as u8,
            (x * 7 % 199) as u8,
            (y * 13 % 241) as u8,
        ])
    });
    let whole = encode(noisy, ImageFormat::Jpeg);
    let mut lost = whole[..whole.len() / 2].to_vec();
    lost.extend([0xff, 0xd9]);
    assert_eq!(code(&lost), Code::UnreadableFile);
}

#[test]
fn too_many_pixels_or_too_much_memory_is_said_before_decoding() {
    let bytes = encode(drawing(), ImageFormat::Png);
    let few = Limits {
        max_pixels: 1000,
        ..Limits::default()
    };
    let poor = Limits {
        max_alloc_bytes: 10_000,
        ..Limits::default()
    };
    for limits in [few, poor] {
        let refused = refusal(&bytes, &limits);
        assert_eq!(refused.reason.code, Code::TooLarge);
        assert_eq!(refused.facts.width_px, W);
    }
    // A header that claims 60 000 × 60 000 pixels is not believed.
    let mut bomb = encode(drawing(), ImageFormat::Jpeg);
    let frame = bomb.windows(2).position(|w| w == [0xff, 0xc0]).unwrap();
    bomb[frame + 5..frame + 9].copy_from_slice(&[0xea, 0x60, 0xea, 0x60]);
    assert_eq!(code(&bomb), Code::TooLarge);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Damaged in any place, a file is taken or refused, never a panic.
    #[test]
    fn damage_anywhere_never_panics(which in 0usize..3, hits in prop::collection::vec((0usize..4000, any::<u8>()), 1..8)) {
        let format = [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::Tiff][which];
        let mut bytes = encode(drawing(), format);
        for (place, value) in hits {
            let n = bytes.len();
            bytes[place % n] = value;
        }
        // Small limits, so that a header that claims much is cheap to refuse.
        let limits = Limits { max_pixels: 1_000_000, max_alloc_bytes: 50_000_000 };
        match read(&bytes, "x", &limits) {
            Ok((photo, facts)) => {
                prop_assert_eq!(photo.rgb.len(), 3 * photo.width * photo.height);
                prop_assert_eq!(facts.width_px as usize, photo.width);
            }
            Err(refused) => prop_assert!(!refused.reason.message.is_empty()),
        }
    }
}
