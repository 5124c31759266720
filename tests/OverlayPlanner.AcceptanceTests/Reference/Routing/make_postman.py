"""Route-inspection answers on random plane graphs, from networkx; writes postman.json beside itself.

Each graph: a random part of the Delaunay triangulation of random points (coordinates are multiples of 1/64 in, so that they
are exact), joined to one piece. Lengths are Euclidean. Answers, by shortest paths (networkx) and minimum-weight perfect
matching of the odd points (networkx.min_weight_matching, Galil's blossom method):
  closed  least length travelled twice by a walk over every line that ends where it began;
  open    the same with start and end free: the least over all pairs of odd points that are left unmatched, each tried.
Run: python3 make_postman.py   (networkx 2.8.8 and SciPy 1.10.1 as Debian 12 packages them)
"""
import itertools
import json
import math
import pathlib
import random

import networkx as nx
import scipy
from scipy.spatial import Delaunay

SEED = 20240117
COUNT = 60


def plane_graph(rng):
    n = rng.randint(6, 40)
    points = set()
    while len(points) < n:
        points.add((rng.randint(0, 24 * 64) / 64, rng.randint(0, 24 * 64) / 64))
    points = sorted(points)
    edges = set()
    for simplex in Delaunay(points).simplices:
        for a, b in itertools.combinations(sorted(int(v) for v in simplex), 2):
            edges.add((a, b))
    edges = sorted(edges)
    rng.shuffle(edges)
    graph = nx.Graph()
    graph.add_nodes_from(range(n))
    share = rng.uniform(0.1, 0.9)
    for a, b in edges:
        if not nx.has_path(graph, a, b) or rng.random() < share:
            graph.add_edge(a, b, weight=math.dist(points[a], points[b]))
    return points, graph


def matched(distance, nodes):
    if not nodes:
        return 0.0
    complete = nx.Graph()
    for a, b in itertools.combinations(nodes, 2):
        complete.add_edge(a, b, weight=distance[a][b])
    return sum(distance[a][b] for a, b in nx.min_weight_matching(complete))


def main():
    rng = random.Random(SEED)
    graphs = []
    while len(graphs) < COUNT:
        points, graph = plane_graph(rng)
        odd = [v for v, d in graph.degree() if d % 2]
        if len(odd) > 14:
            continue  # every pair is tried below
        distance = dict(nx.all_pairs_dijkstra_path_length(graph))
        closed = matched(distance, odd)
        opened = min(
            (matched(distance, [v for v in odd if v not in pair]) for pair in itertools.combinations(odd, 2)),
            default=0.0,
        )
        graphs.append({
            "points": points,
            "lines": sorted(tuple(sorted(e)) for e in graph.edges()),
            "odd": len(odd),
            "closed": closed,
            "open": opened,
        })
    out = {
        "source": "make_postman.py beside this file",
        "networkx": nx.__version__,
        "scipy": scipy.__version__,
        "seed": SEED,
        "graphs": graphs,
    }
    path = pathlib.Path(__file__).with_name("postman.json")
    path.write_text(json.dumps(out, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main()
