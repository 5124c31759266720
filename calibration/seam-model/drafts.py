"""Blocks written down cell by cell, and a layout that sets them into a quilt.

A draft is rows of cells, rows parted by ';'. A cell is a letter (a whole square) or a split:

    /ab    diagonal rising to the right; a above it on the left, b below it on the right
    \\ab    diagonal falling to the right; a above it on the right, b below it on the left
    Xabcd  both diagonals: top, right, bottom, left
    -ab    upper and lower half        !ab    left and right half
    (ab1   quarter circle about a corner (1 top left, 2 top right, 3 bottom right, 4 bottom left): a within, b beyond
    Vabc1  a triangle from one side to the middle of the side across (1 apex on top, 2 right, 3 below, 4 left): a and c the
           corners, b the triangle

A small letter is a patch of its own, a capital one patch wherever the block has it (a digit tells two such patches apart); letters
are the parts that are cut from one fabric. Traditional blocks and some in their manner, from their geometry alone; the names only
tell them apart.
"""
import re

import torch

from fabrics import hashed
from layouts import FAR, Patches, mix

# name: (draft, relative widths of columns and rows or None)
TRAINING_DRAFTS = {
    "broken dishes": (r"/ab \ab;\ba /ba", None),
    "geese": (r"/aB1 \aB1;/aB2 \aB2", None),
    "geese in a strip": (r"/aB1 \aB1 C;/aB2 \aB2 C;/aB3 \aB3 C", (2, 2, 1)),
    "geese round": (r"/aB1 \aB1 \aB2 b;/ca \ac /B2a /ab;b \aB2 c a;/B3a \B3a a b", None),
    "rails": ("A A A;B B B;C C C", None),
    "four rails": ("A A A A;B B B B;C C C C;D D D D", None),
    "roman stripe": (r"A A /AD;B /BD D;/CD D D", None),
    "courthouse": ("B B B B B;C D D D E;C F g H E;C I I I E;J J J J J", None),
    "half cabin": ("a B C D;E1 E1 C D;F1 F1 F1 D;G1 G1 G1 G1", None),
    "corner cabin": ("a B D;C C D;E E E", (3, 1, 1)),
    "framed square": ("B B B;C a D;E E E", (1, 3, 1)),
    "twice framed": ("B B B B B;C D D D E;C F a G E;C H H H E;I I I I I", (1, 1, 4, 1, 1)),
    "puss": ("b a b;a c a;b a b", (1, 2, 1)),
    "chain": ("b c a c b;c b c b c;a c b c a;c b c b c;b c a c b", None),
    "single chain": ("b A1 b;A2 b A3;b A4 b", (1, 3, 1)),
    "checkers": ("a b a b;b a b a;a b a b;b a b a", None),
    "sixteen": ("a b c d;c d a b;b a d c;d c b a", None),
    "birds": (r"/ab /ab /ab;c /ab /ab;c c /ab", None),
    "corner triangles": (r"C1 C1 /ab;C1 C1 /ab;/ab /ab d", None),
    "split corner": (r"/Cb /ab /ab d;/CE /CE b \ba;e /CE /Cb /ba;e e \ab b", None),
    "lady": (r"/ab /ab /ab /ab /ab;/ab C1 C1 /C1D /ab;/ab C1 /C1D D /ab;/ab /C1D D D /ab;/ab /ab /ab /ab /ab", None),
    "tree": (r"a /ab /ab /ab;\ab B /ab /ab;\ab B B /ab;c \ab \ab a", None),
    "leaf": (r"/ab /ab c;b b \ab;d b \ab", None),
    "basket": (r"a /ab /ab /ab;a /CD D \ab;/CD D D b;\DC D \Db a", None),
    "sailboat": (r"a /ab \ab a;/ab b \ab a;c C1 C1 c;\cb B1 B1 /bc", None),
    "crosses": (r"a /ab b c;/ab a c \cb;b c a /ab;c \cb /ab a", None),
    "anvil": (r"/ab b \ab a;a C C /ab;/ba C C a;a \ba b /ba", None),
    "old puzzle": (r"a /ab b /ab;/ab a /ab b;b /ab a /ab;/ab b /ab a", None),
    "yankee": (r"Xabca /ab \ab Xabca;/ab Xcbab Xcbab \ab;\ba Xbabc Xbabc /ba;Xabca \ba /ba Xabca", None),
    "diagonal windmill": (r"Xabac Xbaca;Xcaba Xacab", None),
    "crown": (r"\ab /ab c /ab \ab;/ba b c b \ab;c c d c c;\ba b c b /ba;/ba \ba c \ba /ba", None),
    "tracks": (r"/ab \ab c /ab \ab;\ab d C d /ab;c E f G c;/ba d H d \ba;\ba /ba c \ba /ba", None),
    "storm": (r"/ab Vabc1 \ab;Vabc4 c Vabc2;\ba Vabc3 /ba", (1, 1.4, 1)),
    "tall star": (r"b Vabc1 b;Vabc4 c Vabc2;b Vabc3 b", None),
    "tall peaks": (r"Vabc1 Vabc3;Vacb3 Vacb1", None),
    "long triangles": (r"Vabc1;Vacb1", None),
    "crooked road": (r"(ab1 (ba3 (ab2 (ba4;(ba1 (ab3 (ba2 (ab4;(ab4 (ba2 (ab3 (ba1;(ba4 (ab2 (ba3 (ab1", None),
    "wheels": (r"(ab3 (ab4;(ab2 (ab1", None),
    "snakes": (r"(ab1 (ab3;(ab2 (ab4", None),
    "one quarter": (r"(ab1", None),
    "attic window": (r"a B;C /CB..", (3, 1)),
    "crosses tiled": (r"a B c;B B B;d B e", None),
    "bricks and squares": ("A A b;c D D", None),
    "paired rows": (r"-ab !ab -ab;!ba c !ba;-ba !ab -ba", None),
    "zigzag": (r"/ab \ab;/bc \bc;/ca \ca", None),
    "boxes": (r"A A \AB;C D B;C D B", (2, 2, 1)),
    "fractured": (r"\ab c /ab c;c -ab c !ab;/ba c \ba c;c !ba c -ba", None),
}

