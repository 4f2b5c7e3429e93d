//! The marker structure of a JPEG file (ISO/IEC 10918-1, annex B): what a
//! lenient decoder does not tell.
//!
//! Such a decoder fills a missing end with grey and says nothing. Walking the
//! markers shows whether the end-of-image marker of the picture itself is
//! reached; thumbnails inside APP segments and whatever cameras append after
//! the end are stepped over.

/// What the markers say.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Structure {
    /// The end-of-image marker was reached after at least one scan.
    pub complete: bool,
    /// Scans and pixels are stored coarse to fine.
    pub progressive: bool,
    /// Colour components a pixel; 0 when no frame header was reached.
    pub components: u8,
    /// An Adobe APP14 segment is there. Four-component files that carry it
    /// store their inks inverted; without it there is no rule.
    pub adobe: bool,
}

/// Walks the markers.
pub(super) fn structure(bytes: &[u8]) -> Structure {
    let mut found = Structure::default();
    // Ending early is what `complete: false` says.
    let _ = walk(bytes, &mut found);
    found
}

fn walk(bytes: &[u8], found: &mut Structure) -> Option<()> {
    const START_OF_SCAN: u8 = 0xda;
    const END_OF_IMAGE: u8 = 0xd9;
    let mut at = 2;
    let mut scans = 0;
    loop {
        // Fill bytes and stray data before a marker are stepped over, as
        // decoders do; so is the coded data of a scan.
        at += bytes.get(at..)?.iter().position(|b| *b == 0xff)?;
        while *bytes.get(at)? == 0xff {
            at += 1;
        }
        let marker = *bytes.get(at)?;
        at += 1;
        match marker {
            // Stuffed zero, temporary, restart, start of image: no length follows.
            0x00 | 0x01 | 0xd0..=0xd8 => continue,
            END_OF_IMAGE => {
                found.complete = scans > 0;
                return Some(());
            }
            _ => {}
        }
        let length = usize::from(u16::from_be_bytes([*bytes.get(at)?, *bytes.get(at + 1)?]));
        match marker {
            // Frame headers; 0xc4, 0xc8 and 0xcc are not.
            0xc0..=0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf => {
                found.progressive = matches!(marker, 0xc2 | 0xc6 | 0xca | 0xce);
                found.components = *bytes.get(at + 7)?;
            }
            0xee => found.adobe |= bytes.get(at + 2..at + 7) == Some(b"Adobe"),
            START_OF_SCAN => scans += 1,
            _ => {}
        }
        at += length.max(2);
    }
}

/// Rows at the bottom that a lenient decoder made up where coded data ran out;
/// a file damaged in its middle can still carry an end marker.
///
/// Two traces are known: every sample exactly 128, and one block repeated
/// sample for sample (the decoder read zero bits). A row of one value is no
/// trace: pictures do have plain black or white margins.
pub(super) fn made_up_rows(samples: &[u8], bytes_per_row: usize, channels: usize) -> usize {
    // Blocks are 8 samples wide, 16 with coarser colour.
    let block = 16 * channels;
    let made_up = |row: &&[u8]| {
        let plain = row.iter().zip(&row[channels..]).all(|(a, b)| a == b);
        let repeated =
            || row.len() >= 4 * block && row.iter().zip(&row[block..]).all(|(a, b)| a == b);
        if plain {
            row.iter().all(|s| *s == 128)
        } else {
            repeated()
        }
    };
    samples
        .chunks_exact(bytes_per_row.max(channels).max(1))
        .rev()
        .take_while(made_up)
        .count()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TINY: &[u8] =
        b"\xff\xd8\xff\xe0\0\x04\xff\xd9\xff\xc2\0\x08\x08\0\x01\0\x01\x01\xff\xda\0\x02ab\xff\0c\xff\xd0d\xff\xd9tail";

    #[test]
    fn the_end_marker_of_a_thumbnail_is_not_the_picture_s() {
        let whole = structure(TINY);
        assert!(whole.complete && whole.progressive && !whole.adobe);
        assert_eq!(whole.components, 1);
        let end = TINY.len() - 4;
        for cut in 0..end {
            assert!(!structure(&TINY[..cut]).complete, "cut at {cut}");
        }
    }

    #[test]
    fn fill_grey_and_repeated_blocks_count_margins_do_not() {
        assert_eq!(made_up_rows(&[1, 2, 128, 128, 128, 128], 2, 1), 2);
        assert_eq!(made_up_rows(&[128, 128, 0, 0], 2, 1), 0);
        assert_eq!(made_up_rows(&[], 0, 3), 0);
        let repeated: Vec<u8> = (0..80u8).map(|x| x % 8).collect();
        let ramp: Vec<u8> = (0..80u8).collect();
        let rows = [ramp, repeated.clone(), repeated].concat();
        assert_eq!(made_up_rows(&rows, 80, 1), 2);
    }
}
