"""Positions and calibration of real pictures of a flat chessboard.

The pictures are the sample data left01.jpg … left14.jpg of the OpenCV project
(Debian's package opencv-doc, Apache-2.0); only figures measured in them are kept
here. Run with OpenCV and NumPy installed:

    python tests/vectors/make_chessboards.py FOLDER_WITH_THE_PICTURES

Writes testdata/vectors/chessboards.json.
"""

import json
import pathlib
import sys

import cv2
import numpy as np

OUT = pathlib.Path(__file__).resolve().parents[2] / "testdata" / "vectors" / "chessboards.json"
COLUMNS, ROWS, PITCH_MM = 9, 6, 25
# Where on the board the local scale is stated, mm.
PLACES = [(100, 62.5), (25, 25), (175, 25), (25, 100), (175, 100)]
STEP_MM = 0.1

board = np.zeros((COLUMNS * ROWS, 3), np.float32)
board[:, :2] = np.mgrid[0:COLUMNS, 0:ROWS].T.reshape(-1, 2) * PITCH_MM

names, corners = [], []
for path in sorted(pathlib.Path(sys.argv[1]).glob("left[0-9]*.jpg")):
    picture = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    found, at = cv2.findChessboardCorners(picture, (COLUMNS, ROWS))
    assert found, path
    at = cv2.cornerSubPix(picture, at, (5, 5), (-1, -1), (3, 50, 1e-4))
    names.append(path.stem)
    corners.append(at.reshape(-1, 1, 2))
height, width = picture.shape
rms, camera, lens, turns, shifts = cv2.calibrateCamera(
    [board] * len(names), corners, (width, height), None, None
)


def scale_at(place, turn, shift):
    """Where a place of the board is pictured, and the scale there: root of the area ratio."""
    x, y = place
    three = np.array([[x, y, 0], [x + STEP_MM, y, 0], [x, y + STEP_MM, 0]], float)
    o, a, b = cv2.projectPoints(three, turn, shift, camera, lens)[0].reshape(-1, 2)
    area = abs(np.linalg.det([a - o, b - o]))
    return [round(o[0] + 0.5, 3), round(o[1] + 0.5, 3), round(float(np.sqrt(area)) / STEP_MM, 5)]


boards = []
for name, at, turn, shift in zip(names, corners, turns, shifts):
    normal = cv2.Rodrigues(turn)[0][2, 2]
    boards.append(
        {
            "picture": name,
            "tilt_deg": round(float(np.degrees(np.arccos(abs(normal)))), 2),
            "corners_px": [[round(float(v) + 0.5, 2) for v in c] for c in at.reshape(-1, 2)],
            "scale_at": [scale_at(p, turn, shift) for p in PLACES],
        }
    )
text = json.dumps(
    {
        "source": "figures measured in OpenCV's sample pictures left01 to left14 (opencv-doc,"
        " Apache-2.0); squares taken as 25 mm; centre of the first pixel = (0.5, 0.5)",
        "opencv": cv2.__version__,
        "calibration_rms_px": round(rms, 3),
        "width": width,
        "height": height,
        "columns": COLUMNS,
        "pitch_mm": PITCH_MM,
        "focal_px": round(float(camera[0, 0]), 2),
        "boards": boards,
    }
)
OUT.write_text(text.replace('{"picture"', '\n{"picture"') + "\n")
