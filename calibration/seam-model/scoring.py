"""Scores of seam maps: thinned lines within three pixels of the truth, junction peaks, and bias across a seam."""
import math
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import torch
import torch.nn.functional as F
from scipy.ndimage import distance_transform_edt
from skimage.morphology import skeletonize

from network import to_input
from scenes import gaussian_blur

TOLERANCE_PX = 3
THRESHOLDS = (0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85)


def line_counts(probability, truth, threshold, ignore=None, where=None):
    """(found pixels near truth, found, truth pixels near found, truth); all [h, w].

    `truth` are pixels that a true seam touches; `ignore` are places that count neither way; `where` limits the score.
    """
    found = skeletonize(probability > threshold)
    if ignore is not None:
        found &= ~ignore
        truth = truth & ~ignore
    reach = lambda mask: distance_transform_edt(~mask) if mask.any() else np.full(mask.shape, 1e9)
    to_truth, to_found = reach(truth), reach(found)
    if where is not None:
        found, truth = found & where, truth & where
    return np.array([(found & (to_truth <= TOLERANCE_PX)).sum(), found.sum(), (truth & (to_found <= TOLERANCE_PX)).sum(), truth.sum()], float)


def f_score(counts):
    precision, recall = counts[0] / max(1, counts[1]), counts[2] / max(1, counts[3])
    return 2 * precision * recall / max(1e-9, precision + recall), precision, recall


def score_scenes(network, scenes):
    """Best F over thresholds, F at 0.45, F of seams between different fabrics, recall of same-fabric seams, and junction scores."""
    with torch.no_grad():
        probability = torch.cat([network(to_input(part)).float().sigmoid() for part in scenes.picture.split(32)])
    seam, junction = probability[:, 0].cpu().numpy(), probability[:, 1:2]
    truth, ignore = scenes.centre[:, 0].cpu().numpy(), (scenes.weight[:, 0] < 0.5).cpu().numpy()
    same = scenes.same_fabric[:, 0].cpu().numpy()
    with ThreadPoolExecutor(16) as workers:
        table = np.zeros((len(THRESHOLDS), 4))
        for t, threshold in enumerate(THRESHOLDS):
            table[t] = sum(workers.map(lambda k: line_counts(seam[k], truth[k], threshold, ignore[k]), range(len(seam))))
    scores = [f_score(row) for row in table]
    best = int(np.argmax([s[0] for s in scores]))
    # only seams that a change of fabric shows: the others, and what is found near them, count neither way
    beside_same = (F.max_pool2d(scenes.same_fabric.float(), 9, 1, 4) > 0)[:, 0].cpu().numpy()
    between = f_score(sum(line_counts(seam[k], truth[k], 0.45, ignore[k] | beside_same[k]) for k in range(len(seam))))
    hits = sum(line_counts(seam[k], same[k], 0.45, ignore[k])[2:] for k in range(len(seam)))
    answer = {"F": scores[best][0], "precision": scores[best][1], "recall": scores[best][2], "threshold": THRESHOLDS[best],
              "F_at_0.45": scores[3][0], "F_between_fabrics_at_0.45": between[0], "same_fabric_recall_at_0.45": hits[0] / hits[1] if hits[1] else None}
    peaks = (junction == F.max_pool2d(junction, 7, 1, 3)) & (junction > 0.35)
    true_peaks = (scenes.junction == F.max_pool2d(scenes.junction, 7, 1, 3)) & (scenes.junction > 0.9)
    near = lambda mask: F.max_pool2d(mask.float(), 9, 1, 4) > 0
    seen = F.max_pool2d(1 - scenes.weight, 9, 1, 4) < 0.5
    precision = ((peaks & near(true_peaks) & seen).sum() / (peaks & seen).sum().clamp(min=1)).item()
    recall = ((true_peaks & near(peaks) & seen).sum() / (true_peaks & seen).sum().clamp(min=1)).item()
    answer.update(junction_precision=precision, junction_recall=recall)
    return {k: None if v is None else round(float(v), 4) for k, v in answer.items()}


def seam_bias(network, device, count=256, size=96):
    """Signed distance, px, of the seam probability's centroid from a known straight seam; (mean, spread over scenes).

    Seams at all angles and sub-pixel places between two random solids, sampled 4 × 4 per pixel, with a ditch and blur.
    The sign is fixed to the picture (to the right, or down for level seams), so a shift of the label would show.
    """
    generator = torch.Generator(device).manual_seed(77)
    random = lambda *shape: torch.rand(*shape, device=device, generator=generator)
    fine = (torch.arange(size * 4, device=device).float() + 0.5) / 4 - 0.5
    y, x = torch.meshgrid(fine, fine, indexing="ij")
    offsets, angles = [], (random(count) - 0.5) * math.pi
    for start in range(0, count, 32):
        angle = angles[start:start + 32, None, None]
        middle = size / 2 + random(32, 1, 1)
        distance = (x - middle) * angle.cos() + (y - middle) * angle.sin()
        first, second = random(32, 3, 1, 1), random(32, 3, 1, 1)
        picture = torch.where((distance > 0)[:, None], first, second) * (1 - 0.3 * random(32, 1, 1, 1) * torch.exp(-distance.square() / 2)[:, None])
        picture = F.avg_pool2d(picture, 4)
        picture = gaussian_blur(picture, 0.4 + random(32), 0.4 + random(32), 5) + 0.01 * torch.randn(32, 3, size, size, device=device, generator=generator)
        with torch.no_grad():
            probability = network(to_input(picture.clamp(0, 1))).float().sigmoid()[:, 0]
        distance = F.avg_pool2d(distance[:, None], 4)[:, 0]
        inner = F.pad(torch.ones(size - 32, size - 32, device=device), (16,) * 4)
        mass = probability * inner * (distance.abs() < 5)
        offsets.append((mass * distance).sum((1, 2)) / mass.sum((1, 2)).clamp(min=1e-3))
    offsets = torch.cat(offsets)
    upright = angles.abs() < math.pi / 4
    down = offsets * torch.sign(angles)  # for level seams count downwards
    return {"right_px": [round(offsets[upright].mean().item(), 3), round(offsets[upright].std().item(), 3)],
            "down_px": [round(down[~upright].mean().item(), 3), round(down[~upright].std().item(), 3)]}
