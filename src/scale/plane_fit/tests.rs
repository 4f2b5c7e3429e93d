//! The fit against an independent calibration of real pictures.

use super::*;
use serde_json::Value;

struct Board {
    picture: String,
    marks: Vec<Mark>,
    tilt_deg: f64,
    /// Places on the board and the scale there, px/mm.
    scale_at: Vec<(Point<Px>, f64)>,
}

fn figures(value: &Value) -> Vec<f64> {
    let list = value.as_array().unwrap();
    list.iter().map(|v| v.as_f64().unwrap()).collect()
}

/// Positions and calibration as `testdata/vectors/chessboards.json` names their
/// source: a general-purpose library over 13 public pictures of one board, all
/// fitted together, each tilted by 15° to 41°.
fn boards() -> (Photo, f64, Vec<Board>) {
    let all: Value =
        serde_json::from_str(include_str!("../../../testdata/vectors/chessboards.json")).unwrap();
    let count = |key: &str| all[key].as_u64().unwrap() as usize;
    let (width, height) = (count("width"), count("height"));
    let (columns, pitch_mm) = (count("columns"), all["pitch_mm"].as_f64().unwrap());
    let photo = Photo::from_rgb(width, height, vec![0; 3 * width * height]).unwrap();
    let focal = all["focal_px"].as_f64().unwrap() / ((width as f64).hypot(height as f64) / 2.0);
    let boards = all["boards"].as_array().unwrap().iter();
    let boards = boards
        .map(|board| Board {
            picture: board["picture"].as_str().unwrap().to_owned(),
            marks: board["corners_px"]
                .as_array()
                .unwrap()
                .iter()
                .enumerate()
                .map(|(i, at)| {
                    let at = figures(at);
                    Mark {
                        at: Point::new(at[0], at[1]),
                        u: (i % columns) as f64 * pitch_mm,
                        v: Some((i / columns) as f64 * pitch_mm),
                        second: false,
                        sigma_px: None,
                    }
                })
                .collect(),
            tilt_deg: board["tilt_deg"].as_f64().unwrap(),
            scale_at: board["scale_at"]
                .as_array()
                .unwrap()
                .iter()
                .map(|place| {
                    let f = figures(place);
                    (Point::new(f[0], f[1]), f[2])
                })
                .collect(),
        })
        .collect();
    (photo, focal, boards)
}

/// An old camera with a strongly bent lens (16 % at the corner) and an optical
/// axis 22 px off the middle, neither of which the fit is told.
#[test]
fn tilt_and_local_scale_are_those_of_an_independent_calibration() {
    let (photo, focal, boards) = boards();
    let stated = Photo {
        focal_half_diagonals: Some(focal),
        ..photo.clone()
    };
    // Nobody photographs a coupon from further aside than this.
    let level: Vec<Board> = boards.into_iter().filter(|b| b.tilt_deg < 35.0).collect();
    assert_eq!(level.len(), 12);
    for board in level {
        for photo in [&photo, &stated] {
            let fit = PlaneFit::new(&board.marks, photo, 0.002).unwrap();
            let tilt = fit.tilt_deg();
            assert!(
                (tilt - board.tilt_deg).abs() < 3.0,
                "{}: tilt {tilt:.1}° instead of {:.1}°",
                board.picture,
                board.tilt_deg
            );
            assert!(
                fit.residual_px < 0.5,
                "{}: {:.2} px",
                board.picture,
                fit.residual_px
            );
            for (at, expected) in &board.scale_at {
                let off = fit.px_per_mm_at(*at) / expected - 1.0;
                assert!(
                    off.abs() < 0.005,
                    "{}: {:.2} % off",
                    board.picture,
                    100.0 * off
                );
            }
        }
    }
}

/// A camera straight above the plane or tilted about the picture's x axis,
/// `focal` half diagonals long; 20 px a millimetre at the middle.
fn pictured(photo: &Photo, focal: f64, tilt_deg: f64, u: f64, v: f64) -> Point<Px> {
    let centre = Point::<Px>::new(photo.width as f64 / 2.0, photo.height as f64 / 2.0);
    let radius: f64 = centre.x.hypot(centre.y);
    let distance = focal * radius / 20.0;
    let (sin, cos) = tilt_deg.to_radians().sin_cos();
    let depth = distance + v * sin;
    let k = focal * radius / depth;
    Point::new(centre.x + k * u, centre.y + k * v * cos)
}

fn blank() -> Photo {
    Photo::from_rgb(1600, 1200, vec![0; 3 * 1600 * 1200]).unwrap()
}

/// Corners of a strip of 2 mm squares in two rows, `stretch` times too far apart
/// across: what an ink edge of 0.03 mm does.
#[test]
fn two_rows_a_little_apart_are_a_print_s_fault_and_no_tilt() {
    let photo = blank();
    let marks: Vec<Mark> = (0..13)
        .flat_map(|i| (0..3).map(move |j| (2.0 * f64::from(i), 2.0 * f64::from(j))))
        .map(|(u, v)| Mark {
            at: pictured(&photo, 3.2, 0.0, u - 12.0, 1.008 * (v + 10.0)),
            u,
            v: Some(v),
            second: false,
            sigma_px: None,
        })
        .collect();
    let off = |stretch_rel: f64| {
        let fit = PlaneFit::new(&marks, &photo, stretch_rel).unwrap();
        let middle = Point::new(800.0, 600.0);
        (fit.tilt_deg(), fit.px_per_mm_at(middle) / 20.0 - 1.0)
    };
    let (tilt, scale) = off(0.01);
    assert!(tilt < 1.0, "{tilt}");
    assert!(scale.abs() < 0.002, "{scale}");
    // The same marks, trusted without end, bend the scale: the test can fail.
    assert!(off(0.0).1.abs() > 0.004, "{:?}", off(0.0));
}

/// Short ticks of one edge hardly show a tilt across the rule; those of a second
/// edge 25 mm away do.
#[test]
fn a_second_edge_shows_the_tilt_across_a_rule() {
    let photo = Photo {
        focal_half_diagonals: Some(3.2),
        ..blank()
    };
    let edge = |v: f64, second: bool| {
        (0..60).flat_map(move |i| {
            (0..3).map(move |k| (f64::from(i), v + f64::from(k), second, (i * 7 + k * 5) % 11))
        })
    };
    let marks = |both: bool| -> Vec<Mark> {
        edge(0.0, false)
            .chain(edge(25.0, true).filter(|_| both))
            .map(|(u, v, second, noise)| Mark {
                at: pictured(&photo, 3.2, 7.0, u - 30.0, v - 27.0)
                    + crate::base::geometry::Vector::new(0.05 * (f64::from(noise) - 5.0), 0.0),
                // The second edge has its zero elsewhere.
                u: if second { u + 117.0 } else { u },
                v: None,
                second,
                sigma_px: None,
            })
            .collect()
    };
    let fit = |both: bool| PlaneFit::new(&marks(both), &photo, 0.0).unwrap();
    let (one, two) = (fit(false), fit(true));
    let far = Point::new(800.0, 1150.0);
    let (own, joint) = (
        one.scale_uncertainty_rel(far),
        two.scale_uncertainty_rel(far),
    );
    assert!(joint < 0.6 * own, "{own} {joint}");
    assert!((two.tilt_deg() - 7.0).abs() < 1.0, "{}", two.tilt_deg());
}
