//! The page of a study: one HTML file that needs nothing else.

use super::agreement::{Kappa, Share};
use super::result::{Scatter, StudyResult, ValueResult, VerdictResult};
use crate::base::rounding::{plain, shortest};
use maud::{DOCTYPE, Markup, PreEscaped, html as markup};

pub(super) fn html(study: &StudyResult) -> String {
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "How far examiners agree" }
                // The one text that goes in unescaped: our own style sheet.
                style { (PreEscaped(include_str!("page.css"))) }
            }
            body {
                header {
                    h1 { "How far examiners agree" }
                    p.soft {
                        (study.examiners.len()) " examiners (" (study.examiners.join(", ")) "), "
                        (study.coupons.len()) " coupons"
                    }
                }
                main {
                    @for value in &study.values { (values(study, value)) }
                    @for verdict in &study.verdicts { (verdicts(study, verdict)) }
                    h2 { "How it was worked out" }
                    (method())
                }
                footer { p { "Toeline measures; it certifies nobody – an authorised examiner decides." } }
            }
        }
    };
    page.into_string()
}

fn percent(share: f64) -> String {
    format!("{} %", shortest(100.0 * share, 1))
}

fn values(study: &StudyResult, value: &ValueResult) -> Markup {
    markup! {
        h2 { (value.title) }
        @match &value.scatter {
            Some(scatter) => { p.say { (said(scatter)) } (table(scatter)) }
            None => p.say {
                "Not worked out: "
                (value.why_not.as_deref().unwrap_or("the values are not enough")) "."
            },
        }
        (picture(study, value))
    }
}

/// The main thing in a sentence.
fn said(s: &Scatter) -> String {
    if s.total <= 0.0 {
        return "All values are the same.".to_owned();
    }
    let share = |sd: f64| percent(sd.powi(2) / s.total.powi(2));
    let between = s.examiners.hypot(s.interaction);
    let told = match s.distinct {
        Some(0 | 1) => " The coupons cannot be told apart by these measurements.".to_owned(),
        Some(n) => format!(" About {n} sizes among these coupons can be told apart."),
        None => String::new(),
    };
    format!(
        "Of the variance {} lies between the coupons, {} between examiners and {} in repeating a \
         measurement.{told}",
        share(s.coupons),
        share(between),
        share(s.repeats)
    )
}

fn table(s: &Scatter) -> Markup {
    let rows = [
        ("repeats of one examiner", s.repeats, false),
        ("between examiners", s.examiners, false),
        (
            "examiners who differ from coupon to coupon",
            s.interaction,
            false,
        ),
        ("measuring in all", s.measuring, true),
        ("between coupons", s.coupons, false),
        ("everything", s.total, true),
    ];
    let of = |sd: f64, all: f64| if all > 0.0 { sd / all } else { 0.0 };
    markup! {
        div.wide { table {
            caption { "Where the scatter comes from" }
            thead { tr {
                th scope="col" { "source" } th scope="col" { "standard deviation" }
                th scope="col" { "share of the variance" } th scope="col" { "share of the spread" }
                @if s.tolerance.is_some() { th scope="col" { "six of it, of the tolerance" } }
            } }
            tbody { @for (source, sd, sum) in rows {
                tr.sum[sum] {
                    th scope="row" { (source) }
                    td { (plain(sd, 4)) }
                    td { (percent(of(sd * sd, s.total * s.total))) }
                    td { (percent(of(sd, s.total))) }
                    @if let Some(tolerance) = s.tolerance { td { (percent(6.0 * sd / tolerance)) } }
                }
            } }
        } }
        p.soft {
            "Repeats: between " (plain(s.repeats_low, 4)) " and " (plain(s.repeats_high, 4)) " in 95 of \
            100 studies like this. "
            @if s.interaction_pooled {
                "That examiners differ from coupon to coupon is no more than chance"
                @if let Some(p) = s.interaction_probability { " (probability " (plain(p, 2)) ")" }
                ", and is counted with the repeats. "
            }
            @if s.set_to_zero { "A variance came out below zero, which means too small to see, and is shown as zero. " }
        }
    }
}

const WIDTH: f64 = 900.0;
const LEFT: f64 = 60.0;

