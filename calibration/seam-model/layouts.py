"""How patches lie: each layout turns cloth coordinates in inches into patch numbers.

A layout is given u, v [n, h, w] in inches and answers with a Patches. All is per pixel arithmetic on hashed lattice
indices, so a layout has no edge and every scene is a new quilt. Neighbouring patches have different `patch` numbers;
patches with equal `role` are cut from the same fabric.
"""
import math
from dataclasses import dataclass

import torch

from fabrics import hashed


@dataclass
class Patches:
    patch: torch.Tensor  # int32: which patch
    role: torch.Tensor   # int32: which part of the design; decides the fabric
    inset: torch.Tensor  # inches to the nearest edge of a whole rectangle; large where the patch is no rectangle


FAR = 1e3


def mix(*numbers):
    key = None
    for number in numbers:
        number = number.int() if torch.is_tensor(number) else number
        key = number if key is None else key * 1000003 + number * 7919 + 12345
    return key


class Draw:
    """Random numbers per scene, [n, 1, 1]."""

    def __init__(self, n, device):
        self.n, self.device = n, device

    def between(self, low, high):
        return low + (high - low) * torch.rand(self.n, 1, 1, device=self.device)

    def scaled(self, low, high):
        """Evenly spread in the logarithm."""
        return low * (high / low) ** torch.rand(self.n, 1, 1, device=self.device)

    def chance(self, share):
        return torch.rand(self.n, 1, 1, device=self.device) < share

    def whole(self, low, high):
        return torch.randint(low, high + 1, (self.n, 1, 1), device=self.device, dtype=torch.int32)

    def pick(self, options):
        values = torch.tensor(options, device=self.device)
        return values[torch.randint(0, len(options), (self.n, 1, 1), device=self.device)]

    def seed(self):
        return self.whole(0, 1 << 24)


def uneven_lattice(x, pitch, jitter, seed):
    """Index of the stripe that x lies in, and the distances to its two edges; edge k is at (k + jitter·random) pitch."""
    edge = lambda k: (k + jitter * (hashed(mix(k, seed)) - 0.5)) * pitch
    k = torch.floor(x / pitch)
    k = k - (x < edge(k)).float()
    k = k + (x >= edge(k + 1)).float()
    return k, x - edge(k), edge(k + 1) - x


def pieced_units(draw, p, r, unit, cell, seed):
    """Splits a unit square (p, r in -1/2..1/2, `unit` inches) into the trade's small units.

    Answers a number for the piece and whether the unit was left whole. Each scene keeps to a few kinds of unit.
    """
    kinds = [draw.whole(0, 14), draw.whole(0, 14), torch.where(draw.chance(0.6), draw.whole(0, 0), draw.whole(0, 14))]
    chosen = hashed(mix(cell, seed + 7))
    kind = torch.where(chosen < 0.33, kinds[0], torch.where(chosen < 0.66, kinds[1], kinds[2]))
    kind = torch.where(unit < 1.0, torch.zeros_like(kind), kind)
    flip = hashed(mix(cell, seed + 11)) < 0.5
    a = torch.where(flip, -p, p)
    # the same unit turned a quarter, where the design says so
    turned = hashed(mix(cell, seed + 13)) < 0.5
    a, b = torch.where(turned, r, a), torch.where(turned, a, r)
    below, across = (a > b), (a + b > 0)
    goose_left, goose_right = (b > 0.5 - 2 * (a + 0.5)) & (a < 0), (b > 0.5 - 2 * (0.5 - a)) & (a >= 0)
    on_point = a.abs() + b.abs() < 0.5
    corner = (a > 0).int() * 2 + (b > 0).int()
    radius = ((a + 0.5).square() + (b + 0.5).square()).sqrt()
    other_radius = ((a - 0.5).square() + (b - 0.5).square()).sqrt()
    reach = draw.between(0.45, 0.9)
    frame = draw.between(0.22, 0.38)
    inside = (a.abs() < frame) & (b.abs() < frame)
    zero = torch.zeros_like(kind)
    pieces = {
        1: below.int(), 2: across.int(), 3: below.int() * 2 + across.int(), 4: below.int() + (below & across).int(),
        5: (a - b.abs() > 0).int(), 6: torch.where(goose_left | goose_right, zero, 1 + (a >= 0).int()),
        7: torch.where(on_point, zero + 4, corner), 8: (radius < reach).int(), 9: (radius < 0.78).int() + 2 * (other_radius < 0.78).int(),
        10: (a > 0).int(), 11: (a > -1 / 6).int() + (a > 1 / 6).int(), 12: corner,
        13: torch.where(inside, zero + 5, torch.where(b.abs() < frame, (a > 0).int() + 1, (b > 0).int() + 3)),
        14: (radius < reach).int() + (radius < reach * 0.55).int(),
    }
    piece = zero
    for number, split in pieces.items():
        piece = torch.where(kind == number, split.int(), piece)
    return piece, kind == 0


