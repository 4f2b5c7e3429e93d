//! Studies of several examiners: how far they agree, and how far with themselves.
//!
//! Sheet ([`sheet`]: one line a look of an examiner at a coupon) → values as an
//! analysis of variance ([`gauge`]) and verdicts by kappa ([`kappa`],
//! [`agreement`]), put together by [`result`] → a page ([`page`]).

mod agreement;
mod gauge;
mod kappa;
mod page;
mod result;
mod sheet;

pub use sheet::example as study_example;

use std::collections::BTreeMap;

/// A study, worked out.
#[derive(Clone, Debug)]
pub struct Study {
    result: result::StudyResult,
}

impl Study {
    /// Reads the bytes of a sheet and works it out. `tolerances` gives the width of
    /// the tolerance, in the column's unit, by the column's title.
    ///
    /// # Errors
    /// What in the sheet cannot be used and what to do, a sentence each.
    pub fn of(bytes: &[u8], tolerances: &BTreeMap<String, f64>) -> Result<Self, Vec<String>> {
        let sheet = sheet::read(bytes)?;
        let strange = tolerances
            .keys()
            .filter(|name| !sheet.values.iter().any(|column| column.title == **name));
        let strange: Vec<String> = strange
            .map(|name| format!("--tolerance: the sheet has no column of numbers called '{name}'"))
            .collect();
        if !strange.is_empty() {
            return Err(strange);
        }
        Ok(Self {
            result: result::of(&sheet, tolerances),
        })
    }

    /// The page: one HTML file that needs nothing else.
    pub fn html(&self) -> String {
        page::html(&self.result)
    }

    /// The figures, as JSON.
    pub fn json(&self) -> String {
        // Plain numbers and texts: writing them does not fail.
        serde_json::to_string_pretty(&self.result).unwrap_or_default()
    }

    /// One line a column, for the terminal.
    pub fn summary(&self) -> Vec<String> {
        self.result.summary()
    }
}
