"""Borders, views and followed edges against outlines whose truth is known, shapely, scikit-image, and a real drawing."""

import math
import pathlib
import tempfile

import cv2
import hen
import inked
import marsh_hen
import numpy as np
import shapings
import sheets
from core import ROOT, Refused
from drawings import real_figures
from reference import circle
from row import all_of, holds, near, nearly, within
from scan import scan
from skimage import measure

LINE = 3.2  # px: a line of 0.27 mm at 300 dots per inch
MEDIAN, P95 = 0.25, 0.5  # px: the aims of the outline
SEEDS = 20
DPI = 150
SHEETS = 15


class Folder:
    """Pictures on disk for the native door, gone afterwards."""

    def __init__(self, core):
        self.core, self.folder = core, tempfile.TemporaryDirectory()
        self.asks = []

    def put(self, grey):
        """Writes a picture; gives its file."""
        file = pathlib.Path(self.folder.name) / f"{len(list(pathlib.Path(self.folder.name).iterdir()))}.png"
        cv2.imwrite(str(file), grey, [cv2.IMWRITE_PNG_COMPRESSION, 1])
        return file

    def border(self, file, at):
        """The border round a touch: an object with rings, or the Refused."""
        return self.core.seek_in([(file, {"kind": "border", "inside": [float(v) for v in at]})])[0]["border"]


def shapes():
    """Name, ring in px, its area and length by closed form (or, where there is none, by the ring's own 800 sides), where to
    touch, and how its picture is made."""
    chord, a, b, outer, inner = 520.0, 190.0, 95.0, 200.0, 90.0
    h = ((a - b) / (a + b)) ** 2
    round_ = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))  # Ramanujan 1914: off by under 1e-6 here
    side = math.sqrt(outer**2 + inner**2 - 2 * outer * inner * math.cos(math.pi / 5))
    long, wide, r = 330.0, 120.0, 60.0
    mid = np.array([320.3, 240.6])
    cambered = inked.naca(0.02, 0.4, 0.12, chord)
    report = "NACA Report 460 formula, computed in methods"
    yield "NACA 0012", inked.turned(inked.naca(0, 0, 0.12, chord), 7, mid), 0.082210 * chord**2, 2.04179 * chord, report, dict(blur=0.8, noise=0.01)
    yield "NACA 2412", inked.turned(cambered, -12, mid), *polygon(cambered), "NACA Report 460, its polygon of 800 sides", dict(blur=1.2, noise=0.02, quality=85)
    yield "ellipse", inked.turned(inked.ellipse(a, b), 33, mid), math.pi * a * b, round_, "πab; Ramanujan's length", dict(blur=1.6, noise=0.05, shade=0.1)
    area = 2 * long * wide - wide**2 - (1 - math.pi / 4) * r**2
    yield "L, one corner round", inked.turned(inked.ell(long, wide, r), 5, mid), area, 4 * long - 2 * r + math.pi * r / 2, "closed form", dict(blur=1.0, noise=0.03, quality=60)
    yield "star", inked.turned(inked.star(outer, inner), 11, mid), 5 * outer * inner * math.sin(math.pi / 5), 10 * side, "closed form", dict(blur=0.7, noise=0.02, quality=95)


def racks(core):
    """Boards in a rack, some alike and some not, as tones or drawn lines: from one of those alike, the others and no more."""
    folder, rng, found = Folder(core), np.random.default_rng(11), []
    for seed in range(15):
        wide, high = rng.uniform(160, 420), rng.uniform(18, 40)
        count = int(rng.integers(2, 6))
        sizes = [(wide, high)] * count + [(wide, high * 1.6), (wide * 0.8, high), (wide, high * 0.55)]
        tops = 20 + np.cumsum([0.0] + [h + rng.uniform(14, 40) for _, h in sizes])[:-1]
        order = rng.permutation(len(sizes))
        # Left, top and size of each, in the order in which they stand.
        boards, y = [], 20.0
        for i in order:
            (w, h), x = sizes[i], rng.uniform(20, 200)
            boards.append((i < count, np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]])))
            y += h + rng.uniform(14, 40)
        size = (640, int(y) + 20)
        rings = [ring for _, ring in boards]
        drawn = seed % 2 == 0
        ink = inked.drawn(rings, LINE, size) if drawn else inked.coverage(rings, *size)
        grey = inked.picture(ink, rng, blur=1.0, noise=0.02)
        alike = [ring for same, ring in boards if same]
        file = folder.put(grey)
        own = np.array(folder.border(file, alike[0].mean(0))["rings"][0])
        bounds = [*own.min(0), *own.max(0)]
        got = core.seek_in([(file, {"kind": "like", "bounds": [float(v) for v in bounds]})])[0]["borders"]
        centres = sorted(tuple(np.round(np.array(b["rings"][0]).mean(0)).astype(int)) for b in got)
        near_ = [min(float(np.hypot(*(np.array(c) - r.mean(0)))) for c in centres) if centres else 1e9 for r in alike[1:]]
        found.append((seed, "all", "all" if len(got) == count - 1 and max(near_) < 3 else f"{len(got)} of {count - 1}"))
    yield all_of("the others like a board, in racks of boards", "its script's own boards", found)