def blocks(draw, u, v):
    """Blocks on a grid of 2 to 7 units, with or without sashing and cornerstones, alike, alternating or scrappy."""
    grid = draw.pick([1, 2, 2, 3, 3, 4, 4, 5, 6, 7]).int()
    unit = draw.scaled(0.95, 4)
    unit = torch.where(grid == 1, unit * 2.2, unit)
    sash = torch.where(draw.chance(0.3), draw.between(0.75, 3), torch.zeros(draw.n, 1, 1, device=draw.device))
    size = unit * grid
    pitch = size + sash
    # rows pieced a little off: neighbouring rows meet in a step of up to 1/8 in
    step = torch.where(draw.chance(0.35), draw.between(0, 0.14), draw.between(0, 0.02))
    seed = draw.seed()
    row = torch.floor(v / pitch)
    u = u + step * 2 * (hashed(mix(row, seed + 1)) - 0.5)
    column = torch.floor(u / pitch)
    a, b = u - column * pitch - sash, v - row * pitch - sash
    in_sash_column, in_sash_row = a < 0, b < 0
    long_sash = draw.chance(0.3)  # the sashing across in one piece, without cornerstones
    x, y = a / unit, b / unit
    i, j = torch.floor(x.clamp(min=0)).minimum(grid - 0.999).floor(), torch.floor(y.clamp(min=0)).minimum(grid - 0.999).floor()
    p, r = x - i - 0.5, y - j - 0.5
    # symmetry of the block: none, a quarter turn, or mirrors
    style = draw.whole(0, 2)
    middle = (grid - 1) / 2
    ci, cj = i - middle, j - middle
    q1, q2, q3 = (ci <= 0) & (cj > 0), (ci < 0) & (cj <= 0), (ci >= 0) & (cj < 0)
    turn = lambda s, t: (torch.where(q1, t, torch.where(q2, -s, torch.where(q3, -t, s))), torch.where(q1, -s, torch.where(q2, -t, torch.where(q3, s, t))))
    (ti, tj), (tp, tr) = turn(ci, cj), turn(p, r)
    mi, mj, mp, mr = ci.abs(), cj.abs(), torch.where(ci < 0, -p, p), torch.where(cj < 0, -r, r)
    key_i = torch.where(style == 1, ti, torch.where(style == 2, mi, ci)) * 2
    key_j = torch.where(style == 1, tj, torch.where(style == 2, mj, cj)) * 2
    lp, lr = torch.where(style == 1, tp, torch.where(style == 2, mp, p)), torch.where(style == 1, tr, torch.where(style == 2, mr, r))
    repeat = draw.whole(0, 2)  # all alike, two blocks in turn, each its own
    which = torch.where(repeat == 0, torch.zeros_like(column), torch.where(repeat == 1, (column + row) % 2, column * 131 + row)).int()
    cell = mix(which, key_i, key_j)
    piece, whole = pieced_units(draw, lp, lr, unit, cell, seed)
    patch = mix(column, row, i, j, piece) * 4
    role = mix(cell, piece)
    scrappy = draw.chance(0.3)
    role = torch.where(scrappy, patch, role)
    inset = torch.where(whole, (0.5 - p.abs().maximum(r.abs())) * unit, FAR)
    sash_patch = torch.where(in_sash_column & in_sash_row, mix(column, row) * 4 + 1, torch.where(in_sash_column, mix(column, row) * 4 + 2, mix(column, row) * 4 + 3))
    sash_patch = torch.where(long_sash & in_sash_row, mix(row, 77) * 4 + 3, sash_patch)
    sash_role = torch.where(in_sash_column & in_sash_row & ~long_sash, 900001, 900002)
    in_sash = in_sash_column | in_sash_row
    return Patches(torch.where(in_sash, sash_patch, patch), torch.where(in_sash, sash_role, role), torch.where(in_sash, FAR, inset))


def rows(draw, u, v):
    """Rows of rectangles, each row cut in its own places: T-junctions, bricks, strips, one-patch squares."""
    seed = draw.seed()
    height, ratio = draw.scaled(0.8, 7), draw.scaled(0.35, 5)
    even = draw.chance(0.35)
    jitter = torch.where(even, draw.between(0, 0.03), draw.between(0.05, 0.7))
    swap = draw.chance(0.5)
    u, v = torch.where(swap, v, u), torch.where(swap, u, v)
    row, above, below = uneven_lattice(v, height, jitter, seed)
    stagger = torch.where(draw.chance(0.4), draw.between(0, 0.05), draw.between(0, 3))
    width = height * ratio * (1 + torch.where(even, 0.0, 0.7) * (hashed(mix(row, seed + 5)) - 0.5))
    column, left, right = uneven_lattice(u + width * stagger * hashed(mix(row, seed + 3)), width.expand_as(u), jitter, seed + row.int() * 31)
    patch = mix(row, column)
    inset = above.minimum(below).minimum(left).minimum(right)
    role = torch.where(draw.chance(0.5), patch, mix(row % 3, column % 2))
    return Patches(patch, role, inset)


