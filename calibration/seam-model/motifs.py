"""More kinds of print for fabrics.py: florals, novelty, geometric and hand-drawn ones, each as layers (0..1) for a FabricPainter."""
import math

import torch

TRAINING_MOTIFS = ("ogee", "honeycomb", "brush", "waves", "medallions", "fruit", "stars", "shaded", "lettering", "basket",
                   "feathers", "toile", "tone_on_tone", "bouquets")
HELD_OUT_MOTIFS = ("sprigs", "batik", "paisley", "ikat", "argyle")


def polar(du, dv, turn):
    return (du.square() + dv.square()).sqrt(), torch.atan2(dv, du) + turn


def leaf(a, b, length, width):
    """A pointed leaf along a: the overlap of two discs."""
    return b.abs() < width * (1 - (a / length).square())


def motif_masks(painter, kind, n):
    one, uniform = painter.one, painter.uniform
    u, v = painter.turned(n)
    p = painter.period(n)
    pick = lambda first, second, share=0.5: torch.where(uniform(n, 1, 1) < share, first.float(), second.float())
    if kind == "ogee":
        p = painter.period(n, 30, 200)
        a, b = u / p, v / (p * one(n, 0.8, 1.6))
        field = torch.cos(2 * math.pi * a) + torch.cos(2 * math.pi * b)
        line = one(n, 0.05, 0.35)
        return [(field % 1.0) < line, field > one(n, 0.9, 1.5), field.abs() < line * 0.6]
    if kind == "honeycomb":
        p = painter.period(n, 14, 150)
        three = [((u * math.cos(k) + v * math.sin(k)) / p) for k in (0.0, math.pi / 3, -math.pi / 3)]
        near = torch.stack([(z % 1 - 0.5).abs() for z in three])
        low = torch.sort(near, 0).values
        return [low[1] < one(n, 0.05, 0.22), low[2] < one(n, 0.1, 0.3)]
    if kind == "brush":
        # strokes of a wide brush: streaks cut by slow noise
        streak = painter.noise(n, 40) + torch.sin(v / painter.period(n, 3, 12) + painter.noise(n, 30)) * one(n, 0.1, 0.8)
        return [streak > one(n, 0, 0.8), streak < -one(n, 0.3, 1.2), (streak - 0.2).abs() < 0.06]
    if kind == "waves":
        p = painter.period(n, 10, 90)
        bend = one(n, 0.1, 0.6) * p * torch.sin(u / painter.period(n, 8, 60)) + painter.noise(n, 60) * one(n, 0, 4)
        stripe = ((v + bend) / p) % 1
        return [stripe < one(n, 0.08, 0.55), (stripe > 0.7) & (stripe < 0.8)]
    if kind == "medallions":
        p = painter.period(n, 60, 300)
        du, dv, rk = painter.scattered(n, p, one(n, 0, 0.1))
        radius, angle = polar(du, dv, 0)
        scallop = radius / p * (1 + 0.12 * torch.cos(angle * torch.randint(6, 17, (n, 1, 1), device=u.device)))
        rings = (scallop * one(n, 6, 14)) % 1 < one(n, 0.2, 0.6)
        return [(scallop < 0.46), rings & (scallop < 0.44), scallop < 0.1]
    if kind == "fruit":
        p = painter.period(n, 30, 140)
        du, dv, rk = painter.scattered(n, p, one(n, 0.1, 0.5))
        ball = (du.square() + (dv * one(n, 0.8, 1.3)).square()).sqrt() < p * 0.3
        stalk = ((du - dv * 0.3).abs() < p * 0.03) & (dv < 0) & (dv > -p * 0.45)
        shine = ((du + p * 0.1).square() + (dv + p * 0.1).square()).sqrt() < p * 0.06
        return [stalk | leaf(du - p * 0.15, dv + p * 0.36, p * 0.16, p * 0.06), ball, shine & ball]
    if kind == "stars":
        p = painter.period(n, 12, 160)
        du, dv, rk = painter.scattered(n, p, one(n, 0, 0.6))
        radius, angle = polar(du, dv, rk * 6.28)
        points = torch.randint(4, 9, (n, 1, 1), device=u.device)
        saw = ((angle * points / (2 * math.pi)) % 1 - 0.5).abs() * 2
        reach = p * (0.15 + 0.25 * rk) * (1 - one(n, 0.35, 0.7) * saw)
        return [radius < reach, radius < reach * one(n, 0.2, 0.8)]
    if kind == "shaded":
        # a colour that runs into another, over one to eight inches, to and fro; or in steps
        run = ((u / painter.period(n, 120, 900)) % 2 - 1).abs()
        steps = torch.floor(run * 6) / 6
        return [pick(run, steps, 0.6), painter.noise(n, 50) * 0.15 + 0.1]
    if kind == "lettering":
        # lines of words: upright strokes and bars of uneven height in rows
        p = painter.period(n, 12, 60)
        row, along = torch.floor(v / p), u / (p * 0.5)
        cell = torch.floor(along)
        number = ((cell * 12.9898 + row * 78.233).sin() * 43758.5453) % 1
        a, b = along - cell, v / p - row
        stroke = (a < 0.25) | ((a > 0.6) & (a < 0.85) & (number > 0.4)) | ((b % 0.3 < 0.09) & (a < 0.85) & (number > 0.25))
        return [stroke & (number > 0.12) & (b > 0.2) & (b < 0.2 + one(n, 0.4, 0.7))]
    if kind == "basket":
        p = painter.period(n, 10, 120)
        odd = (torch.floor(u / p) + torch.floor(v / p)) % 2 == 0
        strip = torch.where(odd, u, v) / p * torch.randint(2, 6, (n, 1, 1), device=u.device)
        return [strip % 1 < one(n, 0.15, 0.5), odd.float() * one(n, 0, 0.5)]
    if kind == "feathers":
        p = painter.period(n, 40, 200)
        du, dv, rk = painter.scattered(n, p, one(n, 0.1, 0.4))
        turn = rk * 6.28 * one(n, 0, 1)
        a, b = du * turn.cos() + dv * turn.sin(), -du * turn.sin() + dv * turn.cos()
        blade = leaf(a, b, p * 0.42, p * one(n, 0.1, 0.22))
        barbs = ((a + b.abs() * 1.4) / (p * one(n, 0.05, 0.12))) % 1 < 0.4
        return [blade, blade & barbs, (b.abs() < p * 0.015) & (a.abs() < p * 0.45)]
    if kind == "toile":
        # fine drawing in one ink: contour lines of noise inside drifting islands
        field, islands = painter.noise(n, float(20 + 60 * torch.rand(()))), painter.noise(n, 90)
        ink = ((field * one(n, 2, 6)) % 1) < one(n, 0.08, 0.25)
        return [ink & (islands > one(n, -0.8, 0.6)), (islands > 0.9) & (painter.noise(n, 8) > 0.5)]
    if kind == "tone_on_tone":
        # a blender: soft small shapes a shade away from the ground
        du, dv, rk = painter.scattered(n, painter.period(n, 10, 60), 0.5)
        radius, angle = polar(du, dv, rk * 6.28)
        shape = radius < painter.period(n, 4, 18) * (1 + 0.4 * torch.cos(3 * angle))
        mottle = (painter.noise(n, 24) * 0.5 + 0.5).clamp(0, 1)
        return [pick(shape, mottle) * one(n, 0.08, 0.4)]
    if kind == "bouquets":
        # flowers of six inches and less with leaves and stems: a patch shows only a part of one
        p = painter.period(n, 120, 340)
        du, dv, rk = painter.scattered(n, p, one(n, 0.2, 0.6))
        radius, angle = polar(du, dv, rk * 6.28)
        ruffle = 1 + 0.25 * torch.cos(angle * torch.randint(5, 8, (n, 1, 1), device=u.device)) + 0.1 * painter.noise(n, 30)
        bloom = radius < p * 0.3 * ruffle
        folds = ((radius / p * one(n, 10, 24) + angle * 0.5) % 1 < 0.35) & bloom
        leaves = ((angle * 5 / (2 * math.pi)) % 1 - 0.5).abs() * radius < p * 0.05
        stems = painter.noise(n, 50).abs() < one(n, 0.02, 0.08)
        return [stems | (leaves & (radius < p * 0.48)), bloom, folds]
    if kind == "sprigs":
        p = painter.period(n, 24, 90)
        du, dv, rk = painter.scattered(n, p, one(n, 0, 0.3))
        lean = torch.where(rk < 0.5, du, -du)
        stem = ((lean - dv * 0.35).abs() < p * 0.03) & (dv.abs() < p * 0.3)
        blades = leaf(lean - p * 0.14, dv + lean * 0.5, p * 0.14, p * 0.05) | leaf(lean + p * 0.14, dv - p * 0.1 - lean * 0.5, p * 0.14, p * 0.05)
        return [stem | blades, ((lean + p * 0.1).square() + (dv + p * 0.3).square()).sqrt() < p * one(n, 0.05, 0.12)]
    if kind == "batik":
        bent = painter.noise(n, 70) + 0.6 * painter.noise(n, 25) + 0.3 * painter.noise(n, 9)
        cracks = painter.noise(n, 40).abs() < one(n, 0.01, 0.06)
        return [torch.sigmoid((bent - one(n, -0.5, 0.5)) * 5), torch.sigmoid((bent - one(n, 0.8, 1.4)) * 6), cracks]
    if kind == "paisley":
        p = painter.period(n, 40, 180)
        du, dv, rk = painter.scattered(n, p, one(n, 0, 0.3))
        turn = rk * 6.28 * one(n, 0, 1)
        a, b = (du * turn.cos() + dv * turn.sin()) / p, (-du * turn.sin() + dv * turn.cos()) / p
        tail = a + 0.25 * (b + 0.3).square()
        drop = (tail / (0.24 * (0.55 - b).clamp(min=0.02))).square() + ((b - 0.05) / 0.36).square()
        return [drop < 1, ((drop * one(n, 3, 6)) % 1 < 0.4) & (drop < 1), drop < 0.12]
    if kind == "ikat":
        p, q = painter.period(n, 30, 160), painter.period(n, 40, 220)
        ragged = torch.sin(u * 2.3) * one(n, 1, 6) + painter.noise(n, 5) * 2
        a, b = ((u / p) % 1 - 0.5).abs() * 2, (((v + ragged) / q) % 1 - 0.5).abs() * 2
        field = a + b
        return [field < one(n, 0.7, 1.1), field < one(n, 0.3, 0.6), (field - 1.3).abs() < 0.08]
    if kind == "argyle":
        p, q = painter.period(n, 30, 160), painter.period(n, 40, 200)
        a, b = u / p, v / q
        lozenge = (torch.floor(a + b) + torch.floor(a - b)) % 2
        line = ((a + b + 0.5) % 1 < 0.05) | ((a - b + 0.5) % 1 < 0.05)
        return [lozenge, line]
    raise ValueError(kind)