def polygon(ring):
    """Area and length of a polygon: the trapezium rule."""
    x, y = np.asarray(ring).T
    return abs(float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) / 2), length(ring)


def length(ring):
    """Once round a ring."""
    p = np.asarray(ring)
    return float(np.hypot(*(p - np.roll(p, -1, axis=0)).T).sum())


def inside(ring):
    """A place well within a ring: the largest disc's middle, by the distance transform."""
    mask = np.zeros((480, 640), np.uint8)
    cv2.fillPoly(mask, [np.round(ring).astype(np.int32)], 255)
    return np.array(cv2.minMaxLoc(cv2.distanceTransform(mask, cv2.DIST_L2, 5))[3]) + 0.5


def synthetic(core):
    """Five shapes, each as a drawn line and as a thing on a ground."""
    folder = Folder(core)
    rng = np.random.default_rng(4)
    against = []
    for name, ring, area, round_, source, how in shapes():
        for drawn in (True, False):
            ink = inked.drawn([ring], LINE, (640, 480)) if drawn else inked.coverage([ring], 640, 480)
            grey = inked.picture(ink, rng, **how)
            found = folder.border(folder.put(grey), inside(ring))
            got = np.array(found["rings"][0])
            told = f"{name}, {'drawn' if drawn else 'solid'}; " + ", ".join(f"{k} {v}" for k, v in how.items())
            off = inked.distances(got, [ring])
            yield nearly(f"{told}: area", source, area, polygon(got)[0], 0.004)
            lost = tips_lost(ring, LINE / 2 * drawn + how["blur"])
            yield near(f"{told}: length round", f"{source}; less what is lost in sharp tips", round_, length(got), 0.005 * round_ + 2 * sum(lost))
            yield within(f"{told}: median off", "shapely, distance to the ring drawn", 0, MEDIAN, float(np.median(off)))
            yield within(f"{told}: 95th percentile off", "shapely, distance to the ring drawn", 0, P95, float(np.quantile(off, 0.95)))
            yield within(f"{told}: Hausdorff", "shapely, either way; a tip is filled by pen and lens", 0, 1.5 + max(lost, default=0), inked.hausdorff(got, ring))
            if not drawn:
                against.append((name, rms(off), contour_rms(grey, ring)))
    for name, ours, theirs in against:
        yield within(f"{name}, solid: RMS no worse than find_contours'", "scikit-image find_contours at the half level, moved by half a pixel", 0, theirs, ours)


def tips_lost(ring, filled):
    """How far the inside of each sharp corner lies from its tip, px, when lines `filled` px to each side of the middle meet
    there: filled ÷ sin(half the angle), geometry. Corners are those where the ring turns by more than 45° within 4 px."""
    p = np.asarray(ring)
    at = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(np.vstack([p, p[:1]]), axis=0).T))])
    even = np.arange(0, at[-1], 0.5)
    q = np.c_[np.interp(even, at, np.r_[p[:, 0], p[0, 0]]), np.interp(even, at, np.r_[p[:, 1], p[0, 1]])]
    a, b = q - np.roll(q, 16, axis=0), np.roll(q, -16, axis=0) - q
    turn = np.abs(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(1)))
    sharp = [i for i in range(len(q)) if turn[i] > math.pi / 4 and turn[i] == turn.take(range(i - 24, i + 25), mode="wrap").max()]
    return [filled / math.sin((math.pi - turn[i]) / 2) for i in sharp]


