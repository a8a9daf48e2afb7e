#!/usr/bin/env python3
"""Makes the page's examples but the first: their small pictures, the jobs that open with them, and the truth.

    scenes.py --pictures www/examples --truth tests/demo/scenes.json

Everything is invented. A job is a list of the desk's intents; places are where the script itself put each edge, so that what the
page says of a size can be held against the truth. `digest` is filled in by the page.
"""

import argparse
import json
import math
import pathlib
import sys

import cv2
import numpy as np
from PIL import Image

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from hen import ring
from letters import lettering
from photo import Camera, box, photograph
from scan import scan

INCH = 25.4
# A mouse at so many screen px to a picture px, under the magnified window.
HAND = {"by": "mouse", "zoom": 4, "seen": True}
# A finger on a picture that is seen at half its size.
FINGER = {"by": "touch", "zoom": 0.5, "seen": True}


class Scene:
    """A picture, the job on it, and what is true of each mark."""

    def __init__(self, name, size, resolution=None):
        self.name, self.size, self.truth, self.marks = name, size, [], 0
        told = {} if resolution is None else {"resolution": [resolution, resolution]}
        self.facts = [{"kind": "add-picture", "name": f"{name}.webp", "width": size[0], "height": size[1], "digest": "", **told}]

    def add(self, kind, **fields):
        self.facts.append({"kind": kind, **fields})

    def length(self, name, ends, inches, hand=HAND):
        """A mark with what is true of it, inches in life."""
        self.add("place", picture=1, mark="length", points=rounded(ends), name=name, **hand)
        self.marks += 1
        self.truth.append({"mark": self.marks, "name": name, "inches": inches})
        return self.marks

    def known(self, mark, inches, how="tape"):
        self.add("set-known", mark=mark, length={"mm": inches * INCH}, how=how)


def rounded(points):
    """To a hundredth of a px, as JSON has them."""
    return [[round(float(x), 2), round(float(y), 2)] for x, y in points]


def bread_van(rng):
    """A van from a scan that came out 2.5 % too long one way. Its sizes in life are on the drawing twice, square to one another."""
    dpi, stretch = 100, 1.025
    k = dpi / INCH
    length, height, wheel, base = 11.0, 6.5, 1.25, 6.25
    scale = 0.75 * INCH  # paper mm to an inch in life
    left, low = 18.0, 150.0
    at = lambda x, y: (left + x * scale, low - y * scale)  # noqa: E731
    body = [at(0, wheel / 2), at(0, 4.6), at(0.6, height), at(length - 0.2, height), at(length, height - 0.4), at(length, wheel / 2), at(0, wheel / 2)]
    front, rear = (length - base) / 2, (length + base) / 2
    wheels = [ring(at(x, wheel / 2), wheel / 2 * scale) for x in (front, rear)]
    hubs = [ring(at(x, wheel / 2), 0.12 * scale) for x in (front, rear)]
    window = [at(0.55, 4.4), at(0.95, 5.7), at(2.5, 5.7), at(2.5, 4.4), at(0.55, 4.4)]
    runs = [body, *wheels, *hubs, window, [at(3.1, 0.8), at(3.1, 6.0)]]
    runs += lettering("BREAD", at(4.2, 4.9), 22) + lettering("SIDE", (left, low + 14), 5)
    sheet = (246.0, 178.0)
    size = (math.ceil((sheet[0] + 10) * k * stretch), math.ceil((sheet[1] + 10) * k))
    to = lambda p: np.c_[(np.asarray(p)[:, 0] + 5) * k * stretch, (np.asarray(p)[:, 1] + 5) * k]  # noqa: E731
    grey = scan([to(r) for r in runs], 0.5 * k, size, to([(0, 0), (sheet[0], 0), sheet, (0, sheet[1])]), rng, k, 1.2)
    scene = Scene("bread-van", size)
    long = scene.length("length", to([at(0, 2.0), at(length, 2.0)]), length)
    high = scene.length("height over the wheels", to([at(5, 0), at(5, height)]), height)
    scene.length("from wheel to wheel", to([at(front, wheel / 2), at(rear, wheel / 2)]), base)
    scene.length("corner to corner", to([at(length, wheel / 2), at(0.6, height)]), math.hypot(length - 0.6, height - wheel / 2))
    scene.known(long, length, "printed")
    scene.known(high, height, "printed")
    return scene, grey


