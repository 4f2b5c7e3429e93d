//! Rules of every kind under every view: read rightly, or refused, never wrongly.

use crate::support::references::View;
use crate::support::rules::{Divisions, IMPOSTORS, SteelRule, blurred};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use toeline::base::geometry::Point;
use toeline::photo::Photo;
use toeline::record::{Code, Reason};
use toeline::scale::{Request, Scale, Source, find};

fn ask(photo: &Photo, source: Source) -> Result<Scale, Reason> {
    find(photo, &Request::of(source))
}

fn view(px_per_mm: f64, turn_deg: f64, tilt_deg: f64, noise: f64) -> View {
    View {
        width: 1000,
        height: 760,
        px_per_mm,
        turn_deg,
        tilt_deg,
        tilt_towards_deg: 40.0,
        focal: 3.2,
        noise,
    }
}

/// Relative error of lengths along the rule near the picture's middle.
fn error_along(scale: &Scale, view: &View) -> f64 {
    let step = 60.0;
    let turn = view.turn_deg.to_radians();
    let (dx, dy) = (step * turn.cos(), step * turn.sin());
    let pairs = [(500.0, 380.0)];
    pairs
        .iter()
        .map(|&(x, y)| {
            let (a, b) = ((x - dx, y - dy), (x + dx, y + dy));
            let (ua, ub) = (view.to_mm(a.0, a.1), view.to_mm(b.0, b.1));
            let want = (ub.0 - ua.0).hypot(ub.1 - ua.1);
            let to_mm = |p: (f64, f64)| scale.map.to_mm(Point::new(p.0, p.1));
            to_mm(a).distance(to_mm(b)) / want - 1.0
        })
        .fold(0.0, |w: f64, e| if e.abs() > w.abs() { e } else { w })
}

fn any_divisions() -> impl Strategy<Value = Divisions> {
    prop_oneof![
        Just(Divisions::Millimetre),
        Just(Divisions::HalfMillimetre),
        Just(Divisions::Inch(16)),
        Just(Divisions::Inch(32)),
        Just(Divisions::Inch(64)),
    ]
}

/// What the person would type, and what would be wrong.
fn sources(near: Divisions) -> (Source, Source) {
    if matches!(near, Divisions::Inch(_)) {
        (Source::RuleInch, Source::RuleMm)
    } else {
        (Source::RuleMm, Source::RuleInch)
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, rng_seed: RngSeed::Fixed(52_801), ..ProptestConfig::default() })]

    /// Whatever the rule and however it is pictured: within half a percent, or
    /// refused. Half of an inch is never taken for an inch.
    #[test]
    fn a_rule_is_read_rightly_or_refused(
        near in any_divisions(),
        far in proptest::option::of(any_divisions()),
        far_numerals in any::<bool>(),
        whole_as_half in any::<bool>(),
        worn in prop_oneof![Just(0.0), 0.0..0.12f64],
        mirrored in any::<bool>(),
        bright_on_dark in any::<bool>(),
        turn in 0.0..360.0f64,
        tilt in 0.0..9.0f64,
        noise in 0.0..14.0f64,
        blur in 0usize..2,
        px_per_mm in 11.0..24.0f64,
        edge in -14.0..-4.0f64,
        zero in 0.0..25.4f64,
    ) {
        let view = view(px_per_mm, turn, tilt, noise);
        let (ground, ink) = if bright_on_dark { (70.0, 210.0) } else { (190.0, 40.0) };
        let rule = SteelRule {
            edge_mm: edge, far_numerals, whole_as_half, worn, zero_mm: zero, ground, ink,
            bench: if bright_on_dark { 130.0 } else { 60.0 },
            ..SteelRule::new(near, far)
        };
        let sense = if mirrored { -1.0 } else { 1.0 };
        let photo = blurred(&view, blur, |u, v| rule.tone(sense * u, v));
        let (right, wrong) = sources(near);
        for source in [right, Source::Auto] {
            if let Ok(scale) = ask(&photo, source) {
                let error = error_along(&scale, &view);
                prop_assert!(error.abs() < 0.005, "{source}: {:.3} % off", 100.0 * error);
            }
        }
        // Declared wrongly: only the other edge may answer, and rightly.
        if let Ok(scale) = ask(&photo, wrong) {
            let (far_right, _) = sources(far.unwrap_or(near));
            prop_assert!(far.is_some() && far_right == wrong, "read as {}", scale.facts.source);
            let error = error_along(&scale, &view);
            prop_assert!(error.abs() < 0.005, "{wrong}: {:.3} % off", 100.0 * error);
        }
    }
}

