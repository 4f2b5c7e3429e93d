//! The measurements of a fracture face, by their record names.
//!
//! Every standard uncertainty combines the scale, how well a border is seen,
//! and the doubt between the strict and the lenient reading. A share of the
//! evaluated length or of the area does not depend on the scale.

use super::evaluated::Evaluated;
use super::figures::{Extent, extent};
use super::flaws::{Flaw, Flaws};
use super::strip::{Straight, Strip};
use super::zones::{Kind, Zones};
use crate::base::geometry::Point;
use crate::record::{Measurement, PlacePx};
use std::collections::BTreeMap;

/// Standard uncertainty of where a zone ends along the weld, mm: half a window
/// of the evidence as a rectangle (0.8 mm / √3 ≈ 0.46 mm) would be the most;
/// the steps seen against rendered faces scatter by this.
pub const END_MM: f64 = 0.3;
/// Standard uncertainty of a zone's border across the weld, mm: one cell.
pub const BORDER_MM: f64 = 0.1;
/// Standard uncertainty of the face's own edges, root line and far edge, mm.
pub const EDGE_MM: f64 = 0.15;
/// A rectangle's half-width over its standard deviation, twice.
const FULL_WIDTH: f64 = 3.464_101_615_137_754_4;

/// One kind of zone as the three readings see it.
#[derive(Clone, Copy, Debug)]
struct Read {
    strict: Extent,
    best: Extent,
    lenient: Extent,
}

impl Read {
    fn new(zones: &Zones, kind: Kind, range: &Evaluated) -> Self {
        let grid = zones.cells.grid();
        let of = |kinds: &[Option<Kind>]| extent(&grid, kinds, kind, range);
        Self {
            strict: of(&zones.strict),
            best: of(&zones.best),
            lenient: of(&zones.lenient),
        }
    }

    /// Standard deviation of a rectangle from the strict to the lenient figure.
    fn doubt(&self, of: impl Fn(&Extent) -> f64) -> f64 {
        let values = [of(&self.strict), of(&self.best), of(&self.lenient)];
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = values.iter().copied().fold(0.0, f64::max);
        (most - least) / FULL_WIDTH
    }

    /// Places where a border was decided: two for each stretch, and two where
    /// there is none, since a short one may have been missed.
    fn ends(&self) -> f64 {
        2.0 * self.best.runs.max(1) as f64
    }
}

/// Root of the sum of squares.
pub fn combined(parts: &[f64]) -> f64 {
    parts.iter().map(|p| p * p).sum::<f64>().sqrt()
}

/// Everything the record names, except what cannot be told.
pub fn measure(
    strip: &Strip,
    zones: &Zones,
    flaws: &Flaws,
    range: &Evaluated,
) -> BTreeMap<String, Measurement> {
    let scale = strip.scale_rel();
    let length = range.length_mm();
    let face = strip.area_mm2(range.start_mm, range.end_mm);
    let along = |from: f64, to: f64| -> Vec<PlacePx> {
        [from, to]
            .map(|s| strip.to_px(Point::new(s, 0.0)).to_array())
            .to_vec()
    };
    let mut out = Sheet::default();
    out.put(
        "evaluated_length_mm",
        length,
        combined(&[scale * length, END_MM]),
        along(range.start_mm, range.end_mm),
    );
    let edges = EDGE_MM * std::f64::consts::SQRT_2 * length;
    out.put(
        "face_area_mm2",
        face,
        combined(&[2.0 * scale * face, edges]),
        Vec::new(),
    );
    let root = Read::new(zones, Kind::Root, range);
    let inter_run = Read::new(zones, Kind::InterRun, range);
    let sidewall = Read::new(zones, Kind::Sidewall, range);
    for (name, read) in [
        ("root", &root),
        ("inter_run", &inter_run),
        ("sidewall", &sidewall),
    ] {
        let ends = END_MM * read.ends().sqrt();
        let doubt = read.doubt(|e| e.length_mm);
        let best = &read.best;
        let value = best.length_mm;
        let shown = Vec::new();
        let key = |end: &str| format!("{name}_unfused_{end}");
        out.put(
            &key("length_mm"),
            value,
            combined(&[scale * value, ends, doubt]),
            shown,
        );
        let percent = 100.0 / length;
        out.put(
            &key("percent"),
            value * percent,
            combined(&[ends, doubt]) * percent,
            Vec::new(),
        );
        let area = best.area_mm2;
        let border = BORDER_MM * value;
        let doubt = read.doubt(|e| e.area_mm2);
        out.put(
            &key("area_mm2"),
            area,
            combined(&[2.0 * scale * area, border, doubt]),
            Vec::new(),
        );
    }
    let longest = root.best.longest_mm;
    out.put(
        "root_unfused_longest_mm",
        longest,
        combined(&[
            scale * longest,
            END_MM * std::f64::consts::SQRT_2,
            root.doubt(|e| e.longest_mm),
        ]),
        if longest > 0.0 {
            along(root.best.longest.0, root.best.longest.1)
        } else {
            Vec::new()
        },
    );
    let depth = root.best.highest_mm;
    let at = root.best.highest_at_mm;
    let to_px = |h: f64| strip.to_px(Point::<Straight>::new(at, h)).to_array();
    out.put(
        "root_unfused_depth_max_mm",
        depth,
        combined(&[
            scale * depth,
            BORDER_MM,
            EDGE_MM,
            root.doubt(|e| e.highest_mm),
        ]),
        if depth > 0.0 {
            vec![to_px(0.0), to_px(depth)]
        } else {
            Vec::new()
        },
    );
    out.flaws(strip, flaws, range);
    out.shares(&Shares::new(
        zones,
        flaws,
        range,
        [root, inter_run, sidewall],
        face,
    ));
    out.0
}