def rms(off):
    return float(np.sqrt(np.mean(np.square(off))))


def contour_rms(grey, ring):
    """The same of scikit-image's longest contour at the half level between ground and thing."""
    mask = np.zeros(grey.shape, np.uint8)
    cv2.fillPoly(mask, [np.round(ring).astype(np.int32)], 255)
    level = (np.median(grey[mask > 0]) + np.median(grey[mask == 0])) / 2
    longest = max(measure.find_contours(grey.astype(float), level), key=len)
    return rms(inked.distances(longest[:, ::-1] + 0.5, [ring]))


def told_sigma(core):
    """The σ told against the spread of the border's own points about a circle."""
    folder = Folder(core)
    t = np.arange(3000) * 2 * math.pi / 3000
    for noise, blur in ((0.01, 0.8), (0.03, 1.2), (0.05, 1.8)):
        off, told = [], []
        for seed in range(6):
            rng = np.random.default_rng(seed)
            c = np.array([160.2, 150.4]) + rng.random(2)
            ring = np.c_[c[0] + 110 * np.cos(t), c[1] + 110 * np.sin(t)]
            found = folder.border(folder.put(inked.picture(inked.drawn([ring], LINE, (320, 300)), rng, blur, noise)), c)
            r = np.hypot(*(np.array(found["rings"][0]) - c).T)
            off.append(r - r.mean())
            told.append(found["sigma"])
        yield within(f"σ told ÷ spread, noise {noise:g}, blur {blur:g}", "numpy: distances from the middle of the circle drawn", 0.7, 1.5, float(np.mean(told) / np.concatenate(off).std()))


def closed_and_holed(core):
    """A hole, a gap, a rib, strokes; by the rings drawn."""
    folder = Folder(core)
    rng = np.random.default_rng(9)
    size = (640, 480)
    ring = inked.turned(inked.ellipse(220, 130), 12, (320, 240))
    hole = inked.turned(inked.ellipse(40, 28), 60, (380, 250))
    grey = inked.picture(inked.drawn([ring, hole], LINE, size), rng)
    found = folder.border(folder.put(grey), (250, 240))
    yield all_of("a hole is kept", "areas πab", zip(("outline", "hole"), (math.pi * 220 * 130, math.pi * 40 * 28), [polygon(r)[0] for r in found["rings"]] + [0]), 100)
    solid = np.clip(inked.coverage([ring], *size) - inked.coverage([hole], *size), 0, 1)
    found = folder.border(folder.put(inked.picture(solid, rng)), (250, 240))
    yield all_of("a hole in a solid thing", "areas πab", zip(("outline", "hole"), (math.pi * 220 * 130, math.pi * 40 * 28), [polygon(r)[0] for r in found["rings"]] + [0]), 100)
    for wide in (4, 9, 16, 24):
        keep = [k for k in range(len(ring)) if np.hypot(*(ring[k] - ring[300])) > wide / 2]
        start = keep.index(max(k for k in keep if k < 300)) + 1
        run = np.array([ring[k] for k in keep[start:] + keep[:start]])
        grey = inked.picture(inked.stroked([inked.shapely.LineString(run)], LINE, size), rng)
        found = folder.border(folder.put(grey), (250, 240))
        off = inked.distances(found["rings"][0], [ring])
        ok = len(found["bridges"]) == 1 and np.quantile(off, 0.95) < P95 and np.median(off) < MEDIAN
        middle = np.mean(found["bridges"][0], axis=0) if found["bridges"] else np.zeros(2)
        ok = ok and np.hypot(*(middle - ring[300])) < wide
        yield holds(f"a gap of {wide} px is bridged and told", "the ring drawn, by shapely", "one bridge, there", ok, f"{len(found['bridges'])}, 95 % within {np.quantile(off, 0.95):.2f} px")
    lines = [inked.shapely.LineString(np.vstack([ring, ring[:1]]))]
    strokes = [[(250, 60), (250, 430)], [(320, 240), (600, 240)], [(300, 150), (300, 200), (330, 200)]]
    grey = inked.picture(inked.stroked(lines + [inked.shapely.LineString(s) for s in strokes], LINE, size), rng)
    cv2.putText(grey, "8 in", (380, 300), cv2.FONT_HERSHEY_SIMPLEX, 0.9, 40, 2, cv2.LINE_AA)
    found = folder.border(folder.put(grey), (400, 200))
    yield nearly("a rib, a line out, a line in and lettering", "area πab", math.pi * 220 * 130, polygon(found["rings"][0])[0], 0.004)
    yield holds("and none of them is a hole", "none was drawn", "1 ring", len(found["rings"]) == 1, len(found["rings"]))


