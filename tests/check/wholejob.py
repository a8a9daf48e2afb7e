"""Whole jobs through the native door: a drawing's picture in, patterns out, the printed outlines read back from the PDF."""

import fractions
import json
import math
import pathlib
import re

import cv2
import hen
import marsh_hen
import numpy as np
import shapely
from core import Refused
from printed import Printed
from row import all_of, holds, within
from scan import scan

SEEDS = 20
DPI = 150
BUILD = 609.6  # mm: the body is to be built 24 in long
SHEET = 2000.0  # mm: all patterns lie on one page
HAUSDORFF = 1.0  # px of the picture: the aim
FINE = 0.3  # px between the places that are compared
VIEWS = {"top": hen.top_view(), "side": hen.side_view(), "front": hen.front_view()}


def silhouette(view):
    """The outline of a view's largest thing, mm on paper: what its lines shut in, each taken at its middle. A single straight
    line (fin and legs seen from the front) shuts nothing in; a wing's line runs on into the body, within its own width."""
    faces = []
    for run in map(np.asarray, view["runs"]):
        if len(run) == 2:
            continue
        if math.dist(run[0], run[-1]) > 1e-6:
            run = np.vstack([(0, run[0][1]), run, (0, run[-1][1])])
        faces.append(shapely.make_valid(shapely.Polygon(run)))
    solid = shapely.union_all(faces)
    return np.asarray(max(getattr(solid, "geoms", [solid]), key=lambda g: g.area).exterior.coords)


def play(core, folder, seed):
    """Draws a seed's picture and makes its patterns as a person would: the truth and the file printed."""
    truth, runs, corners, rng = marsh_hen.draw(seed, DPI)
    k = truth["px_per_mm"]
    grey = scan(runs, hen.LINE * k, (truth["width"], truth["height"]), corners, rng, k, 2.5)
    picture, pdf = pathlib.Path(folder) / "hen.png", pathlib.Path(folder) / "hen.pdf"
    cv2.imwrite(str(picture), grey, [cv2.IMWRITE_PNG_COMPRESSION, 1])
    lines = [
        {"kind": "add-picture", "name": "hen.png", "width": truth["width"], "height": truth["height"], "digest": "hen"},
        {"kind": "answer", "file": str(picture)},
        {"kind": "place", "picture": 1, "mark": "length", "points": body(truth), "name": "Body"},
        {"kind": "set-build", "mark": 1, "length": {"mm": BUILD}},
        {"kind": "go", "step": "marks"}, {"kind": "tool", "tool": "outline"}, {"kind": "take-outlines"},
        {"kind": "set-paper", "paper": {"name": "custom", "size": [SHEET, SHEET], "turn": "upright"}},
        {"kind": "press", "pdf": str(pdf)},
    ]
    for answer in map(json.loads, core.lines(lines)):
        if "error" in answer:
            raise Refused(answer["error"])
    return truth, Printed(pdf)


def body(truth):
    """The ends of the body's length, px."""
    return next(f["points"] for f in truth["features"] if f["view"] == "top" and f["name"] == "body, nose to tail")


