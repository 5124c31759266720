"""Seam figures of the library's blocks, worked out apart from the program.

Reads the block drafts, builds each block's seams at 12 in with nothing but this file's own geometry, and writes
library-table.json: patches, inner seams and all seams (length, odd points, fewest lines with nothing stitched twice, least
length stitched twice for one line with free ends and for one that ends where it began). Least doubled lengths: route
inspection (Guan 1960; Edmonds and Johnson 1973), a minimum-weight perfect matching of the odd points over shortest paths.

    python3 library_table.py [--handbook HANDBOOK.md]

With --handbook the figures of the blocks in the handbook's table are compared with it, to 0.01, and nothing is written
unless all agree. Needs networkx (written with 3.6.1); the matching is networkx.min_weight_matching.
"""

import json
import math
import pathlib
import re
import sys

import networkx as nx

HERE = pathlib.Path(__file__).resolve().parent
BLOCKS = HERE.parents[2] / "src" / "OverlayPlanner.Quilts" / "Blocks"
SIDE = 12.0
NEAR = 2e-3  # inches; the first file's eight-point drafts are stored to four places, 0.0004 in at this size


def arc_length(chord, bulge):
    b = abs(bulge)
    return chord if b == 0 else chord * (1 + b * b) * math.atan(b) / b


def fraction_on(p, a, b, bulge):
    """How far along the side from a to b the point p lies (0 to 1), or None where it does not lie inside it."""
    chord = math.dist(a, b)
    if bulge == 0:
        dx, dy = (b[0] - a[0]) / chord, (b[1] - a[1]) / chord
        along = (p[0] - a[0]) * dx + (p[1] - a[1]) * dy
        off = abs((p[0] - a[0]) * dy - (p[1] - a[1]) * dx)
        return along / chord if off < NEAR and NEAR < along < chord - NEAR else None
    # The arc as a complex number: centre from the chord's middle, against the bow.
    za, zb, zp = complex(*a), complex(*b), complex(*p)
    left = -1j * (zb - za)  # y is down: left of travel as seen is a turn by -90 degrees in these numbers
    centre = (za + zb) / 2 - left * (1 - bulge * bulge) / (4 * bulge)
    if abs(abs(zp - centre) - abs(za - centre)) > NEAR:
        return None
    sweep = 4 * math.atan(bulge)  # positive bows left, which runs clockwise as seen: rising angle with y down
    turn = math.atan2(((zp - centre) / (za - centre)).imag, ((zp - centre) / (za - centre)).real)
    if sweep * turn < 0 or abs(turn) >= abs(sweep):
        return None
    t = turn / sweep
    length = arc_length(chord, bulge)
    return t if NEAR < t * length < length - NEAR else None


def seams_of(block):
    """Points, and the seams between them as {(i, j, bulge from i to j)}: length, split at every point."""
    grid = block["grid"] if block["grid"] == int(block["grid"]) else 2 + math.sqrt(2)
    scale = SIDE / grid
    points = []

    def index(x, y):
        for k, (px, py) in enumerate(points):
            if math.hypot(px - x, py - y) < NEAR:
                return k
        points.append((x, y))
        return len(points) - 1

    sides = []
    for ring in block["patches"]:
        corners = [index(c[0] * scale, c[1] * scale) for c in ring]
        for k, c in enumerate(ring):
            sides.append((corners[k], corners[(k + 1) % len(ring)], c[2] if len(c) > 2 else 0.0))
    seams = {}
    for i, j, bulge in sides:
        stops = [(0.0, i), (1.0, j)]
        for k, p in enumerate(points):
            if k not in (i, j):
                t = fraction_on(p, points[i], points[j], bulge)
                if t is not None:
                    stops.append((t, k))
        stops.sort()
        for (t0, a), (t1, b) in zip(stops, stops[1:]):
            piece = math.tan((t1 - t0) * math.atan(bulge))
            key = (a, b, round(piece, 6)) if a < b else (b, a, round(-piece, 6))
            seams.setdefault(key, []).append(arc_length(math.dist(points[a], points[b]), piece))
    return points, seams


def on_outline(points, seam):
    a, b = points[seam[0]], points[seam[1]]
    return seam[2] == 0 and any(
        abs(a[k] - v) < NEAR and abs(b[k] - v) < NEAR for k in (0, 1) for v in (0.0, SIDE)
    )