def hens(core, count):
    """Marsh Hen's outlines and views, over seeds."""
    folder = Folder(core)
    touches = (("top", (0, 100)), ("side", (90, 25)), ("front", (60, 10 + hen.BODY_DEPTH / 2 - 2)))
    views = {"top": hen.top_view(), "side": hen.side_view(), "front": hen.front_view()}
    medians, high, right = {v: [] for v in views}, {v: [] for v in views}, []
    for seed in range(1, count + 1):
        truth, runs, corners, rng = marsh_hen.draw(seed, DPI)
        k = truth["px_per_mm"]
        grey = scan(runs, hen.LINE * k, (truth["width"], truth["height"]), corners, rng, k, 2.5)
        file = folder.put(grey)
        _, places, _ = marsh_hen.layout(np.random.default_rng(seed), wide=seed % 2 == 1)
        to_picture = lambda v, points: marsh_hen.through(np.array(truth["sheet_to_picture"]), np.asarray(points) + places[v])
        asks = [(file, {"kind": "border", "inside": to_picture(v, [at])[0].tolist()}) for v, at in touches]
        *borders, found = core.seek_in([*asks, (file, {"kind": "views"})])
        for (v, _), border in zip(touches, borders):
            off = np.concatenate([run_distances(r, [to_picture(v, run) for run in views[v]["runs"]]) for r in border["border"]["rings"]])
            medians[v].append(np.median(off))
            high[v].append(np.quantile(off, 0.95))
        boxes = {v: to_picture(v, [[(e := views[v]["extent"])[0], e[1]], [e[2], e[1]], [e[2], e[3]], [e[0], e[3]]]) for v in views}
        right.append((seed, "right", divided(found["views"], [(*b.min(0), *b.max(0)) for b in boxes.values()])))
        file.unlink()
    for v in views:
        source = f"its script's own lines; median of {count} seeds, one touch"
        yield within(f"Marsh Hen, {v}: median off", source, 0, MEDIAN, float(np.median(medians[v])))
        yield within(f"Marsh Hen, {v}: 95th percentile off", source, 0, P95, float(np.median(high[v])))
        yield within(f"Marsh Hen, {v}: worst seed's 95th percentile", source, 0, P95, float(np.max(high[v])))
    yield all_of("Marsh Hen divided into its views", "its script's own boxes", right)


def run_distances(found, runs):
    """How far places lie from drawn lines."""
    lines = inked.shapely.MultiLineString([np.asarray(r) for r in runs])
    return inked.shapely.distance(inked.shapely.points(np.asarray(found)), lines)


def divided(found, truth):
    """'right' when each true box lies in a found one of its own that no other reaches into; else what is wrong."""
    if len(found) != len(truth):
        return f"{len(found)} views"
    taken = []
    for box in truth:
        slack = 0.01 * max(box[2] - box[0], box[3] - box[1])
        holds_it = [i for i, v in enumerate(found) if v["bounds"][0] <= box[0] + slack and v["bounds"][1] <= box[1] + slack
                    and v["bounds"][2] >= box[2] - slack and v["bounds"][3] >= box[3] - slack]
        if len(holds_it) != 1:
            return f"{len(holds_it)} boxes hold one view"
        taken.append(holds_it[0])
    if len(set(taken)) != len(taken):
        return "one box holds two views"
    return "right" if all(v["shapes"] for v in found) else "a view has no shape"


def generated(core, count):
    """Three-views of invented things in many layouts."""
    folder = Folder(core)
    for seed in range(count):
        grey, boxes = sheets.sheet(seed)
        found = core.seek_in([(folder.put(grey), {"kind": "views"})])[0]
        got = f"refused: {found.key}" if isinstance(found, Refused) else divided(found["views"], boxes)
        yield holds(f"invented three-view {seed} divided", "its generator's own boxes", "right", got == "right", got)


