"""Monte Carlo trials: the same marks placed over and over with numpy's noise, and how often the ± holds."""

import dataclasses
import math
from typing import Callable

import numpy as np

from core import Job
from reference import Z95

BATCH = 250  # trials in one process: its log stays short


@dataclasses.dataclass
class Scene:
    """What is placed at its true places, and what is read."""

    name: str
    truth: float
    sigma: float  # px
    start: Callable  # (job) -> the marks whose points are shaken, with their true points
    read: Callable  # (scene, marks) -> Size
    # What is shaken besides points: (job, marks, rng).
    also: Callable = lambda job, marks, rng: None
    # Few repeats: Student's t makes single intervals wider than 1.96 standard deviations, and rightly so; neither do they tell of what
    # is far from normal.
    few: bool = False


@dataclasses.dataclass
class Found:
    """What many trials gave: the share that held, and the mean ± over the one that the trials show."""

    covered: float
    width: float


def run(core, scene, count, seed=20):
    """Plays the scene `count` times."""
    rng = np.random.default_rng(seed)
    sizes = []
    for first in range(0, count, BATCH):
        job = Job()
        job.hand["zoom"] = 0.5 / scene.sigma
        job.picture(8000, 6000)
        marks = scene.start(job)
        places = []
        for _ in range(min(BATCH, count - first)):
            for mark, points in marks.items():
                for point, at in enumerate(points):
                    job.move(mark, point, np.asarray(at) + rng.normal(0, scene.sigma, 2))
            scene.also(job, marks, rng)
            places.append(job.here())
        sizes += [scene.read(s, list(marks)) for s in core.play_at(job.intents, places)]
    # What is refused is said: three places in a line are no arc.
    sizes = [s for s in sizes if s]
    value = np.array([s.value for s in sizes])
    covered = np.mean([s.covers(scene.truth) for s in sizes])
    spread = np.std(value) * Z95
    return Found(float(covered), float(np.mean([s.half for s in sizes]) / spread))


KNOWN = [(400.0, 300.0), (2400.0, 380.0)]
KNOWN_PX = math.dist(*KNOWN)
KNOWN_MM, KNOWN_PM = KNOWN_PX / 2, 0.8  # half a mm to the px in truth


def with_known(job, *others):
    """The true length first, then the other marks as (kind, ends, points)."""
    marks = {job.place(KNOWN): KNOWN}
    job.known(1, KNOWN_MM, pm=KNOWN_PM)
    for kind, ends, points in others:
        marks[job.place(points, mark=kind, ends=ends)] = points
    return marks


def said_wrongly(job, marks, rng):
    """The true length is off by what its ± allows."""
    job.known(1, KNOWN_MM + rng.normal(0, KNOWN_PM / Z95), pm=KNOWN_PM)


def second(scene, marks):
    """The size in life of the mark after the true length."""
    return scene.real(marks[1])


def ring(centre, r, degrees):
    """Places on a circle."""
    return [(centre[0] + r * math.cos(math.radians(a)), centre[1] + r * math.sin(math.radians(a))) for a in degrees]


SLOPE = [(700.0, 900.0), (2100.0, 1900.0)]
SHORT = [(3000.0, 900.0), (3060.0, 925.0)]
PATH = [(500.0, 2500.0), (900.0, 2400.0), (1300.0, 2700.0), (1900.0, 2650.0)]
ROUND = ring((3500.0, 3000.0), 120.0, (10, 80, 150, 230, 300))
BEND = ring((3500.0, 3000.0), 900.0, (200, 235, 270))
# So shallow that its rise is only four times its own standard uncertainty (σ √1.5 of 1 px): its radius is far from normal.
SHALLOW = [(3000.0, 2000.0), (3200.0, 1995.1), (3400.0, 2000.0)]
LINE = [(500.0, 3500.0), (2500.0, 3600.0), (1500.0, 4200.0)]
LEAF = [(x, y) for x, y in zip(np.linspace(3000, 3400, 21), 4500 - 120 * np.sin(np.linspace(0, math.pi, 21)))]
LEAF += [(x, y) for x, y in zip(np.linspace(3380, 3020, 19), 4500 + 80 * np.sin(np.linspace(0.157, math.pi - 0.157, 19)))]