def log_cabins(draw, u, v):
    """Strips round a centre: log cabin (each strip overlapping the next) or courthouse steps."""
    strip, rings = draw.scaled(0.6, 2.2), draw.whole(2, 5)
    centre = strip * draw.between(0.5, 1.2)
    size = 2 * (centre + strip * rings)
    column, row = torch.floor(u / size), torch.floor(v / size)
    a, b = u - (column + 0.5) * size, v - (row + 0.5) * size
    mirrored = draw.chance(0.4) & ((column + row) % 2 == 1)
    a = torch.where(mirrored, -a, a)
    reach = a.abs().maximum(b.abs())
    ring = torch.floor((reach - centre) / strip).clamp(min=-1)
    inner = centre + ring * strip
    spiral = torch.where((b < -inner) & (a < inner), 0, torch.where((a >= inner) & (b < inner), 1, torch.where((b >= inner) & (a >= -inner), 2, 3)))
    steps = torch.where(b.abs() > inner, (b > 0).int() * 2, (a > 0).int() * 2 + 1)
    side = torch.where(draw.chance(0.5), spiral.int(), steps.int())
    side = torch.where(ring < 0, torch.zeros_like(side), side)
    patch = mix(column, row, ring, side)
    halves = (side < 2).int()
    role = torch.where(draw.chance(0.4), patch, torch.where(draw.chance(0.5), mix(ring, side), mix(ring % 2, halves)))
    return Patches(patch, role, torch.full_like(u, FAR))


def lemoyne_stars(draw, u, v):
    """Eight diamonds about a point, with corner squares and side triangles; each diamond split in four now and then."""
    size = draw.scaled(4, 14)
    column, row = torch.floor(u / size), torch.floor(v / size)
    a, b = (u / size - column - 0.5) * 2, (v / size - row - 0.5) * 2
    eighth = math.pi / 4
    sector = torch.floor(torch.atan2(b, a) / eighth)
    along, up = a * (sector * eighth).cos() + b * (sector * eighth).sin(), -a * (sector * eighth).sin() + b * (sector * eighth).cos()
    side = 0.5858  # 2 - √2: the diamond's side in half blocks
    # oblique coordinates in the diamond, 0..1 each
    f, e = up / (side * math.sin(eighth)), (along - up) / side
    outside = (e > 1) | (f > 1)
    split = draw.pick([1, 1, 2, 3])
    part = torch.floor(e * split) * 4 + torch.floor(f * split)
    sector = sector % 8
    outer = torch.where(e > 1, sector, (sector + 1) % 8)
    patch = torch.where(outside, mix(column, row, outer, 99), mix(column, row, sector, part))
    diamond_role = torch.where(draw.chance(0.5), mix(sector % 2, torch.floor(e * split) + torch.floor(f * split)), mix(sector, part))
    role = torch.where(outside, torch.where(draw.chance(0.6), mix(outer * 0, 55), mix(outer % 2, 56)), diamond_role)
    return Patches(patch, role, torch.full_like(u, FAR))


def sixty_degrees(draw, u, v):
    """Equilateral triangles, 60° diamonds or stars of diamonds."""
    pitch = draw.scaled(1.2, 5)
    s, t, w = (((u * math.cos(k) + v * math.sin(k)) / pitch) for k in (0.0, math.pi / 3, -math.pi / 3))
    fs, ft, fw = torch.floor(s), torch.floor(t), torch.floor(w)
    triangles = mix(fs, ft, fw)
    diamonds = mix(ft, fw, 5)
    patch = torch.where(draw.chance(0.5), triangles, diamonds)
    role = torch.where(draw.chance(0.5), patch, mix(fs % 2, ft % 3))
    return Patches(patch, role, torch.full_like(u, FAR))


def cells(draw, u, v):
    """Nearest centre of a staggered lattice: hexagons when even, crazy patches when jittered."""
    pitch = draw.scaled(1.3, 5)
    jitter = torch.where(draw.chance(0.4), draw.between(0, 0), draw.between(0.2, 0.7))
    seed = draw.seed()
    x, y = u / pitch, v / (pitch * 0.866)
    row = torch.floor(y)
    best, patch = torch.full_like(u, FAR), torch.zeros_like(u).int()
    for dj in (-1, 0, 1, 2):
        j = row + dj
        half = 0.5 * (j % 2)
        i = torch.floor(x - half)
        for di in (-1, 0, 1, 2):
            key = mix(i + di, j, seed)
            cx = i + di + half + jitter * (hashed(key) - 0.5)
            cy = j + jitter * (hashed(key + 1) - 0.5)
            distance = (x - cx).square() + ((y - cy) * 0.866).square()
            nearer = distance < best
            best, patch = torch.where(nearer, distance, best), torch.where(nearer, key, patch)
    return Patches(patch, patch, torch.full_like(u, FAR))


