"""Every kind of mark on a plane: where it is placed, its true sizes, and what numpy or a ruler makes of its places.

Places are mm on the plane, its middle the origin, within 300 by 150 of it: every map's thing is as large as that.
"""

import dataclasses
import math
from typing import Callable, Optional

import numpy as np

import ruler
from montecarlo import area, around
from reference import circle


@dataclasses.dataclass
class Mark:
    """One size of one mark. `of` makes the size from places on the plane; `hand` makes it from places on a print, with a
    ruler; `read` takes it from the scene."""

    name: str
    kind: str
    places: np.ndarray
    of: Callable
    hand: Optional[Callable]
    read: Callable
    ends: str = "between"
    unit: str = "mm"

    @property
    def truth(self):
        return self.of(self.places)


def main(scene, mark):
    """The size a mark is told by."""
    return scene.real(mark)


def more(word):
    """One of the others, by its word."""
    return lambda scene, mark: scene.more(mark, word)


def apart(p):
    return math.dist(p[0], p[1])


def along(p):
    return float(np.hypot(*np.diff(p, axis=0).T).sum())


def opening(p):
    """Between the arms, radians."""
    u, v = p[0] - p[1], p[2] - p[1]
    return math.atan2(abs(u[0] * v[1] - u[1] * v[0]), u @ v)


def from_line(p):
    """Twice the third place's distance from the line through the first two."""
    u, v = p[1] - p[0], p[2] - p[0]
    return 2 * abs(u[0] * v[1] - u[1] * v[0]) / math.hypot(*u)


def across(p):
    return 2 * circle(p)[1]


def radius(p):
    return circle(p)[1]


def greatest(p):
    return max(math.dist(a, b) for a in p for b in p)


def gap(p):
    """From one edge to the other, half way along, square to their mean direction."""
    u, v = p[1] - p[0], p[3] - p[2]
    u, v = u / np.hypot(*u), v / np.hypot(*v)
    run = u + v if u @ v > 0 else u - v
    run /= np.hypot(*run)
    off = (p[2] + p[3] - p[0] - p[1]) / 2
    return abs(off[0] * run[1] - off[1] * run[0])


def crossing(p):
    """Between two edges, radians: the lesser one."""
    u, v = p[1] - p[0], p[3] - p[2]
    return math.atan2(abs(u[0] * v[1] - u[1] * v[0]), abs(u @ v))


def oval(count):
    """An outline of straight pieces, egg-shaped, in no direction of the plane's own."""
    t = np.arange(count) * 2 * math.pi / count
    r = 1 + 0.15 * np.cos(3 * t)
    x, y = 210 * r * np.cos(t), 95 * r * np.sin(t)
    return np.c_[x * math.cos(0.2) - y * math.sin(0.2), x * math.sin(0.2) + y * math.cos(0.2)]


def ring(x, y, r, degrees):
    t = np.radians(degrees)
    return np.c_[x + r * np.cos(t), y + r * np.sin(t)]


EGG = oval(24)
PATH = np.array([(-230.0, 60), (-120, -60), (30, 20), (220, -80)])
ROUND = ring(120, 30, 70, (5, 60, 130, 175, 220, 290, 330))
BOW = ring(-60, -180, 260, (48, 66, 85, 104, 125))
EDGES = np.array([(-220.0, -90), (120, -70), (-200, 40), (150, 60.588235)])

MARKS = [
    Mark("length", "length", np.array([(-240.0, 110), (230, -100)]), apart, ruler.length, main),
    Mark("short length", "length", np.array([(150.0, 80), (185, 95)]), apart, ruler.length, main),
    Mark("length, twice from a line", "length", np.array([(-200.0, -110), (-180, 100), (-60, 10)]), from_line, ruler.from_line, main, ends="from-line"),
    Mark("path", "path", PATH, along, ruler.path, main),
    Mark("angle", "angle", np.array([(220.0, 70), (-150, 20), (60, -110)]), opening, ruler.angle, main, unit="°"),
    Mark("circle, across", "circle", ROUND, across, ruler.across, main),
    Mark("arc, radius", "arc", BOW, radius, ruler.bow, main),
    Mark("outline, greatest length", "outline", EGG, greatest, ruler.greatest, main),
    Mark("outline, area", "outline", EGG, lambda p: area([tuple(q) for q in p]), None, more("area"), unit="mm²"),
    Mark("outline, way round", "outline", EGG, lambda p: around([tuple(q) for q in p]), ruler.around, more("round")),
    Mark("gap", "gap", EDGES, gap, ruler.gap, main),
    Mark("crossing, its angle", "crossing", np.array([(-200.0, 90), (210, 30), (-20, 120), (60, -120)]), crossing, None, more("angle"), unit="°"),
]