def around(points):
    """The way round a closed outline."""
    return sum(math.dist(a, b) for a, b in zip(points, points[1:] + points[:1]))


def area(points):
    """Its area, by the shoelace formula."""
    return abs(sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(points, points[1:] + points[:1]))) / 2


def from_line(points):
    """Twice the distance of the third place from the line through two."""
    (ax, ay), (bx, by), (cx, cy) = points
    return 2 * abs((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)) / math.hypot(bx - ax, by - ay)


# A sheet seen at a slant: the map from mm on it to picture px.
SLANT = np.array([[9.0, 1.4, 900.0], [-0.6, 7.8, 700.0], [4e-4, 9e-4, 1.0]])
SHEET = [(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]


def seen(points):
    """Places on the slanted sheet as the picture shows them."""
    p = np.c_[np.asarray(points, float), np.ones(len(points))] @ SLANT.T
    return [tuple(row) for row in p[:, :2] / p[:, 2:]]


DRAWN = [(60.0, 50.0), (220.0, 160.0)]


def slanted(job):
    """A length on the sheet, which is turned square-on by its four corners."""
    points = seen(DRAWN)
    return {job.place(points): points}


def corners_shaken(job, marks, rng):
    """Its corners are clicked anew; the sides are right within their ±, a thousandth or a quarter of a mm."""
    corners = np.array(seen(SHEET)) + rng.normal(0, 1.0, (4, 2))
    u = 0.3 / Z95
    job.square_on(1, corners, 300 + rng.normal(0, u), 200 + rng.normal(0, 0.25 / Z95))


def placed_thrice(job, marks, rng):
    """A fresh mark, and the same again twice, with the noise that isn't told: only the spread shows it."""
    said_wrongly(job, marks, rng)
    noise = lambda: [tuple(np.asarray(p) + rng.normal(0, 4.0, 2)) for p in SLOPE]
    if job.last["mark"] > 1:
        job.add("delete-mark", mark=job.last["mark"])
    mark = job.place(noise(), name="thrice")
    for _ in range(2):
        job.add("again", mark=mark, points=[[float(x), float(y)] for x, y in noise()])


def newest(scene, marks):
    """The size of the mark that was placed last."""
    return scene.real(max(r["id"] for r in scene.told["rows"]))


def scaled(name, truth, kind, ends, points, sigma=1.0, read=second):
    """A mark measured by one true length."""
    return Scene(name, truth, sigma, lambda job: with_known(job, (kind, ends, points)), read, said_wrongly)


def more_of(word):
    """One of the further sizes of the second mark, or its main one if that is what `word` names."""
    return lambda scene, marks: scene.more(marks[1], word)


SCENES = [
    scaled("length, one scale", math.dist(*SLOPE) / 2, "length", "between", SLOPE),
    scaled("short length, one scale", math.dist(*SHORT) / 2, "length", "between", SHORT),
    scaled("twice from a line", from_line(LINE) / 2, "length", "from-line", LINE),
    scaled("path of three pieces", sum(math.dist(a, b) for a, b in zip(PATH, PATH[1:])) / 2, "path", "between", PATH),
    scaled("circle across, five points", 120.0, "circle", "between", ROUND),
    scaled("arc's rise", 900 * (1 - math.cos(math.radians(35))) / 2, "arc", "between", BEND, read=more_of("rise")),
    dataclasses.replace(scaled("shallow arc's radius", (400**2 / (8 * 4.9) + 4.9 / 2) / 2, "arc", "between", SHALLOW), few=True),
    scaled("outline's area, 40 points", area(LEAF) / 4, "outline", "between", LEAF, sigma=0.5, read=more_of("area")),
    scaled("outline's way round, 40 points", around(LEAF) / 2, "outline", "between", LEAF, sigma=0.5, read=more_of("round")),
    Scene("length on a sheet turned square-on", math.dist(*DRAWN), 1.0, slanted, lambda s, m: s.real(m[0]), corners_shaken),
    Scene("a mark made three times, noise untold", math.dist(*SLOPE) / 2, 0.5, with_known, newest, placed_thrice, few=True),
]
