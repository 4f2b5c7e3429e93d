//! Arguments of the commands for a whole class: `batch`, `class`, `study` and
//! `archive`.

use clap::{Args, Subcommand};
use std::path::PathBuf;

/// Arguments of `batch`.
#[derive(Debug, Args)]
pub struct BatchArgs {
    /// The sheet, one line a coupon
    #[arg(value_name = "SHEET.csv", required_unless_present = "new")]
    pub sheet: Option<PathBuf>,

    /// Write a sheet to fill in to this file, and measure nothing
    #[arg(long, value_name = "SHEET.csv", conflicts_with_all = ["sheet", "photos", "archive", "limits", "jobs"])]
    pub new: Option<PathBuf>,

    /// Folder with the photographs
    #[arg(long, value_name = "DIR", required_unless_present = "new")]
    pub photos: Option<PathBuf>,

    /// Folder of the archive; made if it is not there
    #[arg(long, value_name = "DIR", required_unless_present = "new")]
    pub archive: Option<PathBuf>,

    /// Limits for lines that name none, as for section; twice: one for sections and
    /// one for broken welds
    #[arg(long, value_name = "NAME|FILE")]
    pub limits: Vec<String>,

    /// Photographs worked on at once; each needs its own memory [default: one for
    /// each processor]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,

    /// Say nothing but what went wrong
    #[arg(long, short)]
    pub quiet: bool,
}

/// Arguments of `class`.
#[derive(Debug, Args)]
pub struct ClassArgs {
    /// Folder of the archive
    #[arg(long, value_name = "DIR")]
    pub archive: PathBuf,

    /// The page; a table of the same figures (.csv) is written beside it
    #[arg(long, value_name = "FILE.html", value_parser = page_file)]
    pub out: PathBuf,

    /// Only the coupons of this welder, by date
    #[arg(long, value_name = "WELDER")]
    pub welder: Option<String>,

    /// Labels in place of the welders; no photographs' names, reports or notes
    #[arg(long)]
    pub anonymous: bool,

    /// Set the page as PDF as well (PDF/A, for printing and keeping)
    #[arg(long)]
    pub pdf: bool,

    /// Say nothing but what went wrong
    #[arg(long, short)]
    pub quiet: bool,
}

/// Arguments of `demo`.
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// A new folder for the example class and all that comes of it
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,

    /// Set the page of the class as PDF as well (PDF/A, for printing and keeping)
    #[arg(long)]
    pub pdf: bool,

    /// Say nothing but what went wrong
    #[arg(long, short)]
    pub quiet: bool,
}

/// Arguments of `study`.
#[derive(Debug, Args)]
pub struct StudyArgs {
    /// The sheet, one line a look of an examiner at a coupon
    #[arg(
        value_name = "SHEET.csv",
        required_unless_present = "new",
        requires = "out"
    )]
    pub sheet: Option<PathBuf>,

    /// Write an example sheet to this file, and work nothing out
    #[arg(long, value_name = "SHEET.csv", conflicts_with_all = ["sheet", "out", "tolerance", "limit"])]
    pub new: Option<PathBuf>,

    /// The page; the figures (.json) are written beside it
    #[arg(long, value_name = "FILE.html", value_parser = page_file)]
    pub out: Option<PathBuf>,

    /// Width of the tolerance in mm, upper less lower limit; with several columns of
    /// values as leg_mm=2
    #[arg(long, value_name = "[COLUMN=]MM", value_parser = tolerance)]
    pub tolerance: Vec<(Option<String>, f64)>,

    /// The only limit in mm, where there is no second one, for example the least leg;
    /// with several columns of values as leg_mm=6
    #[arg(long, value_name = "[COLUMN=]MM", value_parser = limit)]
    pub limit: Vec<(Option<String>, f64)>,

    /// Set the page as PDF as well (PDF/A, for printing and keeping)
    #[arg(long)]
    pub pdf: bool,

    /// Say nothing but what went wrong
    #[arg(long, short)]
    pub quiet: bool,
}

