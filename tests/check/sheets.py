"""Three-views of invented things in many layouts, so that dividing them can be tried: two rectangles with something cut out,
beside or above one another, framed or not, with lettering, dimension lines, a title block, turned a little."""

import math

import cv2
import numpy as np
import shapely
from inked import picture, turned

# Where the three views stand: places of front, side and top in columns and rows.
LAYOUTS = [((0, 1), (1, 1), (0, 0)), ((1, 0), (0, 0), (1, 1)), ((0, 0), (1, 0), (2, 0)), ((0, 0), (0, 1), (0, 2)),
           ((1, 1), (0, 1), (1, 0)), ((0, 0), (1, 1), (0, 1))]


def outline(rng, wide, high, kind):
    """A shape's lines within wide × high: its outline first, then what is drawn in it or beside it."""
    box = shapely.box(0, 0, wide, high)
    if kind == 0:  # a box with a rounded corner, a rib across and a hole
        shape = box.intersection(shapely.box(0, 0, wide, high).buffer(-high * 0.2).buffer(high * 0.2))
        return [shape.exterior, shapely.LineString([(wide * 0.6, 0), (wide * 0.6, high)]),
                shapely.Point(wide * 0.3, high * 0.5).buffer(high * 0.15).exterior]
    if kind == 1:  # a slope, with two wheels just under it
        shape = shapely.Polygon([(0, high * 0.3), (wide * 0.4, 0), (wide, 0), (wide, high * 0.78), (0, high * 0.78)])
        r = high * 0.1
        wheels = [shapely.Point(x, high - r).buffer(r).exterior for x in (wide * 0.25, wide * 0.75)]
        return [shape.exterior, *wheels]
    if kind == 2:  # a long oval with a bar across it
        oval = shapely.affinity.scale(shapely.Point(wide / 2, high / 2).buffer(0.5, quad_segs=64), wide, high)
        return [oval.exterior, shapely.LineString([(wide * 0.3, high * 0.5), (wide * 0.7, high * 0.5)])]
    # a frame of shelves
    shelves = [shapely.LineString([(0, high * k / 4), (wide, high * k / 4)]) for k in (1, 2, 3)]
    return [box.exterior, *shelves]


def dimension(a, b, away, line, rng):
    """A dimension line beside a..b (level or upright): extension lines that begin clear of the thing, arrowheads, a gap for
    the figure in its middle. Gives lines and where its figure goes."""
    a, b = np.array(a, float), np.array(b, float)
    u = (b - a) / np.hypot(*(b - a))
    n = np.array([u[1], -u[0]])
    head = 7 * line
    c, d = a + n * away, b + n * away
    mid = (c + d) / 2
    lines = [[a + n * 4 * line, c + n * 3 * line], [b + n * 4 * line, d + n * 3 * line], [c, mid - u * 22], [mid + u * 22, d]]
    for tip, way in ((c, u), (d, -u)):
        lines.append([tip, tip + way * head + n * head / 4, tip + way * head - n * head / 4, tip])
    return [shapely.LineString(x) for x in lines], mid


def sheet(seed):
    """A picture and its views' boxes, round what is drawn of the thing itself: left, top, right, bottom, px."""
    rng = np.random.default_rng(1000 + seed)
    line, gap = 1.6 + 1.4 * rng.random(), 90 + 40 * rng.random()
    long, wide, high = 300 + 90 * rng.random(), 190 + 70 * rng.random(), 130 + 60 * rng.random()
    sizes = [(wide, high), (long, high), (long, wide) if seed % 2 else (wide, long)]
    places = LAYOUTS[seed % len(LAYOUTS)]
    columns = [max((s[0] for s, p in zip(sizes, places) if p[0] == k), default=0) for k in range(3)]
    rows = [max((s[1] for s, p in zip(sizes, places) if p[1] == k), default=0) for k in range(3)]
    start = lambda list_, k: 130 + sum(list_[:k]) + gap * k
    lines, texts, boxes = [], [], []
    for i, (size, place) in enumerate(zip(sizes, places)):
        x, y = start(columns, place[0]), start(rows, place[1])
        own = [shapely.affinity.translate(s, x, y) for s in outline(rng, *size, (seed + i) % 4)]
        lines += own
        boxes.append(shapely.union_all(own).bounds)
        if seed % 3 != 0:
            dims, mid = dimension((x, y), (x + size[0], y), 40, line * 0.6, rng)
            lines += dims
            texts.append((f"{size[0]:.0f}", mid - (16, -6), 0.55))
        texts.append((("FRONT", "SIDE", "TOP")[i], np.array([x, y + size[1] + 34]), 0.6))
    right = 130 + sum(columns) + gap * (sum(c > 0 for c in columns) - 1) + 130
    low = 130 + sum(rows) + gap * (sum(r > 0 for r in rows) - 1) + 210
    texts.append(("INVENTED THING", np.array([right * 0.3, low - 70]), 1.1))
    if seed % 4 != 1:
        lines.append(shapely.box(25, 25, right - 25, low - 25).exterior)
    if seed % 4 in (0, 2):  # a title block in the corner
        x, y = right - 285, low - 115
        lines += [shapely.box(x, y, right - 25, low - 25).exterior, shapely.LineString([(x, y + 45), (right - 25, y + 45)])]
        texts += [("DRAWN BY NOBODY", np.array([x + 12, y + 30]), 0.6), ("SHEET 1 OF 1", np.array([x + 12, y + 75]), 0.6)]
    return rendered(lines, texts, boxes, line, (int(right), int(low)), rng, turn=(seed % 5 - 2) * 1.4)


def rendered(lines, texts, boxes, line, size, rng, turn):
    """Lines and lettering sampled 4 × 4 times a pixel, turned by `turn` degrees."""
    fine, (width, height) = 4, size
    ink = np.zeros((height * fine, width * fine), np.uint8)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    middle = np.array([width / 2, height / 2])
    m = lambda p: (np.asarray(p)[:, :2] - middle) @ np.array([[c, s], [-s, c]]) + middle
    for item in lines:
        cv2.polylines(ink, [np.round((m(item.coords) * fine - 0.5) * 16).astype(np.int32)], False, 255, round(line * fine), cv2.LINE_8, 4)
    flat = np.zeros_like(ink)
    for text, at, scale in texts:
        cv2.putText(flat, text, tuple(int(v) for v in np.asarray(at) * fine), cv2.FONT_HERSHEY_SIMPLEX, scale * fine, 255, round(line * fine))
    about = cv2.getRotationMatrix2D((width * fine / 2, height * fine / 2), -turn, 1)
    ink = np.maximum(ink, cv2.warpAffine(flat, about, (width * fine, height * fine)))
    cover = ink.reshape(height, fine, width, fine).mean((1, 3)) / 255
    corners = [m([(b[0], b[1]), (b[2], b[1]), (b[2], b[3]), (b[0], b[3])]) for b in boxes]
    told = [(*k.min(0), *k.max(0)) for k in corners]
    return picture(cover, rng, blur=0.8, noise=0.015, shade=0.05), told
