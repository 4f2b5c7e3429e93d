//! Arguments of `card`.

use clap::{Args, ValueEnum};
use std::path::PathBuf;

pub(super) const ABOUT: &str = "\
Print a scale card to lay beside the specimen.

One PDF page: the card to cut out, a ring of squares round an open window for the
specimen, with the coupon's name as a code and in words, and below it how to use
the card. Print it at 100 %, measure its control line once with a calliper, and
photograph with --scale card --card-line LENGTH. A file of that name is replaced.";

pub(super) const EXAMPLES: &str = "\
Examples:
  A card for one coupon:
    toeline card --coupon HR-07 --out HR-07.card.pdf
  A card for any coupon, with a line to write on, on Letter paper:
    toeline card --paper letter --out card.pdf";

/// Arguments of `card`.
#[derive(Debug, Args)]
pub struct CardArgs {
    /// The PDF file to write; a file of that name is replaced
    #[arg(long, value_name = "FILE.pdf")]
    pub out: PathBuf,

    /// The coupon's name to print, for example HR-07
    #[arg(long, value_name = "ID")]
    pub coupon: Option<String>,

    /// Paper in the printer
    #[arg(long, value_enum, default_value = "a4")]
    pub paper: Paper,
}

/// Paper, as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Paper {
    /// 210 × 297 mm
    A4,
    /// 8.5 × 11 inches
    Letter,
}