HELD_OUT_DRAFTS = {
    "pinwheel": (r"/ab \ba;\ab /ba", None),
    "hourglass": (r"Xabab b;b Xbaba", None),
    "friendship star": (r"a /ab a;\ba b \ab;a /ba a", None),
    "shoofly": (r"/ab b \ab;b a b;\ba b /ba", None),
    "ohio star": (r"a Xabab a;Xbaba b Xbaba;a Xabab a", None),
    "churn dash": (r"/ab -ba \ab;!ba a !ab;\ba -ab /ba", None),
    "sawtooth star": (r"a \B1c /B1c a;\cB2 D D /cB3;/B2c D D \B3c;a /cB4 \cB4 a", None),
    "dutchman": (r"/aB1 \aB1 \ac /ca;/aB2 \aB2 \ac /ca;\ac /ca /aB3 \aB3;\ac /ca /aB4 \aB4", None),
    "bear's paw": (r"/ab /ab c;B1 B1 \ab;B1 B1 \ab", None),
    "snowball": (r"/bA A \bA;A A A;\Ab A /Ab", (1, 2, 1)),
    "square in a square": (r"/aB \aB;\Ba /Ba", None),
    "economy": (r"A1 /A1B1 \A2B1 A2;/A1B2 C C \A2B3;\B2A3 C C /B3A4;A3 \B4A3 /B4A4 A4", None),
    "ladder": (r"-ab /cb !ab;/cb -ab /cb;!ab /cb -ab", None),
    "overlapped cards": (r"/aB XBBaB \aC;XaDDB XDBCD XCaCB;\Da XDaDD /Ea", None),
}
MOST, PARTS = 8, 4
KINDS = "./\\X-!(V"


def parsed(draft, widths):
    """Grid size, relative edges 0..1, and for each cell its kind, its corner or turn, and for up to four pieces patch and part."""
    rows = [row.split() for row in draft.strip().split(";")]
    size = max(len(rows), len(rows[0]))
    wide = list(widths or (1,) * size)
    edges = [sum(wide[:k]) / sum(wide) for k in range(size + 1)] + [2.0] * (MOST - size)
    cells = []
    for j in range(size):
        line = []
        for i in range(size):
            text = rows[j % len(rows)][i % len(rows[0])].rstrip(".")
            kind = text[0] if text[0] in KINDS else "."
            body = text[1:] if kind != "." else text
            turn = 0
            if kind in "(V":
                turn, body = int(body[-1]) - 1, body[:-1]
            tokens = re.findall(r"[A-Za-z]\d?", body)
            pieces = []
            for k, token in enumerate(tokens):
                own = token[0].islower()
                pieces.append((1000 + j * 128 + i * 8 + k if own else ord(token[0]) * 10 + int(token[1:] or 0), ord(token[0].lower()) - 96))
            line.append((KINDS.index(kind), turn, (pieces + pieces[-1:] * PARTS)[:PARTS]))
        cells.append(line)
    return size, edges, cells


