"""What lies on a made quilt and is no seam: appliqué, and hands, rollers and clamps that reach in from the edge."""
import math

import torch

from fabrics import hashed
from layouts import mix


def applique(draw, u, v):
    """Shapes sewn on top, on a loose lattice. Answers inches inside the shape's edge (negative outside) and a number for the shape.

    Flowers, discs, hearts, leaves, stars, letters, bars and vines; each about 1 to 5 in.
    """
    seed, pitch = draw.seed(), draw.scaled(2.5, 11)
    column, row = torch.floor(u / pitch), torch.floor(v / pitch)
    key = mix(column, row, seed)
    present = hashed(key + 1) < draw.between(0.35, 1)
    reach = pitch * draw.between(0.2, 0.42) * (0.7 + 0.3 * hashed(key + 2))
    angle = torch.where(draw.chance(0.5), hashed(key + 3) * 6.28, torch.floor(hashed(key + 3) * 4) * math.pi / 2) * (~draw.chance(0.3)).float()
    du, dv = u - (column + 0.5 + 0.1 * (hashed(key + 4) - 0.5)) * pitch, v - (row + 0.5 + 0.1 * (hashed(key + 5) - 0.5)) * pitch
    a, b = du * angle.cos() + dv * angle.sin(), -du * angle.sin() + dv * angle.cos()
    radius, theta = (a.square() + b.square()).sqrt(), torch.atan2(b, a)
    x, y = a / reach, b / reach
    bar = lambda cx, cy, wide, high: (wide - (x - cx).abs()).minimum(high - (y - cy).abs()) * reach
    petals = draw.whole(4, 8)
    flower = reach * (0.75 + 0.25 * torch.cos(petals * theta)) - radius
    heart_y = -y * 1.15 + 0.2
    heart = -((x.square() + heart_y.square() - 0.75) ** 3 - x.square() * heart_y ** 3).clamp(-1, 1) * reach * 0.8
    leaf = (draw.between(0.25, 0.5) * (1 - x.square()) - y.abs()) * reach
    star = reach * (1 - 0.55 * ((theta * 5 / (2 * math.pi)) % 1 - 0.5).abs() * 2) - radius
    letter = bar(-0.5, 0, 0.16, 0.9)
    for k, part in enumerate((bar(0.5, 0, 0.16, 0.9), bar(0, -0.75, 0.6, 0.15), bar(0, 0, 0.6, 0.15), bar(0, 0.75, 0.6, 0.15))):
        letter = torch.where(hashed(key + 30 + k) < 0.6, letter.maximum(part), letter)
    vine = draw.between(0.12, 0.5) - (((v + torch.sin(u / pitch * 4) * pitch * 0.2) / pitch) % 1 - 0.5).abs() * pitch * 0.8
    block = bar(0, 0, 0.6, 0.75)
    shapes = (flower, reach - radius, heart, leaf, star, letter, vine, block)
    first, second = draw.whole(0, 7), draw.whole(0, 7)
    kind = torch.where(hashed(key + 6) < 0.6, first, second)
    inside = flower
    for number, shape in enumerate(shapes):
        inside = torch.where(kind == number, shape, inside)
    inside = torch.where(present | (kind == 6), inside, torch.full_like(inside, -10.0))
    hearted = (inside > reach * draw.between(0.3, 0.6)) & draw.chance(0.5)  # a smaller piece on the first
    return inside, mix(key, kind) * 2 + hearted.int()


def clutter(draw, x, y, size, ppi):
    """Hands, rollers, rails and clamps reaching in from one side. Pixel coordinates; answers where they are and their colour."""
    side = draw.whole(0, 3)
    p, q = torch.where(side % 2 == 0, x, y), torch.where(side % 2 == 0, y, x)
    p = torch.where(side >= 2, size - p, p) / ppi  # inches in from the side
    q = (q - draw.between(0, 1) * size) / ppi
    kind = draw.whole(0, 3)
    reach = draw.scaled(0.8, 5).minimum(size / ppi * 0.3)
    tint = lambda low, high: low + (high - low) * torch.rand(draw.n, 3, 1, 1, device=x.device)
    # a roller or rail: a band with a sheen along it, a little aslant
    depth = p + q * draw.between(-0.04, 0.04)
    roller = depth < reach
    round_shade = 0.35 + 0.75 * torch.sin((depth / reach).clamp(0, 1) * math.pi) ** draw.scaled(0.5, 6)
    # a hand: a forearm and fingers, each a capsule
    capsule = lambda cq, tip, wide: torch.where(p < tip, (q - cq).abs(), ((q - cq).square() + (p - tip).square()).sqrt()) / wide
    arm = capsule(q * 0 + draw.between(-0.5, 0.5), reach * 0.6, draw.between(1.1, 1.6))
    for k in range(4):
        arm = arm.minimum(capsule(q * 0 + (k - 1.5) * 0.85 + draw.between(-0.15, 0.15), reach * (1 + 0.12 * (k % 3)), draw.between(0.32, 0.45)))
    hand = arm < 1
    hand_shade = 1.05 - 0.35 * arm.clamp(0, 1.2).square()
    # a clamp: a block with a bar
    wide = draw.between(0.4, 1.6)
    clamp = ((q.abs() < wide) & (p < reach * 0.7)) | ((q.abs() < wide * 0.35) & (p < reach))
    clamp_shade = 0.8 + 0.3 * (q / wide).clamp(-1, 1)
    skin = torch.tensor([0.85, 0.62, 0.5], device=x.device).view(1, 3, 1, 1) * tint(0.35, 1.1)[:, :1] + tint(-0.04, 0.04)
    metal = tint(0.1, 0.9)[:, :1] + tint(-0.05, 0.05)
    loud = tint(0.05, 0.95)
    four = lambda z: z[:, None]
    where = torch.where(kind == 0, roller, torch.where(kind == 1, hand, torch.where(kind == 2, clamp, roller | hand)))
    is_hand = four((kind == 1) | ((kind == 3) & hand))
    colour = torch.where(is_hand, skin * four(hand_shade), torch.where(four(kind == 2), loud * four(clamp_shade), metal * four(round_shade)))
    return where, colour.clamp(0, 1)
