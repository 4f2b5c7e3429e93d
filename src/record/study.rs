//! What a study of several examiners leaves behind: plain data, lengths in mm.

use super::Tool;
use serde::Serialize;

/// A study: every coupon looked at by every examiner.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Study {
    /// What wrote it.
    pub tool: Tool,
    /// Name of the sheet's file.
    pub sheet: String,
    /// One entry a column of the sheet, in its order.
    pub columns: Vec<StudyColumn>,
}

/// One column of the sheet: a measured value, or a verdict.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StudyColumn {
    /// Its title.
    pub title: String,
    /// Examiners who wrote something in it, in the order of the sheet.
    pub examiners: Vec<String>,
    /// Coupons that count, in the order of the sheet.
    pub coupons: Vec<String>,
    /// Looks of every examiner at every coupon that counts.
    pub looks: usize,
    /// Coupons and examiners that do not count and why, a sentence each.
    pub left_out: Vec<String>,
    /// What was found.
    pub found: Found,
}

/// What a column shows.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Found {
    /// Scatter of measured values.
    Values(Box<ValueStudy>),
    /// Agreement of verdicts.
    Verdicts(Box<VerdictStudy>),
    /// Nothing can be said.
    NotAssessed {
        /// What is wrong.
        message: String,
        /// What to do.
        remedy: String,
    },
}

/// Where the scatter of measured values comes from.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValueStudy {
    /// `values_mm[coupon][examiner][look]`.
    pub values_mm: Vec<Vec<Vec<f64>>>,
    /// Mean of all.
    pub mean_mm: f64,
    /// Mean of each examiner, in their order.
    pub examiner_means_mm: Vec<f64>,
    /// The analysis of variance, line by line.
    pub anova: Vec<AnovaLine>,
    /// Probability of an interaction this large by chance; none where repeats do not
    /// scatter at all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interaction_p: Option<f64>,
    /// Whether the interaction was pooled with the repeats.
    pub interaction_pooled: bool,
    /// Whether an estimate of a variance was below zero and set to it.
    pub set_to_zero: bool,
    /// The parts of the scatter, the sums among them.
    pub parts: Vec<PartOfScatter>,
    /// Classes of coupons that can be told apart: √2 times the coupons' deviation over
    /// measuring's, rounded down; none where measuring does not scatter.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distinct_categories: Option<u32>,
    /// What the scatter was compared with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub allowed: Option<Allowed>,
}

/// What a drawing allows.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Allowed {
    /// Upper less lower limit.
    ToleranceMm(f64),
    /// The only limit.
    LimitMm(f64),
}

/// A line of an analysis of variance.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AnovaLine {
    /// Between what.
    pub source: &'static str,
    /// mm².
    pub sum_of_squares: f64,
    /// How many differences were free.
    pub degrees_of_freedom: usize,
    /// mm².
    pub mean_square: f64,
}

/// A cause of scatter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// One examiner looking again at one coupon.
    Repeatability,
    /// One examiner against another, all coupons together.
    Reproducibility,
    /// Examiners who differ from coupon to coupon.
    Interaction,
    /// Those three together.
    Measuring,
    /// The coupons themselves.
    Coupons,
    /// Everything.
    Total,
}

/// How much of the scatter one cause brings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartOfScatter {
    /// Which.
    pub part: Part,
    /// Variance.
    pub variance_mm2: f64,
    /// Standard deviation.
    pub deviation_mm: f64,
    /// The 95 % interval of the standard deviation.
    pub deviation_interval_mm: [f64; 2],
    /// Share of the variance; shares of causes add up to 100.
    pub contribution_percent: f64,
    /// Standard deviation over that of everything; these do not add up.
    pub study_variation_percent: f64,
    /// The 95 % interval of that.
    pub study_variation_interval_percent: [f64; 2],
    /// Six standard deviations over the tolerance, or three over the distance from the
    /// mean to the only limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tolerance_percent: Option<f64>,
}

/// How far verdicts agree.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VerdictStudy {
    /// The words used, the most frequent first.
    pub words: Vec<Word>,
    /// Coupons on which all verdicts are the same.
    pub agreed: Proportion,
    /// All verdicts of all examiners together.
    pub overall: Kappa,
    /// Each two examiners, look against look.
    pub pairs: Vec<Pair>,
    /// Each examiner against the own other looks; empty with one look.
    pub own: Vec<Own>,
    /// Coupons on which not all verdicts are the same.
    pub disputed: Vec<Disputed>,
}

/// A verdict's word.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Word {
    /// In lower case, blanks between its parts.
    pub word: String,
    /// How often it was given by each examiner, in their order.
    pub by_examiner: Vec<usize>,
}

/// So many of so many.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Proportion {
    /// So many.
    pub count: usize,
    /// Of so many.
    pub of: usize,
    /// The exact 95 % interval of the share, percent.
    pub interval_percent: [f64; 2],
}

/// Agreement beyond chance: 0 as chance gives, 1 complete.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Kappa {
    /// Whose.
    pub kind: KappaKind,
    /// The value; none where kappa is undefined.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// Its 95 % interval; none where these verdicts say nothing of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interval: Option<[f64; 2]>,
    /// Why the value or the interval is missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Which kappa.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum KappaKind {
    /// Of two examiners.
    Cohen,
    /// Of any number of verdicts a coupon.
    Fleiss,
}

/// Two examiners.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pair {
    /// Their names.
    pub examiners: [String; 2],
    /// Pairs of verdicts that are the same.
    pub agreed: usize,
    /// Pairs of verdicts.
    pub of: usize,
    /// Cohen's kappa.
    pub kappa: Kappa,
}

/// One examiner's looks against each other.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Own {
    /// The name.
    pub examiner: String,
    /// Coupons on which all own looks gave the same verdict.
    pub agreed: Proportion,
    /// Fleiss' kappa of the looks.
    pub kappa: Kappa,
}

/// A coupon on which the verdicts differ.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Disputed {
    /// Its name.
    pub coupon: String,
    /// Every word that was given, with who gave it how often.
    pub said: Vec<Said>,
}

/// One word on one coupon.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Said {
    /// The word.
    pub word: String,
    /// Examiner and number of looks.
    pub by: Vec<(String, usize)>,
}
