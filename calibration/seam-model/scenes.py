"""Made pictures of pieced quilts with exact seams: what the seam network is trained and scored on.

A scene is laid out in inches (layouts.py), cut from made fabrics (fabrics.py), and sampled at 2 x 2 points per pixel, so
that edges are smooth and the label is centred: both samples beside a boundary are marked, hence the label is symmetric
about the true seam and pixel (i, j) of picture and label is the same place. Then light, cloth relief, quilting threads,
lens, noise and compression are put on at 1 x.
"""
import math
from dataclasses import dataclass

import torch
import torch.nn.functional as F

from fabrics import FABRIC_SIZE, SAMPLES_PER_INCH, hashed, smooth_noise
from layouts import FAR, Draw, mix
from overlays import applique, clutter
from patterns import TRAINING_LAYOUTS

SEAM_WIDTH_PX = 3
JUNCTION_SIGMA_PX = 3.0
# An appliqué's edge is no seam, but looks much like one: a slip there costs less than elsewhere.
LEFT_ALONE_WEIGHT = 0.6


@dataclass
class Scenes:
    picture: torch.Tensor   # [n, 3, size, size], 0..1 in steps of 1/255, as a decoder gives it
    seam: torch.Tensor      # [n, 1, size, size], 0..1: share of the pixel within 1.5 px of a seam
    junction: torch.Tensor  # [n, 1, size, size], exp(-d²/2σ²) to the nearest point where three or more patches meet
    weight: torch.Tensor    # [n, 1, size, size], 0 where a seam cannot be seen by anyone, else 1
    centre: torch.Tensor    # [n, 1, size, size] bool: pixels that touch a seam (for scores)
    same_fabric: torch.Tensor  # as centre: seams between two patches of one fabric
    direction: torch.Tensor  # [n, 2, size, size], cos 2θ and sin 2θ of the seam's run at seam pixels, shorter where seams meet
    left_alone: torch.Tensor  # as centre: edges of appliqué and of things on the quilt, which are no seams


@dataclass
class Wishes:
    """What kind of scenes to make; the defaults are the training mix."""
    layouts: tuple = TRAINING_LAYOUTS
    fabric: str = "mixed"      # mixed, solids, prints or denim
    fabrics_per_scene: tuple = (1, 2, 2, 3, 4, 5, 6, 8, 8, 8)
    px_per_inch: tuple = (20.0, 60.0)
    quilting: float = 1.0      # multiplies the share of scenes with threads across the patches
    outline: float = 0.35      # share of scenes with a border or the quilt's end
    applique: float = 0.12     # share of scenes with shapes sewn on top
    clutter: float = 0.06      # share of scenes with hands, rollers or clamps at the edge
    shadows: float = 0.15      # share of scenes with hard cast shadows
    worn: float = 0.22         # share of scenes drawn together to low contrast
    smeared: float = 0.25      # share of scenes whose blur grows toward one side, as at a wide angle


def gaussian_blur(z, sigma_x, sigma_y, reach):
    """Blurs each picture of [n, c, h, w] with its own widths (px), given as [n]."""
    n, c, h, w = z.shape
    taps = torch.arange(-reach, reach + 1, device=z.device).float()
    kernel = lambda s: torch.softmax(-taps.square()[None] / (2 * s[:, None].square()), 1).repeat_interleave(c, 0)
    z = z.reshape(1, n * c, h, w)
    z = F.conv2d(F.pad(z, (reach, reach, 0, 0), mode="replicate"), kernel(sigma_x)[:, None, None, :], groups=n * c)
    z = F.conv2d(F.pad(z, (0, 0, reach, reach), mode="replicate"), kernel(sigma_y)[:, None, :, None], groups=n * c)
    return z.view(n, c, h, w)


def boundaries(numbers):
    """Marks both samples beside each change of `numbers` [n, h, w]: a band two samples wide, centred on the boundary."""
    across, down = numbers[:, :, 1:] != numbers[:, :, :-1], numbers[:, 1:] != numbers[:, :-1]
    mark = torch.zeros_like(numbers, dtype=torch.float32)
    mark[:, :, 1:] += across
    mark[:, :, :-1] += across
    mark[:, 1:] += down
    mark[:, :-1] += down
    return (mark > 0).float()[:, None]


