//! The whole scale stage over simulated photographs of known geometry.

use crate::support::card::Camera;
use crate::support::references::{Rule, View, alike, chequer_tone, half_millimetres, millimetres};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use toeline::base::geometry::Point;
use toeline::photo::Photo;
use toeline::record::Code;
use toeline::scale::{Request, RuleClass, Scale, Source, find};

fn ask(photo: &Photo, source: Source) -> Result<Scale, toeline::record::Reason> {
    find(photo, &Request::of(source))
}

fn view(px_per_mm: f64, turn_deg: f64, tilt_deg: f64, tilt_towards_deg: f64) -> View {
    View {
        width: 900,
        height: 700,
        px_per_mm,
        turn_deg,
        tilt_deg,
        tilt_towards_deg,
        focal: 3.2,
        noise: 4.0,
    }
}

/// Largest relative error of the local scale over the middle of the picture.
fn worst_error(scale: &Scale, view: &View) -> f64 {
    [(450.0, 350.0), (300.0, 250.0), (600.0, 450.0)]
        .iter()
        .map(|&(x, y)| {
            let got = scale.map.px_per_mm_at(scale.map.to_mm(Point::new(x, y)));
            (got / view.px_per_mm_at(x, y) - 1.0).abs()
        })
        .fold(0.0, f64::max)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, failure_persistence: None, rng_seed: RngSeed::Fixed(20_261), ..ProptestConfig::default() })]

    /// A metric rule anywhere, any way round, tilted, worn, noisy: read to half
    /// a percent, and never in the wrong unit.
    #[test]
    fn a_metric_rule_is_read(
        half in any::<bool>(),
        turn in 0.0..360.0f64,
        tilt in 0.0..8.0f64,
        towards in 0.0..360.0f64,
        px_per_mm in 13.0..22.0f64,
        edge in -12.0..2.0f64,
        worn in prop_oneof![Just(0i64), Just(7), Just(13)],
    ) {
        let view = view(px_per_mm, turn, tilt, towards);
        let rule = Rule {
            edge_mm: edge,
            pitch_mm: if half { 0.5 } else { 1.0 },
            length_mm: if half { half_millimetres } else { millimetres },
            worn_every: worn,
        };
        let photo = view.photograph(|u, v| rule.tone(u, v));
        let scale = ask(&photo, Source::RuleMm);
        prop_assert!(scale.is_ok(), "{:?}", scale.err());
        let scale = scale.unwrap();
        let error = worst_error(&scale, &view);
        prop_assert!(error < 0.006, "{:.3} % off", 100.0 * error);
        prop_assert!(error < 4.0 * scale.standard_uncertainty_rel);
        prop_assert_eq!(scale.facts.source.as_str(), "rule-mm");
    }

    /// A chequer strip anywhere: read to half a percent.
    #[test]
    fn a_chequer_strip_is_read(
        turn in 0.0..360.0f64,
        tilt in 0.0..8.0f64,
        towards in 0.0..360.0f64,
        px_per_mm in 8.0..14.0f64,
    ) {
        let view = view(px_per_mm, turn, tilt, towards);
        let photo = view.photograph(|u, v| chequer_tone(4.0, 12, u, v));
        let scale = ask(&photo, Source::Chequer { pitch_mm: 4.0 });
        prop_assert!(scale.is_ok(), "{:?}", scale.err());
        let scale = scale.unwrap();
        let error = worst_error(&scale, &view);
        // A strip two squares wide shows little of a tilt across itself: far
        // from it the error grows, and the stated uncertainty must own to it.
        let most = (3.0 * scale.standard_uncertainty_rel).max(0.006);
        prop_assert!(error < most, "{:.3} % off, {:.3} % allowed", 100.0 * error, 100.0 * most);
    }
}

#[test]
fn a_mirrored_rule_is_read_too() {
    let view = view(16.0, 20.0, 3.0, 70.0);
    let rule = Rule {
        edge_mm: -6.0,
        pitch_mm: 1.0,
        length_mm: millimetres,
        worn_every: 0,
    };
    let photo = view.photograph(|u, v| rule.tone(-u, v));
    let scale = ask(&photo, Source::RuleMm).expect("a scale");
    assert!(worst_error(&scale, &view) < 0.006);
}

