#!/usr/bin/env python3
"""Where the ends of every figure lie on the drawing in this folder, found on the picture with numpy alone.

The ends are those that a figure's extension lines point to; a radius is three points of its arc.

A line's middle is the centre of gravity of its darkness in a section square to it, the mean of many
parallel sections where nothing else is drawn. A round's centre and radius are the least-squares circle
through such middles on rays every 3 degrees, those dropped that meet something else. Positions are
picture px, origin top left, pixel centres at .5. Straight lines in this picture were set on whole
pixels, 1 or 2 wide, by the program that made it, so their places are only good to half a pixel; rounds were not.

    measure.py          prints the table and the scale each figure gives
    measure.py --write  writes figures.json
"""

import json
import math
import pathlib
import sys

import numpy as np
from PIL import Image

HERE = pathlib.Path(__file__).parent
DARK = 255 - np.asarray(Image.open(HERE / "hat-board-mechanical-300dpi.png").convert("L"), float)


def middle(section, start):
    """Centre of gravity of one run of darkness; `start` is the first pixel's left border."""
    if section.sum() < 100 or section[0] > 60 or section[-1] > 60:
        return None
    return start + float((section * (np.arange(len(section)) + 0.5)).sum() / section.sum())


def upright(x, y0, y1, reach=4):
    """x of an upright line near `x`, from the rows y0..y1."""
    left = int(x) - reach
    found = [middle(DARK[y, left : left + 2 * reach + 1], left) for y in range(y0, y1)]
    return float(np.median([f for f in found if f is not None]))


def level(y, x0, x1, reach=4):
    """y of a level line near `y`, from the columns x0..x1."""
    top = int(y) - reach
    found = [middle(DARK[top : top + 2 * reach + 1, x], top) for x in range(x0, x1)]
    return float(np.median([f for f in found if f is not None]))


def sample(x, y):
    """Darkness between pixel centres, by straight-line mixing of the four round about."""
    i, j = np.floor(x - 0.5).astype(int), np.floor(y - 0.5).astype(int)
    u, v = x - 0.5 - i, y - 0.5 - j
    return ((1 - u) * (1 - v) * DARK[j, i] + u * (1 - v) * DARK[j, i + 1]
            + (1 - u) * v * DARK[j + 1, i] + u * v * DARK[j + 1, i + 1])


def on_rays(centre, r, degrees, reach=4.0):
    """Points where rays from `centre` meet the middle of a line about `r` away; angles from x towards y (down)."""
    t = np.arange(r - reach, r + reach, 0.1)
    points = []
    for a in np.radians(degrees):
        dark = sample(centre[0] + t * math.cos(a), centre[1] + t * math.sin(a))
        if dark[0] < 60 and dark[-1] < 60 and 100 < dark.sum() * 0.1 < 700:
            d = float((dark * t).sum() / dark.sum())
            points.append((centre[0] + d * math.cos(a), centre[1] + d * math.sin(a)))
    return np.array(points)


def circle(points):
    """Centre and radius by Gauss–Newton on distances; points over 0.7 px off are dropped once."""
    for _ in range(2):
        c = points.mean(0)
        for _ in range(50):
            d = points - c
            n = np.hypot(*d.T)
            j = np.c_[-d / n[:, None], -np.ones(len(n))]
            step = np.linalg.lstsq(j, -(n - n.mean()), rcond=None)[0]
            c = c + step[:2]
        off = np.abs(np.hypot(*(points - c).T) - np.hypot(*(points - c).T).mean())
        points = points[off < 0.7]
    return c, float(np.hypot(*(points - c).T).mean()), points


def round_thing(centre, r, degrees=range(0, 360, 3)):
    """Centre, radius and the points of a circle or arc roughly there."""
    c, radius, _ = circle(on_rays(centre, r, degrees))
    return circle(on_rays(c, radius, degrees))


def spread_of(points, count):
    """`count` of the points, evenly along the list."""
    return [points[i].tolist() for i in np.linspace(0, len(points) - 1, count).round().astype(int)]


