"""Runs seam.onnx over photographs and scores it where hand-made truth stands beside them (NAME.truth.json).

    python3 score_photos.py --model seam.onnx --photos DIR --out DIR [NAME=SCALE ...]

SCALE brings a photo to about 32 px/in. A truth whose rectangle is in inches is rectified to 32 px/in instead (NAME=rect).
Writes NAME.seam.png with the picture, the seam and the junction probability side by side. Photographs are for measuring only.
"""
import argparse
import json
from pathlib import Path

import cv2
import numpy as np
import onnxruntime
import torch

from scoring import THRESHOLDS, f_score, line_counts

PX_PER_INCH = 32


def evidence(session, picture):
    """Probabilities [2, h, w] for an RGB byte picture."""
    h, w = picture.shape[:2]
    x = np.pad(picture, ((0, -h % 16), (0, -w % 16), (0, 0)), mode="edge").astype(np.float32) / 255 * 2 - 1
    y = session.run(None, {"x": np.ascontiguousarray(x.transpose(2, 0, 1))[None]})[0][0, :, :h, :w]
    return 1 / (1 + np.exp(-y))


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--model", required=True)
    parser.add_argument("--photos", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("scales", nargs="*")
    arguments = parser.parse_args()
    arguments.out.mkdir(parents=True, exist_ok=True)
    session = onnxruntime.InferenceSession(arguments.model, providers=["CPUExecutionProvider"])
    report = {}
    for entry in arguments.scales:
        name, scale = entry.split("=")
        picture = cv2.imread(str(arguments.photos / f"{name}.jpg"))[:, :, ::-1]
        truth_file = arguments.photos / f"{name}.truth.json"
        truth = json.loads(truth_file.read_text()) if truth_file.exists() else None
        if scale == "rect":
            size = np.array(truth["rect_size_units"]) * PX_PER_INCH
            margin = 5 * PX_PER_INCH
            corners = np.float32([[0, 0], [size[0], 0], size, [0, size[1]]]) + margin
            homography = cv2.getPerspectiveTransform(np.float32(truth["rect_corners_px"]), np.float32(corners))
            width, height = (size + 2 * margin).astype(int)
            picture = cv2.warpPerspective(picture, homography, (int(width), int(height)), flags=cv2.INTER_AREA)
        else:
            scale = float(scale)
            homography = np.array([[scale, 0, scale / 2 - 0.5], [0, scale, scale / 2 - 0.5], [0, 0, 1]])
            picture = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC)
        probability = evidence(session, picture)
        if truth:
            points = cv2.perspectiveTransform(np.float32(truth["junctions_px"])[None], homography)[0]
            mask = np.zeros(picture.shape[:2], np.uint8)
            for a, b in truth["seams"]:
                cv2.line(mask, *(tuple(int(round(c)) for c in points[k]) for k in (a, b)), 1, 1)
            region = np.zeros_like(mask)
            cv2.fillConvexPoly(region, cv2.convexHull(np.round(points).astype(np.int32)), 1)
            region = cv2.dilate(region, np.ones((7, 7), np.uint8)) > 0
            found, true, inside = (torch.from_numpy(z)[None] for z in (probability[0], mask > 0, region))
            scores = [f_score(line_counts(found, true, t, where=inside)) for t in THRESHOLDS]
            best = int(np.argmax([s[0] for s in scores]))
            report[name] = {"F": round(scores[best][0], 4), "precision": round(scores[best][1], 4), "recall": round(scores[best][2], 4),
                            "threshold": THRESHOLDS[best], "F_at_0.45": round(scores[3][0], 4)}
        maps = [np.repeat((p * 255).astype(np.uint8)[:, :, None], 3, 2) for p in probability]
        cv2.imwrite(str(arguments.out / f"{name}.seam.png"), np.concatenate([picture[:, :, ::-1]] + maps, 1 if picture.shape[0] > picture.shape[1] * 0.6 else 0))
    (arguments.out / "photos.json").write_text(json.dumps(report, indent=1) + "\n")
    print(json.dumps(report))


if __name__ == "__main__":
    main()
