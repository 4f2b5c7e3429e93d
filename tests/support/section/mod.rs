//! Test pictures of etched sections, painted from a geometry in millimetres,
//! with the exact truth beside them. Knows nothing of the code under test.

// Not every test binary that shares this folder uses all of it.
#![allow(dead_code)]

pub mod background;
pub mod camera;
pub mod develop;
pub mod digits;
pub mod field;
pub mod frame;
pub mod joint;
mod measurands;
pub mod metal;
pub mod noise;
pub mod reference;
pub mod rounding;
pub mod scene;
pub mod shapes;
pub mod shipped;
pub mod truth;
pub mod vary;

use scene::{Scene, SectionSpec};
use truth::Truth;

/// The JPEG file of a case and its truth.
pub fn render(spec: SectionSpec) -> (Vec<u8>, Truth) {
    let scene = Scene::new(spec);
    (scene.photograph(), Truth::of(&scene))
}