def followed(core):
    """An edge followed between touches."""
    folder = Folder(core)
    rng = np.random.default_rng(5)
    ring = inked.turned(inked.ellipse(230, 150), 20, (320, 240))
    for drawn in (True, False):
        ink = inked.drawn([ring], LINE, (640, 480)) if drawn else inked.coverage([ring], 640, 480)
        a, b = ring[100] + (3, -2), ring[700] + (-2, 3)
        file = folder.put(inked.picture(ink, rng, noise=0.02, quality=85))
        path = core.seek_in([(file, {"kind": "follow", "from": a.tolist(), "to": b.tolist()})])[0]["path"]
        off = inked.distances(path["points"], [ring])
        name = "a drawn line" if drawn else "a thing's edge"
        yield within(f"{name} followed: median off", "shapely, distance to the ring drawn", 0, MEDIAN, float(np.median(off)))
        yield within(f"{name} followed: 95th percentile off", "shapely, distance to the ring drawn", 0, P95, float(np.quantile(off, 0.95)))
        yield nearly(f"{name} followed: its length", "numpy, along the ring between the touches", length(ring) * arc(ring, 100, 700), way(path["points"]), 0.02)


def arc(ring, i, j):
    """The share of a ring that lies between two of its points."""
    return way(ring[i : j + 1]) / length(ring)


def way(points):
    return float(np.hypot(*np.diff(np.asarray(points), axis=0).T).sum())


def real(core):
    """The drawing that others made: one touch, against the figures written on it."""
    told = real_figures()
    file = ROOT / "tests" / "real" / told["picture"]
    source = "the figures written on it"
    found = core.seek_in([(file, {"kind": "border", "inside": [660, 1400]})])[0]["border"]
    outer, *rings = [np.array(r) for r in found["rings"]]
    k = (outer[:, 0].max() - outer[:, 0].min()) / 65
    yield nearly("real drawing, one touch: high to wide", source, 56.5 / 65, (outer[:, 1].max() - outer[:, 1].min()) / (65 * k), 0.003)
    # Corners of radius 3 take (4 − π)·3² away; the recess of 17 × 5 has two corners in and two out, which cancel.
    area = 65 * 56.5 - (4 - math.pi) * 9 - 17 * 5
    yield nearly("real drawing: area", source + ", by hand", area, polygon(outer)[0] / k**2, 0.003)
    right, top = outer[:, 0].max(), outer[:, 1].min()
    corner = outer[(outer[:, 0] > right - 2.4 * k) & (outer[:, 1] < top + 2.4 * k)]
    yield nearly("real drawing: corner's radius", source, 3, circle(corner)[1] / k, 0.04)
    wall = outer[(outer[:, 0] < outer[:, 0].min() + 6 * k) & (abs(outer[:, 1] - 1313) < 5 * k)]
    yield nearly("real drawing: recess deep", source, 5, float(np.median(wall[:, 0]) - outer[:, 0].min()) / k, 0.02)
    lands = [r for r in rings if abs(polygon(r)[0] / k**2 / (math.pi * 3.1**2) - 1) < 0.03]
    yield holds("real drawing: lands of 6.2", source, "4", len(lands) == 4, len(lands))
    slots = [r for r in rings if abs(polygon(r)[0] / k**2 / (2 * 15 + math.pi) - 1) < 0.03]
    yield holds("real drawing: slot of 2 × 17", source, "1", len(slots) == 1, len(slots))
    yield holds("real drawing: lettering and arrows left out", "counted by eye: outline, 4 lands, header, square, slot", "8 rings", len(rings) == 7, len(rings) + 1)
    views = core.seek_in([(file, {"kind": "views"})])[0]["views"]
    yield holds("real drawing: its views", "counted by eye", "1", len(views) == 1, len(views))


def rows(core, trials=2_000):
    """Every row of this area."""
    yield from synthetic(core)
    yield from told_sigma(core)
    yield from closed_and_holed(core)
    yield from followed(core)
    yield from racks(core)
    yield from shapings.rows(core, Folder(core), shapes(), inside)
    yield from real(core)
    yield from generated(core, SHEETS)
    # Where a planted fault only has to be seen, a few of the large pictures do.
    yield from hens(core, SEEDS if trials >= 1_000 else 2)
