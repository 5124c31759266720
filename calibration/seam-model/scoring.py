"""Scores of seam maps: thinned lines within three pixels of the truth, junction peaks, and bias across a seam."""
import math

import torch
import torch.nn.functional as F

from network import to_input
from scenes import gaussian_blur

TOLERANCE_PX = 3
THRESHOLDS = (0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85)


def thinned(mask):
    """Lines one pixel wide from [n, h, w] bool: T. Y. Zhang and C. Y. Suen, "A fast parallel algorithm for thinning digital patterns", 1984."""
    z = mask.clone()
    for _ in range(64):
        before = z
        for half in (0, 1):
            padded = F.pad(z, (1, 1, 1, 1))
            h, w = z.shape[1:]
            # the eight neighbours, clockwise from the one above
            ring = [padded[:, 1 + dy:1 + dy + h, 1 + dx:1 + dx + w] for dy, dx in ((-1, 0), (-1, 1), (0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1))]
            count = sum(r.int() for r in ring)
            turns = sum((~ring[k] & ring[(k + 1) % 8]).int() for k in range(8))
            up, right, down, left = ring[0], ring[2], ring[4], ring[6]
            open_side = ~(up & right & down) & ~(right & down & left) if half == 0 else ~(up & right & left) & ~(up & down & left)
            z = z & ~((count >= 2) & (count <= 6) & (turns == 1) & open_side)
        if bool((z == before).all()):
            break
    return z


def near(mask, reach=TOLERANCE_PX):
    """Pixels within `reach` of a marked one, by straight distance."""
    axis = torch.arange(-reach, reach + 1, device=mask.device)
    disc = (axis[:, None].square() + axis[None].square() <= reach * reach).float()[None, None]
    return F.conv2d(mask.float()[:, None], disc, padding=reach)[:, 0] > 0.5


def line_counts(probability, truth, threshold, ignore=None, where=None):
    """(found pixels near truth, found, truth pixels near found, truth); all [n, h, w] on one device.

    `truth` are pixels that a true seam touches; `ignore` are places that count neither way; `where` limits the score.
    """
    found = thinned(probability > threshold)
    if ignore is not None:
        found = found & ~ignore
        truth = truth & ~ignore
    by_truth, by_found = near(truth), near(found)
    if where is not None:
        found, truth = found & where, truth & where
    return [float(z.sum()) for z in (found & by_truth, found, truth & by_found, truth)]


def f_score(counts):
    precision, recall = counts[0] / max(1, counts[1]), counts[2] / max(1, counts[3])
    return 2 * precision * recall / max(1e-9, precision + recall), precision, recall


def score_scenes(network, scenes):
    """Best F over thresholds, F at 0.45, F of seams between different fabrics, recall of same-fabric seams, and junction scores."""
    with torch.no_grad():
        probability = torch.cat([network(to_input(part)).float().sigmoid() for part in scenes.picture.split(32)])
    seam, junction = probability[:, 0], probability[:, 1:2]
    truth, ignore, same = scenes.centre[:, 0], scenes.weight[:, 0] < 0.5, scenes.same_fabric[:, 0]
    scores = [f_score(line_counts(seam, truth, threshold, ignore)) for threshold in THRESHOLDS]
    best = max(range(len(scores)), key=lambda k: scores[k][0])
    # only seams that a change of fabric shows: the others, and what is found near them, count neither way
    between = f_score(line_counts(seam, truth, 0.45, ignore | (F.max_pool2d(scenes.same_fabric.float(), 9, 1, 4) > 0)[:, 0]))
    hits = line_counts(seam, same, 0.45, ignore)[2:]
    answer = {"F": scores[best][0], "precision": scores[best][1], "recall": scores[best][2], "threshold": THRESHOLDS[best],
              "F_at_0.45": scores[3][0], "F_between_fabrics_at_0.45": between[0], "same_fabric_recall_at_0.45": hits[0] / hits[1] if hits[1] else None}
    if scenes.left_alone.any():
        # of the edges that are no seams and have none within three pixels, the part that is drawn as one
        alone = scenes.left_alone[:, 0] & ~near(truth)
        answer["left_alone_drawn_at_0.45"] = ((seam > 0.45) & alone).sum() / alone.sum().clamp(min=1)
    seen_any = scenes.weight > 0.5
    answer["mean_probability"], answer["mean_label"] = seam[seen_any[:, 0]].mean(), scenes.seam[seen_any].mean()
    peaks = (junction == F.max_pool2d(junction, 7, 1, 3)) & (junction > 0.35)
    true_peaks = (scenes.junction == F.max_pool2d(scenes.junction, 7, 1, 3)) & (scenes.junction > 0.9)
    about = lambda mask: F.max_pool2d(mask.float(), 9, 1, 4) > 0
    seen = F.max_pool2d(1 - scenes.weight, 9, 1, 4) < 0.5
    precision = ((peaks & about(true_peaks) & seen).sum() / (peaks & seen).sum().clamp(min=1)).item()
    recall = ((true_peaks & about(peaks) & seen).sum() / (true_peaks & seen).sum().clamp(min=1)).item()
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