def figures(seams):
    graph = nx.MultiGraph()
    for (a, b, _), length in seams.items():
        graph.add_edge(a, b, length=length)
    odd = [v for v in graph if graph.degree(v) % 2]
    lines = sum(
        max(1, sum(1 for v in piece if graph.degree(v) % 2) // 2) for piece in nx.connected_components(graph)
    )
    result = {"length": math.fsum(seams.values()), "odd": len(odd), "lines": lines, "open": None, "closed": None}
    if nx.is_connected(graph):
        simple = nx.Graph()
        for a, b, d in graph.edges(data=True):
            if not simple.has_edge(a, b) or simple[a][b]["length"] > d["length"]:
                simple.add_edge(a, b, length=d["length"])
        far = {v: nx.single_source_dijkstra_path_length(simple, v, weight="length") for v in odd}
        complete = nx.Graph()
        complete.add_nodes_from(odd)
        for n, a in enumerate(odd):
            for b in odd[n + 1 :]:
                complete.add_edge(a, b, weight=far[a][b])
        closed = sum(complete[a][b]["weight"] for a, b in nx.min_weight_matching(complete))
        free = 0.0
        if odd:
            # Two more nodes, each at no cost from every odd point, take the line's two ends.
            for end in ("first", "last"):
                for v in odd:
                    complete.add_edge(end, v, weight=0.0)
            free = sum(complete[a][b]["weight"] for a, b in nx.min_weight_matching(complete))
        result["open"], result["closed"] = float(free), float(closed)
    return result


def row(block):
    points, seams = seams_of(block)
    count = {key: len(lengths) for key, lengths in seams.items()}
    for key, n in count.items():
        want = 1 if on_outline(points, key) else 2
        if n != want:
            raise SystemExit(f"{block['name']}: a side at {points[key[0]]}, {points[key[1]]} is {n} patches', not {want}")
    every = {key: lengths[0] for key, lengths in seams.items()}
    inner = {key: length for key, length in every.items() if not on_outline(points, key)}
    return {
        "name": block["name"],
        "patches": len(block["patches"]),
        "curved": any(key[2] for key in inner),
        "inner": figures(inner),
        "outlined": figures(every),
    }


def compare(rows, handbook):
    """Differences from the handbook's table of 12 in blocks."""
    by_key = {re.sub(r"[^a-z0-9]+", " ", r["name"].lower().replace("'", "")).strip(): r for r in rows}
    wrong, seen = [], 0
    for line in handbook.read_text(encoding="utf-8").splitlines():
        cells = [c.strip() for c in line.strip().strip("|").split("|")]
        if len(cells) != 13 or not re.fullmatch(r"\d+", cells[3]):
            continue
        key = re.sub(r"[^a-z0-9]+", " ", re.sub(r"\(.*\)| / .*", "", cells[0].lower().replace("'", ""))).strip()
        if key not in by_key:
            continue
        seen += 1
        r = by_key[key]
        ours = [
            r["patches"], r["inner"]["length"], r["inner"]["odd"], r["inner"]["lines"], r["inner"]["open"],
            r["outlined"]["length"], r["outlined"]["odd"], r["outlined"]["lines"], r["outlined"]["open"], r["outlined"]["closed"],
        ]  # fmt: skip
        theirs = [None if c == "n/a" else float(c) for c in cells[3:]]
        for name, a, b in zip(("patches", "inner", "odd", "lines", "open", "all", "odd", "lines", "open", "closed"), ours, theirs):
            if (a is None) != (b is None) or (a is not None and abs(a - b) > 0.01):
                wrong.append(f"{r['name']}: {name} {a} here, {b} in the handbook")
    return seen, wrong


def main():
    blocks = [
        b for name in ("blocks.json", "blocks-more.json") for b in json.loads((BLOCKS / name).read_text(encoding="utf-8"))
    ]
    rows = [row(b) for b in blocks]
    if "--handbook" in sys.argv:
        seen, wrong = compare(rows, pathlib.Path(sys.argv[sys.argv.index("--handbook") + 1]))
        print(f"{seen} blocks compared with the handbook, {len(wrong)} differences", *wrong, sep="\n  ")
        if wrong or seen == 0:
            raise SystemExit(1)

    def rounded(value):
        if isinstance(value, dict):
            return {k: rounded(v) for k, v in value.items()}
        return round(value, 4) + 0.0 if isinstance(value, float) else value

    text = ",\n".join(json.dumps(rounded(r), ensure_ascii=False) for r in rows)
    header = f'"about": "blocks of 12 in, lengths in inches; written by library_table.py with networkx {nx.__version__}"'
    (HERE / "library-table.json").write_text(f'{{\n{header},\n"blocks": [\n{text}\n]\n}}\n', encoding="utf-8")
    print(f"{len(rows)} blocks written")


if __name__ == "__main__":
    main()