class DraftTable:
    def __init__(self, drafts):
        entries = [parsed(*entry) for entry in drafts.values()]
        self.count = len(entries)
        self.size = torch.tensor([float(size) for size, _, _ in entries])
        self.edges = torch.tensor([edges[:MOST + 1] for _, edges, _ in entries])
        kind, turn = (torch.zeros(self.count, MOST, MOST, dtype=torch.int32) for _ in range(2))
        patch, part = (torch.zeros(self.count, MOST, MOST, PARTS, dtype=torch.int32) for _ in range(2))
        for d, (size, _, cells) in enumerate(entries):
            for j in range(size):
                for i in range(size):
                    kind[d, j, i], turn[d, j, i], pieces = cells[j][i]
                    patch[d, j, i] = torch.tensor([p for p, _ in pieces])
                    part[d, j, i] = torch.tensor([p for _, p in pieces])
        self.kind, self.turn, self.patch, self.part = kind.flatten(), turn.flatten(), patch.flatten(), part.flatten()

    def to(self, device):
        for name in ("size", "edges", "kind", "turn", "patch", "part"):
            setattr(self, name, getattr(self, name).to(device))
        return self


def split(kind, turn, p, r, bend):
    """Number of the piece, 0 to 3, of a cell at p, r in 0..1."""
    zero = torch.zeros_like(kind)
    rising, falling = (p + r > 1).int(), (r > p).int()
    cross = torch.where(r < p, torch.where(p + r < 1, 0, 1), torch.where(p + r < 1, 3, 2)).int()
    cx, cy = ((turn == 1) | (turn == 2)).float(), (turn >= 2).float()
    beyond = ((p - cx).square() + (r - cy).square() > bend * bend).int()
    # apex on top, right, below, left: turn so that it is on top
    a = torch.where(turn == 0, p, torch.where(turn == 1, r, torch.where(turn == 2, 1 - p, 1 - r)))
    b = torch.where(turn == 0, r, torch.where(turn == 1, 1 - p, torch.where(turn == 2, 1 - r, p)))
    tall = torch.where(b < 1 - 2 * a, 0, torch.where(b < 2 * a - 1, 2, 1)).int()
    answer = zero
    for number, piece in ((1, rising), (2, falling), (3, cross), (4, (r > 0.5).int()), (5, (p > 0.5).int()), (6, beyond), (7, tall)):
        answer = torch.where(kind == number, piece, answer)
    return answer


