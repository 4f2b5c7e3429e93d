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