#[test]
fn ticks_alike_name_no_unit() {
    let view = view(16.0, 33.0, 2.0, 10.0);
    let rule = Rule {
        edge_mm: -6.0,
        pitch_mm: 1.0,
        length_mm: alike,
        worn_every: 0,
    };
    let photo = view.photograph(|u, v| rule.tone(u, v));
    for source in [Source::RuleMm, Source::RuleInch, Source::Auto] {
        let reason = ask(&photo, source).expect_err("no unit");
        assert_eq!(reason.code, Code::ScaleDoubtful, "{reason:?}");
        assert!(!reason.remedy.is_empty());
    }
}

#[test]
fn an_empty_bench_has_no_scale() {
    let view = view(16.0, 0.0, 0.0, 0.0);
    let photo = view.photograph(|u, v| 120.0 + 20.0 * (0.3 * u).sin() * (0.21 * v).cos());
    for source in [
        Source::Auto,
        Source::RuleMm,
        Source::RuleInch,
        Source::Chequer { pitch_mm: 5.0 },
    ] {
        let reason = ask(&photo, source).expect_err("nothing there");
        assert_eq!(reason.code, Code::NoScale, "{source}: {reason:?}");
    }
}

#[test]
fn a_tiny_picture_is_refused_without_a_panic() {
    for (width, height) in [(1, 1), (2, 3), (7, 1), (40, 2)] {
        let view = View {
            width,
            height,
            ..view(16.0, 0.0, 0.0, 0.0)
        };
        let photo = view.photograph(|u, _| 100.0 + 100.0 * (20.0 * u).sin());
        for source in [
            Source::Auto,
            Source::RuleMm,
            Source::Chequer { pitch_mm: 1.0 },
        ] {
            assert!(ask(&photo, source).is_err());
        }
    }
}

#[test]
fn a_declared_scale_looks_at_nothing() {
    let photo = view(16.0, 0.0, 0.0, 0.0).photograph(|_, _| 0.0);
    let scale = ask(&photo, Source::Declared { px_per_mm: 39.68 }).expect("a scale");
    assert!((scale.facts.px_per_mm - 39.68).abs() < 1e-12);
    assert!((scale.map.px_per_mm_at(Point::new(3.0, -2.0)) - 39.68).abs() < 1e-6);
    assert!(ask(&photo, Source::Declared { px_per_mm: -1.0 }).is_err());
}

/// A metric rule from straight above.
fn photo_of_a_rule() -> Photo {
    let view = view(16.0, 10.0, 0.0, 0.0);
    let rule = Rule {
        edge_mm: -6.0,
        pitch_mm: 1.0,
        length_mm: millimetres,
        worn_every: 0,
    };
    view.photograph(|u, v| rule.tone(u, v))
}

#[test]
fn a_reference_above_the_plane_is_allowed_for() {
    let photo = photo_of_a_rule();
    let with = |offset_mm| {
        find(
            &photo,
            &Request {
                offset_mm,
                ..Request::of(Source::RuleMm)
            },
        )
        .expect("a scale")
    };
    let (flat, raised, sunk) = (with(None), with(Some(5.0)), with(Some(-5.0)));
    // The plane lies further off than a raised rule: fewer pixels a millimetre.
    assert!(raised.facts.px_per_mm < flat.facts.px_per_mm);
    assert!(sunk.facts.px_per_mm > flat.facts.px_per_mm);
    assert!(raised.standard_uncertainty_rel > flat.standard_uncertainty_rel);
}

#[test]
fn the_class_of_the_rule_counts_in_the_uncertainty_and_nowhere_else() {
    let photo = photo_of_a_rule();
    let of = |rule_class| {
        find(
            &photo,
            &Request {
                rule_class,
                ..Request::of(Source::RuleMm)
            },
        )
        .expect("a scale")
    };
    let (first, second, third) = (of(RuleClass::I), of(RuleClass::II), of(RuleClass::III));
    assert_eq!(first.facts.px_per_mm, third.facts.px_per_mm);
    // Squared uncertainties differ by the squares of the rectangles alone:
    // ±0.2, ±0.5, ±1.0 mm below a metre (Directive 2014/32/EU, annex X), so
    // (1.0² − 0.5²) / (0.5² − 0.2²) whatever the rule's length.
    let square = |s: &Scale| s.standard_uncertainty_rel.powi(2);
    let ratio = (square(&third) - square(&second)) / (square(&second) - square(&first));
    assert!((ratio - 0.75 / 0.21).abs() < 1e-6, "{ratio}");
    assert!(
        first
            .facts
            .evidence
            .cross_checks
            .iter()
            .any(|line| line.contains("class I over"))
    );
}

