"""Turning square-on and measuring on it, against OpenCV's homographies, shapely's polygons and numpy."""

import math

import cv2
import numpy as np
import shapely

from core import Job, Refused
from reference import circle
from row import holds, near, same
from montecarlo import SHEET, seen

OPENCV = "OpenCV getPerspectiveTransform"


def to_sheet(corners, width, height):
    """OpenCV's map from picture px to mm on a rectangle."""
    frame = np.float32([(0, 0), (width, 0), (width, height), (0, height)])
    return cv2.getPerspectiveTransform(np.float32(corners), frame).astype(float)


def carried(m, points):
    """Places carried through a map by OpenCV."""
    return cv2.perspectiveTransform(np.asarray(points, float)[None], m)[0]


def slanted(marks, corners=None, width=300.0, height=200.0, **how):
    """A picture whose whole view is turned square-on, with marks given in mm on the sheet as (kind, places)."""
    job = Job()
    job.hand["zoom"] = 8.0
    job.picture(6000, 5000)
    corners = seen(SHEET) if corners is None else corners
    job.square_on(1, corners, width, height, **how)
    return job, [job.place(seen(places), mark=kind) for kind, places in marks], corners


def lengths(core):
    """Lengths in every direction on the slanted sheet."""
    lines = [[(10, 10), (290, 10)], [(20, 20), (20, 190)], [(60, 50), (220, 160)], [(250, 30), (30, 170)]]
    job, ids, corners = slanted([("length", line) for line in lines])
    scene = core.play(job.intents)
    m = to_sheet(corners, 300, 200)
    for mark, line in zip(ids, lines):
        a, b = carried(m, seen(line))
        yield near(f"length {line[0]} to {line[1]} on a sheet seen at a slant, mm", OPENCV, float(np.hypot(*(a - b))), scene.real(mark).value, 2e-3)


LEAF = [(60, 60), (120, 40), (200, 55), (240, 100), (200, 150), (130, 160), (80, 120)]


def outline(core):
    """An outline on the sheet: area, way round, greatest length, width."""
    job, (mark,), corners = slanted([("outline", LEAF)])
    scene = core.play(job.intents)
    shape = shapely.Polygon(carried(to_sheet(corners, 300, 200), seen(LEAF)))
    hull = np.array(shape.convex_hull.exterior.coords)
    pairs = [(p, q) for p in hull for q in hull]
    a, b = max(pairs, key=lambda pq: np.hypot(*(pq[0] - pq[1])))
    greatest = float(np.hypot(*(a - b)))
    across = hull @ (np.array([a[1] - b[1], b[0] - a[0]]) / greatest)
    yield near("outline: area, mm²", OPENCV + ", shapely area", shape.area, scene.more(mark, "area").value, 0.5)
    yield near("outline: way round, mm", OPENCV + ", shapely length", shape.length, scene.more(mark, "round").value, 0.02)
    yield near("outline: greatest length, mm", OPENCV + ", shapely convex hull", greatest, scene.real(mark).value, 0.02)
    yield near("outline: width square to it, mm", OPENCV + ", shapely convex hull", float(np.ptp(across)), scene.more(mark, "width").value, 0.02)
    job = Job()
    job.picture()
    crossed = job.place([(100, 100), (900, 900), (900, 100), (100, 950)], mark="outline")
    flags = core.play(job.intents).row(crossed)["flags"]
    yield holds("an outline that crosses itself is flagged", "shapely is_valid", "a flag", not shapely.Polygon([(1, 1), (9, 9), (9, 1), (1, 9.5)]).is_valid and flags, flags)


def rounds(core):
    """Circle, arc, angle and path on the sheet."""
    on = lambda c, r, turn: [(c[0] + r * math.cos(math.radians(a)), c[1] + r * math.sin(math.radians(a))) for a in turn]
    ring = on((150, 100), 40, (0, 50, 120, 200, 260, 310))
    bend = on((150, 120), 80, (200, 245, 310))
    corner, path = [(220, 40), (150, 100), (60, 80)], [(20, 20), (90, 60), (160, 30), (280, 180)]
    job, (m_ring, m_bend, m_corner, m_path), corners = slanted([("circle", ring), ("arc", bend), ("angle", corner), ("path", path)])
    scene = core.play(job.intents)
    m = to_sheet(corners, 300, 200)
    yield near("circle across, mm", OPENCV + ", numpy least-squares circle", 2 * circle(carried(m, seen(ring)))[1], scene.real(m_ring).value, 5e-3)
    half = math.radians(55)
    yield near("arc: radius, mm", "by construction", 80.0, scene.real(m_bend).value, 5e-3)
    yield near("arc: along the curve, mm", "r × angle", 80 * 2 * half, scene.more(m_bend, "along").value, 5e-3)
    yield near("arc: rise, mm", "r (1 − cos)", 80 * (1 - math.cos(half)), scene.more(m_bend, "rise").value, 5e-3)
    yield near("arc: end to end, mm", "2 r sin", 160 * math.sin(half), scene.more(m_bend, "end").value, 5e-3)
    a, b, c = carried(m, seen(corner))
    angle = math.acos(np.dot(a - b, c - b) / np.hypot(*(a - b)) / np.hypot(*(c - b)))
    yield near("angle, rad", OPENCV + ", numpy", angle, scene.real(m_corner).value, 1e-5)
    p = carried(m, seen(path))
    yield near("path along its points, mm", OPENCV + ", numpy", float(np.hypot(*np.diff(p, axis=0).T).sum()), scene.real(m_path).value, 5e-3)