# The bookcase: across, up and deep, how thick its edges read, and where each shelf's underside is, inches.
NOOK = {"wide": 32.0, "high": 72.0, "deep": 12.0, "thick": 0.61}
SHELVES = (3.0, 15.5, 28.5, 41.0, 56.0)


def nook_camera(at=(-38, 44, -150), **turned):
    """The camera that took the bookcase: where it stood, how it was turned, what it sees, how it bends."""
    return Camera((840, 1180), at, **({"yaw": 14, "pitch": -3, "roll": 0.8, "focal": 2100, "bend": -0.035} | turned))


def nook(camera, rng):
    """The bookcase's photograph. The camera stands to its left."""
    wide, high, deep, thick = NOOK.values()
    x0, x1 = -wide / 2, wide / 2
    quad = lambda a, b, c, d: [a, b, c, d]  # noqa: E731
    faces = [(quad((-90, 0, 13), (90, 0, 13), (60, 0, -60), (-60, 0, -60)), 0.62)]
    # The back and the right side from within, then the shelves; the left side from outside hides some of them.
    faces.append((quad((x0, 0, deep), (x1, 0, deep), (x1, high, deep), (x0, high, deep)), 0.33))
    faces.append((quad((x1 - thick, 0, 0), (x1 - thick, 0, deep), (x1 - thick, high, deep), (x1 - thick, high, 0)), 0.47))
    for y in (*SHELVES, high - thick):
        over = y < camera.at[1]
        level = y + thick if over else y
        faces.append((quad((x0, level, 0), (x1, level, 0), (x1, level, deep), (x0, level, deep)), 0.57 if over else 0.38))
        faces.append((quad((x0, y, 0), (x1, y, 0), (x1, y + thick, 0), (x0, y + thick, 0)), 0.74))
    faces.append((quad((x0, 0, 0), (x0, 0, deep), (x0, high, deep), (x0, high, 0)), 0.42))
    for a in (x0, x1 - thick):
        faces.append((quad((a, 0, 0), (a + thick, 0, 0), (a + thick, high, 0), (a, high, 0)), 0.74))
    return photograph(camera, faces, rng)


def nook_places(camera):
    """Where everything is seen that a person touches on the bookcase, px, and what is true of it, inches."""
    wide, high, _, thick = NOOK.values()
    x0, x1 = -wide / 2, wide / 2
    left, right = x0 + thick, x1 - thick
    see = lambda *places: rounded(camera.see([(x, y, 0) for x, y in places]))  # noqa: E731
    up = [y + thick for y in SHELVES]
    # From shelf to shelf, with the lower edge of one of them.
    rises = sorted((*up, SHELVES[3], high - thick))
    return {
        "edge": see((x0, 4), (x0, high - 3)),
        "other": see((x1, 4), (x1, high - 3)),
        "corners": see((x0, 0), (x0, high), (x1, high), (x1, 0)),
        "high": high,
        "wide": wide,
        "across": {"ends": see((left, 35), (right, 35)), "inches": wide - 2 * thick},
        "up": {"points": see(*[(left, y) for y in rises]), "inches": [b - a for a, b in zip(rises, rises[1:])]},
    }