/// A rule below a chequer strip, `stretch` times as large as it says.
fn rule_and_chequer(view: &View, stretch: f64) -> Photo {
    let rule = Rule {
        edge_mm: 6.0,
        pitch_mm: 1.0,
        length_mm: millimetres,
        worn_every: 0,
    };
    view.photograph(|u, v| {
        if v > 5.0 {
            rule.tone(u, v)
        } else {
            chequer_tone(4.0 * stretch, 12, u, v + 12.0)
        }
    })
}

#[test]
fn a_second_reference_that_agrees_is_told_and_one_that_does_not_is_doubtful() {
    let view = view(14.0, 12.0, 2.0, 40.0);
    let source = Source::Chequer { pitch_mm: 4.0 };
    let scale = ask(&rule_and_chequer(&view, 1.0), source).expect("both agree");
    assert_eq!(scale.facts.source, "chequer:4");
    let checks = &scale.facts.evidence.cross_checks;
    assert!(
        checks
            .iter()
            .any(|c| c.contains("second reference") && c.contains("rule-mm")),
        "{checks:?}"
    );
    // Squares of 4.4 mm called 4: every length would come out 10 % too short.
    let reason = ask(&rule_and_chequer(&view, 1.1), source).expect_err("they disagree");
    assert_eq!(reason.code, Code::ScaleDoubtful);
    assert!(
        reason.message.contains("two references disagree by"),
        "{reason:?}"
    );
    // A declared scale is held against the rule in the picture, too.
    let photo = rule_and_chequer(&view, 1.0);
    assert!(ask(&photo, Source::Declared { px_per_mm: 14.0 }).is_ok());
    let wrong = ask(&photo, Source::Declared { px_per_mm: 15.4 }).expect_err("10 % off");
    assert_eq!(wrong.code, Code::ScaleDoubtful);
}

#[test]
fn a_stated_focal_length_puts_a_rule_s_height_right() {
    // The rule lies 3 mm above a face 74 mm away, the lens stated.
    let view = View {
        focal: 2.0,
        ..view(16.0, 20.0, 0.0, 0.0)
    };
    let rule = Rule {
        edge_mm: -6.0,
        pitch_mm: 1.0,
        length_mm: millimetres,
        worn_every: 0,
    };
    let plain = view.photograph(|u, v| rule.tone(u, v));
    let stated = Photo {
        focal_half_diagonals: Some(2.0),
        ..plain.clone()
    };
    let half_diagonal_px = 900f64.hypot(700.0) / 2.0;
    let distance_mm = 2.0 * half_diagonal_px / 16.0;
    let at_face = 16.0 * distance_mm / (distance_mm + 3.0);
    let read = |photo: &Photo| {
        let request = Request {
            offset_mm: Some(3.0),
            ..Request::of(Source::RuleMm)
        };
        let scale = find(photo, &request).expect("a scale");
        let here = scale
            .map
            .px_per_mm_at(scale.map.to_mm(Point::new(450.0, 350.0)));
        ((here / at_face - 1.0).abs(), scale.standard_uncertainty_rel)
    };
    let (with, without) = (read(&stated), read(&plain));
    assert!(with.0 < 0.004, "{:.2} % off", 100.0 * with.0);
    assert!(
        without.0 > 2.0 * with.0,
        "the usual lens is not this one: {without:?}"
    );
    // What is guessed is owned to, and so is what is known.
    for (error, u) in [with, without] {
        assert!(
            error < 2.5 * u,
            "{:.2} % off, u {:.2} %",
            100.0 * error,
            100.0 * u
        );
    }
}