def figures():
    """Every figure written on the drawing: its name, mm, kind and the points to touch."""
    left, right = upright(389.6, 1000, 1150), upright(1370.4, 1230, 1600)
    top, bottom = level(882.5, 700, 1200), level(1735.7, 600, 720)
    wall, above, below = upright(465, 1220, 1400), level(1185, 412, 448), level(1441.5, 412, 440)
    slot = upright(1053.5, 1470, 1640), upright(1084, 1470, 1640)
    slot_ends = level(1434, 1135, 1155), level(1690, 1135, 1155)
    slot_middle, slot_level = upright(1068.8, 1770, 1800), level(1562, 985, 1025)
    edge_by_45 = upright(389.8, 1780, 1800)
    # What a figure's extension lines point to: the program that made the drawing set its circles about a pixel small.
    over, under = [(upright(442.3, y, y + 12), upright(1317.9, y, y + 12)) for y in (815, 1112)]
    header = upright(442.3, 1050, 1062), upright(879.8, 1044, 1062)
    hole_high, hole_low = level(943.3, 1372, 1405), level(1682.8, 1374, 1405)
    hole_x, hole_y = upright(442.3, 1752, 1762), level(1682.9, 500, 560)
    square = level(1035.9, 1205, 1232), level(1682.8, 1206, 1232)
    bore = upright(1296.8, 1740, 1860), upright(1338.4, 1740, 1860)
    land = upright(1270.9, 1740, 1768), upright(1364.3, 1740, 1768)
    corner = round_thing((1370.4 - 45.2, 882.5 + 45.2), 45.2, [*range(-84, -58, 2), *range(-36, -5, 2)])
    fillet = round_thing((450, 1200), 15.1, range(-84, -5, 3))
    length = lambda name, mm, a, b: {"name": name, "mm": mm, "kind": "length", "points": [[float(v) for v in a], [float(v) for v in b]]}
    arc = lambda name, mm, found: {"name": name, "mm": mm, "kind": "arc", "points": spread_of(found[2], 3)}
    return [
        length("board, across", 65, (left, 1100), (right, 1100)),
        length("board, high", 56.5, (700, top), (700, bottom)),
        length("holes, across, upper", 58, (over[0], 820), (over[1], 820)),
        length("holes, across, lower", 58, (under[0], 1117), (under[1], 1117)),
        length("holes, up and down", 49, (1390, hole_low), (1390, hole_high)),
        length("hole to the left edge", 3.5, (edge_by_45, 1757), (hole_x, 1757)),
        length("hole to the lower edge", 3.5, (540, hole_y), (540, bottom)),
        length("recess, deep", 5, (left, 1170), (wall, 1170)),
        length("recess, long", 17, (430, above), (430, below)),
        length("recess, lower end up", 19.5, (430, below), (430, bottom)),
        length("slot, wide", 2, (slot[0], 1550), (slot[1], 1550)),
        length("slot, long", 17, (1145, slot_ends[0]), (1145, slot_ends[1])),
        length("slot, from the left", 45, (edge_by_45, 1785), (slot_middle, 1785)),
        length("slot, middle up", 11.5, (1010, slot_level), (1010, bottom)),
        length("header, from the hole", 29, (header[0], 1056), (header[1], 1056)),
        length("square, above the hole", 42.86, (1220, square[1]), (1220, square[0])),
        length("hole, across", 2.75, (bore[0], 1750), (bore[1], 1750)),
        length("land, across", 6.2, (land[0], 1750), (land[1], 1750)),
        arc("corner, radius", 3, corner),
        arc("recess corner, radius", 1, fillet),
    ]


def main():
    table = figures()
    for f in table:
        p = np.array(f["points"])
        px = np.hypot(*(p[1] - p[0])) if f["kind"] == "length" else circle(p)[1]
        print(f"{f['name']:26} {f['mm']:6g} mm {px:9.3f} px {px / f['mm']:8.4f} px/mm  ", p.round(2).tolist())
    if "--write" in sys.argv:
        told = {"picture": "hat-board-mechanical-300dpi.png", "width": DARK.shape[1], "height": DARK.shape[0], "figures": table}
        (HERE / "figures.json").write_text(json.dumps(told, indent=1) + "\n")


if __name__ == "__main__":
    main()
