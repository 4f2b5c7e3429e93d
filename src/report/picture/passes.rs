//! Passes in the annotated picture: dotted borders, labels beside the metal.

use super::labels::Labels;
use super::pen::{At, Pen};
use super::view::View;
use super::{MARK, PASS};
use crate::record::PassOutline;

/// A pass in the picture.
pub struct Shown {
    /// Its outline.
    outline: Vec<At>,
    /// `run 1?` until a person has confirmed it, then `run 1`.
    label: String,
}

/// The passes as the picture shows them.
pub fn shown(passes: &[PassOutline], view: &View) -> Vec<Shown> {
    // A single run has no border but the weld's own, which is drawn anyway.
    if passes.len() < 2 {
        return Vec::new();
    }
    passes
        .iter()
        .map(|pass| Shown {
            outline: view.places(&pass.outline_px),
            label: format!(
                "run {}{}",
                pass.number,
                if pass.proposed { "?" } else { "" }
            ),
        })
        .collect()
}

/// Draws the borders.
pub fn draw(pen: &mut Pen, passes: &[Shown]) {
    for pass in passes {
        pen.line(&pass.outline, true, PASS);
    }
}

/// Writes the labels, each outside the weld next to its pass.
pub fn label(pen: &mut Pen, labels: &mut Labels, passes: &[Shown]) {
    let all: Vec<At> = passes.iter().flat_map(|p| p.outline.clone()).collect();
    let Some(middle) = mean(&all) else { return };
    for pass in passes {
        let Some((anchor, direction)) = outermost(&pass.outline, middle) else {
            continue;
        };
        pen.ring(anchor, 3.0, MARK);
        labels.write(pen, &pass.label, anchor, direction);
    }
}

/// The place of an outline in the direction its pass lies in from the middle
/// of the weld, and that direction.
fn outermost(outline: &[At], middle: At) -> Option<(At, At)> {
    let own = mean(outline)?;
    let direction = [own[0] - middle[0], own[1] - middle[1]];
    let reach = |p: &At| (p[0] - middle[0]) * direction[0] + (p[1] - middle[1]) * direction[1];
    let anchor = outline
        .iter()
        .max_by(|a, b| reach(a).total_cmp(&reach(b)))?;
    Some((*anchor, direction))
}

fn mean(points: &[At]) -> Option<At> {
    let count = points.len() as f32;
    (count > 0.0).then(|| {
        [
            points.iter().map(|p| p[0]).sum::<f32>() / count,
            points.iter().map(|p| p[1]).sum::<f32>() / count,
        ]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_is_anchored_on_the_side_its_pass_lies_on() {
        let square = |x: f32| vec![[x, 0.0], [x + 2.0, 0.0], [x + 2.0, 2.0], [x, 2.0]];
        let (anchor, direction) = outermost(&square(4.0), [3.0, 1.0]).unwrap();
        assert!(anchor[0] > 5.9 && direction[0] > 0.0);
        let (anchor, _) = outermost(&square(0.0), [3.0, 1.0]).unwrap();
        assert!(anchor[0] < 0.1);
    }
}
