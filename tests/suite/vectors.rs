//! Our geometry and rasters against vectors that `tests/vectors/make_vectors.py`
//! computed with OpenCV, NumPy, SciPy and scikit-image (versions in the files).

use serde_json::Value;
use toeline::base::geometry::{Homography, Line, Mm, Point, Px, Vector};
use toeline::base::raster::{Gray, gaussian_blur, halve};

fn load(name: &str) -> Value {
    let path = format!("{}/testdata/vectors/{name}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).expect(&path);
    serde_json::from_str(&text).expect(&path)
}

fn numbers(value: &Value) -> Vec<f64> {
    let list = value.as_array().expect("a list");
    list.iter().map(|v| v.as_f64().expect("a number")).collect()
}

fn points<F>(value: &Value) -> Vec<Point<F>> {
    let list = value.as_array().expect("a list");
    list.iter()
        .map(|v| {
            let xy = numbers(v);
            Point::new(xy[0], xy[1])
        })
        .collect()
}

fn raster(value: &Value) -> Gray {
    let rows: Vec<Vec<f64>> = value
        .as_array()
        .expect("rows")
        .iter()
        .map(numbers)
        .collect();
    Gray::from_fn(rows[0].len(), rows.len(), |x, y| rows[y][x] as f32)
}

fn largest_difference(a: &Gray, b: &Gray) -> f32 {
    assert_eq!((a.width(), a.height()), (b.width(), b.height()));
    a.samples()
        .iter()
        .zip(b.samples())
        .map(|(a, b)| (a - b).abs())
        .fold(0.0, f32::max)
}

#[test]
fn homographies_agree() {
    let data = load("geometry.json");
    for case in data["homographies"].as_array().expect("cases") {
        let from: Vec<Point<Mm>> = points(&case["from"]);
        let to: Vec<Point<Px>> = points(&case["to"]);
        let noise = case["noise_px"].as_f64().expect("noise");
        let ours = Homography::fit(&from, &to).expect("a map");
        // OpenCV polishes the algebraic solution by least squares of the
        // distances, scikit-image does not: with noise the two already differ,
        // and ours lies no further off.
        let tolerance = 1e-3 + 0.6 * noise;
        for theirs in ["probe_opencv", "probe_skimage"] {
            let probes: Vec<Point<Mm>> = points(&case["probe"]);
            for (p, q) in probes.iter().zip(points::<Px>(&case[theirs])) {
                let off = ours.apply(*p).distance(q);
                assert!(off < tolerance, "{theirs} {p:?}: {off} px at noise {noise}");
            }
        }
    }
}

#[test]
fn lines_agree() {
    let data = load("geometry.json");
    for case in data["lines"].as_array().expect("cases") {
        let at: Vec<Point<Px>> = points(&case["points"]);
        let ours = Line::fit(&at, &vec![1.0; at.len()]).expect("a line");
        for (direction, point) in [
            ("direction_opencv", "point_opencv"),
            ("direction_numpy", "point_numpy"),
        ] {
            let d = numbers(&case[direction]);
            let p = numbers(&case[point]);
            let turn = ours.direction.cross(Vector::new(d[0], d[1])).abs();
            assert!(turn < 2e-5, "{direction}: {turn} rad off");
            let off = ours.signed_distance(Point::new(p[0], p[1])).abs();
            assert!(off < 1e-3, "{point}: {off} px off");
        }
    }
}

#[test]
fn blurs_agree() {
    let data = load("rasters.json");
    let image = raster(&data["image"]);
    for case in data["blurs"].as_array().expect("cases") {
        let sigma = case["sigma"].as_f64().expect("sigma");
        let ours = gaussian_blur(&image, sigma);
        for theirs in ["scipy", "opencv"] {
            let off = largest_difference(&ours, &raster(&case[theirs]));
            assert!(off < 2e-2, "{theirs} sigma {sigma}: {off} grey levels off");
        }
    }
}

#[test]
fn samples_and_halves_agree() {
    let data = load("rasters.json");
    let image = raster(&data["image"]);
    let want = numbers(&data["sample_scipy"]);
    for (p, want) in points::<Px>(&data["sample_at"]).iter().zip(want) {
        let got = f64::from(image.sample(p.x, p.y));
        assert!((got - want).abs() < 1e-2, "{p:?}: {got} against {want}");
    }
    for theirs in ["halved_numpy", "halved_opencv"] {
        let off = largest_difference(&halve(&image), &raster(&data[theirs]));
        assert!(off < 1e-3, "{theirs}: {off} grey levels off");
    }
}
