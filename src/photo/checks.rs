use super::Photo;
use crate::base::geometry::{Point, Px};
use crate::record::Reason;
use std::collections::BTreeMap;
/// What the capture checks found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Checks {
    /// Figures.
    pub figures: BTreeMap<String, f64>,
    /// Reasons.
    pub reasons: Vec<Reason>,
}
/// TODO
pub fn check(_photo: &Photo, _region: &[Point<Px>], _px_per_mm: f64) -> Checks {
    Checks::default()
}
/// TODO
pub fn precheck(_photo: &Photo) -> Vec<Reason> {
    Vec::new()
}
