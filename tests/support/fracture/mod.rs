//! Test pictures of broken fillet coupons laid open, painted from a geometry
//! in millimetres, with the exact truth beside them. Knows nothing of the code
//! under test.

// Not every test binary that shares this folder uses all of it.
#![allow(dead_code)]

pub mod bench;
pub mod coupon;
pub mod frame;
mod look;
mod measurands;
mod relief;
pub mod scene;
pub mod shipped;
mod torn;
pub mod truth;
pub mod vary;

use scene::{FractureSpec, Scene};
use truth::Truth;

/// The JPEG file of a case and its truth.
pub fn render(spec: FractureSpec) -> (Vec<u8>, Truth) {
    let scene = Scene::new(spec);
    (scene.photograph(), Truth::of(&scene))
}
