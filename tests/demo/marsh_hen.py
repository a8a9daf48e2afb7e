#!/usr/bin/env python3
"""Draws Marsh Hen's printed three-view as a scan, and writes down the truth.

    marsh_hen.py --seed 1 --out DIR [--dpi 300] [--truth-only]   a big PNG with its resolution, and truth.json
    marsh_hen.py --page --out www/examples --truth-out tests/demo/marsh-hen.json
                                                                  the small picture that the page offers

The truth: where every drawn end lies in picture px (origin top left, pixel centres at .5), and its size
in mm on the paper. The seed varies layout, turn, shading and noise; never the thing drawn.
"""

import argparse
import json
import math
import pathlib
import sys

import numpy as np
from PIL import Image

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import hen
from letters import lettering
from scan import scan

LID = 5.0  # mm of the scanner's lid seen round the sheet
BOX = 6.0  # mm of paper between a view and its box
PAGE_DPI = 110
# EXIF 2.32, 4.6.4 A: XResolution, YResolution, ResolutionUnit.
RESOLUTION_ACROSS, RESOLUTION_DOWN, RESOLUTION_UNIT = 282, 283, 296


def layout(rng, wide):
    """Sheet size in mm, where each view's own origin comes, and lettering."""
    gap = 22 + 6 * rng.random()
    left, head = 18 + 4 * rng.random(), 18 + 4 * rng.random()
    if wide:
        right = left + 240 + gap
        places = {"top": (left + 120, head), "side": (left + 28, head + 184 + gap), "front": (right + 118, head + 12)}
        sheet = (right + 236 + left, head + 184 + gap + hen.HEIGHT + 24)
        title = (right + 22, head + 184 + gap)
    else:
        below = head + 184 + gap
        places = {"top": (left + 120, head), "front": (left + 120, below), "side": (left + 28, below + hen.HEIGHT + gap)}
        sheet = (left * 2 + 240, below + 2 * hen.HEIGHT + gap + 52)
        title = (left, below + 2 * hen.HEIGHT + gap + 18)
    return sheet, places, title


def to_picture(sheet, dpi, turn):
    """Picture size in px and the map from sheet mm to picture px, as a 2×3 matrix."""
    k = dpi / 25.4
    size = tuple(math.ceil((side + 2 * LID) * k) for side in sheet)
    c, s = math.cos(turn) * k, math.sin(turn) * k
    mid = (sheet[0] / 2, sheet[1] / 2)
    shift = (size[0] / 2 - c * mid[0] + s * mid[1], size[1] / 2 - s * mid[0] - c * mid[1])
    return size, np.array([[c, -s, shift[0]], [s, c, shift[1]]])


def through(m, points):
    """`points` in mm carried into picture px by the matrix `m`."""
    p = np.asarray(points, float)
    return p @ m[:, :2].T + m[:, 2]


def listed(m, points):
    """The same, as plain lists for JSON."""
    return [[float(x), float(y)] for x, y in through(m, points)]


def outward(feature, line):
    """The two ends moved from the line's middle to its outer edge."""
    (ax, ay), (bx, by) = feature["ends"]
    d = math.hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / d * line / 2, (by - ay) / d * line / 2
    return [(ax - ux, ay - uy), (bx + ux, by + uy)]


def true_feature(feature, view, place, m):
    """One drawn thing as it stands in truth.json."""
    moved = lambda points: [(x + place[0], y + place[1]) for x, y in points]
    told = {"name": feature["name"], "view": view, "kind": feature["kind"], "mm": feature["mm"],
            "points": listed(m, moved(feature["ends"]))}
    if feature["kind"] == "length" and feature["shape"] != "corner":
        told["outer"] = {"mm": feature["mm"] + hen.LINE, "points": listed(m, moved(outward(feature, hen.LINE)))}
    if "centre" in feature:
        told["centre"] = listed(m, moved([feature["centre"]]))[0]
    return told


