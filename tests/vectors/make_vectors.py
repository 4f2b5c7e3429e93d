"""Cross-check vectors for geometry and rasters from general-purpose libraries.

Run with OpenCV, NumPy, SciPy and scikit-image installed:

    python tests/vectors/make_vectors.py

Writes testdata/vectors/geometry.json and testdata/vectors/rasters.json, each
with the versions of the libraries that computed it. Inputs come from a fixed
seed and are stored beside the expected output, so that nobody needs Python to
run the tests.
"""

import json
import pathlib

import cv2
import numpy as np
import scipy
import skimage
from scipy import ndimage
from skimage.transform import ProjectiveTransform

OUT = pathlib.Path(__file__).resolve().parents[2] / "testdata" / "vectors"
VERSIONS = {
    "numpy": np.__version__,
    "scipy": scipy.__version__,
    "scikit-image": skimage.__version__,
    "opencv": cv2.__version__,
}


def homographies(rng):
    cases = []
    for points, noise in [(4, 0.0), (8, 0.0), (12, 0.3), (40, 0.3), (40, 1.0)]:
        source = rng.uniform([-20, -10], [60, 30], (points, 2))
        angle, scale = rng.uniform(0, 2 * np.pi), rng.uniform(8, 60)
        h = np.array(
            [
                [scale * np.cos(angle), -scale * np.sin(angle), 1500],
                [scale * np.sin(angle), scale * np.cos(angle), 1100],
                [rng.uniform(-4e-4, 4e-4), rng.uniform(-4e-4, 4e-4), 1],
            ]
        )
        p = np.c_[source, np.ones(points)] @ h.T
        target = p[:, :2] / p[:, 2:] + rng.normal(0, noise, (points, 2)) if noise else p[:, :2] / p[:, 2:]
        probe = np.array([[0.0, 0.0], [25.0, 5.0], [55.0, -8.0], [10.0, 28.0]])
        cv, _ = cv2.findHomography(source, target, 0)
        sk = ProjectiveTransform()
        sk.estimate(source, target)
        q = np.c_[probe, np.ones(len(probe))] @ cv.T
        cases.append(
            {
                "from": source.tolist(),
                "to": target.tolist(),
                "noise_px": noise,
                "probe": probe.tolist(),
                "probe_opencv": (q[:, :2] / q[:, 2:]).tolist(),
                "probe_skimage": sk(probe).tolist(),
            }
        )
    return cases


def lines(rng):
    cases = []
    for n, noise in [(2, 0.0), (5, 0.2), (50, 0.5), (200, 2.0)]:
        angle = rng.uniform(0, np.pi)
        d = np.array([np.cos(angle), np.sin(angle)])
        t = np.sort(rng.uniform(-300, 300, n))
        points = np.array([900.0, 700.0]) + t[:, None] * d + rng.normal(0, noise, (n, 2))
        vx, vy, x0, y0 = cv2.fitLine(points.astype(np.float64), cv2.DIST_L2, 0, 1e-9, 1e-9).ravel()
        centre = points.mean(axis=0)
        _, _, axes = np.linalg.svd(points - centre)
        cases.append(
            {
                "points": points.tolist(),
                "direction_opencv": [float(vx), float(vy)],
                "point_opencv": [float(x0), float(y0)],
                "direction_numpy": axes[0].tolist(),
                "point_numpy": centre.tolist(),
            }
        )
    return cases


def rasters(rng):
    h, w = 24, 31
    image = np.round(rng.uniform(0, 255, (h, w))).astype(np.float32)
    image[8:14, 10:22] = 220
    cases = []
    for sigma in [0.6, 1.0, 2.5]:
        radius = int(np.ceil(3 * sigma))
        cases.append(
            {
                "sigma": sigma,
                "scipy": ndimage.gaussian_filter(
                    image.astype(np.float64), sigma, mode="nearest", radius=radius
                ).tolist(),
                "opencv": cv2.GaussianBlur(
                    image, (2 * radius + 1,) * 2, sigma, borderType=cv2.BORDER_REPLICATE
                ).tolist(),
            }
        )
    points = rng.uniform([0.5, 0.5], [w - 0.5, h - 0.5], (40, 2))
    bilinear = ndimage.map_coordinates(
        image.astype(np.float64), [points[:, 1] - 0.5, points[:, 0] - 0.5], order=1, mode="nearest"
    )
    half = image[: h // 2 * 2, : w // 2 * 2].reshape(h // 2, 2, w // 2, 2).mean(axis=(1, 3))
    return {
        "image": image.tolist(),
        "blurs": cases,
        "sample_at": points.tolist(),
        "sample_scipy": bilinear.tolist(),
        "halved_numpy": half.tolist(),
        "halved_opencv": cv2.resize(
            image[: h // 2 * 2, : w // 2 * 2], (w // 2, h // 2), interpolation=cv2.INTER_AREA
        ).tolist(),
    }


def rounded(value):
    if isinstance(value, dict):
        return {k: rounded(v) for k, v in value.items()}
    if isinstance(value, list):
        return [rounded(v) for v in value]
    return float(f"{value:.9g}") if isinstance(value, float) else value


def main():
    rng = np.random.default_rng(20250917)
    OUT.mkdir(parents=True, exist_ok=True)
    parts = {
        "geometry.json": {"homographies": homographies(rng), "lines": lines(rng)},
        "rasters.json": rasters(rng),
    }
    for name, content in parts.items():
        text = json.dumps({"versions": VERSIONS, **rounded(content)}, separators=(",", ":"))
        (OUT / name).write_text(text + "\n")


if __name__ == "__main__":
    main()