def widen(band):
    """Two samples more on each side, in an octagon: from one to three pixels wide at 2 x 2 samples."""
    return torch.maximum(F.max_pool2d(band, (5, 3), 1, (2, 1)), F.max_pool2d(band, (3, 5), 1, (1, 2)))


def meeting_points(numbers):
    """Sample corners (k, l) whose four samples belong to three or more patches; corner k lies at pixel k / 2."""
    a, b, c, d = numbers[:, :-1, :-1], numbers[:, :-1, 1:], numbers[:, 1:, :-1], numbers[:, 1:, 1:]
    kinds = 1 + (b != a).int() + ((c != a) & (c != b)).int() + ((d != a) & (d != b) & (d != c)).int()
    return kinds >= 3


def seam_direction(seam):
    """Double-angle direction of the lines in `seam` [n, 1, h, w], from the smoothed structure tensor (Bigün and Granlund, 1987)."""
    n = len(seam)
    sigma = torch.full((n,), 1.2, device=seam.device)
    soft = gaussian_blur(seam, sigma, sigma, 4)
    gx = F.pad(soft[..., 2:] - soft[..., :-2], (1, 1, 0, 0))
    gy = F.pad(soft[..., 2:, :] - soft[..., :-2, :], (0, 0, 1, 1))
    tensor = gaussian_blur(torch.cat([gy.square() - gx.square(), -2 * gx * gy, gx.square() + gy.square()], 1), sigma * 1.7, sigma * 1.7, 6)
    return tensor[:, :2] / (tensor[:, 2:] + 1e-4) * (seam > 0)


def rim(mask):
    """The pixels along the edge of a region given at 2 x 2 samples, four samples wide."""
    mask = mask.float()[:, None]
    return F.avg_pool2d(F.max_pool2d(mask, 5, 1, 2) + F.max_pool2d(-mask, 5, 1, 2), 2) > 0.2


def junction_heat(points):
    """The largest exp(-d²/2σ²) over all meeting points, exactly at pixel centres, by a separable maximum."""
    reach, width = 16, 2 * JUNCTION_SIGMA_PX
    log = torch.where(points, 0.0, -50.0)
    for axis in (2, 1):
        padded = F.pad(log, (reach, reach + 1, 0, 0) if axis == 2 else (0, 0, reach, reach + 1), value=-50.0)
        best = None
        for k in range(-reach, reach + 1):
            moved = padded[:, :, reach + k:][:, :, :log.shape[2] + 1:2] if axis == 2 else padded[:, reach + k:][:, :log.shape[1] + 1:2]
            moved = moved - k * k / (2 * width * width)
            best = moved if best is None else torch.maximum(best, moved)
        log = best
    return log.exp()[:, None]


@dataclass
class Lot:
    """Scenes as they are kept to be trained on more than once: bytes."""
    picture: torch.Tensor
    labels: torch.Tensor  # seam, junction, weight

    @staticmethod
    def of(scenes):
        in_bytes = lambda z: (z * 255).round().to(torch.uint8)
        return Lot(in_bytes(scenes.picture), in_bytes(torch.cat([scenes.seam, scenes.junction, scenes.weight], 1)))


class Shelf:
    """The latest scenes, drawn from at random, turned and recoloured each time: cheaper than a new scene for each use."""

    def __init__(self, room, size, device):
        self.picture = torch.zeros(room, 3, size, size, dtype=torch.uint8, device=device)
        self.labels = torch.zeros(room, 3, size, size, dtype=torch.uint8, device=device)
        self.room, self.put_so_far = room, 0

    def put(self, scenes):
        lot = Lot.of(scenes)
        at = (self.put_so_far + torch.arange(len(lot.picture), device=self.picture.device)) % self.room
        self.picture[at], self.labels[at] = lot.picture, lot.labels
        self.put_so_far += len(lot.picture)

    def take(self, n):
        """A batch: picture, and seam, junction, weight; each scene with its own mirror, light, colours and noise, one turn for all."""
        device = self.picture.device
        at = torch.randint(0, min(self.room, self.put_so_far), (n,), device=device)
        turns, mirror = int(torch.randint(0, 4, ())), bool(torch.rand(()) < 0.5)
        move = lambda z: torch.rot90(z.flip(3) if mirror else z, turns, (2, 3))
        picture, labels = move(self.picture[at]).float() / 255, move(self.labels[at]).float() / 255
        order = torch.rand(n, 3, device=device).argsort(1)[:, :, None, None].expand(-1, -1, *picture.shape[2:])
        picture = picture.gather(1, order) if torch.rand(()) < 0.7 else picture
        uniform = lambda: torch.rand(n, 1, 1, 1, device=device)
        picture = picture ** (0.8 + 0.5 * uniform())
        picture = picture * (0.85 + 0.3 * uniform()) + 0.06 * (uniform() - 0.5)
        picture = picture + torch.randn_like(picture) * 0.02 * uniform().square()
        return (picture.clamp(0, 1) * 255).round() / 255, labels[:, :1], labels[:, 1:2], labels[:, 2:]