/// Where (u, v) mm is pictured: Newton's steps on the camera's own map.
fn pictured(camera: &Camera, (u, v): (f64, f64)) -> Point<toeline::base::geometry::Px> {
    let (mut x, mut y) = (450.0, 350.0);
    for _ in 0..8 {
        let o = camera.to_mm(x, y);
        let (r, d) = (camera.to_mm(x + 1.0, y), camera.to_mm(x, y + 1.0));
        let (a, b, c, e) = (r.0 - o.0, d.0 - o.0, r.1 - o.1, d.1 - o.1);
        let (p, q) = (u - o.0, v - o.1);
        let determinant = a * e - b * c;
        x += (e * p - b * q) / determinant;
        y += (a * q - c * p) / determinant;
    }
    Point::new(x, y)
}

/// Relative error of a length of 16 mm along the reference, in its middle.
fn length_error(scale: &Scale, camera: &Camera) -> f64 {
    let [a, b] = [-8.0, 8.0].map(|u| scale.map.to_mm(pictured(camera, (u, 0.0))));
    (a.distance(b) / 16.0 - 1.0).abs()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, rng_seed: RngSeed::Fixed(20_264), ..ProptestConfig::default() })]

    /// Steep views through bent lenses, blurred and noisy: a rule's lengths along
    /// itself and a chequer strip's local scale are right, or refused.
    #[test]
    fn a_steep_bent_blurred_view_is_read_rightly_or_refused(
        strip in any::<bool>(),
        turn in 0.0..360.0f64,
        (tilt, towards) in (0.0..25.0f64, 0.0..360.0f64),
        focal in 1.2..6.0f64,
        kappa in -0.02..0.02f64,
        (blur, noise) in (0.0..1.6f64, 0.0..10.0f64),
    ) {
        let camera = Camera {
            view: View {
                focal,
                noise,
                ..view(if strip { 11.0 } else { 17.0 }, turn, tilt, towards)
            },
            aim: [0.0; 2],
            kappa,
            blur_px: blur,
            mirrored: false,
        };
        let rule = Rule {
            edge_mm: -2.0,
            pitch_mm: 1.0,
            length_mm: millimetres,
            worn_every: 0,
        };
        let (photo, source) = if strip {
            let photo = camera.photograph(|u, v| chequer_tone(4.0, 12, u, v));
            (photo, Source::Chequer { pitch_mm: 4.0 })
        } else {
            (camera.photograph(|u, v| rule.tone(u, v)), Source::RuleMm)
        };
        match ask(&photo, source) {
            Ok(scale) => {
                let error = length_error(&scale, &camera);
                prop_assert!(error < 0.006, "{:.3} % off", 100.0 * error);
            }
            Err(reason) => {
                prop_assert!(!reason.remedy.is_empty());
                // What is plain to see is not refused.
                prop_assert!(tilt > 8.0 || blur > 1.0 || noise > 6.0, "{reason:?}");
            }
        }
    }
}

/// HR-07's plates are 8 and 10 mm thick (its truth beside the picture).
#[test]
fn declared_thickness_speaks_for_the_scale_or_against_it() {
    let path = format!(
        "{}/testdata/sections/HR-07/photo.jpg",
        env!("CARGO_MANIFEST_DIR")
    );
    let bytes = std::fs::read(path).unwrap();
    let record = |nonbutting_mm: f64| {
        let request = toeline::pipeline::Request {
            coupon: toeline::record::Coupon {
                thickness_butting_mm: Some(8.0),
                thickness_nonbutting_mm: Some(nonbutting_mm),
                ..Default::default()
            },
            scale: Request::of(Source::RuleMm),
            ..Default::default()
        };
        toeline::pipeline::measure_section(&bytes, "HR-07.jpg", &request).record
    };
    let right = record(10.0);
    let checks = &right.scale.as_ref().unwrap().evidence.cross_checks;
    let said = |member: &str| {
        checks
            .iter()
            .any(|c| c.contains(member) && c.contains("looks"))
    };
    assert!(said("nonbutting member, declared 10 mm") && said("butting member, declared 8 mm"));
    assert!(right.reasons.is_empty(), "{:?}", right.reasons);
    // A third more was declared than the picture shows at this scale.
    let wrong = record(13.0);
    let doubt = wrong.reasons.iter().find(|r| r.code == Code::ScaleDoubtful);
    assert!(doubt.is_some_and(|r| r.message.contains("nonbutting member was declared 13 mm")));
}
