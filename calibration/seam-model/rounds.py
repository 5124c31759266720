"""More layouts without blocks: strips, fans and plates, overlapping circles, large stars. See layouts.py."""
import math

import torch

from fabrics import hashed
from layouts import FAR, Patches, mix, uneven_lattice


def whole(u):
    return torch.full_like(u, FAR)


def tumblers(draw, u, v):
    """Rows of trapezes, every second one upside down."""
    high, wide, lean = draw.scaled(1.5, 5), draw.scaled(1.5, 5), draw.between(0.08, 0.2)
    row = torch.floor(v / high)
    rise = v / high - row - 0.5
    column = torch.floor(u / wide + row * 0.5)
    for k in (0, 1):
        # the seams beside a tumbler lean one way on its left and the other way on its right
        place = u / wide + row * 0.5
        edge = column + k + torch.where((column + k) % 2 == 0, rise, -rise) * lean * 2
        column = column + (k == 1) * (place > edge).float() - (k == 0) * (place < edge).float()
    patch = mix(row, column)
    return Patches(patch, torch.where(draw.chance(0.6), patch, mix(column % 2, row % 2)), whole(u))


def geese_rows(draw, u, v):
    """Strips of flying geese between plain strips."""
    wide, gap, seed = draw.scaled(2, 7), draw.scaled(0.8, 6), draw.seed()
    high = wide * torch.where(draw.chance(0.8), draw.between(0.48, 0.52), draw.between(0.3, 0.9))
    strip = torch.floor(u / (wide + gap))
    a = u - strip * (wide + gap)
    up = torch.where(draw.chance(0.5), strip * 0, strip % 2) == 0
    row = torch.floor(v / high)
    b = v / high - row
    b = torch.where(up, b, 1 - b)
    across = (a / wide - 0.5).abs() * 2
    goose = b > across
    piece = torch.where(goose, 0, torch.where(a < wide / 2, 1, 2))
    plain = a > wide
    length = draw.scaled(6, 60)
    patch = torch.where(plain, mix(strip, torch.floor(v / length), 5), mix(strip, row, piece))
    role = torch.where(plain, mix(strip * 0, 6), torch.where(draw.chance(0.5), torch.where(goose, mix(row, strip), mix(strip * 0, 7)), mix(goose.int(), 8)))
    return Patches(patch, role, whole(u))


def bargello(draw, u, v):
    """Strips cut across from a strip set and each shifted a step: narrow rectangles in waves."""
    high, seed = draw.scaled(0.8, 2.5), draw.seed()
    column, _, _ = uneven_lattice(u, draw.scaled(0.8, 3), draw.between(0, 0.6), seed)
    shift = torch.where(draw.chance(0.5), torch.round(3 * torch.sin(column * draw.between(0.3, 1.2))) * 0.5, torch.floor(hashed(mix(column, seed)) * 8) * draw.between(0.2, 0.5))
    row = torch.floor(v / high + shift)
    return Patches(mix(column, row), mix(row % draw.whole(4, 8), 3), whole(u))


def orange_peels(draw, u, v):
    """Circles that overlap: four-pointed hearts and leaves between them, or a ring of leaves."""
    pitch = draw.scaled(2.5, 8)
    x, y = u / pitch, v / pitch
    reach = torch.where(draw.chance(0.6), draw.between(0.7072, 0.7072), draw.between(0.55, 0.7))
    column, row = torch.floor(x), torch.floor(y)
    a, b = x - column, y - row
    covers = [((a - i).square() + (b - j).square() < reach * reach).int() for i, j in ((0, 0), (1, 0), (0, 1), (1, 1))]
    code = covers[0] + 2 * covers[1] + 4 * covers[2] + 8 * covers[3]
    # a leaf runs over the cell's edge into the next cell: number it by the edge that it lies on
    many = covers[0] + covers[1] + covers[2] + covers[3]
    edge_x, edge_y = torch.floor(x + 0.5), torch.floor(y + 0.5)
    level = (b - 0.5).abs() > (a - 0.5).abs()
    leaf = torch.where(level, mix(column, edge_y, 1), mix(edge_x, row, 2))
    patch = torch.where(many >= 2, leaf, mix(column, row, code))
    role = torch.where(many >= 2, 11, torch.where(draw.chance(0.5), 12 + ((column + row) % 2).int(), mix(column, row)))
    return Patches(patch, role.int(), whole(u))


