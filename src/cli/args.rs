//! The arguments exactly as typed.

mod class;

pub use class::{
    ArchiveArgs, ArchiveCommand, BatchArgs, ClassArgs, DemoArgs, ExportArgs, ListArgs,
    RemeasureArgs, ShowArgs, StudyArgs, VerifyArgs,
};

use super::help::{
    ARCHIVE_ABOUT, ARCHIVE_EXAMPLES, BATCH_ABOUT, BATCH_EXAMPLES, CARD_ABOUT, CARD_EXAMPLES,
    CLASS_ABOUT, CLASS_EXAMPLES, DEMO_ABOUT, DEMO_EXAMPLES, FRACTURE_ABOUT, FRACTURE_EXAMPLES,
    LIMITS_ABOUT, LIMITS_EXAMPLES, REPEAT_ABOUT, REPEAT_EXAMPLES, SCALE_ABOUT, SCALE_EXAMPLES,
    SECTION_ABOUT, SECTION_EXAMPLES, STUDY_ABOUT, STUDY_EXAMPLES,
};
use crate::pipeline::{CardDesign, Decision, RuleClass, ScaleSource as Source};
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// What was typed.
#[derive(Debug, Parser)]
#[command(
    name = "toeline",
    version,
    subcommand_required = true,
    arg_required_else_help = true
)]
#[command(
    about = "Toeline measures fillet welds in photographs",
    long_about = "\
Toeline measures fillet welds in photographs.

Give it a photograph of an etched section with a scale in the picture. It finds
the weld metal, the fusion boundary and the two plates, measures legs, throat and
penetration with their uncertainty, and leaves a record, an annotated picture and
a report to print. Nothing leaves your computer.

Toeline measures; it certifies nobody."
)]
#[command(after_help = "\
Try:
  toeline section HR-07.jpg --scale rule-mm --thickness 10,12 --out evidence
  toeline help section

Exit status: 0 measured (whatever the verdict), 3 refused (the record says why),
2 something in the command was not understood, 1 anything else.")]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Measure a fillet weld in a photograph of an etched section
    #[command(long_about = SECTION_ABOUT, after_help = SECTION_EXAMPLES)]
    Section(SectionArgs),
    /// Measure the face of a broken fillet weld
    #[command(long_about = FRACTURE_ABOUT, after_help = FRACTURE_EXAMPLES)]
    Fracture(FractureArgs),
    /// Show how the scale of a photograph is read, and measure nothing
    #[command(long_about = SCALE_ABOUT, after_help = SCALE_EXAMPLES)]
    Scale(ScaleArgs),
    /// Print a scale card to lay beside the specimen
    #[command(long_about = CARD_ABOUT, after_help = CARD_EXAMPLES)]
    Card(CardArgs),
    /// List the acceptance limits, or show one table of them and check it
    #[command(long_about = LIMITS_ABOUT, after_help = LIMITS_EXAMPLES)]
    Limits(LimitsArgs),
    /// Measure a class of coupons from a sheet and keep the evidence in an archive
    #[command(long_about = BATCH_ABOUT, after_help = BATCH_EXAMPLES)]
    Batch(BatchArgs),
    /// Look into an archive, check it, take coupons out, or measure it again
    #[command(long_about = ARCHIVE_ABOUT, after_help = ARCHIVE_EXAMPLES)]
    Archive(ArchiveArgs),
    /// Measure a class of painted example coupons, to see what comes out
    #[command(long_about = DEMO_ABOUT, after_help = DEMO_EXAMPLES)]
    Demo(DemoArgs),
    /// Show a class on one page: sizes, where fusion failed, points
    #[command(long_about = CLASS_ABOUT, after_help = CLASS_EXAMPLES)]
    Class(ClassArgs),
    /// Compare several photographs of one coupon: do the numbers repeat as stated?
    #[command(long_about = REPEAT_ABOUT, after_help = REPEAT_EXAMPLES)]
    Repeat(RepeatArgs),
    /// Compare several examiners: how far do their values and verdicts agree?
    #[command(long_about = STUDY_ABOUT, after_help = STUDY_EXAMPLES)]
    Study(StudyArgs),
}

