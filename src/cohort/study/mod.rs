//! A study: several examiners look at the same coupons, and more than once where values
//! are measured. How far do they agree, and where does the scatter come from?

mod design;
mod example;
mod gauge;
mod kappa;
mod proportion;
mod sheet;
mod values;
mod verdicts;

pub use example::example as study_example;
pub use sheet::Unusable;

use crate::record::Tool;
use crate::record::study::{Allowed, Found, Study, StudyColumn};
use design::{Design, Withheld, design};
use sheet::{Cells, Grid, Judged, Looks};

/// What is allowed of a measured column; of the only one when it names none.
#[derive(Clone, Debug, PartialEq)]
pub struct AllowedOf {
    /// The column's title.
    pub column: Option<String>,
    /// What is allowed.
    pub allowed: Allowed,
}

/// Why there is no study.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoStudy {
    /// The sheet cannot be used.
    Sheet(Unusable),
    /// What is allowed fits no column; what to write.
    Allowed(String),
}

/// Studies the sheet with these `bytes`; `name` is its file's.
///
/// # Errors
/// The sheet has faults, or something is allowed of a column that it has not.
pub fn study(bytes: &[u8], name: &str, allowed: &[AllowedOf]) -> Result<Study, NoStudy> {
    let looks = Looks::read(bytes).map_err(NoStudy::Sheet)?;
    let mut given: Vec<Option<Allowed>> = vec![None; looks.columns.len()];
    for wanted in allowed {
        let at = column_of(wanted, &looks).map_err(NoStudy::Allowed)?;
        if given[at].replace(wanted.allowed).is_some() {
            return Err(NoStudy::Allowed(format!(
                "what is allowed of column '{}' is given twice; give one tolerance or one limit",
                looks.columns[at].title
            )));
        }
    }
    let columns = looks.columns.iter().zip(given);
    Ok(Study {
        tool: Tool {
            name: "toeline".to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
        },
        sheet: name.to_owned(),
        columns: columns
            .map(|(column, allowed)| studied(column, &looks, allowed))
            .collect(),
    })
}

/// Which column is meant.
fn column_of(wanted: &AllowedOf, looks: &Looks) -> Result<usize, String> {
    let measured: Vec<usize> = (0..looks.columns.len())
        .filter(|at| matches!(looks.columns[*at].cells, Cells::Values(_)))
        .collect();
    let titles: Vec<&str> = measured
        .iter()
        .map(|at| looks.columns[*at].title.as_str())
        .collect();
    let fits = |title: &str| match &wanted.column {
        Some(name) => name.trim().to_lowercase() == title.to_lowercase(),
        None => true,
    };
    let fitting: Vec<usize> = measured
        .iter()
        .zip(&titles)
        .filter(|(_, title)| fits(title))
        .map(|(at, _)| *at)
        .collect();
    match (&fitting[..], &wanted.column) {
        _ if titles.is_empty() => Err(
            "the sheet has no column of measured values; leave --tolerance and --limit out"
                .to_owned(),
        ),
        ([at], _) => Ok(*at),
        (_, Some(name)) => Err(format!(
            "'{name}' is no column of measured values; they are {}",
            titles.join(", ")
        )),
        (_, None) => Err(format!(
            "the sheet has several columns of measured values; write for example {}=1.5 (they are \
             {})",
            titles[0],
            titles.join(", ")
        )),
    }
}

fn studied(column: &Judged, looks: &Looks, allowed: Option<Allowed>) -> StudyColumn {
    match &column.cells {
        Cells::Values(grid) => assembled(&column.title, looks, grid, |design| {
            values::values(design, allowed).map(|found| Found::Values(Box::new(found)))
        }),
        Cells::Verdicts(grid) => assembled(&column.title, looks, grid, |design| {
            verdicts::verdicts(design).map(|found| Found::Verdicts(Box::new(found)))
        }),
    }
}

fn assembled<T: Clone>(
    title: &str,
    looks: &Looks,
    grid: &Grid<T>,
    find: impl FnOnce(&Design<T>) -> Result<Found, Withheld>,
) -> StudyColumn {
    let nothing = |Withheld { message, remedy }| Found::NotAssessed { message, remedy };
    match design(grid, &looks.coupons, &looks.examiners) {
        Err(withheld) => StudyColumn {
            title: title.to_owned(),
            examiners: Vec::new(),
            coupons: Vec::new(),
            looks: 0,
            left_out: Vec::new(),
            found: nothing(withheld),
        },
        Ok(design) => StudyColumn {
            title: title.to_owned(),
            found: find(&design).unwrap_or_else(nothing),
            examiners: design.examiners,
            coupons: design.coupons,
            looks: design.looks,
            left_out: design.left_out,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_can_be_studied_as_it_is() {
        let found = study(study_example().as_bytes(), "class.csv", &[]).unwrap();
        let [leg, verdict] = &found.columns[..] else {
            panic!("{found:?}")
        };
        assert!(matches!(&leg.found, Found::Values(v) if v.distinct_categories >= Some(5)));
        assert!(matches!(&verdict.found, Found::Verdicts(v) if v.disputed.len() == 2));
        assert_eq!(
            (leg.coupons.len(), leg.examiners.len(), leg.looks),
            (6, 3, 2)
        );
    }

    #[test]
    fn what_is_allowed_must_fit_a_column() {
        let sheet = "coupon,examiner,a_mm,b_mm,word\nHR-01,A,1,2,x\nHR-01,B,1,2,x\n";
        let of = |column: Option<&str>| AllowedOf {
            column: column.map(str::to_owned),
            allowed: Allowed::ToleranceMm(1.0),
        };
        let told = |allowed: &[AllowedOf]| match study(sheet.as_bytes(), "s", allowed) {
            Err(NoStudy::Allowed(message)) => message,
            other => panic!("{other:?}"),
        };
        assert!(told(&[of(None)]).contains("a_mm=1.5"));
        assert!(told(&[of(Some("word"))]).contains("they are a_mm, b_mm"));
        assert!(told(&[of(Some("a_mm")), of(Some("A_mm"))]).contains("twice"));
        assert!(study(sheet.as_bytes(), "s", &[of(Some("B_mm"))]).is_ok());
    }
}