def bookcase(rng):
    """A bookcase in a tilted photograph; how high it is, is known. Its edges are 0.61 in thick, as seen."""
    wide, high, _, thick = NOOK.values()
    camera = nook_camera()
    x0, x1 = -wide / 2, wide / 2
    grey = nook(camera, rng)
    scene = Scene("bookcase", camera.size)
    scene.places = nook_places(camera)
    edges = [((x0, 0, 0), (x0, high, 0)), ((x1, 0, 0), (x1, high, 0)), ((x0, high, 0), (x1, high, 0))]
    for a, b in edges:
        scene.add("straight-edge", picture=1, points=rounded(camera.along(a, b, 24)), sigma=0.1)
    corners = camera.see([(x0, high, 0), (x1, high, 0), (x1, 0, 0), (x0, 0, 0)])
    scene.add("square-on", view=1, corners=rounded(corners), width=None, height={"mm": high * INCH}, of="thing", **HAND)
    see = lambda a, b: camera.see([(*a, 0), (*b, 0)])  # noqa: E731
    scene.length("width", see((x0, 36), (x1, 36)), wide)
    scene.length("between the shelves", see((5, 28.5 + thick), (5, 41.0)), 41.0 - 28.5 - thick)
    scene.length("a shelf's edge", see((-6, 41.0), (-6, 41.0 + thick)), thick)
    scene.length("a shelf, from side to side", see((x0 + thick, 28.8), (x1 - thick, 28.8)), wide - 2 * thick)
    return scene, grey


def trestle(rng):
    """A trestle table from the front: its far trestle stands back, and reads 8.3 % small on the near one's scale."""
    size = (1180, 820)
    away, back = 120.0, 120.0 * (1 / (1 - 0.083) - 1)
    camera = Camera(size, (0, 20, -away), focal=1500)
    faces = [([(-200, 0, 60), (200, 0, 60), (200, 0, -100), (-200, 0, -100)], 0.6)]

    def trestle_at(x, z, grey):
        legs = []
        for side in (-1, 1):
            foot, head = x + side * 11.0, x + side * 5.0
            legs.append(([(foot - 1.5, 0, z), (foot + 1.5, 0, z), (head + 1.5, 26, z), (head - 1.5, 26, z)], grey))
        legs.append(([(x - 12, 26, z), (x + 12, 26, z), (x + 12, 29, z), (x - 12, 29, z)], grey))
        legs.append(([(x - 9.2, 8, z), (x + 9.2, 8, z), (x + 8.6, 11, z), (x - 8.6, 11, z)], grey * 0.92))
        return legs

    faces += trestle_at(24, back, 0.4) + trestle_at(-24, 0.0, 0.36)
    grey = photograph(camera, faces, rng)
    scene = Scene("trestle", size)
    see = lambda a, b, z: camera.see([(*a, z), (*b, z)])  # noqa: E731
    near = scene.length("near trestle, height", see((-24, 0), (-24, 29), 0), 29.0)
    scene.length("near trestle, head", see((-36, 27.5), (-12, 27.5), 0), 24.0)
    scene.length("far trestle, head", see((12, 27.5), (36, 27.5), back), 24.0 * (1 - 0.083))
    scene.known(near, 29.0)
    return scene, grey


def chest(rng):
    """A hall chest whose front is 1.59 times as wide as high: near 5:8 and near the golden section, and neither."""
    wide, high, deep = 38.16, 24.0, 17.0
    size = (1000, 760)
    camera = Camera(size, (-16, 34, -92), yaw=13, pitch=-9, focal=1450)
    faces = [([(-80, 0, 30), (80, 0, 30), (50, 0, -50), (-50, 0, -50)], 0.64)]
    faces += box((-wide / 2, 0, 0), (wide / 2, high, deep), 0.36, ("left", 0.28), ("over", 0.5))
    for i in range(3):
        x = -wide / 2 + 2 + i * (wide - 4) / 3
        faces.append(([(x + 0.6, 3, 0), (x + (wide - 4) / 3 - 0.6, 3, 0), (x + (wide - 4) / 3 - 0.6, high - 4, 0), (x + 0.6, high - 4, 0)], 0.46))
    grey = photograph(camera, faces, rng)
    scene = Scene("chest", size)
    x0, x1 = -wide / 2, wide / 2
    # Its corners were touched with a finger, seen at half its size: its proportions are then no better than two in a hundred.
    corners = camera.see([(x0, high, 0), (x1, high, 0), (x1, 0, 0), (x0, 0, 0)])
    scene.add("square-on", view=1, corners=rounded(corners), width=None, height={"mm": high * INCH}, of="thing", **FINGER)
    see = lambda a, b: camera.see([(*a, 0), (*b, 0)])  # noqa: E731
    tall = scene.length("height", see((0, 0), (0, high)), high, FINGER)
    scene.length("width", see((x0, 12), (x1, 12)), wide, FINGER)
    scene.add("set-base", mark=tall)
    return scene, grey