def slices(draw, u, v):
    """Long straight seams across everything, at few or free angles: strip sets, slashed and crazy blocks, wedges."""
    seed, patch = draw.seed(), torch.zeros_like(u).int()
    free = draw.chance(0.6)
    size = draw.scaled(4, 12)
    column, row = torch.floor(u / size), torch.floor(v / size)
    block = mix(column, row, seed)
    a, b = u / size - column - 0.5, v / size - row - 0.5
    patch = block
    for k in range(5):
        angle = torch.where(free, hashed(block + 10 * k) * math.pi, draw.between(0, 0.2) + torch.floor(hashed(block + 10 * k) * 4) * math.pi / 4)
        offset = (hashed(block + 10 * k + 5) - 0.5) * 0.8
        used = hashed(block + 10 * k + 7) < 0.7
        # a later cut stops at the first one on half of the blocks, as in foundation piecing
        side = (a * angle.cos() + b * angle.sin() > offset) & used
        if k == 0:
            first = side
        side = side & ((hashed(block + 10 * k + 8) < 0.4) | (first == (hashed(block + 10 * k + 9) < 0.5)))
        patch = patch * 2 + side.int()
    return Patches(patch, patch, torch.full_like(u, FAR))


def rings_and_frames(draw, u, v):
    """Medallions: square frames (mitred or straight) or fans and rings of wedges about a centre."""
    size = draw.scaled(8, 24)
    column, row = torch.floor(u / size), torch.floor(v / size)
    a, b = u - (column + 0.5) * size, v - (row + 0.5) * size
    wide = draw.scaled(1, 3)
    square = a.abs().maximum(b.abs())
    side = torch.where(b.abs() > a.abs(), (b > 0).int() * 2, (a > 0).int() * 2 + 1)
    frame = mix(column, row, torch.floor(square / wide), side)
    radius, angle = (a.square() + b.square()).sqrt(), torch.atan2(b, a)
    wedges = draw.pick([8, 12, 16, 20])
    ring = torch.floor(radius / wide / 1.5)
    wedge = torch.where(radius < size / 2, mix(column, row, ring, torch.floor(angle / (2 * math.pi) * wedges + 0.5 * (ring % 2)) % wedges), mix(torch.floor((column * 2 + (a > 0).float())), torch.floor(row * 2 + (b > 0).float()), 3))
    is_wedge = draw.chance(0.5)
    patch = torch.where(is_wedge, wedge, frame)
    return Patches(patch, patch, torch.full_like(u, FAR))


def kaleidoscopes(draw, u, v):
    """Eight wedges and four corner triangles. Held out: never drawn in training."""
    size = draw.scaled(3, 9)
    column, row = torch.floor(u / size), torch.floor(v / size)
    a, b = (u / size - column - 0.5) * 2, (v / size - row - 0.5) * 2
    wedge = torch.floor(torch.atan2(b, a) / (math.pi / 4) + 0.5) % 8
    corner = a.abs() + b.abs() > math.sqrt(2)
    quadrant = (a > 0).int() * 2 + (b > 0).int()
    patch = torch.where(corner, mix(column, row, quadrant, 11), mix(column, row, wedge, 12))
    role = torch.where(corner, mix((column + row) % 2, 21), mix((wedge + column + row) % 2, 22))
    return Patches(patch, role, torch.full_like(u, FAR))


def pinwheel_chains(draw, u, v):
    """Broken dishes and pinwheels in turn with nine patches, on one lattice. Held out: never drawn in training."""
    size = draw.scaled(3, 8)
    column, row = torch.floor(u / size), torch.floor(v / size)
    a, b = u / size - column - 0.5, v / size - row - 0.5
    quadrant = (a > 0).int() * 2 + (b > 0).int()
    x, y = torch.where(quadrant % 3 == 0, a % 0.5, 0.5 - a % 0.5), b % 0.5
    pinwheel = mix(column, row, quadrant, (x > y).int())
    nine = mix(column, row, torch.floor((a + 0.5) * 3), torch.floor((b + 0.5) * 3) + 40)
    chain = (column + row) % 2 == 0
    patch = torch.where(chain, nine, pinwheel)
    role = torch.where(chain, mix((torch.floor((a + 0.5) * 3) + torch.floor((b + 0.5) * 3)) % 2, 31), mix((x > y).int(), 32))
    return Patches(patch, role, torch.full_like(u, FAR))