class SceneMaker:
    """Makes batches of scenes from a fabric pool. All randomness is PyTorch's on the pool's device."""

    GROUPS = 8  # scenes of a batch that share a layout are drawn together

    def __init__(self, pool, size=256):
        self.pool, self.size, self.device = pool, size, pool.painter.device
        axis = (torch.arange(2 * size, device=self.device).float() + 0.5) / 2 - 0.5  # in pixels
        self.fine_y, self.fine_x = torch.meshgrid(axis, axis, indexing="ij")
        axis = torch.arange(size, device=self.device).float()
        self.y, self.x = torch.meshgrid(axis, axis, indexing="ij")

    def make(self, n, wishes=Wishes()):
        draw = Draw(n, self.device)
        cloth, patch, fabric, ppi, shape, thing = self._piece(draw, wishes)
        raised = F.avg_pool2d(shape.float()[:, None], 2)
        bare = (~(shape | thing)).float()[:, None]
        seam_band, fabric_band = boundaries(patch) * bare, boundaries(fabric) * bare
        seam, visible_by_colour = F.avg_pool2d(widen(seam_band).float(), 2), F.avg_pool2d(widen(fabric_band).float(), 2)
        hidden = F.max_pool2d(1 - bare, 3, 1, 1)[:, 0, :-1, :-1] > 0
        junction = junction_heat(meeting_points(patch) & ~hidden)
        line = F.avg_pool2d(seam_band.float(), 2)
        pressed = F.avg_pool2d(hashed(patch + 5)[:, None], 2) - 0.5
        picture = F.avg_pool2d(cloth, 2)
        picture, flat = self._light(draw, picture, line, pressed, raised, F.avg_pool2d(thing.float()[:, None], 2), ppi, wishes)
        picture = self._camera(draw, picture, wishes)
        # one solid on both sides and no shadow at all: nobody can see that seam, so it is not scored
        weight = 1 - flat * (seam - visible_by_colour).clamp(0, 1)
        left_alone = (rim(shape) | rim(thing)) & (seam == 0)
        weight = weight * torch.where(left_alone, LEFT_ALONE_WEIGHT, 1.0)
        centre = line > 0
        same = centre & (F.avg_pool2d(F.max_pool2d(fabric_band.float(), 5, 1, 2), 2) == 0)
        return Scenes(picture, seam, junction, weight, centre, same, seam_direction(seam), left_alone)

    # ---- piecing -------------------------------------------------------------------------------------------------

    def _piece(self, draw, wishes):
        n = draw.n
        ppi = draw.scaled(*wishes.px_per_inch)
        # wobble of piecing and unevenness of cloth: up to about 1/8 in over one to eight inches
        warp = smooth_noise(n, 2, 2 * self.size, 110, self.device) * (draw.between(0, 0.05) * draw.between(0, 1))[:, None]
        warp = warp + smooth_noise(n, 2, 2 * self.size, 400, self.device) * draw.between(0, 0.10)[:, None]
        x, y = (self.fine_x - self.size / 2) / ppi + warp[:, 0], (self.fine_y - self.size / 2) / ppi + warp[:, 1]
        turn = torch.where(draw.chance(0.25), draw.between(-0.3, 0.3), torch.randn(n, 1, 1, device=self.device) * 0.02)
        turn = turn + torch.where(draw.chance(0.08), draw.between(0, 3.14), draw.between(0, 0))
        shear, stretch = draw.between(-0.03, 0.03), draw.between(0.93, 1.07)
        s, t = (x * turn.cos() + y * turn.sin()) * stretch, -x * turn.sin() + y * turn.cos() + shear * x
        on_point = math.pi / 4 * draw.chance(0.2)
        u, v = s * on_point.cos() + t * on_point.sin() + draw.between(0, 500), -s * on_point.sin() + t * on_point.cos() + draw.between(0, 500)

        group = -(-n // self.GROUPS)
        shares = torch.tensor([float(share) for _, share in wishes.layouts])
        parts = []
        for start in range(0, n, group):
            m = min(group, n - start)
            layout = wishes.layouts[torch.multinomial(shares, 1).item()][0]
            own = Draw(m, self.device)
            own.on_point = on_point[start:start + m] > 0
            parts.append(layout(own, u[start:start + m], v[start:start + m]))
        patch = torch.cat([p.patch.expand_as(u[:1].expand(p.patch.shape[0], -1, -1)) for p in parts])
        role = torch.cat([p.role.expand(-1, *u.shape[1:]) for p in parts])
        inset = torch.cat([p.inset for p in parts])
        patch, role, inset, floor = self._edge(draw, s, t, patch, role, inset, wishes)

        choice = self._choice(draw, wishes)
        fabric = choice(role)
        base_patch, base_fabric = patch, fabric
        patch, fabric, inset, shape, shape_stitch = self._applique(u, v, patch, fabric, inset, choice, floor, wishes)
        # each patch has its own crop and direction of its fabric
        free = draw.chance(0.2)
        angle = torch.floor(hashed(patch + 1) * 4) * (math.pi / 2) + torch.where(free, hashed(patch + 2) * 6.28, draw.between(-0.02, 0.02))
        scale = SAMPLES_PER_INCH * (0.6 + 0.9 * hashed(fabric + 3))
        c, d = angle.cos() * scale, angle.sin() * scale
        a = ((u % 40) * c + (v % 40) * d + hashed(patch + 3) * 3000).int() & (2 * FABRIC_SIZE - 1)
        b = ((v % 40) * c - (u % 40) * d + hashed(patch + 4) * 3000).int() & (2 * FABRIC_SIZE - 1)
        a, b = a.minimum(2 * FABRIC_SIZE - 1 - a), b.minimum(2 * FABRIC_SIZE - 1 - b)
        bare_floor = self.pool.floor_start + draw.whole(0, self.pool.floor_count - 1)
        fabric = torch.where(floor, bare_floor, fabric)
        at = fabric.long() * (FABRIC_SIZE * FABRIC_SIZE) + (b * FABRIC_SIZE + a)
        cloth = self.pool.fabrics.view(-1, 4)[at][..., :3].permute(0, 3, 1, 2).float()

        # printed frames: lines along the edges of a patch but inside it, as on panels; they are print, not seams
        framed = draw.chance(0.22) & (hashed(patch + 8) < draw.between(0.3, 1)) & ~floor
        narrow = draw.scaled(0.2, 1)
        for k in range(5):
            own = draw.between(0, 1) * hashed(patch + 20 + k)
            at_inset, wide = 0.05 + (draw.between(0, 0.6) + own * 0.3) * narrow, draw.scaled(0.03, 0.3) * narrow
            line = framed & (inset > at_inset) & (inset < at_inset + wide)
            colour = torch.stack([hashed(patch + 30 + k * 3 + i) if k == 1 else draw.between(0, 1).expand_as(own) for i in range(3)], 1)
            cloth = torch.where(line[:, None], colour, cloth)
        # lots of one dye differ a little
        cloth = cloth * (1 + (hashed(patch + 9) - 0.5) * draw.between(0, 0.12) * draw.chance(0.5))[:, None]
        if shape_stitch is not None:
            covered, colour = shape_stitch
            cloth[:len(covered)] = torch.where(covered[:, None], colour, cloth[:len(covered)])
        thing = torch.zeros_like(floor)
        count = self._share(n, wishes.clutter)
        if count:
            where, colour = clutter(Draw(count, self.device), self.fine_x, self.fine_y, self.size, ppi[-count:])
            cloth[-count:] = torch.where(where[:, None], colour, cloth[-count:])
            thing[-count:] = where
        return cloth, base_patch, base_fabric, ppi, shape, thing

    def _share(self, n, share):
        return min(n, int(n * share + float(torch.rand(()))))

    def _applique(self, u, v, patch, fabric, inset, choice, floor, wishes):
        """Shapes on top of the first scenes: own patch number and fabric, and now and then a row of close stitches along the edge."""
        shape = torch.zeros_like(floor)
        count = self._share(len(u), wishes.applique)
        if not count:
            return patch, fabric, inset, shape, None
        own = Draw(count, self.device)
        inside, number = applique(own, u[:count], v[:count])
        over = (inside > 0) & ~floor[:count]
        role = mix(number % 2, torch.where(own.chance(0.5), number % 3, number * 0), 777)
        cut = choice(role.int(), count)
        shape[:count] = over
        put = lambda z, value: torch.cat([torch.where(over, value, z[:count]), z[count:]])
        wide = own.between(0.03, 0.12)
        stitched = (inside.abs() < wide) & own.chance(0.35) & ~floor[:count]
        colour = torch.rand(count, 3, 1, 1, device=self.device)
        return put(patch, number.int()), put(fabric, cut), put(inset, torch.full_like(u[:count], FAR)), shape, (stitched, colour)

    def _edge(self, draw, s, t, patch, role, inset, wishes):
        """Borders and binding along one side or round one corner, and floor or batting beyond some of them."""
        reach = self.size / 2 / 34
        has = draw.chance(wishes.outline)
        flip = lambda z: torch.where(draw.chance(0.5), z, -z)
        swap = draw.chance(0.5)
        p, q = flip(torch.where(swap, s, t)), flip(torch.where(swap, t, s))
        p = p - draw.between(-0.8, 0.9) * reach
        q = torch.where(draw.chance(0.4), q - draw.between(-0.8, 0.9) * reach, -FAR)
        outer = p.maximum(q)
        level = torch.full_like(outer, -1)
        level_edge = torch.zeros(draw.n, 1, 1, device=self.device)
        for k in range(4):
            # any number of borders; the last is often the binding, 1/4 to 3/8 in wide
            level = torch.where(outer > level_edge, torch.full_like(level, k), level)
            wide = torch.where(draw.chance(0.35), draw.between(0, 0), torch.where(draw.chance(0.3), draw.between(0.22, 0.4), draw.scaled(0.6, 6)))
            level_edge = level_edge + (wide if k < 3 else 0)
        floor = has & (outer > level_edge) & draw.chance(0.75)
        mitred = draw.chance(0.4)
        side = torch.where(mitred, p > q, p > 0).int()
        in_border = has & (level >= 0)
        patch = torch.where(in_border, mix(level, side, 4242), patch)
        role = torch.where(in_border, mix(level, 4243), role)
        patch = torch.where(floor, torch.full_like(patch, 31337), patch)
        return patch, role, torch.where(in_border | floor, FAR, inset), floor

    def _choice(self, draw, wishes):
        """Chooses few or many fabrics for each scene; answers with what gives every role one of them, an index into the pool."""
        n, pool = draw.n, self.pool
        kinds = {"solids": ("solid", "weave"), "denim": ("denim",)}.get(wishes.fabric)
        everything = torch.arange(pool.count, device=self.device)
        if wishes.fabric == "prints":
            everything = pool.slots_of([k for k in pool.prints if k not in ("solid", "weave")])
        choose = lambda slots: (slots if len(slots) else everything)[torch.randint(0, len(slots) or len(everything), (n, 8), device=self.device)]
        table = choose(pool.slots_of(kinds) if kinds else everything)
        if wishes.fabric == "mixed":
            style = torch.rand(n, 1, device=self.device)
            table = torch.where(style < 0.16, choose(pool.slots_of(("solid", "weave"))), table)
            table = torch.where((style > 0.16) & (style < 0.25), choose(pool.slots_of(("denim",))), table)
            frames = choose(pool.slots_of(("frames", "trellis", "bands", "stripes", "diamonds", "wide_stripes", "wide_stripes")))
            table = torch.where((style > 0.25) & (style < 0.36), frames, table)
            # a plain companion among the prints
            plain = choose(pool.slots_of(("solid", "weave")))
            table[:, 0] = torch.where(torch.rand(n, device=self.device) < 0.4, plain[:, 0], table[:, 0])
        count, seed = draw.pick(list(wishes.fabrics_per_scene)), draw.seed()

        def choice(role, first=n):
            which = torch.floor(hashed(role + seed[:first]) * count[:first] * 0.9999).long().clamp(0, 7)
            return table[:first].gather(1, which.view(first, -1)).view(which.shape).int()

        return choice

    # ---- cloth relief, threads and light -------------------------------------------------------------------------

    def _light(self, draw, picture, line, pressed, raised, thing, ppi, wishes):
        n = draw.n
        b4 = lambda z: z[:, None]
        amount = lambda share, low, high: b4(torch.where(draw.chance(share), draw.between(low, high), draw.between(0, 0)))
        # tone on tone and faded cloth: the whole scene drawn together
        middle = picture.mean((1, 2, 3), keepdim=True)
        fade = b4(torch.where(draw.chance(wishes.worn), draw.scaled(0.12, 1), draw.between(1, 1)))
        picture = middle + (picture - middle) * fade
        inch = ppi.view(n)
        flat = b4(draw.chance(0.06)).float()
        # the ditch: 0.02 to 0.1 in wide, deep or hardly there, fading along its way
        width = (draw.between(0.02, 0.08).view(n) * inch).clamp(0.5, 4)
        ditch = gaussian_blur(line, width, width, 12)
        ditch = ditch / (ditch.amax((2, 3), keepdim=True) + 1e-3)
        fading = torch.sigmoid(smooth_noise(n, 1, self.size, 60, self.device) * 2 + 1.5)
        ditch = ditch * torch.where(b4(draw.chance(0.5)), fading, torch.ones_like(fading)) * (1 - flat)
        shoulder = gaussian_blur(line, inch * 0.10, inch * 0.10, 14)
        relief = -ditch * b4(draw.between(0.15, 1.6)) + pressed * shoulder * amount(0.6, 0, 12) * (1 - flat)
        pucker = smooth_noise(n, 1, self.size, 14, self.device) * (0.3 + shoulder * 4) * amount(0.5, 0, 0.5)
        folds = smooth_noise(n, 1, self.size, 70, self.device) * amount(0.5, 0, 3)
        relief = relief + pucker + folds + gaussian_blur(raised, inch * 0.03, inch * 0.03, 6) * amount(0.8, 0.5, 4)

        groove, thread = (z * (1 - thing) for z in self._quilting(draw, line, ppi, wishes))
        relief = relief - groove * amount(0.75, 0.1, 1.3)
        picture = picture + thread * (torch.rand(n, 3, 1, 1, device=self.device) - picture)

        direction = draw.between(0, 2 * math.pi)
        slope_x = F.pad(relief[..., 2:] - relief[..., :-2], (1, 1, 0, 0)) / 2
        slope_y = F.pad(relief[..., 2:, :] - relief[..., :-2, :], (0, 0, 1, 1)) / 2
        shade = slope_x * b4(direction.cos()) + slope_y * b4(direction.sin())
        shade = 1 + shade * b4(draw.between(0.02, 0.30)) - ditch * b4(0.05 + 0.5 * draw.between(0, 1) ** 2)
        shade = shade - groove * amount(0.6, 0, 0.25)
        # lamp, window and cast shadows, soft or hard: light and dark that is no seam
        ramp = (self.x / self.size - 0.5) * draw.between(-0.5, 0.5) + (self.y / self.size - 0.5) * draw.between(-0.5, 0.5)
        shadow = torch.sigmoid((smooth_noise(n, 1, self.size, 110, self.device) - b4(draw.between(-1, 1))) * b4(draw.scaled(1.5, 30)))
        shadow = shadow.maximum(self._hard_shadow(draw, thing, ppi, wishes))
        light = (1 + b4(ramp)) * (1 - shadow * amount(0.35, 0, 0.65)) * (1 + smooth_noise(n, 1, self.size, 150, self.device) * amount(0.4, 0, 0.12))
        tint = 1 + (torch.rand(n, 3, 1, 1, device=self.device) - 0.5) * b4(draw.between(0, 0.5))
        picture = picture * shade.clamp(0.2, 2) * light * tint * b4(draw.between(0.7, 1.3))
        grey = picture.mean(1, keepdim=True)
        picture = grey + (picture - grey) * b4(draw.between(0.6, 1.35))
        return picture.clamp(1e-4, 1.2) ** b4(draw.scaled(0.75, 1.35)), flat

    def _hard_shadow(self, draw, thing, ppi, wishes):
        """Shadows with straight edges, as of a rail, a window bar or a roof, sharp or a little soft; and those of things on the quilt."""
        angle, at = draw.between(0, 2 * math.pi), draw.between(-0.4, 0.4) * self.size
        across = (self.x - self.size / 2) * angle.cos() + (self.y - self.size / 2) * angle.sin() - at
        soft = draw.scaled(0.4, 8)
        wide = torch.where(draw.chance(0.4), draw.scaled(0.4, 5) * ppi, draw.between(FAR, FAR) * 10)
        half = torch.sigmoid(across / soft) * torch.sigmoid((wide - across) / soft)
        cast = F.pad(thing, (12, 0, 9, 0))[..., :-9, :-12]
        return (half * draw.chance(wishes.shadows))[:, None].maximum(cast * (1 - thing) * draw.chance(0.6)[:, None])

    def _quilting(self, draw, line, ppi, wishes):
        """Stitching that is no seam: meanders, parallel lines, waves, grids, arcs, echo lines. Groove and thread, 0..1."""
        n = draw.n
        share = 0.42 * wishes.quilting
        inch = ppi
        field = smooth_noise(n, 1, self.size, float(14 + 40 * torch.rand(())), self.device)[:, 0]
        gx, gy = F.pad(field[..., 2:] - field[..., :-2], (1, 1)) / 2, F.pad(field[:, 2:] - field[:, :-2], (0, 0, 1, 1)) / 2
        meander = (field - draw.between(-0.7, 0.7)).abs() / (gx.square() + gy.square()).sqrt().clamp(min=0.01)
        angle, pitch = draw.between(0, 3.14), draw.scaled(0.16, 2.5) * inch
        a, b = self.x * angle.cos() + self.y * angle.sin(), -self.x * angle.sin() + self.y * angle.cos()
        wave = draw.between(0, 0.4) * inch * draw.chance(0.5)
        aw = a + wave * torch.sin(b / inch * draw.between(0.5, 5))
        to_line = lambda z: (((z / pitch + draw.between(0, 1)) % 1) - 0.5).abs() * pitch
        parallel = to_line(aw)
        crossed = parallel.minimum(to_line(b))
        row = torch.floor(b / pitch)
        ca, cb = ((a / pitch + 0.5 * (row % 2)) % 1 - 0.5), (b / pitch) % 1
        radius = (ca.square() + cb.square()).sqrt()
        arcs = ((radius % 0.25) - 0.125).abs() * pitch 
        style = torch.rand(n, 1, 1, device=self.device)
        distance = torch.where(style < 0.45, meander, torch.where(style < 0.62, parallel, torch.where(style < 0.78, crossed, arcs)))
        # echo and top stitching, a set distance from the seams
        echo_reach = int(torch.randint(3, 13, ()))
        near = F.max_pool2d(line, 2 * echo_reach + 1, 1, echo_reach)
        echo = (near - F.max_pool2d(line, 2 * echo_reach - 1, 1, echo_reach - 1))[:, 0].clamp(0, 1)
        on = draw.chance(share).float()
        width = (draw.between(0.012, 0.05) * inch).clamp(0.5, 2.2)
        groove = torch.exp(-(distance / width).square()) * on
        echo = echo * draw.chance(0.14 * wishes.quilting)
        groove = groove.maximum(echo)
        stitch = draw.between(0.07, 0.15) * inch
        dashes = torch.sigmoid(8 * (torch.sin((self.x + 0.7 * self.y) / stitch * 6.28) + draw.between(-0.3, 1.2)))
        thread = groove * dashes * draw.between(0, 0.9) * draw.chance(0.7)
        return groove[:, None], thread[:, None]

    # ---- camera --------------------------------------------------------------------------------------------------

    def _camera(self, draw, picture, wishes):
        n = draw.n
        # toward one side the blur grows, mostly along one axis: what a wide angle seen aslant becomes when it is rectified
        count = self._share(n, wishes.smeared)
        if count:
            own = Draw(count, self.device)
            wide, shape = own.scaled(1, 4).view(count), own.scaled(0.35, 2.8).view(count)
            far = gaussian_blur(picture[-count:], (wide * shape).clamp(0.3, 4), (wide / shape).clamp(0.3, 4), 9)
            angle = own.between(0, 2 * math.pi)
            ramp = ((self.x / self.size - 0.5) * angle.cos() + (self.y / self.size - 0.5) * angle.sin() + own.between(-0.2, 0.6)).clamp(0, 1)[:, None]
            picture = torch.cat([picture[:-count], picture[-count:] + (far - picture[-count:]) * ramp])
        sigma = draw.scaled(0.25, 1.5).view(n)
        unequal = torch.where(draw.chance(0.35), draw.scaled(0.5, 2), draw.between(1, 1)).view(n)
        picture = gaussian_blur(picture, (sigma * unequal).clamp(0.2, 2.2), (sigma / unequal).clamp(0.2, 2.2), 7)
        half = n // 2
        # half of the scenes are taken at a lower or other resolution and resampled, as rectification does
        low = int(self.size * float(0.4 + 0.7 * torch.rand(()))) // 8 * 8
        low_y = max(int(low * float(0.75 + 0.5 * torch.rand(()))) // 8, 12) * 8
        small = F.interpolate(picture[:half], size=(low_y, low), mode="bilinear", antialias=low < self.size, align_corners=False)
        small = self._sensor(Draw(half, self.device), small)
        back = F.interpolate(small, size=(self.size, self.size), mode="bicubic", antialias=low > self.size, align_corners=False)
        straight = self._sensor(Draw(n - half, self.device), picture[half:])
        return (torch.cat([back, straight]).clamp(0, 1) * 255).round() / 255

    def _sensor(self, draw, picture):
        """Noise, sharpening and compression in blocks of eight pixels."""
        n = draw.n
        b4 = lambda z: z[:, None]
        noise = torch.randn_like(picture)
        noise = noise * 0.5 + 0.5 * noise.mean(1, keepdim=True) * 1.7
        picture = picture + noise * b4(draw.between(0, 0.18) ** 2)
        soft = F.avg_pool2d(picture, 3, 1, 1, count_include_pad=False)
        picture = picture + (picture - soft) * b4(torch.where(draw.chance(0.4), draw.between(0, 1.2), draw.between(0, 0)))
        return torch.where(b4(draw.chance(0.6)), block_compressed(picture.clamp(0, 1), draw), picture).clamp(0, 1)


def block_compressed(picture, draw):
    """Quantises 8 × 8 cosine blocks of brightness and (at half resolution) of colour, as JPEG does."""
    n, _, h, w = picture.shape
    device = picture.device
    k, i = torch.arange(8, device=device).float(), torch.arange(8, device=device).float()
    basis = torch.cos((2 * i[None] + 1) * k[:, None] * math.pi / 16) * torch.where(k == 0, math.sqrt(1 / 8), 0.5)[:, None]
    red, green, blue = picture.unbind(1)
    bright = 0.299 * red + 0.587 * green + 0.114 * blue
    chroma = torch.stack([blue - bright, red - bright], 1)
    if h % 16 == 0 and w % 16 == 0:
        chroma = F.avg_pool2d(chroma, 2)
    coarseness = draw.scaled(0.004, 0.06)[..., None, None]
    step = coarseness * (1 + 0.6 * (k[:, None] + k[None, :]))[None, None, :, None, :]

    def quantised(plane, factor):
        m, rows, columns = plane.shape
        tiles = plane.view(m, rows // 8, 8, columns // 8, 8)
        waves = torch.einsum("ai,mrics,bs->mracb", basis, tiles, basis)
        size = step.repeat_interleave(m // n, 0) * factor
        waves = torch.round(waves / size) * size
        return torch.einsum("ai,mracb,bs->mrics", basis, waves, basis).reshape(m, rows, columns)

    bright = quantised(bright, 1.0)
    chroma = quantised(chroma.reshape(-1, *chroma.shape[2:]), 1.5).view(chroma.shape)
    if chroma.shape[2] != h:
        chroma = F.interpolate(chroma, scale_factor=2.0, mode="bilinear", align_corners=False)
    blue, red = chroma[:, 0] + bright, chroma[:, 1] + bright
    return torch.stack([red, (bright - 0.299 * red - 0.114 * blue) / 0.587, blue], 1)