def paddle(rng):
    """Half of a canoe paddle's blade, on squared paper; at one station its line was drawn 2.5 mm too far out."""
    dpi = 110
    k = dpi / INCH
    # Stations as the page takes them for a blade of 20 in: every 1 3/4 in.
    long, apart = 220.0, 220.0 * 1.75 / 20
    half = lambda t: 42.0 * (math.sin(math.pi * t**0.62) ** 0.8) * (1 - 0.25 * t) + 7 * (1 - t)  # noqa: E731
    bad = 7
    base, left = 95.0, 20.0
    t = np.linspace(0, 1, 241)
    offsets = np.array([half(v) for v in t])
    offsets += 2.5 * np.exp(-(((t * long / apart - bad) / 0.4) ** 2))
    edge = [(left + long * v, base - y) for v, y in zip(t, offsets)]
    outline = [(left, base), *edge, (left + long, base)]
    runs = [outline + [(left, base)]]
    for s in range(12):
        x = left + apart * s
        runs.append([(x, base), (x, base + 3)])
    runs += lettering("HALF BLADE", (left, base + 12), 7)
    sheet = (262.0, 128.0)
    size = (math.ceil((sheet[0] + 10) * k), math.ceil((sheet[1] + 10) * k))
    to = lambda p: (np.asarray(p) + 5) * k  # noqa: E731
    grey = scan([to(r) for r in runs], 0.45 * k, size, to([(0, 0), (sheet[0], 0), sheet, (0, sheet[1])]), rng, k, 1.2)
    scene = Scene("paddle", size, dpi)
    inches = 20.0
    scene.length("blade", to([(left, base), (left + long, base)]), inches)
    scene.add("set-build", mark=1, length={"mm": inches * INCH})
    scene.add("place", picture=1, mark="outline", points=rounded(to(outline[::2])), name="half blade", **HAND)
    scene.marks += 1
    scene.facts[0]["resolution"] = [dpi, dpi]
    scene.bad = bad
    return scene, grey


def smaller(grey):
    """What the page shows to choose from."""
    scale = 240 / max(grey.shape)
    return Image.fromarray(cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA))


SCENES = (bread_van, bookcase, trestle, chest, paddle)


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("--pictures", type=pathlib.Path, required=True)
    p.add_argument("--truth", type=pathlib.Path, required=True)
    a = p.parse_args()
    truth = {}
    for seed, make in enumerate(SCENES, 11):
        scene, grey = make(np.random.default_rng(seed))
        file = a.pictures / f"{scene.name}.webp"
        Image.fromarray(grey).save(file, quality=38, method=6)
        smaller(grey).save(a.pictures / f"{scene.name}-small.webp", quality=40, method=6)
        (a.pictures / f"{scene.name}.json").write_text(json.dumps(scene.facts, separators=(",", ":")) + "\n")
        truth[scene.name] = {"sizes": scene.truth, **{name: getattr(scene, name) for name in ("bad", "places") if hasattr(scene, name)}}
        print(f"{file.name}: {scene.size[0]} × {scene.size[1]} px, {file.stat().st_size} bytes, {len(scene.facts)} facts")
    first = np.asarray(Image.open(a.pictures / "marsh-hen.webp").convert("L"))
    smaller(first).save(a.pictures / "marsh-hen-small.webp", quality=40, method=6)
    a.truth.write_text(json.dumps(truth, indent=1) + "\n")


if __name__ == "__main__":
    main()