#[derive(Default)]
struct Sheet(BTreeMap<String, Measurement>);

impl Sheet {
    fn put(&mut self, name: &str, value: f64, u: f64, drawn_px: Vec<PlacePx>) {
        self.0
            .insert(name.to_owned(), Measurement::measured(value, u, drawn_px));
    }

    fn flaws(&mut self, strip: &Strip, flaws: &Flaws, range: &Evaluated) {
        let scale = strip.scale_rel();
        let counted: Vec<&Flaw> = flaws
            .found
            .iter()
            .filter(|f| range.contains(f.at.x))
            .collect();
        let sum: f64 = counted.iter().map(|f| f.greatest_mm).sum();
        let outlines = combined(&counted.iter().map(|f| f.outline_mm).collect::<Vec<_>>());
        let doubtful: Vec<&Flaw> = flaws
            .passed_over
            .iter()
            .filter(|f| range.contains(f.at.x))
            .collect();
        // Each candidate is a flaw or not, with its own probability.
        let both = || counted.iter().chain(&doubtful);
        let chance = |f: &Flaw| f.confidence * (1.0 - f.confidence);
        let doubt: f64 = both().map(|f| chance(f) * f.greatest_mm.powi(2)).sum();
        self.put(
            "flaw_sum_mm",
            sum,
            combined(&[scale * sum, outlines, doubt.sqrt()]),
            Vec::new(),
        );
        let largest = counted
            .iter()
            .max_by(|a, b| a.greatest_mm.total_cmp(&b.greatest_mm));
        let (value, u, ends) = match largest {
            Some(f) => (f.greatest_mm, f.outline_mm, f.ends),
            None => (0.0, 0.0, [Point::new(0.0, 0.0); 2]),
        };
        let missed = doubtful
            .iter()
            .map(|f| chance(f) * (f.greatest_mm - value).max(0.0).powi(2))
            .sum::<f64>();
        let own = largest.map_or(0.0, |f| chance(f).sqrt() * f.greatest_mm);
        self.put(
            "flaw_largest_mm",
            value,
            combined(&[scale * value, u, missed.sqrt(), own]),
            if largest.is_some() {
                ends.map(|p| strip.to_px(p).to_array()).to_vec()
            } else {
                Vec::new()
            },
        );
        let uncertain: f64 = both().map(|f| chance(f)).sum();
        self.put(
            "flaw_count",
            counted.len() as f64,
            uncertain.sqrt(),
            Vec::new(),
        );
    }

    fn shares(&mut self, shares: &Shares) {
        let mut put = |name: &str, [low, best, high]: [f64; 3], border: f64| {
            let u = combined(&[(high - low) / FULL_WIDTH, border]);
            let mut m = Measurement::measured(best, u, Vec::new());
            m.interval = Some([low, high]);
            self.0.insert(name.to_owned(), m);
        };
        put("unfused_area_percent", shares.unfused, shares.border);
        put("fractured_area_percent", shares.fractured, shares.border);
    }
}

/// Shares of the face's area, per cent: least, best, most.
#[derive(Clone, Copy, Debug)]
struct Shares {
    unfused: [f64; 3],
    fractured: [f64; 3],
    border: f64,
}

impl Shares {
    fn new(
        zones: &Zones,
        flaws: &Flaws,
        range: &Evaluated,
        reads: [Read; 3],
        face_mm2: f64,
    ) -> Self {
        let percent = 100.0 / face_mm2.max(f64::MIN_POSITIVE);
        let sum =
            |of: fn(&Read) -> &Extent| reads.iter().map(|r| of(r).area_mm2).sum::<f64>() * percent;
        let grid = zones.cells.grid();
        let hidden = (0..zones.unsure.len())
            .filter(|i| zones.hidden[*i] && range.contains(grid.centre(*i).0))
            .count() as f64
            * grid.side_mm
            * grid.side_mm
            * percent;
        let pores = flaws
            .found
            .iter()
            .filter(|f| range.contains(f.at.x))
            .map(|f| f.area_mm2)
            .sum::<f64>()
            * percent;
        let best = sum(|r| &r.best);
        let low = sum(|r| &r.strict).min(best);
        let high = (sum(|r| &r.lenient).max(best) + hidden).min(100.0);
        let share = |v: f64| v.clamp(0.0, 100.0);
        let length: f64 = reads.iter().map(|r| r.best.length_mm).sum();
        Self {
            unfused: [share(low), share(best), share(high)],
            fractured: [
                share(100.0 - high - pores),
                share(100.0 - best - pores),
                share(100.0 - low - pores),
            ],
            border: BORDER_MM * length * percent,
        }
    }
}
