//! The measurements of a fracture face, by their record names.
//!
//! Every standard uncertainty combines the scale, how well a border is seen,
//! how far zones reach in the strict and in the lenient reading, and whether
//! what was taken for a zone is one and what was passed over is none
//! ([`Read`]). A share of the evaluated length or of the area does not
//! depend on the scale.

use super::doubt::{END_MM, Read, about, changes_depth};
use super::evaluated::Evaluated;
use super::figures::Extent;
use super::flaws::{Flaw, Flaws};
use super::marks::Marks;
use super::spread::{self, Zoned};
use super::strip::{Straight, Strip};
use super::zones::{Kind, Zones};
use crate::base::geometry::Point;
use crate::record::{Measurement, PlacePx};
use std::collections::BTreeMap;

/// Height of such a zone, mm: about the lowest that is told from a corner.
pub const LOWEST_MM: f64 = 0.3;
/// Standard uncertainty of a zone's border across the weld, mm: one cell.
pub const BORDER_MM: f64 = 0.1;
/// Standard uncertainty of the face's own edges, root line and far edge, mm.
pub const EDGE_MM: f64 = 0.15;

/// Root of the sum of squares.
pub fn combined(parts: &[f64]) -> f64 {
    parts.iter().map(|p| p * p).sum::<f64>().sqrt()
}

/// Standard uncertainty of the middle of a painted mark, mm.
const MARK_MM: f64 = 0.4;

/// How far from the face's ends the marks lie that say what is to be discarded;
/// nothing when there are none.
pub fn discarded(strip: &Strip, marks: Option<Marks>) -> BTreeMap<String, Measurement> {
    let mut out = Sheet::default();
    if let Some(marks) = marks {
        let ends = [
            ("discard_left_mm", 0.0, marks.left_mm),
            ("discard_right_mm", strip.length_mm(), marks.right_mm),
        ];
        for (name, end, mark) in ends {
            let length = (mark - end).abs();
            let drawn = [end, mark].map(|s| strip.to_px(Point::new(s, 0.0)).to_array());
            let u = combined(&[strip.scale_rel() * length, END_MM, MARK_MM]);
            out.put(name, length, u, drawn.to_vec());
        }
    }
    out.0
}

/// Everything the record names, except what cannot be told.
pub fn measure(
    strip: &Strip,
    zones: &Zones,
    flaws: &Flaws,
    range: &Evaluated,
    seed: u64,
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
    let far_edge = about(0.0, 0.0, strip.far_doubt_mm * length);
    out.put(
        "face_area_mm2",
        face,
        combined(&[2.0 * scale * face, edges, far_edge]),
        Vec::new(),
    );
    let root = Read::new(zones, Kind::Root, range);
    let inter_run = Read::new(zones, Kind::InterRun, range);
    let sidewall = Read::new(zones, Kind::Sidewall, range);
    let longest_possible_mm = root.longest_possible_mm(zones, Kind::Root, range);
    let reads = [root, inter_run, sidewall];
    out.zones(
        &Zoned {
            reads: &reads,
            longest_possible_mm,
            length_mm: length,
            face_mm2: face,
            scale_rel: scale,
        },
        |stretch| along(stretch.0, stretch.1),
        seed,
    );
    let root = &reads[0];
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
            root.existence(|d| changes_depth(&root.best, d)),
        ]),
        if depth > 0.0 {
            vec![to_px(0.0), to_px(depth)]
        } else {
            Vec::new()
        },
    );
    out.flaws(strip, flaws, range);
    out.shares(&Shares::new(zones, flaws, range, &reads, face));
    out.0
}

#[derive(Default)]
struct Sheet(BTreeMap<String, Measurement>);

impl Sheet {
    fn put(&mut self, name: &str, value: f64, u: f64, drawn_px: Vec<PlacePx>) {
        self.0
            .insert(name.to_owned(), Measurement::measured(value, u, drawn_px));
    }

    /// Lengths and areas of the unfused zones.
    fn zones(&mut self, zoned: &Zoned, along: impl Fn((f64, f64)) -> Vec<PlacePx>, seed: u64) {
        let [a, b, c] = zoned.reads.each_ref().map(|r| r.best);
        let percent = 100.0 / zoned.length_mm;
        let values = [
            a.length_mm,
            b.length_mm,
            c.length_mm,
            a.length_mm * percent,
            b.length_mm * percent,
            c.length_mm * percent,
            a.area_mm2,
            b.area_mm2,
            c.area_mm2,
            a.longest_mm,
            100.0 * (a.area_mm2 + b.area_mm2 + c.area_mm2) / zoned.face_mm2.max(f64::MIN_POSITIVE),
        ];
        let stated = zoned.state(&values, seed);
        for ((name, value), stated) in spread::NAMES.iter().zip(values).zip(stated) {
            let Some(stated) = stated else { continue };
            let shown = if *name == "root_unfused_longest_mm" && value > 0.0 {
                along(a.longest)
            } else {
                Vec::new()
            };
            let [low, high] = stated.interval;
            let half = (value - low).max(high - value);
            let mut measurement = Measurement::measured(value, 0.5 * half, shown);
            measurement.shortest_interval = Some(stated.interval);
            measurement.chance_overlooked = stated.chance_overlooked;
            measurement.budget = stated.budget;
            self.0.insert((*name).to_owned(), measurement);
        }
    }

    fn flaws(&mut self, strip: &Strip, flaws: &Flaws, range: &Evaluated) {
        let scale = strip.scale_rel();
        let counted: Vec<&Flaw> = flaws
            .found
            .iter()
            .filter(|f| range.contains(f.at.x))
            .collect();
        let sum = counted.iter().fold(0.0, |sum, f| sum + f.greatest_mm);
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
        let Some(unfused) = self.0.get_mut("unfused_area_percent") else {
            return;
        };
        let [low, _, high] = shares.unfused;
        unfused.interval = Some([low, high]);
        // What is torn is the rest: sure by as much, the other way round.
        let [low, best, high] = shares.fractured;
        let mut fractured = unfused.clone();
        let rest = |share: f64| (100.0 - shares.pores - share).clamp(0.0, 100.0);
        fractured.value = Some(best);
        fractured.shortest_interval = unfused.shortest_interval.map(|[a, b]| [rest(b), rest(a)]);
        fractured.interval = Some([low, high]);
        self.0
            .insert("fractured_area_percent".to_owned(), fractured);
    }
}

/// Shares of the face's area, per cent: least, best, most.
#[derive(Clone, Copy, Debug)]
struct Shares {
    unfused: [f64; 3],
    fractured: [f64; 3],
    /// Of pores and inclusions.
    pores: f64,
}

impl Shares {
    fn new(
        zones: &Zones,
        flaws: &Flaws,
        range: &Evaluated,
        reads: &[Read; 3],
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
        let doubtful = |taken: bool| {
            let all = reads.iter().flat_map(|r| &r.doubtful);
            let area = all.filter(|d| d.taken == taken).map(|d| d.area_mm2);
            area.sum::<f64>() * percent
        };
        let strict = sum(|r| &r.strict).min(best);
        let lenient = sum(|r| &r.lenient).max(best) + hidden;
        let low = (strict - doubtful(true)).max(0.0);
        let high = (lenient + doubtful(false)).min(100.0);
        let share = |v: f64| v.clamp(0.0, 100.0);
        Self {
            unfused: [share(low), share(best), share(high)],
            fractured: [
                share(100.0 - high - pores),
                share(100.0 - best - pores),
                share(100.0 - low - pores),
            ],
            pores,
        }
    }
}
