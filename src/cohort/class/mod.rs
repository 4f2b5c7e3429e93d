//! A class at a glance: what an archive holds, as one page.
//!
//! Archive → one [`Row`] a coupon ([`row`]) → what its photographs say together
//! ([`agree`]) and how the coupons stand by points ([`rank`]) → the page
//! ([`page`], drawings in [`drawings`]) and a table for a spreadsheet ([`table`]).

mod agree;
mod drawings;
mod hide;
mod limit;
mod page;
mod rank;
mod row;
mod table;

pub use row::{Look, Row, Size, Stretch};

use super::CohortError;
use crate::archive::{Archive, Head};
use std::path::Path;

/// What of an archive is shown, and how.
#[derive(Clone, Debug, Default)]
pub struct ClassRequest {
    /// Only coupons of this welder, in order of their dates.
    pub welder: Option<String>,
    /// Labels in place of the welders, and nothing a name could stand in.
    pub anonymous: bool,
}

/// A class, ready to be shown.
#[derive(Clone, Debug)]
pub struct Class {
    /// Its coupons in the order of their names; of one welder by date.
    pub rows: Vec<Row>,
    /// The welder asked for, as shown.
    pub welder: Option<String>,
    /// The archive's last hash.
    pub head: Head,
}

impl Class {
    /// Gathers what the archive in `folder` holds. Reports are linked as seen from
    /// `page_folder`, the folder of the page to be.
    ///
    /// # Errors
    /// The archive cannot be read, or nobody asked for is in it.
    pub fn gather(
        archive: &Archive,
        folder: &Path,
        page_folder: &Path,
        request: &ClassRequest,
    ) -> Result<Self, CohortError> {
        let reports = hide::way(page_folder, folder);
        let mut rows = Vec::new();
        for coupon in archive.coupons()? {
            rows.push(row::of(archive, &coupon, &reports)?);
        }
        if let Some(welder) = &request.welder {
            rows.retain(|row| row.facts.welder.as_deref() == Some(welder));
            if rows.is_empty() {
                return Err(CohortError::NoSuchWelder {
                    welder: welder.clone(),
                });
            }
            rows.sort_by(|a, b| a.facts.date.cmp(&b.facts.date));
        }
        let mut welder = request.welder.clone();
        if request.anonymous {
            hide::names(&mut rows);
            welder = rows
                .first()
                .and_then(|row| row.facts.welder.clone())
                .filter(|_| welder.is_some());
        }
        Ok(Self {
            rows,
            welder,
            head: archive.head()?,
        })
    }

    /// The page: one HTML file that needs nothing else.
    pub fn html(&self) -> String {
        page::html(self)
    }

    /// The same figures as a table: commas, decimal points, UTF-8 with a byte
    /// order mark.
    pub fn csv(&self) -> Vec<u8> {
        table::csv(self)
    }
}