/// Arguments of `section`.
#[derive(Debug, Args)]
pub struct SectionArgs {
    /// Photographs of etched sections
    #[arg(value_name = "PHOTO", required = true)]
    pub photos: Vec<PathBuf>,

    /// Where millimetres come from: auto, rule-mm, rule-inch, chequer:MM (squares
    /// of MM), card, bar:MM (a drawn bar of MM), declared:PX (PX pixels a millimetre)
    #[arg(long, value_name = "SCALE", default_value = "auto", value_parser = scale_of_anything)]
    pub scale: Source,

    /// What you know of the scale.
    #[command(flatten)]
    pub reference: ReferenceArgs,

    /// What you know of the coupon.
    #[command(flatten)]
    pub coupon: CouponArgs,

    /// Where and how to answer.
    #[command(flatten)]
    pub answer: AnswerArgs,
}

/// Arguments of `fracture`.
#[derive(Debug, Args)]
pub struct FractureArgs {
    /// Photographs of broken fillet welds
    #[arg(value_name = "PHOTO", required = true)]
    pub photos: Vec<PathBuf>,

    /// Where millimetres come from: as for section, or length:MM (the coupon is MM long)
    #[arg(long, value_name = "SCALE", default_value = "auto")]
    pub scale: Source,

    /// What you know of the scale.
    #[command(flatten)]
    pub reference: ReferenceArgs,

    /// Towards which border of the picture the root side of the face lies
    #[arg(long, value_name = "BORDER", value_enum)]
    pub root_side: Option<RootSide>,

    /// The coupon bent flat without breaking: nothing is measured, the photograph
    /// is kept as evidence
    #[arg(long)]
    pub bent_flat: bool,

    /// What you know of the coupon.
    #[command(flatten)]
    pub coupon: CouponArgs,

    /// Where and how to answer.
    #[command(flatten)]
    pub answer: AnswerArgs,
}

/// Arguments of `scale`.
#[derive(Debug, Args)]
pub struct ScaleArgs {
    /// Photographs with a scale in them
    #[arg(value_name = "PHOTO", required = true)]
    pub photos: Vec<PathBuf>,

    /// Where millimetres come from, as for section
    #[arg(long, value_name = "SCALE", default_value = "auto", value_parser = scale_of_anything)]
    pub scale: Source,

    /// What you know of the scale.
    #[command(flatten)]
    pub reference: ReferenceArgs,

    /// Folder for the pictures; made if it is not there
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub out: PathBuf,

    /// Say nothing but what went wrong
    #[arg(long, short)]
    pub quiet: bool,
}

/// Arguments of `limits`.
#[derive(Debug, Args)]
pub struct LimitsArgs {
    /// A built-in table, or the path of a TOML file; all are listed without
    #[arg(value_name = "NAME|FILE.toml")]
    pub limits: Option<String>,

    /// The table as the file it is written in, to copy and change
    #[arg(long, requires = "limits")]
    pub toml: bool,
}

/// Arguments of `repeat`.
#[derive(Debug, Args)]
pub struct RepeatArgs {
    /// Records of photographs of the same coupon
    #[arg(required = true, value_name = "RECORD")]
    pub records: Vec<PathBuf>,

    /// Write the comparison to this JSON file as well
    #[arg(long, value_name = "FILE.json")]
    pub out: Option<PathBuf>,
}

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

/// What is declared of the coupon.
#[derive(Debug, Args)]
#[command(next_help_heading = "What you know of the coupon (all optional)")]
pub struct CouponArgs {
    /// The coupon's name, for example HR-07
    #[arg(long, value_name = "ID")]
    pub coupon: Option<String>,

    /// How the plates meet
    #[arg(long, value_enum)]
    pub joint: Option<Joint>,