def flat(path, steps=24):
    """A path of lines and cubics as a line of points."""
    out, at = [], 0
    while at < len(path):
        if path[at][0] != "c":
            out.append(path[at][1:])
            at += 1
            continue
        p = np.array([out[-1], *(s[1:] for s in path[at : at + 3])])
        t = np.linspace(0, 1, steps + 1)[1:, None]
        out.extend((1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t * t * (1 - t) * p[2] + t**3 * p[3])
        at += 3
    out = np.array(out)
    return out if np.array_equal(out[0], out[-1]) else np.vstack([out, out[:1]])


def dense(ring):
    """Places along a ring, none farther than `FINE` from the next; its corners are among them."""
    return np.asarray(shapely.segmentize(shapely.LineString(ring), FINE).coords)


def nearest(places, ring):
    """The place on a ring that lies nearest to each of these."""
    sides = shapely.linestrings(np.stack([ring[:-1], ring[1:]], axis=1))
    at = shapely.points(places)
    side = sides[shapely.STRtree(sides).nearest(at)]
    return shapely.get_coordinates(shapely.line_interpolate_point(side, shapely.line_locate_point(side, at)))


def apart(found, true):
    """The Hausdorff distance of two rings, after the one was moved (never turned nor scaled) to where it fits best in the
    least-squares sense."""
    found = found + (true.max(0) + true.min(0) - found.max(0) - found.min(0)) / 2
    for _ in range(40):
        places = dense(found)
        move = (nearest(places, true) - places).mean(0)
        found = found + move
        if np.hypot(*move) < 1e-3:
            break
    ways = ((dense(found), true), (dense(true), found))
    return max(float(np.hypot(*(nearest(a, b) - a).T).max()) for a, b in ways)


def outlines(file, trues):
    """The three printed outlines, mm: of the page's paths those with most points, each given to the view nearest in size."""
    rings = [flat(p) for p in sorted(file.paths(), key=len)[-len(trues) :]]
    off = lambda ring, true: float(np.abs(np.ptp(ring, axis=0) - np.ptp(true, axis=0)).max())
    told = {v: min(rings, key=lambda r: off(r, true)) for v, true in trues.items()}
    if len({id(r) for r in told.values()}) != len(trues):
        raise ValueError("the printed outlines are not one of each view")
    return told


def inches(text):
    """23 5/16 as a number of mm."""
    return float(sum(fractions.Fraction(t) for t in text.replace("\u2044", "/").replace("\u2215", "/").split())) * 25.4


def written(file):
    """What stands on each pattern: by its view, length, width and ±, mm."""
    said = re.sub(r"\s+", " ", file.text())
    found = re.findall(r"\b[A-Z] (top|side|front) Make 1 ([^×,]+) × ([^×,]+), ± (\S+(?: \S+)?) in\b", said)
    return {view: tuple(map(inches, sizes)) for view, *sizes in found}


def extents(ring):
    """The greatest length of a ring, and its width square to that."""
    hull = np.asarray(shapely.MultiPoint(ring).convex_hull.exterior.coords)
    way = hull[:, None] - hull[None]
    i, j = np.unravel_index(np.argmax(np.hypot(*way.T).T), way.shape[:2])
    along = way[i, j] / np.hypot(*way[i, j])
    return float(np.hypot(*way[i, j])), float(np.ptp(hull @ [-along[1], along[0]]))


def sixteenths(mm):
    """To the nearest 1/16 in, as the job rounds."""
    return round(mm / 25.4 * 16) / 16 * 25.4


def rows(core, folder, count):
    """Marsh Hen from its picture to printed patterns, over seeds."""
    off, sizes, made = {v: [] for v in VIEWS}, [], []
    for seed in range(1, count + 1):
        try:
            truth, file = play(core, folder, seed)
        except Refused as no:
            made.append((f"seed {seed}", "made", str(no)))
            for distances in off.values():
                distances.append(math.inf)
            continue
        scale = BUILD / math.dist(*body(truth))
        m = np.array(truth["sheet_to_picture"])
        # Where a view lies on the sheet makes no difference: it is moved to fit.
        trues = {v: marsh_hen.through(m, silhouette(view)) for v, view in VIEWS.items()}
        for v, ring in outlines(file, {v: t * scale for v, t in trues.items()}).items():
            off[v].append(apart(ring / scale, trues[v]))
        said = written(file)
        made.append((f"seed {seed}", "made", "made" if len(said) == len(VIEWS) else f"sizes only on {', '.join(said)}"))
        for v, (length, width, pm) in said.items():
            for what, got, true in zip(("long", "wide"), (length, width), extents(trues[v] * scale)):
                sizes.append((abs(got - sixteenths(true)) <= pm + 1e-9, f"seed {seed}, {v} {what}: {got / 25.4:.4f}, true {true / 25.4:.4f} ± {pm / 25.4:.4f} in"))
        file.pdf.close()
    yield all_of("whole job natively: three patterns, each with its size", "by hand", made)
    source = "the drawing's own lines, 24 in ÷ the body's px"
    # What was not made counts as infinitely far off.
    for v in VIEWS:
        row = within(f"whole job natively, {v}: Hausdorff of the printed outline, px", f"{source}; median of {count} seeds", 0, HAUSDORFF, float(np.median(off[v])))
        there = [d for d in off[v] if math.isfinite(d)]
        if there:
            row.got += f"; worst that was made {max(there):.3f}, seed {off[v].index(max(there)) + 1}"
        yield row
    good = sum(ok for ok, _ in sizes)
    got = f"{good} of {len(sizes)}" + next((f"; {text}" for ok, text in sizes if not ok), "")
    # A ± holds 95 times in 100.
    yield holds("whole job natively: sizes written are the true ones to 1/16 in, within the ± beside them", source, "95 of 100", sizes and good >= 0.95 * len(sizes), got)
