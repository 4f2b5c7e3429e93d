//! Cracks painted at the toe of a section, and scratches through the same place: our own
//! pictures with known courses, no outside source.

use crate::support::painted::measure;
use crate::support::section::noise::Stream;
use crate::support::section::scene::SectionSpec;
use crate::support::section::shapes::P;
use crate::support::section::vary;
use toeline::record::{Finding, Status};

const CASES: usize = 10;

/// Tees without undercut, whose nonbutting toe lies at its leg's length.
fn tees() -> impl Iterator<Item = SectionSpec> {
    vary::cases(3 * CASES, 61)
        .into_iter()
        .filter(|spec| spec.joint.dihedral_deg == 90.0)
        .map(|mut spec| {
            spec.joint.undercut_nonbutting = 0.0;
            spec.joint.undercut_butting = 0.0;
            spec.joint.bulge = 0.12 * spec.joint.leg_nonbutting;
            spec
        })
        .take(CASES)
}

/// The cracks stated of a section with such gaps in its metal; `None` where nothing was
/// measured.
fn cracks(mut spec: SectionSpec, gaps: Vec<(Vec<P>, f64)>) -> Option<Vec<Finding>> {
    spec.joint.gaps = gaps;
    let record = measure(spec).0;
    let found = record.findings.into_iter().filter(|f| f.kind == "crack");
    (record.status != Status::Refused).then(|| found.collect())
}

/// A crooked way from the toe into the plate, and its length, mm.
fn course(spec: &SectionSpec, random: &mut Stream) -> (Vec<P>, f64) {
    let joint = &spec.joint;
    let depth = random.between(1.5, 3.5).min(0.6 * joint.t_nonbutting);
    let lean = random.between(-0.35, 0.15);
    let points: Vec<P> = (0..=12)
        .map(|i| {
            let t = f64::from(i) / 12.0 * depth;
            let aside = if i == 0 {
                0.0
            } else {
                random.between(-0.07, 0.07)
            };
            [joint.leg_nonbutting + lean * t + aside, -t]
        })
        .collect();
    let length = points
        .windows(2)
        .map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]))
        .sum();
    (points, length)
}

#[test]
fn a_crack_at_a_toe_is_found_and_nothing_else_is_called_one() {
    let mut random = Stream::new(17);
    let (mut measured, mut found, mut covered) = (0, 0, 0);
    for spec in tees() {
        let name = spec.name.clone();
        let Some(none) = cracks(spec.clone(), Vec::new()) else {
            continue;
        };
        assert!(none.is_empty(), "{name}: a crack in sound metal: {none:?}");
        // A scratch goes on into the weld, or begins elsewhere.
        let toe = spec.joint.leg_nonbutting;
        for scratch in [
            vec![[toe - 2.0, 0.95], [toe + 2.6, -1.235]],
            vec![[toe + 1.3, 0.0], [toe + 0.9, -3.0]],
        ] {
            let scratched = cracks(spec.clone(), vec![(scratch, 0.06)]).unwrap_or_default();
            assert!(
                scratched.is_empty(),
                "{name}: a scratch is no crack: {scratched:?}"
            );
        }

        let (points, length) = course(&spec, &mut random);
        let width = random.between(0.06, 0.12);
        let Some(seen) = cracks(spec, vec![(points, width)]) else {
            continue;
        };
        measured += 1;
        for crack in &seen {
            found += 1;
            let stated = crack.length_mm.expect("a length");
            let off = (stated.value - length).abs();
            assert!(
                off <= 1.5 * stated.expanded_uncertainty,
                "{name}: {stated:?} of {length:.2} mm"
            );
            covered += usize::from(off <= stated.expanded_uncertainty);
        }
    }
    assert!(measured >= 6, "only {measured} sections were measured");
    assert!(10 * found >= 8 * measured, "{found} of {measured} found");
    assert!(found <= measured, "{found} cracks stated of {measured}");
    assert!(
        10 * covered >= 8 * found,
        "{covered} of {found} lengths within ±"
    );
}

/// A crack from the weld root towards the face is no missing fusion between runs.
#[test]
fn a_crack_from_the_weld_root_is_called_one() {
    let mut random = Stream::new(23);
    let (mut measured, mut found) = (0, 0);
    for spec in tees() {
        let name = spec.name.clone();
        let along = std::f64::consts::FRAC_1_SQRT_2;
        let begin = -0.8 * spec.joint.root_depth;
        let reach = random.between(
            1.5,
            0.4 * spec.joint.leg_nonbutting.min(spec.joint.leg_butting),
        );
        let points: Vec<P> = (0..=10)
            .map(|i| {
                let t = begin + reach * f64::from(i) / 10.0;
                let aside = random.between(-0.05, 0.05);
                [along * t + aside, along * t - aside]
            })
            .collect();
        let width = random.between(0.07, 0.12);
        let Some(seen) = cracks(spec, vec![(points, width)]) else {
            continue;
        };
        measured += 1;
        found += usize::from(!seen.is_empty());
        assert!(seen.len() <= 1, "{name}: {seen:?}");
    }
    assert!(measured >= 6, "only {measured} sections were measured");
    assert!(10 * found >= 7 * measured, "{found} of {measured} found");
}