/// Every value: a column a coupon, a letter an examiner.
fn picture(study: &StudyResult, value: &ValueResult) -> Markup {
    let all: Vec<f64> = value.values.iter().flatten().flatten().copied().collect();
    let (low, high) = all
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(*v), h.max(*v))
        });
    if all.is_empty() {
        return markup! {};
    }
    let span = (high - low).max(1e-6);
    let y = |v: f64| 200.0 - (v - low) / span * 180.0;
    let wide = (WIDTH - LEFT - 10.0) / study.coupons.len() as f64;
    let x = |coupon: usize, examiner: usize| {
        LEFT + wide * (coupon as f64 + (examiner as f64 + 0.5) / study.examiners.len() as f64)
    };
    markup! {
        figure {
            svg viewBox="0 0 900 240" role="img" aria-label=(format!("{} by coupon and examiner", value.title)) {
                @for i in 0..=4 {
                    @let v = low + span * f64::from(i) / 4.0;
                    line.grid x1=(LEFT) x2=(WIDTH - 10.0) y1=(plain(y(v), 1)) y2=(plain(y(v), 1)) {}
                    text.name x=(LEFT - 8.0) y=(plain(y(v) + 4.0, 1)) { (shortest(v, 3)) }
                }
                @for (c, coupon) in study.coupons.iter().enumerate() {
                    @let edge = plain(LEFT + wide * c as f64, 1);
                    line.between x1=(edge) x2=(edge) y1="10" y2="210" {}
                    @if wide > 28.0 { text.tick x=(plain(LEFT + wide * (c as f64 + 0.5), 1)) y="226" { (coupon) } }
                    @for (e, examiner) in study.examiners.iter().enumerate() {
                        @for v in &value.values[c][e] {
                            text.mark x=(plain(x(c, e), 1)) y=(plain(y(*v) + 4.0, 1)) {
                                (letter(e)) title { (coupon) ", " (examiner) ": " (shortest(*v, 4)) }
                            }
                        }
                    }
                }
            }
            figcaption {
                "Every value, a column a coupon: "
                @for (e, examiner) in study.examiners.iter().enumerate() {
                    @if e > 0 { ", " } b { (letter(e)) } " " (examiner)
                }
            }
        }
    }
}

fn letter(examiner: usize) -> char {
    char::from(b'A' + (examiner % 26) as u8)
}

fn verdicts(study: &StudyResult, v: &VerdictResult) -> Markup {
    markup! {
        h2 { (v.title) }
        p.say {
            @if let Some(all) = &v.all_agree {
                "All say the same of " (all.agree) " of " (all.of) " coupons, at every look. "
            }
            @match (&v.between_all, &v.why_not) {
                (Some(k), _) => { "Agreement beyond chance: kappa " (kappa(Some(k))) ", " (k.word()) "." }
                (None, Some(why)) => { "No kappa of all: " (why) "." }
                (None, None) => {
                    "Kappa is undefined: there is one and the same verdict throughout, so that agreement \
                    says nothing."
                }
            }
        }
        @if !v.pairs.is_empty() {
            div.wide { table {
                caption { "Examiner against examiner, look by look" }
                thead { tr { th scope="col" { "examiners" } th scope="col" { "the same" } th scope="col" { "share" } th scope="col" { "Cohen's kappa" } } }
                tbody { @for pair in &v.pairs {
                    tr { th scope="row" { (pair.examiners.join(" and ")) } (share(pair.same.as_ref())) td { (kappa(pair.kappa.as_ref())) } }
                } }
            } }
        }
        @if !v.within.is_empty() {
            div.wide { table {
                caption { "Each examiner with themselves, look against look" }
                thead { tr { th scope="col" { "examiner" } th scope="col" { "the same" } th scope="col" { "share" } th scope="col" { "Fleiss' kappa" } } }
                tbody { @for own in &v.within {
                    tr { th scope="row" { (own.examiner) } (share(own.same.as_ref())) td { (kappa(own.kappa.as_ref())) } }
                } }
            } }
        }
        @if !v.differing.is_empty() {
            div.wide { table {
                caption { "Coupons on which they differ" }
                thead { tr { th scope="col" { "coupon" } @for examiner in &study.examiners { th scope="col" { (examiner) } } } }
                tbody { @for (coupon, said) in &v.differing {
                    tr { th scope="row" { (coupon) } @for text in said { td { (text) } } }
                } }
            } }
        }
    }
}

fn share(share: Option<&Share>) -> Markup {
    match share {
        Some(s) => markup! {
            td { (s.agree) " of " (s.of) }
            td { (percent(s.agree as f64 / s.of as f64)) " (" (percent(s.low)) " to " (percent(s.high)) ")" }
        },
        None => markup! { td { "–" } td { "–" } },
    }
}

fn kappa(kappa: Option<&Kappa>) -> String {
    match kappa {
        Some(k) if k.high - k.low >= 2.0 => {
            format!("{} (too few coupons for an interval)", plain(k.value, 2))
        }
        Some(k) => format!(
            "{} ({} to {})",
            plain(k.value, 2),
            plain(k.low, 2),
            plain(k.high, 2)
        ),
        None => "undefined".to_owned(),
    }
}

fn method() -> Markup {
    markup! {
        p.soft {
            "Values: two-way analysis of variance with coupons and examiners drawn at random and every \
            examiner looking at every coupon equally often. An interaction whose probability by chance is \
            above 0.25 is counted with the repeats. The number of sizes that can be told apart is √2 times \
            the coupons' standard deviation over that of measuring. Intervals of the repeats: chi-square."
        }
        p.soft {
            "Verdicts: kappa is agreement beyond what chance would give, 1 for full agreement and 0 for \
            chance. Two examiners: Cohen (1960), interval by the standard error of Fleiss, Cohen and Everitt \
            (1969). Several: Fleiss (1971), interval by leaving out one coupon at a time. Shares: exact \
            interval of Clopper and Pearson (1934). Brackets hold the true figure in 95 of 100 studies like \
            this. Words for the size of kappa: Landis and Koch (1977, from memory); their bounds are a \
            convention, and kappa falls when nearly all coupons get the same verdict."
        }
    }
}