    /// Angle between the two plates on the weld's side, degrees [a tee has 90]
    #[arg(long, value_name = "DEG", value_parser = dihedral)]
    pub dihedral: Option<f64>,

    /// Thickness of the plate that ends at the joint and of the one that runs through, mm
    #[arg(long, value_name = "BUTTING,NONBUTTING", value_parser = thickness)]
    pub thickness: Option<Thickness>,

    /// Leg length the drawing asks for, mm
    #[arg(long, value_name = "MM", value_parser = positive, conflicts_with = "throat")]
    pub leg: Option<f64>,

    /// Throat the drawing asks for, mm (instead of --leg)
    #[arg(long, value_name = "MM", value_parser = positive)]
    pub throat: Option<f64>,

    /// Number of passes laid
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=200))]
    pub passes: Option<u32>,

    /// Parent metal
    #[arg(long, value_enum)]
    pub material: Option<Metal>,

    /// Length discarded at each end, mm (broken welds); default: up to painted marks
    #[arg(long, value_name = "MM", value_parser = not_negative)]
    pub discard: Option<f64>,

    /// What you saw of cracks, with your own eyes; Toeline does not search for them
    #[arg(long, value_enum)]
    pub cracks: Option<Cracks>,
}

/// What is known of the reference in the picture.
#[derive(Debug, Args)]
#[command(next_help_heading = "What you know of the scale (all optional)")]
pub struct ReferenceArgs {
    /// Height of the scale above the measured face, mm; negative when it lies deeper
    #[arg(long, value_name = "MM", value_parser = finite, allow_negative_numbers = true)]
    pub scale_offset: Option<f64>,

    /// Accuracy class marked on the rule: I, II or III
    #[arg(long, value_name = "CLASS", default_value = "II")]
    pub rule_class: RuleClass,

    /// Length of the scale card's control line as measured with a calliper, mm
    #[arg(long, value_name = "MM", value_parser = card_line)]
    pub card_line: Option<f64>,
}

/// Where and how to answer.
#[derive(Debug, Args)]
#[command(next_help_heading = "The answer")]
pub struct AnswerArgs {
    /// How a value near a limit is decided: iso14253-1 (both outcomes proven with
    /// 95 %), simple (the measured value alone) or guarded:RISK (the risk of a wrong
    /// acceptance, such as 0.02); what the limits say without
    #[arg(long, value_name = "RULE", requires = "limits")]
    pub decision: Option<Decision>,

    /// Limits to compare with: a built-in name or a TOML file of your own. For
    /// sections iso5817-b, iso5817-c, iso5817-d, iso9606-1,
    /// aws-d1.1-macroetch-mm, aws-d1.1-macroetch-inch, asme-ix-macro-mm, asme-ix-macro-inch,
    /// asme-ix-macro-procedure-mm, asme-ix-macro-procedure-inch; for broken welds aws-d1.1-break-mm,
    /// aws-d1.1-break-inch, asme-ix-break-mm, asme-ix-break-inch, iso5817-b-break,
    /// iso5817-c-break, iso5817-d-break, iso9606-1-break, harbour-row-contest.
    /// Without it nothing is judged, and the report says so
    #[arg(long, value_name = "NAME|FILE")]
    pub limits: Option<String>,

    /// Folder for the results; made if it is not there
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub out: PathBuf,

    /// Set the report as PDF as well (PDF/A, for printing and keeping)
    #[arg(long)]
    pub pdf: bool,

    /// Say nothing but what went wrong
    #[arg(long, short)]
    pub quiet: bool,

    /// Say how long each stage took (on standard error)
    #[arg(long)]
    pub timings: bool,
}

/// How the plates meet, as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Joint {
    /// One plate stands on the other
    Tee,
    /// One plate lies on the other
    Lap,
    /// Two plates meet at their edges
    Corner,
}