def sheets(core):
    """Sheets by name, and where the scale then comes from."""
    line = [(40, 40), (250, 150)]
    for name, size in (("a4", (297, 210)), ("letter", (279.4, 215.9)), ("a3", (420, 297)), ("card", (85.6, 53.98))):
        job = Job()
        job.hand["zoom"] = 8.0
        job.picture(6000, 5000)
        corners = seen(SHEET)
        job.square_on(1, corners, sheet=name, of="sheet")
        job.add("set-drawing-scale", picture=1, one_to=10)
        mark = job.place(seen(line))
        a, b = carried(to_sheet(corners, *size), seen(line)) * 10
        yield near(f"a drawing at 1:10 on {name}, mm", OPENCV + "; ISO 216, ANSI Y14.1, ISO/IEC 7810", float(np.hypot(*(a - b))), core.play(job.intents).real(mark).value, 0.05)
    job, (known, mark), corners = slanted([("length", [(20, 20), (260, 40)]), ("length", line)], width=None, height=None, sheet="a4", of="sheet")
    job.known(known, 1200, pm=0.5)
    m = to_sheet(corners, 297, 210)
    (a, b), (c, d) = carried(m, seen([(20, 20), (260, 40)])), carried(m, seen(line))
    want = 1200 * np.hypot(*(c - d)) / np.hypot(*(a - b))
    yield near("shape from A4, scale from one true length, mm", OPENCV, float(want), core.play(job.intents).real(mark).value, 0.02)


def proved(core):
    """A check length proves the turn, or doesn't."""
    for given, wrong in ((math.hypot(160, 110), False), (math.hypot(160, 110) + 6, True)):
        job, (mark,), _ = slanted([("length", [(60, 50), (220, 160)])])
        job.known(mark, given, pm=0.3, pulls=False)
        told = any(n["id"] == f"check-{mark}" for n in core.play(job.intents).told["notes"])
        yield same(f"a check length of {given:.1f} mm on the turned sheet is remarked on", "by construction: 194.2 is true", wrong, told)


def refusals(core):
    """Corners that can't be a rectangle's, and a flat view that isn't."""
    bad = {
        "three corners in a line": [(100, 100), (900, 100), (1700, 100), (900, 900)],
        "two corners in one place": [(100, 100), (900, 100), (900, 100), (100, 900)],
        "corners across one another": [(100, 100), (900, 900), (900, 100), (100, 900)],
        "a dented corner": [(100, 100), (900, 100), (300, 300), (100, 900)],
    }
    for name, corners in bad.items():
        job = Job()
        job.picture()
        job.square_on(1, corners, 300, 200)
        answer = core.answers(job.intents)[-1]
        yield holds(f"{name}: refused in words", "shapely: no convex quadrilateral", "refused", isinstance(answer, Refused) and " " in str(answer), answer)
    for name, corners, asked in (("seen at a slant", seen(SHEET), True), ("seen square", [(300, 300), (3300, 340), (3273.3, 2340), (273.3, 2300)], False)):
        job = Job()
        job.hand["zoom"] = 4.0
        job.picture(6000, 5000)
        mark = job.place(corners, mark="outline")
        notes = [n["id"] for n in core.play(job.intents).told["notes"]]
        yield same(f"an outline of four corners {name} is questioned", "numpy: angle between opposite sides", asked, f"slant-{mark}" in notes)


def turned(core):
    """Two scales run along a view's own level, which may be turned on the picture."""
    turn, kx, ky = math.radians(7), 10.25, 10.0
    c, s = math.cos(turn), math.sin(turn)
    put = lambda x, y: (1000 + c * x * kx - s * y * ky, 600 + s * x * kx + c * y * ky)
    job = Job()
    job.hand["zoom"] = 8.0
    job.picture(6000, 5000)
    view = job.view(1, "other", put(-20, -20), (340 * kx, 240 * ky), math.degrees(turn))
    across, along = job.place([put(0, 0), put(300, 0)]), job.place([put(0, 10), put(0, 190)])
    mark = job.place([put(30, 20), put(280, 150)])
    job.known(across, 300, pm=0.05)
    job.known(along, 180, pm=0.05)
    job.add("two-scales", view=view, on=True)
    yield near("a slope on a stretched view turned by 7°, mm", "by construction: Pythagoras", math.hypot(250, 130), core.play(job.intents).real(mark).value, 5e-3)


def rows(core, trials=2_000):
    """Every row of this area."""
    for part in (lengths, outline, rounds, sheets, proved, refusals, turned):
        yield from part(core)