def set_blocks(drafts):
    """A layout: blocks of one or two drafts in turn, with plain blocks, sashing, cornerstones, setting triangles."""
    tables = {}

    def layout(draw, u, v):
        device = u.device
        if device not in tables:
            tables[device] = DraftTable(drafts).to(device)
        table = tables[device]
        n, seed = draw.n, draw.seed()
        first, second = draw.whole(0, table.count - 1), draw.whole(0, table.count - 1)
        pairing = draw.whole(0, 9)  # mostly one draft; two in turn; one and plain squares
        second = torch.where(pairing < 2, second, first)
        plain = pairing >= 8
        cells = table.size[first.long()].view(n, 1, 1)
        size = (cells * draw.scaled(0.9, 3.6)).clamp(2.5, 16)
        none = torch.zeros(n, 1, 1, device=device)
        sash = torch.where(draw.chance(0.33), draw.between(0.6, 3), none)
        pitch = size + sash
        row = torch.floor(v / pitch)
        u = u + torch.where(draw.chance(0.35), draw.between(0, 0.25), none) * (hashed(mix(row, seed + 1)) - 0.5)
        column = torch.floor(u / pitch)
        a, b = u - column * pitch - sash, v - row * pitch - sash
        x, y = (a / size).clamp(0, 0.99999), (b / size).clamp(0, 0.99999)
        odd = ((column + row) % 2).int()
        # blocks turned: never, in a chequer, or anyhow; mirrored ones likewise
        turning = draw.whole(0, 4)
        turn = torch.where(turning == 1, odd, torch.where(turning == 2, torch.floor(hashed(mix(column, row, seed + 2)) * 4).int(),
                           torch.where(turning == 3, ((column % 2) * 2 + (row % 2) * ((column % 2) * -2 + 1 + (column % 2))).int() % 4, torch.zeros_like(odd))))
        x, y = torch.where(turn == 1, y, torch.where(turn == 2, 1 - x, torch.where(turn == 3, 1 - y, x))), \
            torch.where(turn == 1, 1 - x, torch.where(turn == 2, 1 - y, torch.where(turn == 3, x, y)))
        mirrored = (turning == 4) & (column % 2 == 1)
        x = torch.where(mirrored, 1 - x, x)
        draft = torch.where(odd == 1, second, first)
        block = mix(column, row)
        # every seam of a block a little out of place, for the whole block
        jitter = torch.where(draw.chance(0.6), draw.between(0, 0.12), none) / size
        i, j = torch.zeros_like(u), torch.zeros_like(u)
        lows, highs = [none.expand_as(u)] * 2, [none.expand_as(u) + 1] * 2
        where = draft.long().expand_as(u)
        for k in range(1, MOST):
            edge = table.edges[:, k][where]
            for axis, z in enumerate((x, y)):
                own = edge + torch.where(edge < 0.999, jitter * (hashed(mix(block, k, axis, seed)) - 0.5), none)
                past = z > own
                (i if axis == 0 else j).add_(past.float())
                lows[axis] = torch.where(past, own, lows[axis])
                highs[axis] = torch.where(past, highs[axis], highs[axis].minimum(own))
        p, r = ((z - low) / (high - low).clamp(min=1e-3) for z, low, high in zip((x, y), lows, highs))
        cell = (draft * MOST + j.int()) * MOST + i.int()
        kind, corner = table.kind[cell.long()], table.turn[cell.long()]
        piece = split(kind, corner, p, r, draw.between(0.5, 0.85))
        at = cell.long() * PARTS + piece.long()
        is_plain = plain & (odd == 1)
        patch = torch.where(is_plain, mix(block, 7), mix(block, table.patch[at]))
        part = table.part[at]
        scrappy = draw.whole(0, 4)  # one fabric for each part, one for each part and block, one for each patch
        role = torch.where(scrappy == 3, mix(part, block), torch.where(scrappy == 4, patch, mix(part, draft * (pairing < 2))))
        role = torch.where(is_plain, mix(part * 0, 99), role)
        inset = torch.where(is_plain | (kind == 0), (x - lows[0]).minimum(highs[0] - x).minimum(y - lows[1]).minimum(highs[1] - y) * size, FAR)
        inset = torch.where(kind == 0, inset, FAR)

        in_column, in_row = a < 0, b < 0
        long_sash = draw.chance(0.3)  # the sashing across in one piece, without cornerstones
        stone = in_column & in_row & ~long_sash
        sash_patch = torch.where(stone, mix(block, 1), torch.where(in_row, torch.where(long_sash, mix(row, 77), mix(block, 3)), mix(block, 2)))
        sash_role = torch.where(stone, 900001, 900002).int()
        in_sash = in_column | in_row
        patch, role, inset = torch.where(in_sash, sash_patch, patch), torch.where(in_sash, sash_role, role), torch.where(in_sash, FAR, inset)

        # on point: half blocks of plain cloth along a straight edge, and a border beyond it
        ends = draw.on_point & draw.chance(0.45)
        first_row = torch.floor((u + v).mean((1, 2), keepdim=True) / pitch) + draw.whole(-1, 2)
        turned_back = draw.chance(0.5)
        along = torch.where(turned_back, u - v, u + v)
        middle = torch.where(turned_back, torch.floor((u - v).mean((1, 2), keepdim=True) / pitch) + draw.whole(-1, 2), first_row)
        diagonal = torch.where(turned_back, column - row, column + row + 1)
        past_edge = along - middle * pitch - torch.where(turned_back, none, sash)
        triangle = ends & (diagonal >= middle) & (past_edge <= 0)
        border = ends & (past_edge > 0)
        rings = torch.floor(past_edge / 1.4142 / draw.scaled(1, 6)).clamp(0, 3)
        patch = torch.where(triangle & ~in_sash, mix(block, 55), torch.where(border, mix(rings, 56), patch))
        role = torch.where(triangle & ~in_sash, mix(part * 0, 57), torch.where(border, mix(rings, 58), role))
        return Patches(patch, role, torch.where(triangle | border, FAR, inset))

    return layout
