//! What kind of file it is, from its first bytes. Extensions lie; these do not.

use super::unreadable;
use crate::record::{Code, Reason};

/// A file format that is recognised.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// ISO/IEC 10918.
    Jpeg,
    /// ISO/IEC 15948.
    Png,
    /// TIFF 6.0 and BigTIFF.
    Tiff,
    /// Recognised, not read.
    Unread(&'static str),
}

impl Format {
    /// The name people use.
    pub fn name(self) -> &'static str {
        match self {
            Self::Jpeg => "JPEG",
            Self::Png => "PNG",
            Self::Tiff => "TIFF",
            Self::Unread(name) => name,
        }
    }

    /// Whether photographs of this format are read.
    pub fn is_read(self) -> bool {
        !matches!(self, Self::Unread(_))
    }

    fn extensions(self) -> &'static [&'static str] {
        match self {
            Self::Jpeg => &["jpg", "jpeg", "jpe", "jfif"],
            Self::Png => &["png"],
            Self::Tiff => &["tif", "tiff"],
            Self::Unread(_) => &[],
        }
    }
}

const RAW: &str = "camera raw";

/// Signatures at the start of a file, from the formats' public specifications;
/// those of camera raw files are from memory.
const SIGNATURES: [(&[u8], Format); 22] = [
    (b"\xff\xd8\xff", Format::Jpeg),
    (b"\x89PNG\r\n\x1a\n", Format::Png),
    (b"II*\0", Format::Tiff),
    (b"MM\0*", Format::Tiff),
    (b"II+\0", Format::Tiff),
    (b"MM\0+", Format::Tiff),
    (b"GIF87a", Format::Unread("GIF")),
    (b"GIF89a", Format::Unread("GIF")),
    (b"BM", Format::Unread("BMP")),
    (b"%PDF-", Format::Unread("PDF")),
    (b"8BPS", Format::Unread("layered image document (PSD)")),
    (b"FUJIFILMCCD-RAW", Format::Unread(RAW)),
    (b"IIRO", Format::Unread(RAW)),
    (b"IIRS", Format::Unread(RAW)),
    (b"MMOR", Format::Unread(RAW)),
    (b"IIU\0", Format::Unread(RAW)),
    (b"FOVb", Format::Unread(RAW)),
    (b"\0\0\0\x0cJXL \r\n\x87\n", Format::Unread("JPEG XL")),
    (b"\xff\x0a", Format::Unread("JPEG XL")),
    (b"\0\0\0\x0cjP  \r\n\x87\n", Format::Unread("JPEG 2000")),
    (b"\xff\x4f\xff\x51", Format::Unread("JPEG 2000")),
    (b"II\xbc\x01", Format::Unread("JPEG XR")),
];

/// The format of `bytes`.
///
/// # Errors
/// `unreadable-file` for an empty file or one that starts like no picture.
pub(super) fn recognise(bytes: &[u8]) -> Result<Format, Box<Reason>> {
    if bytes.is_empty() {
        return Err(Box::new(unreadable("the file is empty (0 bytes)")));
    }
    if let Some(format) = container(bytes) {
        return Ok(format);
    }
    let known = SIGNATURES
        .iter()
        .find(|(signature, _)| bytes.starts_with(signature))
        .map(|(_, format)| *format);
    match known {
        // The mark of a camera raw file that otherwise looks like a TIFF.
        Some(Format::Tiff) if bytes.get(8..10) == Some(b"CR") => Ok(Format::Unread(RAW)),
        Some(format) => Ok(format),
        None => Err(Box::new(unreadable(format!(
            "the file ({} bytes) does not start like any known picture format",
            bytes.len()
        )))),
    }
}

/// RIFF (WebP) and the boxes of ISO/IEC 14496-12 (HEIC, AVIF, CR3), whose
/// signature does not stand at the very start.
fn container(bytes: &[u8]) -> Option<Format> {
    if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        return Some(Format::Unread("WebP"));
    }
    if bytes.get(4..8) != Some(b"ftyp") {
        return None;
    }
    Some(Format::Unread(match bytes.get(8..12)? {
        b"avif" | b"avis" => "AVIF",
        b"heic" | b"heix" | b"heim" | b"heis" | b"hevc" | b"hevx" | b"hevm" | b"hevs" | b"mif1"
        | b"msf1" => "HEIC",
        b"crx " => RAW,
        _ => "video",
    }))
}

/// A note when the name claims another format than the bytes show.
pub(super) fn misnamed(file_name: &str, format: Format) -> Option<String> {
    let (_, extension) = file_name.rsplit_once('.')?;
    let extension = extension.to_ascii_lowercase();
    let fits = format.extensions();
    (!fits.is_empty() && !fits.contains(&extension.as_str())).then(|| {
        format!(
            "the name ends in .{extension}, the content is {}",
            format.name()
        )
    })
}

/// The refusal of a format that is recognised but not read.
pub(super) fn unsupported(format: Format) -> Reason {
    let remedy = match format {
        Format::Unread("HEIC" | "AVIF") => {
            "export as JPEG or PNG; a telephone can be set to take JPEG (often called \"most \
             compatible\")"
        }
        Format::Unread(RAW) => {
            "export as JPEG or PNG from the camera's own software, without cropping or straightening"
        }
        _ => "export as JPEG or PNG",
    };
    Reason::new(
        Code::UnsupportedFormat,
        format!(
            "the file is a {} file, which is not read; JPEG, PNG and TIFF are",
            format.name()
        ),
        remedy,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_that_are_not_read_are_named_and_come_with_a_way_out() {
        let files: [(&[u8], &str); 8] = [
            (b"\0\0\0\x18ftypheic\0\0\0\0", "HEIC"),
            (b"\0\0\0\x18ftypmif1\0\0\0\0", "HEIC"),
            (b"\0\0\0\x1cftypavif\0\0\0\0", "AVIF"),
            (b"RIFF\x10\0\0\0WEBPVP8 ", "WebP"),
            (b"GIF89a\x01\0\x01\0", "GIF"),
            (b"BM\x46\0\0\0\0\0", "BMP"),
            (b"%PDF-1.7\n", "PDF"),
            (b"II*\0\x10\0\0\0CR\x02\0", "camera raw"),
        ];
        for (bytes, name) in files {
            let format = recognise(bytes).unwrap();
            assert_eq!(format.name(), name);
            assert!(!format.is_read(), "{name}");
            let reason = unsupported(format);
            assert_eq!(reason.code, Code::UnsupportedFormat);
            assert!(reason.remedy.contains("export as JPEG or PNG"), "{name}");
        }
    }

    #[test]
    fn what_starts_like_no_picture_is_unreadable() {
        for bytes in [&b""[..], b"x", b"hello world", b"\0\0\0\0\0\0\0\0\0\0\0\0"] {
            assert_eq!(recognise(bytes).unwrap_err().code, Code::UnreadableFile);
        }
    }

    #[test]
    fn a_wrong_extension_is_noted_a_right_one_is_not() {
        assert!(misnamed("HR-01.png", Format::Jpeg).is_some());
        assert!(misnamed("HR-01.JPG", Format::Jpeg).is_none());
        assert!(misnamed("HR-01", Format::Jpeg).is_none());
    }
}
