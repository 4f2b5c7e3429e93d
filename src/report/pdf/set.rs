//! The typesetting library at work, with nothing but what it is handed: our fonts, our
//! style, the sheet and its pictures. It reads no file and asks no network.

use super::sheet::Sheet;
use crate::report::ReportError;
use std::sync::LazyLock;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Feature, Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

/// What does not change from page to page.
struct Shop {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
}

static SHOP: LazyLock<Shop> = LazyLock::new(|| {
    let fonts: Vec<Font> = [
        &include_bytes!("../assets/DejaVuSans.ttf")[..],
        &include_bytes!("../assets/DejaVuSans-Bold.ttf")[..],
    ]
    .into_iter()
    .flat_map(|font| Font::iter(Bytes::new(font)))
    .collect();
    // Row names in tables are marked as such by a part of the library that may still
    // change its spelling.
    let features = [Feature::A11yExtras].into_iter().collect();
    Shop {
        library: LazyHash::new(Library::builder().with_features(features).build()),
        book: LazyHash::new(FontBook::from_fonts(&fonts)),
        fonts,
    }
});

struct Desk {
    main: Source,
    style: Source,
    files: Vec<Bytes>,
}

fn place(name: &str) -> Option<FileId> {
    let path = VirtualPath::new(name).ok()?;
    Some(RootedPath::new(VirtualRoot::Project, path).intern())
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &SHOP.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &SHOP.book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        [&self.main, &self.style]
            .into_iter()
            .find(|source| source.id() == id)
            .cloned()
            .ok_or(FileError::AccessDenied)
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        id.get()
            .vpath()
            .file_name()
            .and_then(|name| name.parse::<usize>().ok())
            .and_then(|number| self.files.get(number).cloned())
            .ok_or(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        SHOP.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Has the sheet set and written as PDF/A-2a and PDF/UA-1.
pub fn pdf(sheet: Sheet, now: &str) -> Result<Vec<u8>, ReportError> {
    let failed = |why: &str| ReportError::Pdf(why.to_owned());
    let source = |name: &str, text: String| {
        let id = place(name).ok_or_else(|| failed("no name for the sheet"))?;
        Ok::<_, ReportError>(Source::new(id, text))
    };
    let desk = Desk {
        main: source("main.typ", sheet.source)?,
        style: source("style.typ", include_str!("style.typ").to_owned())?,
        files: sheet.files.into_iter().map(Bytes::new).collect(),
    };
    let explained = |errors: &[SourceDiagnostic]| {
        let said: Vec<String> = errors.iter().map(|e| e.message.to_string()).collect();
        ReportError::Pdf(said.join("; "))
    };
    let document = typst::compile::<PagedDocument>(&desk)
        .output
        .map_err(|errors| explained(&errors))?;
    let standards = PdfStandards::new(&[PdfStandard::A_2a, PdfStandard::Ua_1])
        .map_err(|error| failed(error.message()))?;
    let options = PdfOptions {
        creator: Smart::Custom(Some(format!("Toeline {}", env!("CARGO_PKG_VERSION")))),
        timestamp: Some(moment(now).ok_or_else(|| failed("the time of making is unreadable"))?),
        standards,
        ..PdfOptions::default()
    };
    let bytes = typst_pdf::pdf(&document, &options).map_err(|errors| explained(&errors));
    // What was set is kept for a next time that never comes.
    typst::comemo::evict(0);
    bytes
}

/// `2026-03-14T09:26:53Z`.
fn moment(now: &str) -> Option<Timestamp> {
    let parts: Vec<u32> = now
        .split(|c: char| !c.is_ascii_digit())
        .filter(|part| !part.is_empty())
        .map(|part| part.parse().ok())
        .collect::<Option<_>>()?;
    let [year, month, day, hour, minute, second] = parts[..] else {
        return None;
    };
    let small = |v: u32| u8::try_from(v).ok();
    Datetime::from_ymd_hms(
        i32::try_from(year).ok()?,
        small(month)?,
        small(day)?,
        small(hour)?,
        small(minute)?,
        small(second)?,
    )
    .map(Timestamp::new_utc)
}
