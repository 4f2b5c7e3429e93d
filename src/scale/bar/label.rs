//! The row of letters beside a bar, such as "5 mm".

use super::patches::Patch;

/// A label beside a bar.
#[derive(Clone, Copy, Debug)]
pub struct Label {
    /// How many marks it has.
    pub letters: usize,
    /// 1 when it lies on the side of the bar's axis turned by a quarter, else −1.
    pub side: f64,
    /// Where it begins off the bar's middle line, px.
    pub clear: f64,
    /// How far it reaches off the bar's middle line, px.
    pub reach: f64,
    /// Half of its width along the bar, from the bar's middle, px.
    pub half_width: f64,
}

/// How far from the bar's middle its label may sit, as a share of the longer of
/// bar and label.
const CENTRED: f64 = 0.12;
/// Size of a letter against the bar's width.
const LETTER_OF_WIDTH: (f64, f64) = (1.0, 12.0);
/// Letters beside a bar ("5 mm" has three). Two would let a rule's tick with its
/// numeral pass.
const LETTERS: std::ops::RangeInclusive<usize> = 3..=12;
/// A label is at most this many times as long as its bar.
const LONGEST: f64 = 2.2;
/// Widest gap between neighbours of one label, in letter heights.
const GAP: f64 = 2.0;

/// One candidate letter: off the bar, its size, place along the bar.
#[derive(Clone, Copy)]
struct Letter {
    off: f64,
    /// Off the bar's middle line where it begins.
    clear: f64,
    size: f64,
    along: f64,
}

/// The best label beside `bar` among `patches` of its own tone.
pub fn beside(bar: &Patch, patches: &[Patch]) -> Option<Label> {
    [1.0, -1.0]
        .into_iter()
        .filter_map(|side| best_row(bar, patches, side))
        .max_by_key(|l| l.letters)
}

/// Half of a patch's extent across `bar`, px.
fn extent(patch: &Patch, bar: &Patch) -> f64 {
    let slant = patch.axis.cross(bar.axis).abs();
    0.5 * (slant * patch.length + (1.0 - slant * slant).max(0.0).sqrt() * patch.width)
}

/// Letters lie in rows: each in turn is asked which others stand level with it.
fn best_row(bar: &Patch, patches: &[Patch], side: f64) -> Option<Label> {
    let across = bar.axis.turned();
    let letters: Vec<Letter> = patches
        .iter()
        .filter_map(|p| {
            let d = p.centre - bar.centre;
            let off = side * d.dot(across);
            let letter = Letter {
                off,
                clear: off - extent(p, bar),
                size: p.length.max(p.width),
                along: d.dot(bar.axis),
            };
            let fits = letter.along.abs() < 0.6 * LONGEST * bar.length
                && letter.off > bar.width
                && letter.off < (0.75 * bar.length).max(6.0 * bar.width)
                && letter.size < 0.6 * bar.length
                && letter.size >= LETTER_OF_WIDTH.0 * bar.width
                && letter.size <= LETTER_OF_WIDTH.1 * bar.width;
            fits.then_some(letter)
        })
        .collect();
    letters
        .iter()
        .filter_map(|seed| {
            let row: Vec<Letter> = letters
                .iter()
                .filter(|l| (l.off - seed.off).abs() < 0.5 * seed.size.max(l.size))
                .copied()
                .collect();
            word(bar, row, side)
        })
        .max_by_key(|l| l.letters)
}

/// The label that a level row of letters makes, when it is one.
fn word(bar: &Patch, mut row: Vec<Letter>, side: f64) -> Option<Label> {
    row.sort_by(|a, b| a.along.total_cmp(&b.along));
    let tallest = row.iter().map(|l| l.size).fold(0.0, f64::max);
    // The neighbours in reach of the letter nearest to the bar's middle.
    let nearest =
        (0..row.len()).min_by(|a, b| row[*a].along.abs().total_cmp(&row[*b].along.abs()))?;
    let gap =
        |k: usize| row[k + 1].along - 0.5 * row[k + 1].size - row[k].along - 0.5 * row[k].size;
    let (mut from, mut to) = (nearest, nearest);
    while from > 0 && gap(from - 1) < GAP * tallest {
        from -= 1;
    }
    while to + 1 < row.len() && gap(to) < GAP * tallest {
        to += 1;
    }
    let row = &row[from..=to];
    if !LETTERS.contains(&row.len()) {
        return None;
    }
    let low = row.iter().map(|l| l.off).fold(f64::INFINITY, f64::min);
    let high = row.iter().map(|l| l.off).fold(0.0, f64::max);
    let start = row[0].along - 0.5 * row[0].size;
    let end = row[row.len() - 1].along + 0.5 * row[row.len() - 1].size;
    let centred = (0.5 * (start + end)).abs() < CENTRED * bar.length.max(end - start);
    (high - low < tallest && centred && end - start < LONGEST * bar.length).then_some(Label {
        letters: row.len(),
        side,
        clear: row.iter().map(|l| l.clear).fold(f64::INFINITY, f64::min),
        reach: high + 0.6 * tallest,
        half_width: start.abs().max(end.abs()),
    })
}

/// A label too small to resolve into letters: one patch, longer than high, over
/// the bar's middle. Only for drawings that stand out by their colour and run
/// exactly along the picture's sides, as software burns them in.
pub fn unresolved(bar: &Patch, patches: &[Patch]) -> Option<Label> {
    let upright = bar.axis.x.abs().min(bar.axis.y.abs());
    if upright > BURNT_IN || bar.length < LONG_AND_THIN * bar.width {
        return None;
    }
    let across = bar.axis.turned();
    let near: Vec<(&Patch, f64)> = patches
        .iter()
        .filter_map(|p| {
            let d = p.centre - bar.centre;
            let off = d.dot(across);
            (off.abs() > bar.width
                && off.abs() < 0.5 * bar.length
                && d.dot(bar.axis).abs() < 0.6 * bar.length)
                .then_some((p, off))
        })
        .collect();
    let [(word, off)] = near.as_slice() else {
        return None;
    };
    let along = (word.centre - bar.centre).dot(bar.axis);
    let fits = word.axis.cross(bar.axis).abs() < 0.2
        && word.length > 2.0 * word.width
        && (0.15..0.9).contains(&(word.length / bar.length))
        && along.abs() < CENTRED * bar.length
        && word.width >= bar.width;
    fits.then_some(Label {
        letters: 1,
        side: off.signum(),
        clear: off.abs() - extent(word, bar),
        reach: off.abs() + word.width,
        half_width: along.abs() + 0.5 * word.length,
    })
}

/// Sine of the largest slant of a burnt-in bar: half a degree, the raster's own
/// doubt on a short one.
const BURNT_IN: f64 = 0.009;
/// Length against width of a bar whose label is not resolved.
const LONG_AND_THIN: f64 = 10.0;