def plates(draw, u, v):
    """Fans in a corner or plates of wedges about a middle, with a round heart."""
    size = draw.scaled(5, 16)
    column, row = torch.floor(u / size), torch.floor(v / size)
    a, b = u / size - column, v / size - row
    fan = draw.chance(0.5)
    a, b = torch.where(fan, a, a - 0.5), torch.where(fan, b, b - 0.5)
    radius, angle = (a.square() + b.square()).sqrt() * torch.where(fan, 0.5, 1.0), torch.atan2(b, a)
    wedges = draw.pick([12, 16, 20, 24])
    wedge = torch.floor(angle / (2 * math.pi) * wedges)
    outer, inner = draw.between(0.34, 0.47), draw.between(0.06, 0.2)
    ring = torch.where(radius > outer, 0, torch.where(radius > inner, 1, 2))
    patch = torch.where(ring == 1, mix(column, row, wedge), mix(column, row, ring, 700))
    role = torch.where(ring == 1, torch.where(draw.chance(0.7), mix(wedge, column, row), mix(wedge % 2, 5)), mix(ring, 6))
    return Patches(patch, role, whole(u))


def lone_stars(draw, u, v):
    """One large star of eight diamonds, each of many small diamonds in rings of colour."""
    size, rings = draw.scaled(16, 50), draw.whole(3, 7)
    a, b = u - torch.floor(u.mean((1, 2), keepdim=True)) + draw.between(-4, 4), v - torch.floor(v.mean((1, 2), keepdim=True)) + draw.between(-4, 4)
    eighth = math.pi / 4
    sector = torch.floor(torch.atan2(b, a) / eighth)
    along, up = a * (sector * eighth).cos() + b * (sector * eighth).sin(), -a * (sector * eighth).sin() + b * (sector * eighth).cos()
    side = size * 0.2929
    f, e = up / (side * math.sin(eighth)), (along - up) / side
    i, j = torch.floor(e * rings), torch.floor(f * rings)
    outside = (e > 1) | (f > 1)
    corner = mix(torch.where(e > f, sector, sector + 1) % 8, 91)
    patch = torch.where(outside, corner, mix(sector % 8, i, j))
    return Patches(patch, torch.where(outside, 92, mix(i + j, 93)).int(), whole(u))


def clamshells(draw, u, v):
    """Rows of shells, each row covering the gaps of the one above. Held out: never drawn in training."""
    pitch = draw.scaled(2, 7)
    x, y = u / pitch, v / (pitch * 0.5)
    # discs that touch, each row half a disc aside and half a disc lower: of the two rows in reach the upper one lies on top
    row = torch.floor(y)
    centre = lambda j: torch.floor(x - 0.5 * (j % 2)) + 0.5 + 0.5 * (j % 2)
    above = (x - centre(row)).square() + ((y - row) * 0.5).square() < 0.25
    j = torch.where(above, row, row + 1)
    patch = mix(centre(j) * 2, j)
    return Patches(patch, torch.where(draw.chance(0.6), patch, mix(j % 3, 4)), whole(u))


def apple_cores(draw, u, v):
    """Axe heads: squares with two sides bent out and two bent in, turned by turns. Held out: never drawn in training."""
    pitch, bend = draw.scaled(2, 6), draw.between(0.1, 0.22)
    x, y = u / pitch, v / pitch
    bow = lambda t: bend * (4 * (t - torch.floor(t)) * (1 - (t - torch.floor(t))))
    # seam k across and seam l down bulge by turns
    i, j = torch.floor(x), torch.floor(y)
    for _ in (0, 1):
        sign = lambda k, l: torch.where((k + l) % 2 == 0, 1.0, -1.0)
        left, right = i + sign(i, j) * bow(y), i + 1 + sign(i + 1, j) * bow(y)
        i = i - (x < left).float() + (x >= right).float()
        top, low = j - sign(i, j) * bow(x), j + 1 - sign(i, j + 1) * bow(x)
        j = j - (y < top).float() + (y >= low).float()
    patch = mix(i, j)
    return Patches(patch, torch.where(draw.chance(0.5), patch, mix((i + j) % 2, 3)), whole(u))