/// A border of the picture, as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RootSide {
    /// The upper border
    Top,
    /// The lower border
    Bottom,
    /// The left border
    Left,
    /// The right border
    Right,
}

/// What the examiner saw of cracks, as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Cracks {
    /// Looked and saw none
    None,
    /// Saw at least one
    Seen,
}

/// Parent metal, as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Metal {
    /// Unalloyed and low-alloy steel
    CarbonSteel,
    /// Stainless steel
    Stainless,
    /// Aluminium and its alloys
    Aluminium,
}

/// Plate thicknesses, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thickness {
    /// Of the butting member.
    pub butting: f64,
    /// Of the nonbutting member.
    pub nonbutting: f64,
}

/// A scale that needs no broken coupon.
fn scale_of_anything(text: &str) -> Result<Source, String> {
    match text.parse()? {
        Source::CouponLength { .. } => Err(
            "a coupon's length is a scale only for 'fracture', where its two ends are found; write \
             for example rule-mm"
                .to_owned(),
        ),
        source => Ok(source),
    }
}

fn finite(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => Err("write a number with a decimal point, for example 6.5".to_owned()),
    }
}

fn positive(text: &str) -> Result<f64, String> {
    match finite(text)? {
        value if value > 0.0 => Ok(value),
        _ => Err("write a number above 0, for example 6.5".to_owned()),
    }
}

fn not_negative(text: &str) -> Result<f64, String> {
    match finite(text)? {
        value if value >= 0.0 => Ok(value),
        _ => Err("write 0 or a number above, for example 25".to_owned()),
    }
}

fn card_line(text: &str) -> Result<f64, String> {
    match finite(text)? {
        value if CardDesign::CONTROL_ACCEPTED_MM.contains(&value) => Ok(value),
        _ => Err(
            "write the measured length of the card's 100 mm control line, 90 to 110; a card \
             printed at another size should be printed again at 100 %"
                .to_owned(),
        ),
    }
}

fn dihedral(text: &str) -> Result<f64, String> {
    match finite(text)? {
        value if value > 0.0 && value < 180.0 => Ok(value),
        _ => Err("write an angle between 0 and 180 degrees, for example 90".to_owned()),
    }
}

fn thickness(text: &str) -> Result<Thickness, String> {
    let pair = text
        .split_once(',')
        .and_then(|(a, b)| Some((positive(a).ok()?, positive(b).ok()?)));
    match pair {
        Some((butting, nonbutting)) => Ok(Thickness {
            butting,
            nonbutting,
        }),
        None => Err(
            "write two thicknesses in mm with a comma between, first the plate that ends at the \
             joint, for example 10,12"
                .to_owned(),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definition_holds_together() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn numbers_are_checked_where_they_are_typed() {
        assert_eq!(
            thickness("10, 12.5"),
            Ok(Thickness {
                butting: 10.0,
                nonbutting: 12.5
            })
        );
        for wrong in ["10", "10;12", "0,12", "10,-1", "a,b", "10,inf", ""] {
            assert!(thickness(wrong).unwrap_err().contains("10,12"), "{wrong}");
        }
        for wrong in ["0", "180", "-5", "NaN", "right"] {
            assert!(dihedral(wrong).is_err(), "{wrong}");
        }
        for wrong in ["89.9", "110.1", "10", "-100", "long"] {
            assert!(card_line(wrong).is_err(), "{wrong}");
        }
        assert_eq!(card_line("94.6"), Ok(94.6));
        assert_eq!(not_negative("0"), Ok(0.0));
        assert!(positive("0").is_err());
    }

    #[test]
    fn only_a_broken_weld_can_be_its_own_scale() {
        let message = scale_of_anything("length:150").unwrap_err();
        assert!(message.contains("fracture"), "{message}");
        assert_eq!(scale_of_anything("rule-mm"), Ok(Source::RuleMm));
        let length = Source::CouponLength { length_mm: 150.0 };
        assert_eq!("length:150".parse(), Ok(length));
    }
}
