//! The page.

use crate::record::Record;

/// wip
pub fn html(record: &Record, _annotated_jpeg: &[u8]) -> String {
    record.coupon.id.clone().unwrap_or_default()
}
