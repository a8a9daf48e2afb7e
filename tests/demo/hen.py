"""Marsh Hen's three views in mm, and what can be measured on each.

An invented garden whirligig. Every size is to the centre of the drawn line. The front view's wing is
drawn 236 where the top view has 240: the trap that cross-checking views must catch.
"""

import math

BODY = 184.0
SPAN = {"top": 240.0, "front": 236.0}
STABILIZER = 78.0
WHEEL = 17.0
AXLE_HOLE = 4.0
BODY_WIDTH = 30.0
BODY_DEPTH = 34.5
ROOT_CHORD = 37.0
TRACK = 39.0
HEIGHT = 62.5
LINE = 0.45  # width of a drawn line


def curve(*nodes):
    """Points along joined cubics: start, (handle, handle, end), …; a single point is a straight run."""
    points = [nodes[0]]
    for node in nodes[1:]:
        if len(node) == 2:
            points.append(node)
            continue
        p0, (p1, p2, p3) = points[-1], node
        for k in range(1, 49):
            t = k / 48
            b = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            points.append(tuple(sum(w * p[a] for w, p in zip(b, (p0, p1, p2, p3))) for a in (0, 1)))
    return points


def ring(centre, rx, ry=None):
    """A closed run of points round an ellipse."""
    ry = rx if ry is None else ry
    turn = [2 * math.pi * k / 180 for k in range(181)]
    return [(centre[0] + rx * math.cos(a), centre[1] + ry * math.sin(a)) for a in turn]


def mirrored(half):
    """A half outline that starts and ends on x = 0, closed with its other hand."""
    return half + [(-x, y) for x, y in reversed(half[:-1])]


def length(name, a, b, mm, shape="edge"):
    """A length between two places; `shape` says what the ends are: an outer edge, a corner or a rim."""
    return {"name": name, "kind": "length", "ends": [a, b], "mm": mm, "shape": shape}


def top_view():
    """Nose up; x from the centre line, y from the nose."""
    wing, tail, root = SPAN["top"] / 2, STABILIZER / 2, BODY_WIDTH / 2
    half = curve(
        (0, 0),
        ((7, 0), (12, 5), (13, 16)),
        (root, 34),
        ((60, 34), (95, 38), (109, 41)),
        ((117, 43), (wing, 48), (wing, 53)),
        ((wing, 59), (117, 63), (109, 64)),
        ((90, 68), (50, 70), (root, 34 + ROOT_CHORD)),
        (7, 146),
        ((18, 145), (28, 147), (33, 149)),
        ((37, 150.5), (tail, 153), (tail, 157)),
        ((tail, 162), (36, 165), (32, 166)),
        ((24, 168), (14, 169), (6, 169)),
        ((5.4, 177), (3, BODY), (0, BODY)),
    )
    return {
        "name": "top",
        "runs": [mirrored(half)],
        "extent": [-wing, 0, wing, BODY],
        "features": [
            length("body, nose to tail", (0, 0), (0, BODY), BODY),
            length("wing, tip to tip", (-wing, 53), (wing, 53), SPAN["top"]),
            length("stabilizer", (-tail, 157), (tail, 157), STABILIZER),
            length("body, across at the wing", (-root, 34), (root, 34), BODY_WIDTH, "corner"),
            length("wing, front to back at the body", (root, 34), (root, 34 + ROOT_CHORD), ROOT_CHORD, "corner"),
        ],
    }


def side_view():
    """Nose to the left; x from the nose, y from the top of the fin."""
    top, bottom, hub = 10.0, 10.0 + BODY_DEPTH, (38, HEIGHT - WHEEL / 2)
    body = curve(
        (0, 30),
        ((0, 23), (10, 18.5), (22, 17)),
        ((34, 13), (44, top), (58, top)),
        ((64, top), (69, 10.6), (74, 11.5)),
        (158, 22),
        (165.5, 2),
        ((171, 0), (178, 0), (183, 2)),
        ((183.4, 11), (BODY, 22), (BODY, 30)),
        ((BODY, 36), (182, 38.6), (177, 39)),
        ((140, 40.5), (80, bottom), (58, bottom)),
        ((30, bottom), (0, 43), (0, 30)),
    )
    r = WHEEL / 2
    return {
        "name": "side",
        "runs": [body, ring(hub, r), ring(hub, AXLE_HOLE / 2)],
        "extent": [0, 0, BODY, HEIGHT],
        "features": [
            length("body, nose to tail", (0, 30), (BODY, 30), BODY),
            length("body, depth", (58, top), (58, bottom), BODY_DEPTH),
            length("wheel, across", (hub[0] - r, hub[1]), (hub[0] + r, hub[1]), WHEEL, "rim"),
            length("wheel, high", (hub[0], hub[1] - r), (hub[0], hub[1] + r), WHEEL, "rim"),
            {"name": "wheel, round", "kind": "circle", "centre": hub, "mm": WHEEL, "shape": "rim",
             "ends": [(hub[0] + r * math.cos(a), hub[1] + r * math.sin(a)) for a in (0.3, 1.5, 2.8, 4.0, 5.2)]},
            length("axle hole", (hub[0] - 2, hub[1]), (hub[0] + 2, hub[1]), AXLE_HOLE, "rim"),
        ],
    }


def front_view():
    """x from the centre line, y from the top of the fin."""
    wing, root, half_deep = SPAN["front"] / 2, BODY_WIDTH / 2, BODY_DEPTH / 2
    middle = 10 + half_deep
    panel = curve(
        (root * 0.98, middle - 4),
        ((50, middle - 7), (90, middle - 5), (wing - 3, middle - 2.2)),
        ((wing - 1, middle - 2), (wing, middle - 1.2), (wing, middle)),
        ((wing, middle + 1.2), (wing - 1, middle + 2), (wing - 3, middle + 2)),
        ((90, middle + 2), (50, middle + 1), (root * 0.955, middle + 5)),
    )
    out, tall = TRACK / 2, (HEIGHT - WHEEL, HEIGHT)
    tyre = curve(
        (out, tall[0] + 3),
        (out, tall[1] - 3),
        ((out, tall[1] - 1), (out - 1, tall[1]), (out - 2.5, tall[1])),
        ((out - 4, tall[1]), (out - 5, tall[1] - 1), (out - 5, tall[1] - 3)),
        (out - 5, tall[0] + 3),
        ((out - 5, tall[0] + 1), (out - 4, tall[0]), (out - 2.5, tall[0])),
        ((out - 1, tall[0]), (out, tall[0] + 1), (out, tall[0] + 3)),
    )
    leg = [(8, middle + 14.6), (out - 5, HEIGHT - WHEEL / 2)]
    halves = [panel, tyre, leg]
    other = [[(-x, y) for x, y in run] for run in halves]
    mid = HEIGHT - WHEEL / 2
    return {
        "name": "front",
        "runs": [ring((0, middle), root, half_deep), [(0, 0), (0, 10)], *halves, *other],
        "extent": [-wing, 0, wing, HEIGHT],
        "features": [
            length("wing, tip to tip", (-wing, middle), (wing, middle), SPAN["front"]),
            length("body, across at the wing", (-root, middle), (root, middle), BODY_WIDTH),
            # The fin's line runs into the upper end, so it has no outer edge.
            length("body, depth", (0, 10), (0, 10 + BODY_DEPTH), BODY_DEPTH, "corner"),
            length("wheels, outside to outside", (-out, mid), (out, mid), TRACK),
            length("wheel, high", (out - 2.5, tall[0]), (out - 2.5, tall[1]), WHEEL),
        ],
    }