def true_view(view, place, m, turn):
    """A view's box: its four corners round from the top left as drawn, and the same as place, size and turn."""
    x0, y0, x1, y1 = view["extent"]
    x0, y0, x1, y1 = x0 + place[0] - BOX, y0 + place[1] - BOX, x1 + place[0] + BOX, y1 + place[1] + BOX
    corners = listed(m, [(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    k = math.hypot(m[0, 0], m[1, 0])
    return {"name": view["name"], "role": view["name"], "corners": corners,
            "size": [(x1 - x0) * k, (y1 - y0) * k], "tilt": turn}


def draw(seed, dpi):
    """Everything but pixels: the truth, the runs to ink in picture px, the sheet's corners, the random source."""
    rng = np.random.default_rng(seed)
    sheet, places, title = layout(rng, wide=seed % 2 == 1)
    turn = math.radians(rng.uniform(0.15, 0.8) * rng.choice((-1, 1)))
    size, m = to_picture(sheet, dpi, turn)
    views = [hen.top_view(), hen.side_view(), hen.front_view()]
    runs = lettering("MARSH HEN", title, 11)
    runs += lettering("A WHIRLIGIG FOR THE GARDEN", (title[0], title[1] + 17), 4)
    told_views, features = [], []
    for view in views:
        place = places[view["name"]]
        runs += [[(x + place[0], y + place[1]) for x, y in run] for run in view["runs"]]
        low = place[1] + view["extent"][3] + BOX + 2
        runs += lettering(view["name"].upper(), (place[0] + view["extent"][0], low), 3.5)
        told_views.append(true_view(view, place, m, turn))
        features += [true_feature(f, view["name"], place, m) for f in view["features"]]
    truth = {
        "name": "Marsh Hen", "seed": seed, "dpi": dpi, "px_per_mm": dpi / 25.4, "width": size[0], "height": size[1],
        "turn": turn, "line_mm": hen.LINE, "sheet_mm": list(sheet), "sheet_to_picture": m.tolist(),
        "views": told_views, "features": features,
    }
    corners = through(m, [(0, 0), (sheet[0], 0), sheet, (0, sheet[1])])
    return truth, [through(m, run) for run in runs], corners, rng


def make(seed, out, dpi, page=False, truth_only=False):
    """Writes the picture and its truth into `out`; returns the truth."""
    noise = 1.5 if page else 2.5
    truth, runs, corners, rng = draw(seed, dpi)
    name = "marsh-hen" if page else f"marsh-hen-{seed}"
    truth["picture"] = name + (".webp" if page else ".png")
    out.mkdir(parents=True, exist_ok=True)
    if not truth_only:
        k = truth["px_per_mm"]
        grey = scan(runs, hen.LINE * k, (truth["width"], truth["height"]), corners, rng, k, noise)
        image = Image.fromarray(grey)
        if page:
            # This one has to be small: WebP takes half of what JPEG does. Its resolution stands in its tags (EXIF).
            tags = image.getexif()
            tags[RESOLUTION_ACROSS] = tags[RESOLUTION_DOWN] = float(dpi)
            tags[RESOLUTION_UNIT] = 2  # per inch
            image.save(out / truth["picture"], quality=40, method=6, exif=tags)
        else:
            image.save(out / truth["picture"], dpi=(dpi, dpi), compress_level=6)
    return truth, out / (name + ".json")


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--out", type=pathlib.Path, required=True)
    p.add_argument("--dpi", type=float, default=300)
    p.add_argument("--page", action="store_true", help="the small edition for the page")
    p.add_argument("--truth-only", action="store_true", help="no picture")
    p.add_argument("--truth-out", type=pathlib.Path, help="where truth goes, when not beside the picture")
    a = p.parse_args()
    truth, beside = make(a.seed, a.out, PAGE_DPI if a.page else a.dpi, a.page, a.truth_only)
    path = a.truth_out or beside
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(truth, indent=1) + "\n")
    print(f"{truth['picture']}: {truth['width']} × {truth['height']} px at {truth['dpi']:g} dots per inch; truth in {path.name}")


if __name__ == "__main__":
    main()