/// Arguments of `archive`.
#[derive(Debug, Args)]
pub struct ArchiveArgs {
    /// What to do with it.
    #[command(subcommand)]
    pub command: ArchiveCommand,
}

/// What to do with an archive.
#[derive(Debug, Subcommand)]
pub enum ArchiveCommand {
    /// List the coupons with their photographs, and the last hash
    List(ListArgs),
    /// Show everything that is kept of one coupon
    Show(ShowArgs),
    /// Compare every byte with what was written
    Verify(VerifyArgs),
    /// Write coupons to a folder or a zip file that anyone can read
    Export(ExportArgs),
    /// Measure the stored photographs with this version and say what changed
    Remeasure(RemeasureArgs),
}

/// Arguments of `archive list`.
#[derive(Debug, Args)]
pub struct ListArgs {
    /// Folder of the archive
    #[arg(long, value_name = "DIR")]
    pub archive: PathBuf,
}

/// Arguments of `archive show`.
#[derive(Debug, Args)]
pub struct ShowArgs {
    /// The coupon's name
    #[arg(value_name = "COUPON")]
    pub coupon: String,

    /// Folder of the archive
    #[arg(long, value_name = "DIR")]
    pub archive: PathBuf,
}

/// Arguments of `archive verify`.
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// Folder of the archive
    #[arg(long, value_name = "DIR")]
    pub archive: PathBuf,

    /// A last hash written down earlier: it must still be in the chain
    #[arg(long, value_name = "HASH", value_parser = hash)]
    pub head: Option<String>,
}

/// Arguments of `archive export`.
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// Folder of the archive
    #[arg(long, value_name = "DIR")]
    pub archive: PathBuf,

    /// Only this coupon; may be given several times
    #[arg(long, value_name = "COUPON")]
    pub coupon: Vec<String>,

    /// A new folder, or a new file whose name ends with .zip
    #[arg(long, value_name = "DIR|FILE.zip")]
    pub out: PathBuf,

    /// Set every report as PDF as well (PDF/A, for printing and keeping)
    #[arg(long)]
    pub pdf: bool,
}

/// Arguments of `archive remeasure`.
#[derive(Debug, Args)]
pub struct RemeasureArgs {
    /// Folder of the archive
    #[arg(long, value_name = "DIR")]
    pub archive: PathBuf,

    /// Photographs worked on at once [default: one for each processor]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
}

fn hash(text: &str) -> Result<String, String> {
    let text = text.trim().to_ascii_lowercase();
    match text.len() == 64 && text.chars().all(|c| c.is_ascii_hexdigit()) {
        true => Ok(text),
        false => Err("write the whole hash, 64 digits and letters from a to f".to_owned()),
    }
}

/// A file a browser takes for a page, so that the table beside it is another.
fn page_file(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("html" | "htm") => Ok(path),
        _ => Err("write a name that ends with .html, for example class.html".to_owned()),
    }
}

/// A column's title, if one is named, and the width of its tolerance.
fn tolerance(text: &str) -> Result<(Option<String>, f64), String> {
    match of_column(text) {
        Some((column, width)) if width > 0.0 => Ok((column, width)),
        _ => Err(
            "write a width above 0, or the column's title, = and the width, for example \
                  leg_mm=2"
                .to_owned(),
        ),
    }
}

/// A column's title, if one is named, and its limit.
fn limit(text: &str) -> Result<(Option<String>, f64), String> {
    of_column(text).ok_or_else(|| {
        "write a number, or the column's title, = and the number, for example leg_mm=6".to_owned()
    })
}

fn of_column(text: &str) -> Option<(Option<String>, f64)> {
    let (column, number) = match text.rsplit_once('=') {
        Some((column, number)) => (Some(column.trim().to_owned()), number),
        None => (None, text),
    };
    let number: f64 = number.trim().parse().ok()?;
    number.is_finite().then_some((column, number))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hash_is_given_whole() {
        assert_eq!(hash(&"AB".repeat(32)), Ok("ab".repeat(32)));
        for wrong in ["", "ab", &"xy".repeat(32)] {
            assert!(hash(wrong).is_err());
        }
    }
}