/// Rules in good order are not merely refused: all kinds, any way round.
#[test]
fn clear_rules_are_read() {
    let kinds = [
        (Divisions::Millimetre, None),
        (Divisions::HalfMillimetre, Some(Divisions::Millimetre)),
        (Divisions::Inch(16), None),
        (Divisions::Inch(16), Some(Divisions::Inch(32))),
        (Divisions::Inch(32), Some(Divisions::Inch(64))),
        (Divisions::Inch(32), Some(Divisions::Millimetre)),
    ];
    let mut refused = Vec::new();
    for (k, (near, far)) in kinds.into_iter().enumerate() {
        for turn in [8.0, 171.0, 263.0] {
            let view = view(14.0 + k as f64, turn, 3.0, 4.0);
            let rule = SteelRule {
                zero_mm: 7.0,
                ..SteelRule::new(near, far)
            };
            let photo = view.photograph(|u, v| rule.tone(u, v));
            let (right, _) = sources(near);
            match ask(&photo, right) {
                Ok(scale) => {
                    let error = error_along(&scale, &view);
                    assert!(error.abs() < 0.003, "{near:?} at {turn}°: {error}");
                }
                Err(reason) => {
                    refused.push(format!("{near:?}, {far:?} at {turn}°: {}", reason.message))
                }
            }
        }
    }
    // Of eighteen.
    assert!(refused.len() <= 2, "{refused:#?}");
}

/// Numerals half way, or none at all, leave the fraction of an inch open.
#[test]
fn an_inch_edge_without_numerals_is_refused() {
    let view = view(15.0, 12.0, 2.0, 4.0);
    let rule = SteelRule {
        // Numerals of the near edge lie beyond the rule.
        width_mm: 7.9,
        ..SteelRule::new(Divisions::Inch(16), None)
    };
    let photo = view.photograph(|u, v| rule.tone(u, v));
    let reason = ask(&photo, Source::RuleInch).expect_err("no numerals");
    assert_eq!(reason.code, Code::ScaleDoubtful, "{reason:?}");
    assert!(reason.remedy.contains("numerals"), "{reason:?}");
}

#[test]
fn what_looks_like_a_rule_and_is_none_is_refused() {
    for (name, tone) in IMPOSTORS {
        for (px_per_mm, turn, tilt) in [(12.0, 0.0, 0.0), (17.0, 33.0, 4.0), (22.0, 118.0, 8.0)] {
            let photo = view(px_per_mm, turn, tilt, 5.0).photograph(tone);
            for source in [Source::RuleMm, Source::RuleInch, Source::Auto] {
                let answer = ask(&photo, source);
                assert!(
                    answer.is_err(),
                    "{name} at {turn}° was read as {:?}",
                    answer.map(|s| s.facts.source)
                );
            }
        }
    }
}

/// No specimen is looked for on the rule, from its graduated edge to the other.
#[test]
fn the_outline_covers_the_rule() {
    for (near, far, begins) in [
        (Divisions::Millimetre, None, -1000.0),
        (Divisions::Millimetre, None, -18.0),
        (
            Divisions::HalfMillimetre,
            Some(Divisions::Millimetre),
            -1000.0,
        ),
        (Divisions::Inch(32), Some(Divisions::Inch(16)), -1000.0),
    ] {
        let view = view(15.0, 25.0, 2.0, 4.0);
        let rule = SteelRule {
            begins_mm: begins,
            width_mm: 20.0,
            far_numerals: true,
            ..SteelRule::new(near, far)
        };
        let photo = view.photograph(|u, v| rule.tone(u, v));
        let scale = ask(&photo, sources(near).0).expect("a scale");
        let (mut on, mut covered, mut beside, mut spilt) = (0, 0, 0, 0);
        for y in (0..view.height).step_by(8) {
            for x in (0..view.width).step_by(8) {
                let (u, v) = view.to_mm(x as f64 + 0.5, y as f64 + 0.5);
                let into = v - rule.edge_mm;
                let inside = scale
                    .occupied
                    .iter()
                    .any(|o| within(o, x as f64 + 0.5, y as f64 + 0.5));
                if (0.0..20.0).contains(&into) && u > begins {
                    on += 1;
                    covered += i32::from(inside);
                } else if !(-1.5..21.5).contains(&into) || u < begins - 3.0 {
                    beside += 1;
                    spilt += i32::from(inside);
                }
            }
        }
        assert!(covered * 100 >= on * 97, "{near:?}: {covered} of {on}");
        assert!(spilt * 50 <= beside, "{near:?}: {spilt} of {beside}");
    }
}

/// Even-odd rule.
fn within(outline: &[Point<toeline::base::geometry::Px>], x: f64, y: f64) -> bool {
    let n = outline.len();
    (0..n)
        .filter(|&i| {
            let (a, b) = (outline[i], outline[(i + 1) % n]);
            (a.y > y) != (b.y > y) && x < a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y)
        })
        .count()
        % 2
        == 1
}
