"""What is done with whole outlines, against shapely, closed forms and a filter's own formula: rows of the area `outline`."""

import json
import math

import inked
import numpy as np
import shapely
from core import Refused
from row import all_of, holds, near, nearly, within

HOW = {"sigma": 0.05, "tolerance": 0.4, "blunt": 1.0}
EXACT = {"sigma": 0.0, "tolerance": 0.02, "blunt": 0.0}


def flat(curve, n=64):
    """A closed curve of cubic pieces as points: Bernstein's polynomials."""
    t = (np.arange(n) + 1)[:, None] / n
    out, start = [], np.array(curve[-1]["p"])
    for piece in curve:
        c1, c2, p = (np.array(piece[k]) for k in ("c1", "c2", "p"))
        out.append((1 - t) ** 3 * start + 3 * (1 - t) ** 2 * t * c1 + 3 * (1 - t) * t**2 * c2 + t**3 * p)
        start = p
    return np.vstack(out)


def solid(rings):
    return shapely.Polygon(np.asarray(rings[0]), [np.asarray(r) for r in rings[1:]])


def ring(points):
    return np.asarray(points, float).tolist()


def refused(answer):
    return f"refused: {answer.key}" if isinstance(answer, Refused) else None


def traced(core, folder, shapes, inside):
    """Outlines found in pictures, smoothed: how near their shapes' truth the curves lie, and what the page says of them."""
    rng = np.random.default_rng(14)
    covered = []
    for name, true, area, round_, source, how in shapes:
        grey = inked.picture(inked.coverage([true], 640, 480), rng, **how)
        border = folder.border(folder.put(grey), inside(true))
        made = core.reshape([{"smooth": {"rings": [r[:: max(1, len(r) // 400)] for r in border["rings"]], "how": HOW | {"sigma": border["sigma"]}}}])[0]
        if refused(made):
            yield holds(f"{name} smoothed", source, "curves", False, refused(made))
            continue
        curve = made["curves"][0]
        points = flat(curve)
        off = inked.distances(points, [true])
        told = f"{name}, smoothed to {len(curve)} pieces"
        yield nearly(f"{told}: area", source, area, shapely.Polygon(points).area, 0.003)
        # A tail of 1.3 px can't be told from a sharp one, and is drawn out: what is told of that is tried by its ± below.
        if not name.startswith("NACA"):
            yield nearly(f"{told}: length round", source, round_, shapely.LinearRing(points).length, 0.003)
        yield within(f"{told}: 95 % within", "shapely, distance to the ring drawn", 0, 0.5, float(np.quantile(off, 0.95)))
        corners = true_corners(true)
        if len(corners):
            knots = np.array([p["p"] for p in curve if p.get("corner")])
            far = [float(np.min(np.hypot(*(knots - c).T))) if len(knots) else math.inf for c in corners]
            yield within(f"{told}: its {len(corners)} sharp corners drawn out, farthest", "the corners drawn; blur and noise as told", 0, 1.0, max(far))
            yield holds(f"{told}: no other corners", "the corners drawn", f"{len(corners)}", len(knots) == len(corners), len(knots))
        covered += told_sizes(core, name, border, made, {"area": area, "round it": round_, "": greatest(true)})
    yield all_of("sizes of smooth outlines lie within their ±", "closed forms as above; greatest length by shapely", covered)


def true_corners(true):
    """Places where a ring turns by more than 20° at one point; but none of a tail so blunt that a picture shows it as sharp."""
    p = np.asarray(true)
    a, b = p - np.roll(p, 1, axis=0), np.roll(p, -1, axis=0) - p
    turn = np.abs(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(1)))
    found = p[turn > math.radians(20)]
    apart = [np.sort(np.hypot(*(found - c).T))[1] if len(found) > 1 else math.inf for c in found]
    return found[[a > 5 for a in apart]] if len(found) else found


def greatest(true):
    p = np.asarray(true)[:: max(1, len(true) // 800)]
    return float(np.hypot(*(p[:, None] - p[None]).transpose(2, 0, 1)).max())


def told_sizes(core, name, border, made, truth):
    """(what, "within", …) for each size that the page would tell, at half a millimetre a px."""
    lines = [
        {"kind": "add-picture", "name": "a.png", "width": 640, "height": 480},
        {"kind": "place", "picture": 1, "mark": "length", "points": [[20, 470], [620, 470]], "zoom": 8, "seen": True},
        {"kind": "set-known", "mark": 1, "length": {"mm": 300}, "pm": {"mm": 0.01}},
        {"kind": "outlines", "picture": 1, "borders": [border]},
        {"kind": "shape", "mark": 2, "work": "smooth", "shaped": made},
    ]
    scene = json.loads(core.lines(lines)[-1])
    row = next(r for r in scene["rows"] if r["id"] == 2)
    sizes = {m["label"]: m["size"] for m in row["more"]} | {"": row["real"]}
    for label, px in truth.items():
        size, mm = sizes[label], px * (0.25 if label == "area" else 0.5)
        off = mm - size["value"]
        ok = -size["minus"] <= off <= size["plus"]
        yield f"{name}, {label or 'greatest length'}", "within", "within" if ok else f"off by {off:.3g}, ± {size['plus']:.3g}"


def joined_and_cut(core):
    """Unions and halves of invented pieces against shapely's."""
    rng = np.random.default_rng(7)
    asks, truths = [], []
    for i in range(12):
        mid = np.array([300.0, 260.0])
        one = inked.turned(inked.ellipse(rng.uniform(60, 160), rng.uniform(40, 120), 150), rng.uniform(0, 180), mid)
        other = inked.turned(inked.star(rng.uniform(90, 170), rng.uniform(50, 80), int(rng.integers(4, 8))), rng.uniform(0, 180), mid + rng.uniform(-120, 120, 2))
        hole = inked.turned(inked.ellipse(15, 9, 60), 30, one.mean(0) - (20, 0))
        asks.append({"join": {"pieces": [[ring(one), ring(hole)], [ring(other)]], "gap": 0.0, "how": None}})
        truths.append((f"pieces {i} joined", shapely.union(solid([one, hole]), solid([other]))))
        a, b = mid + rng.uniform(-60, 60, 2), mid + rng.uniform(-60, 60, 2)
        keep = mid + rng.uniform(-100, 100, 2)
        n = np.array([a[1] - b[1], b[0] - a[0]]) / np.hypot(*(b - a))
        n = n * np.sign(n @ (keep - a))
        along = (b - a) / np.hypot(*(b - a)) * 2000
        half = shapely.Polygon([a - along, a + along, a + along + 2000 * n, a - along + 2000 * n])
        left = shapely.intersection(solid([other]), half)
        parts = list(getattr(left, "geoms", [left]))
        asks.append({"cut": {"rings": [ring(other)], "along": [ring(a), ring(b)], "keep": ring(keep), "how": None}})
        truths.append((f"piece {i} cut off", left if left.is_empty else min(parts, key=lambda p: p.distance(shapely.Point(*keep)))))
    pairs = []
    for (name, truth), answer in zip(truths, core.reshape(asks)):
        if refused(answer) or truth.is_empty:
            pairs.append((name, "refused: shape.nothing-left" if truth.is_empty else 0.0, refused(answer)))
            continue
        got = solid(answer["rings"])
        pairs.append((name, 0.0, float(shapely.symmetric_difference(truth, got.buffer(0)).area / truth.area)))
    yield all_of("pieces joined and cut: share of the area that differs", "shapely's union and intersection", pairs, 1e-4)
    box = lambda x, y, w, h: ring([(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
    gap = core.reshape([{"join": {"pieces": [[box(0, 0, 200, 80)], [box(202.5, -30, 60, 200)]], "gap": 4.0, "how": None}}])[0]
    yield near("two pieces either side of a drawn line 2.5 px wide", "by hand: 200·80 + 60·200 + 2.5·80", 28200, solid(gap["rings"]).area, 15)
    away = core.reshape([{"join": {"pieces": [[box(0, 0, 200, 80)], [box(215, -30, 60, 200)]], "gap": 4.0, "how": None}}])[0]
    yield holds("pieces 15 px apart are not joined", "by hand", "refused: shape.apart", refused(away) == "refused: shape.apart", refused(away) or "joined")


def halves(core):
    """The centre line of things that are even by construction, and of ones with a chip of known depth."""
    for name, shape, degrees in (("NACA 0012", inked.naca(0, 0, 0.12, 400, 200), 23), ("a star", inked.star(150, 60), 9), ("an egg", egg(), -35)):
        true = inked.turned(shape, degrees, (300, 250))
        even = core.reshape([{"symmetry": {"rings": [ring(true)]}}])[0]["even"]
        yield within(f"{name}: halves differ by, px", "even by construction", 0, 0.15, even["greatest"])
        chipped = np.array(true)
        a, b = (np.array(p) for p in even["axis"])
        n = np.array([a[1] - b[1], b[0] - a[0]]) / np.hypot(*(b - a))
        side = (chipped - a) @ n
        place = int(np.argmax(side))
        dent = 3.0 * np.exp(-(np.hypot(*(chipped - chipped[place]).T) / 6) ** 2)
        if name == "a star":
            continue
        chipped -= dent[:, None] * n
        asked = core.reshape([{"symmetry": {"rings": [ring(chipped)]}}])[0]["even"]
        yield near(f"{name} with a dent of 3 px: halves differ by", "the dent's own depth; the line leans towards it a little", 3.0, asked["greatest"], 0.4)
        made = core.reshape([{"symmetrical": {"rings": [ring(chipped)], "axis": asked["axis"], "half": asked["better"], "how": EXACT}}])[0]
        yield near(f"{name}: the better half, twice, is the whole: greatest difference, px", "shapely, Hausdorff distance to the thing without the dent", 0, inked.hausdorff(made["rings"][0], true), 0.5)


def egg():
    t = np.arange(720) * 2 * math.pi / 720
    return np.c_[150 * np.cos(t), (90 + 25 * np.cos(t)) * np.sin(t)]


def faired(core):
    """Waves round a circle: what fairing leaves of them, by its filter's own formula."""
    r, n = 200.0, 3000
    t = np.arange(n) * 2 * math.pi / n
    for waves, high in ((24, 0.8), (6, 1.5)):
        rough = r + high * np.cos(waves * t)
        at = ring(np.c_[300 + rough * np.cos(t), 300 + rough * np.sin(t)])
        length = 2 * math.pi * r / waves
        for span in (length * 2.5, length / 2.5):
            made = core.reshape([{"fair": {"rings": [at], "curves": [], "how": EXACT, "span": span, "limit": 5.0}}])[0]
            left = flat(made["curves"][0]) - 300
            radius, angle = np.hypot(*left.T), np.arctan2(left[:, 1], left[:, 0])
            order = np.argsort(angle)
            even = np.interp(t, np.sort(angle % (2 * math.pi)), radius[np.argsort(angle % (2 * math.pi))], period=2 * math.pi)
            got = 2 * float(np.mean(even * np.cos(waves * t)))
            expected = high / (1 + (span / length) ** 6)
            yield near(f"{waves} waves of {high} px, span {span / length:.1f} of theirs: left, px", "1/(1+(span/wave)⁶): Whittaker 1923, with the third derivative", expected, got, 0.06 * high)
            yield near(f"{waves} waves of {high} px, span {span / length:.1f} of theirs: moved at most, px", "what was taken off the waves", high - expected, made["moved"], 0.12 * high)


def rows(core, folder, shapes, inside):
    yield from traced(core, folder, shapes, inside)
    yield from joined_and_cut(core)
    yield from halves(core)
    yield from faired(core)
