"""A pool of made fabrics: prints, weaves and floors, drawn on the GPU from random numbers alone.

A fabric is a square of FABRIC_SIZE samples, RGB 0..1, at about 64 samples to the inch. It is read with
mirrored wrap-around (see scenes.py), so it needs not tile. Nothing here comes from a photograph.
"""
import math

import torch
import torch.nn.functional as F

from motifs import HELD_OUT_MOTIFS, TRAINING_MOTIFS, motif_masks

FABRIC_SIZE = 512
SAMPLES_PER_INCH = 64

TRAINING_PRINTS = ("solid", "weave", "dots", "stripes", "plaid", "gingham", "check", "blobs", "floral", "chevron",
                   "trellis", "frames", "clouds", "denim", "marble", "confetti", "bands", "large_floral", "diamonds",
                   "wide_stripes", "figures") + TRAINING_MOTIFS
# Apart from plain cloth, never drawn in training: the held-out score must not depend on having seen this kind of print before.
HELD_OUT_PRINTS = ("solid", "weave", "rings", "herringbone", "scales", "tartan", "leaves") + HELD_OUT_MOTIFS
FLOORS = ("wood", "carpet", "batting", "plain", "grass")


def smooth_noise(count, channels, size, wavelength, device):
    """Gaussian noise of unit spread whose features are about `wavelength` samples wide."""
    if wavelength >= 60 and size % 4 == 0:
        # slow features need few samples: a quarter of them, drawn out smoothly
        small = smooth_noise(count, channels, size // 4, wavelength / 4, device)
        return F.interpolate(small, scale_factor=4.0, mode="bicubic", align_corners=False)
    cells = max(2, int(size / wavelength) + 3)
    coarse = torch.randn(count, channels, cells, cells, device=device)
    margin = int(wavelength) + 1
    fine = F.interpolate(coarse, size=(size + 2 * margin,) * 2, mode="bicubic", align_corners=False)
    fine = fine[..., margin:margin + size, margin:margin + size]
    return fine / (fine.std((2, 3), keepdim=True) + 1e-6)


class FabricPainter:
    """Draws groups of fabrics of one kind; each call gives `count` new ones, [count, 3, size, size]."""

    def __init__(self, device, size=FABRIC_SIZE, prints=(), compound=0.0):
        """`compound` is the share of the printed groups that get a layer of another kind among `prints` on top."""
        self.device, self.size, self.prints, self.compound = device, size, prints, compound
        axis = torch.arange(size, device=device).float()
        self.y, self.x = torch.meshgrid(axis, axis, indexing="ij")

    def uniform(self, *shape):
        return torch.rand(*shape, device=self.device)

    def one(self, count, low, high):
        return low + (high - low) * self.uniform(count, 1, 1)

    def turned(self, count, share_turned=0.35):
        """Coordinates turned by a free angle for some fabrics, along the grain for the others."""
        angle = self.one(count, 0, math.pi) * (self.uniform(count, 1, 1) < share_turned)
        return self.x * angle.cos() + self.y * angle.sin(), -self.x * angle.sin() + self.y * angle.cos()

    def period(self, count, low=8, high=140):
        """Repeat in samples, short ones more often: 8 samples = 1/8 in, 140 = 2 1/4 in."""
        return low * (high / low) ** self.uniform(count, 1, 1)

    def noise(self, count, wavelength):
        return smooth_noise(count, 1, self.size, wavelength, self.device)[:, 0]

    def scattered(self, count, period, jitter):
        """Offsets to the nearest of the jittered centres of a half-drop lattice, and a random number of that centre."""
        u, v = self.turned(count, 0.5)
        seed = torch.randint(0, 1 << 20, (count, 1, 1), device=self.device)
        column = torch.floor(u / period)
        shifted = v / period + 0.5 * (column % 2)
        row = torch.floor(shifted)
        key = column.int() * 7349 + row.int() * 9151 + seed.int()
        ru, rv, rk = (hashed(key + k * 977) for k in (1, 2, 3))
        du = (u / period - column - 0.5 + jitter * (ru - 0.5)) * period
        dv = (shifted - row - 0.5 + jitter * (rv - 0.5)) * period
        return du, dv, rk

    def masks(self, kind, n):
        """Up to three layers (0..1) that are painted over the ground in turn."""
        u, v = self.turned(n)
        p = self.period(n)
        if kind in ("solid", "weave", "plain"):
            return []
        if kind == "dots":
            du, dv, rk = self.scattered(n, p, self.one(n, 0, 0.3))
            return [(du.square() + dv.square()).sqrt() < p * self.one(n, 0.1, 0.38)]
        if kind == "confetti":
            du, dv, rk = self.scattered(n, self.period(n, 24, 90), 0.5)
            turn = rk * 2 * math.pi
            a, b = du * turn.cos() + dv * turn.sin(), -du * turn.sin() + dv * turn.cos()
            size = self.period(n, 4, 22)
            triangle = (b > -size * 0.5) & (b < size - 1.8 * a.abs())
            bar = (a.abs() < size * 1.4) & (b.abs() < size * 0.25)
            return [torch.where(self.uniform(n, 1, 1) < 0.5, triangle, bar) & (rk < 0.85)]
        if kind == "stripes":
            stripe = (u / p) % 1
            return [stripe < self.one(n, 0.06, 0.6), (stripe > 0.72) & (stripe < self.one(n, 0.7, 0.9))]
        if kind == "wide_stripes":
            # 1/4 to 1 1/2 in wide and strongly coloured: as wide as pieced strips, but without a ditch between them
            u, v = self.turned(n, 0.15)
            wander = self.noise(n, 90) * self.one(n, 0, 3)
            return [((u + wander) / self.period(n, 36, 200)) % 1 < self.one(n, 0.3, 0.65)]
        if kind == "figures":
            # little beasts: body, head and legs in one outline, some of them in a second colour
            p = self.period(n, 60, 200)
            du, dv, rk = self.scattered(n, p, self.one(n, 0, 0.4))
            a, b = torch.where(rk * 7 % 1 < 0.5, du, -du) / p, dv / p
            body = (a / 0.28).square() + (b / 0.18).square() < 1
            head = (a - 0.27).square() + (b + 0.08).square() < 0.11 ** 2
            legs = ((a.abs() - 0.15).abs() < 0.05) & (b > 0) & (b < 0.28)
            figure = body | head | legs
            return [figure, figure & (rk < self.one(n, 0, 0.6)), (a - 0.12).square() + (b + 0.03).square() < 0.07 ** 2]
        if kind == "bands":
            # a border stripe: a few wide and thin bands, then the same again after one to four inches
            p = self.period(n, 70, 260)
            stripe = (u / p) % 1
            edges = torch.sort(self.uniform(n, 6, 1, 1), 1).values
            inside = lambda a, b: (stripe > edges[:, a]) & (stripe < edges[:, b])
            return [inside(0, 1), inside(2, 3), inside(4, 5)]
        if kind in ("plaid", "tartan"):
            p = self.period(n, 24, 200)
            edges = torch.sort(self.uniform(n, 6, 1, 1), 1).values
            layer = lambda c, a, b: ((c > edges[:, a]) & (c < edges[:, b])).float()
            a, b = (u / p) % 1, (v / p) % 1
            if kind == "tartan":
                twill = (((self.x + self.y) % 6) < 3).float()
                return [layer(a, 0, 3) * twill + layer(b, 0, 3) * (1 - twill), layer(a, 4, 5) * 0.8, layer(b, 4, 5) * 0.8]
            return [0.5 * layer(a, 0, 2) + 0.5 * layer(b, 0, 2), 0.6 * layer(a, 3, 4), 0.6 * layer(b, 3, 4)]
        if kind == "gingham":
            p = self.period(n, 8, 90)
            return [0.5 * ((u / p) % 1 < 0.5).float() + 0.5 * ((v / p) % 1 < 0.5).float()]
        if kind == "check":
            return [(torch.floor(u / p) + torch.floor(v / p)) % 2]
        if kind == "blobs":
            w = float(8 * 14 ** torch.rand(()))
            return [self.noise(n, w) > self.one(n, -0.2, 1), self.noise(n, w) > self.one(n, 0.4, 1.3)]
        if kind in ("floral", "large_floral", "leaves", "rings"):
            p = self.period(n, 90, 260) if kind == "large_floral" else self.period(n, 16, 90)
            du, dv, rk = self.scattered(n, p, self.one(n, 0.1, 0.5))
            radius, angle = (du.square() + dv.square()).sqrt(), torch.atan2(dv, du) + rk * 6.28
            if kind == "rings":
                ring = (radius - p * (0.2 + 0.15 * rk)).abs()
                return [ring < p * self.one(n, 0.03, 0.1), radius < p * 0.08]
            petals = torch.randint(2, 4, (n, 1, 1), device=self.device) if kind == "leaves" else torch.randint(4, 9, (n, 1, 1), device=self.device)
            reach = p * (0.2 + 0.25 * rk) * (1 + self.one(n, 0.1, 0.5) * torch.cos(petals * angle))
            flower, heart = radius < reach, radius < reach * self.one(n, 0.2, 0.6)
            vines = self.noise(n, float(12 + 40 * torch.rand(()))).abs() < self.one(n, 0.03, 0.2)
            return [vines & ~flower, flower, heart]
        if kind == "chevron":
            return [((u + ((v / p) % 1 - 0.5).abs() * p * 1.4) / p) % 1 < self.one(n, 0.15, 0.6)]
        if kind == "herringbone":
            column = torch.floor(u / p)
            return [((v + (1 - 2 * (column % 2)) * u) / (p * 0.5)) % 1 < 0.5]
        if kind == "scales":
            row = torch.floor(v / p)
            a = ((u / p + 0.5 * (row % 2)) % 1 - 0.5)
            b = (v / p) % 1
            return [((a.square() + b.square()).sqrt() - 0.5).abs() < self.one(n, 0.02, 0.08)]
        if kind == "trellis":
            p = self.period(n, 24, 150)
            wave = self.one(n, 0, 0.3)
            a = (u / p + wave * torch.sin(2 * math.pi * v / p) / 2) % 1
            b = (v / p + wave * torch.sin(2 * math.pi * u / p) / 2) % 1
            thickness = self.one(n, 1, 5) / p
            line = (a.minimum(1 - a) < thickness) | (b.minimum(1 - b) < thickness)
            quatrefoil = (torch.cos(2 * math.pi * a) + torch.cos(2 * math.pi * b)).abs() < thickness * 8
            return [torch.where(self.uniform(n, 1, 1) < 0.5, line, quatrefoil)]
        if kind == "frames":
            # a printed panel: rectangles in rectangles with thin outlines, one to four inches wide, straight as seams
            pu, pv = self.period(n, 60, 250), self.period(n, 60, 250)
            a, b = ((u / pu) % 1 - 0.5).abs() * pu, ((v / pv) % 1 - 0.5).abs() * pv
            inset = (pu * 0.5 - a).minimum(pv * 0.5 - b)
            lines = []
            for _ in range(3):
                at, wide = self.one(n, 2, 26), self.one(n, 1, 7)
                lines.append((inset > at) & (inset < at + wide))
            return lines
        if kind == "diamonds":
            # nested diamonds or rings, thick and thin, as on rug prints
            pu, pv = self.period(n, 40, 220), self.period(n, 40, 220)
            a, b = ((u / pu) % 1 - 0.5).abs() * 2, ((v / pv) % 1 - 0.5).abs() * 2
            field = torch.where(self.uniform(n, 1, 1) < 0.7, a + b, (a.square() + b.square()).sqrt())
            lines = []
            for _ in range(3):
                at = self.one(n, 0, 1.4)
                lines.append((field > at) & (field < at + self.one(n, 0.03, 0.35)))
            return lines
        if kind in ("clouds", "carpet", "grass", "batting"):
            return []
        if kind == "denim":
            return []
        if kind == "marble":
            field = self.noise(n, float(30 + 90 * torch.rand(()))) * self.one(n, 2, 6) + u / self.period(n, 60, 400)
            return [(field % 1) < self.one(n, 0.08, 0.5), ((field * 0.5) % 1) < self.one(n, 0.05, 0.2)]
        if kind == "wood":
            p = self.period(n, 120, 300)
            return [(u / p) % 1 < 3 / p]
        return motif_masks(self, kind, n)

    def palette(self, n, kind):
        """Ground and three layer colours: free, analogous or tone on tone."""
        ground = self.uniform(n, 1, 3) * 0.9 + 0.05
        grey = ground.mean(2, keepdim=True)
        ground = grey + (ground - grey) * (1.4 * self.uniform(n, 1, 1))
        # many grounds are white, cream or nearly black
        pale = 0.82 + 0.15 * self.uniform(n, 1, 1) - torch.tensor([0.0, 0.02, 0.10], device=self.device) * self.uniform(n, 1, 1)
        shade = self.uniform(n, 1, 1)
        ground = torch.where(shade < 0.22, pale, torch.where(shade > 0.9, ground * 0.2, ground))
        if kind == "denim":
            ground = torch.tensor([0.22, 0.30, 0.42], device=self.device) * (0.5 + 1.7 * self.uniform(n, 1, 1)) + 0.05 * self.uniform(n, 1, 3)
        if kind == "wood":
            ground = torch.tensor([0.45, 0.30, 0.20], device=self.device) * (0.3 + 1.5 * self.uniform(n, 1, 1))
        if kind == "grass":
            ground = torch.tensor([0.28, 0.38, 0.14], device=self.device) * (0.4 + 1.2 * self.uniform(n, 1, 1))
        if kind == "batting":
            ground = 0.8 + 0.15 * self.uniform(n, 1, 3) * torch.tensor([1, 1, 0.8], device=self.device)
        strength = torch.where(self.uniform(n, 1, 1) < 0.3, 0.05 + 0.2 * self.uniform(n, 1, 1), 0.5 + self.uniform(n, 1, 1))
        tone_only = (self.uniform(n, 1, 1) < 0.35).float()
        change = (self.uniform(n, 3, 3) - 0.5) * 1.4
        change = change * (1 - tone_only) + change.mean(2, keepdim=True) * 1.6 * tone_only
        return torch.cat([ground, ground + change * strength], 1).clamp(0.01, 0.99)

    def paint(self, kind, n):
        colours = self.palette(n, kind)
        masks = self.masks(kind, n)
        if masks and self.compound and float(torch.rand(())) < self.compound:
            masks = masks[:2] + self.masks(self.prints[int(torch.randint(0, len(self.prints), ()))], n)[:1]
        layers = [m.float().expand(n, self.size, self.size) for m in masks]
        cloth = colours[:, 0, :, None, None].expand(n, 3, self.size, self.size)
        for k, layer in enumerate(layers):
            cloth = cloth + (colours[:, k + 1, :, None, None] - cloth) * layer[:, None]
        if kind in ("clouds", "carpet", "grass", "batting", "wood", "denim"):
            spread = {"clouds": 0.16, "carpet": 0.10, "grass": 0.16, "batting": 0.02, "wood": 0.04, "denim": 0.03}[kind]
            octaves = sum(self.noise(n, w)[:, None] * a for w, a in ((6, 0.5), (18, 0.7), (60, 1.0), (160, 1.0)))
            if kind == "clouds":
                octaves = octaves + smooth_noise(n, 3, self.size, 40, self.device) * 0.8
            cloth = cloth + spread * self.one(n, 0.3, 1.2)[:, None] * octaves
        if kind in ("denim", "wood"):
            # slubs: noise drawn out along one thread direction
            streaks = F.interpolate(torch.randn(n, 1, self.size // 2, 12, device=self.device), size=(self.size,) * 2, mode="bilinear")
            cloth = cloth * (1 + 0.10 * self.one(n, 0.2, 1.3)[:, None] * streaks.transpose(2, 3))
        if kind == "denim":
            twill = ((self.x + self.y) % 7) / 7 - 0.5
            cloth = cloth * (1 + 0.3 * self.one(n, 0, 1)[:, None] * twill) * (1 + 0.12 * self.one(n, 0, 1)[:, None] * self.noise(n, 90)[:, None])
        if kind in ("carpet", "grass"):
            cloth = cloth * (1 + 0.35 * self.one(n, 0.2, 1)[:, None] * self.noise(n, 5)[:, None])
        if kind == "weave":
            thread = torch.sin(self.x * 2.1) * torch.sin(self.y * 2.1)
            cloth = cloth * (1 + 0.12 * self.one(n, 0, 1)[:, None] * thread)
        grain = torch.randn(n, 1, self.size, self.size, device=self.device)
        return (cloth + 0.04 * self.one(n, 0, 1)[:, None] ** 2 * grain).clamp(0, 1)


def hashed(key):
    """A number in [0, 1) from an integer tensor, the same for equal keys."""
    x = key.int() * -1640531535  # 32-bit products wrap round, which is what mixes the bits
    x = ((x >> 15) & 0x1FFFF) ^ x
    x = x * 0x2C1B3C6D
    x = ((x >> 12) & 0xFFFFF) ^ x
    x = x * 0x297A2D39
    x = ((x >> 15) & 0x1FFFF) ^ x
    return (x & 0xFFFFFF).float() / 0x1000000


class FabricPool:
    """Fabrics kept on the GPU, a few of them redrawn at each step, so that a scene costs only look-ups.

    `cloth` and `floors` are [count * size * size, 4] halves (the fourth channel is unused: it keeps a sample in 8 bytes).
    """

    def __init__(self, device, count=600, floor_count=60, prints=TRAINING_PRINTS, group=6, compound=0.0):
        self.painter = FabricPainter(device, prints=prints, compound=compound)
        self.prints, self.group, self.count = prints, group, count - count % group
        pixels = FABRIC_SIZE * FABRIC_SIZE
        self.fabrics = torch.zeros(self.count + floor_count, pixels, 4, dtype=torch.float16, device=device)
        self.floor_start, self.floor_count = self.count, floor_count
        self.kinds = [None] * self.count
        self.turn = 0
        for _ in range(self.count // group):
            self.refresh()
        per_floor = floor_count // len(FLOORS)
        for k, kind in enumerate(FLOORS):
            self._store(self.count + k * per_floor, kind, per_floor)

    def slots_of(self, kinds):
        """Indices of the fabrics whose kind is among `kinds`."""
        return torch.tensor([k for k, kind in enumerate(self.kinds) if kind in kinds], device=self.painter.device)

    def _store(self, start, kind, n):
        self.fabrics[start:start + n, :, :3] = self.painter.paint(kind, n).permute(0, 2, 3, 1).reshape(n, -1, 3).half()

    def refresh(self):
        """Redraws one group; the kinds come in turn, so every kind keeps its share."""
        slot = self.turn % (self.count // self.group)
        # the stride keeps a slot from always holding the same kind
        kind = self.prints[(self.turn + self.turn // (self.count // self.group)) % len(self.prints)]
        self._store(slot * self.group, kind, self.group)
        self.kinds[slot * self.group:(slot + 1) * self.group] = [kind] * self.group
        self.turn += 1
