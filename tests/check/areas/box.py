"""Boxes in one picture: edges, camera and a map for each side, from six or seven corners and one known edge."""

import math

import cv2
import numpy as np

from camera import FILM, MIDDLE, SIZE
from core import Job, Refused, mm
from montecarlo import BATCH
from reference import Z95
from row import holds, near, nearly, within

PINHOLE = "OpenCV projectPoints, by construction"
NOTES = "the project's notes on methods"
EDGES = (600.0, 400.0, 300.0)
# In the order in which they are asked for: how many edges each stands from the first.
TOUCHED = [(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 0, 1), (0, 1, 1), (1, 1, 0)]
VECTOR = [(1769.231, 1269.231), (2714.337, 1317.534), (1589.229, 2047.503), (1495.736, 1053.197), (2378.506, 1135.562), (1362.666, 1745.132), (2495.668, 1941.804)]


class Seen:
    """A box before a pinhole camera: turned about its upright, the camera looking down; all by OpenCV."""

    def __init__(self, turn=35.0, down=25.0, at=(-60.0, 420.0, 1050.0), focal=3600.0, middle=tuple(MIDDLE), edges=EDGES):
        self.focal, self.middle, self.edges = focal, np.array(middle, float), np.array(edges)
        tilt = cv2.Rodrigues(np.radians([down, 0.0, 0.0]))[0]
        about = cv2.Rodrigues(np.radians([0.0, -turn, 0.0]))[0]
        # The end's width runs away from the camera, the upright down.
        axes = np.array([[1.0, 0, 0], [0, 0, 1.0], [0, 1.0, 0]]).T
        self.rotation = tilt @ about @ axes
        self.place = tilt @ np.array(at)

    def world(self, places):
        """Places in the box, mm along each edge, as picture px."""
        k = np.array([[self.focal, 0, self.middle[0]], [0, self.focal, self.middle[1]], [0, 0, 1.0]])
        p = (np.asarray(places, float) @ self.rotation.T + self.place) @ k.T
        return p[:, :2] / p[:, 2:]

    def opencv(self, places):
        """The same by OpenCV's projectPoints; a left-handed box is one with its depth the other way."""
        k = np.array([[self.focal, 0, self.middle[0]], [0, self.focal, self.middle[1]], [0, 0, 1.0]])
        world = np.asarray(places, float) @ self.rotation.T + self.place
        return cv2.projectPoints(world, np.zeros(3), np.zeros(3), k, None)[0][:, 0]

    def corners(self):
        """Its corners, in the order in which they are asked for."""
        return self.opencv(np.array(TOUCHED) * self.edges)

    def film(self):
        """The focal length that a file would tell."""
        return self.focal * FILM / math.hypot(*SIZE)


# Slanting lengths, mm along each edge: on the front, on the end, on the top.
MARKS = {
    "front": [(80, 0, 250), (520, 0, 60)],
    "end": [(0, 350, 240), (0, 50, 30)],
    "top": [(70, 320, 0), (510, 60, 0)],
}


def begun(focal=None, sigma=0.5):
    """A picture, and a hand that puts its places to `sigma` px."""
    job = Job()
    job.hand["zoom"] = 0.5 / sigma
    job.picture(*SIZE, focal=focal)
    return job


def boxed(job, corners, edges=(600.0, None, None), hidden=()):
    """The fact; corners by the places of those hidden left out."""
    given = [None if i in hidden else [float(x), float(y)] for i, (x, y) in enumerate(corners)]
    job.add("boxed", picture=1, corners=given, edges=[None if e is None else mm(e) for e in edges], **job.hand)


def edges_of(job, corners):
    """Marks along the three edges that meet."""
    return [job.place([corners[0], corners[k]]) for k in (1, 2, 3)]


def measured(core, scene, name, source=PINHOLE, share=1e-4, focal=None, **how):
    """Every edge and a slanting length on each side that is seen."""
    job = begun(focal, 0.05)
    corners = scene.corners()
    boxed(job, corners, **how)
    ids = edges_of(job, corners)
    sides = {side: job.place(scene.opencv(two)) for side, two in MARKS.items() if side != "top" or 6 not in how.get("hidden", ())}
    played = core.play(job.intents)
    for mark, true, edge in zip(ids, scene.edges, ("front's width", "end's width", "upright")):
        yield nearly(f"{name}: the {edge}, mm", source, float(true), played.real(mark).value, share)
    for side, mark in sides.items():
        true = math.dist(*MARKS[side])
        yield nearly(f"{name}: a slanting length on the {side}, mm", source, true, played.real(mark).value, share)


def closed(core):
    """The closed-form vector and constructed scenes."""
    job = begun(sigma=0.05)
    boxed(job, VECTOR)
    played = core.play(job.intents + [])
    ids = edges_of(job, VECTOR)
    played = core.play(job.intents)
    for mark, true in zip(ids, (600.0, 400.0, 300.0)):
        yield near("the check vector's edges, mm", NOTES, true, played.real(mark).value, 0.01)
    chest = Seen()
    yield from measured(core, chest, "seven corners, no focal length")
    yield from measured(core, chest, "seven corners, the file's focal length", focal=chest.film())
    yield from measured(core, chest, "six corners, the top's far one hidden", hidden=(6,))
    yield from measured(core, Seen(turn=40, down=2, at=(-40, -180, 1000)), "six corners, the top not seen", hidden=(6,))
    shifted = Seen(turn=38, down=0, at=(-40, 380, 1050), middle=(2000, 350))
    yield from measured(core, shifted, "uprights kept parallel, the middle 1150 px off", share=2e-3)


def two_lengths(core):
    """A true length on a side instead of an edge."""
    scene = Seen()
    job = begun(sigma=0.05)
    boxed(job, scene.corners(), edges=(None, None, None))
    known = job.place(scene.opencv(MARKS["end"]))
    job.known(known, math.dist(*MARKS["end"]), pm=0.1)
    mark = job.place(scene.opencv(MARKS["front"]))
    yield nearly("a true length on the end: a slanting one on the front, mm", PINHOLE, math.dist(*MARKS["front"]), core.play(job.intents).real(mark).value, 1e-4)


def pnp(core):
    """With all three edges known, against OpenCV's pose from the same noisy corners and the same word of the camera, which sees
    as much farther and looks as much off the middle as cameras do."""
    scene, rng = Seen(), np.random.default_rng(4)
    ours, theirs, truth = [], [], math.dist(*MARKS["end"])
    k = np.array([[scene.focal, 0, scene.middle[0]], [0, scene.focal, scene.middle[1]], [0, 0, 1.0]])
    object_points = np.array(TOUCHED) * scene.edges * np.array([1, -1, 1])  # right-handed
    for _ in range(40):
        true = Seen(focal=scene.focal * (1 + 0.03 * rng.normal()), middle=MIDDLE + 0.01 * SIZE[0] * rng.normal(0, 1, 2))
        two = true.opencv(MARKS["end"])
        corners = true.corners() + rng.normal(0, 0.5, (7, 2))
        job = begun(scene.film(), 0.5)
        boxed(job, corners, edges=EDGES)
        mark = job.place(two)
        ours.append(core.play(job.intents).real(mark).value - truth)
        _, rod, shift = cv2.solvePnP(object_points, corners, k, None)
        r = cv2.Rodrigues(rod)[0]
        rays = np.c_[two, [1, 1]] @ np.linalg.inv(k).T
        normal, at = r[:, 0], shift[:, 0]
        hit = rays * (normal @ at / (rays @ normal))[:, None]
        theirs.append(np.linalg.norm(hit[0] - hit[1]) - truth)
    rms = lambda e: float(np.sqrt(np.mean(np.square(e))))
    yield within("all edges known, corners good to 0.5 px: RMS error of a length on the end, ours over that of OpenCV's solvePnP, both told the same of the camera", "OpenCV solvePnP", 0.0, 1.0, rms(ours) / rms(theirs))


def precise(core, trials):
    """How good edges are, against the aims."""
    scene, rng = Seen(), np.random.default_rng(9)
    for sigma, aim in ((0.1, 0.1), (0.5, 0.4)):
        off = []
        true = scene.corners()
        for _ in range(max(trials // 40, 25)):
            job = begun(scene.film(), sigma)
            boxed(job, true + rng.normal(0, sigma, (7, 2)))
            ids = edges_of(job, true)
            played = core.play(job.intents)
            off += [100 * (played.real(m).value / e - 1) for m, e in zip(ids[1:], EDGES[1:])]
        yield within(f"corners good to {sigma} px, the camera as the file tells it: the other edges, 95 %, per cent", f"aim: {aim} %", 0.0, aim, Z95 * float(np.std(off)))


SCENES = {
    "seven corners, no focal length": (dict(), dict(), False),
    "seven corners, the file's focal length": (dict(), dict(), True),
    "six corners, the top not seen": (dict(turn=40, down=2, at=(-40, -180, 1000)), dict(hidden=(6,)), False),
    "turned little, the file's focal length": (dict(turn=15, down=12, at=(-150, 250, 1100)), dict(), True),
}


def covered(core, trials):
    """Whether the stated ± of the end's width holds, the lens looking off the middle and seeing as far as it may."""
    for name, (pose, how, told) in SCENES.items():
        rng = np.random.default_rng(5)
        base, sizes, sigma = Seen(**pose), [], 0.5
        for first in range(0, trials, BATCH):
            job, places = begun(base.film() if told else None, sigma), []
            mark = job.place(base.corners()[[0, 2]])
            for _ in range(min(BATCH, trials - first)):
                focal = base.focal * (1 + (0.03 * rng.normal() if told else 0))
                scene = Seen(**pose, focal=focal, middle=MIDDLE + 0.01 * SIZE[0] * rng.normal(0, 1, 2))
                corners = scene.corners()
                boxed(job, corners + rng.normal(0, sigma, (7, 2)), edges=(600 + rng.normal(0, 0.6 / Z95), None, None), **how)
                box = job.last["view"] + 1
                job.last["view"] += 2 if how else 3
                for point, at in enumerate(corners[[0, 2]] + rng.normal(0, sigma, (2, 2))):
                    job.move(mark, point, at)
                places.append(job.here())
                job.add("remove-view", view=box)
            sizes += [s.real(mark) for s in core.play_at(job.intents, places)]
        held = float(np.mean([s is not None and s.covers(EDGES[1]) for s in sizes]))
        yield within(f"{name}: the ± of the end's width holds the truth, of {len(sizes)} trials", "numpy, normal; JCGM 101 8", 0.93, 0.97, held)


def refused(core):
    """What can't be, and what is put right."""
    scene = Seen()
    good = scene.corners()
    line = good.copy()
    line[1] = (good[0] + good[4]) / 2
    bad = {
        "five corners": (good, dict(hidden=(5, 6)), "view.box-six"),
        "three corners in a line": (line, dict(), "view.box-in-line"),
        "edges that don't go together": (good, dict(edges=(600.0, 400.0, 400.0)), "view.box-edges-disagree"),
        "corners anywhere": (np.random.default_rng(1).uniform(500, 2500, (7, 2)), dict(), "view.box-no-box"),
        "mixed up, one edge given": (good[[0, 1, 3, 2, 4, 6, 5]][[0, 4, 1, 2, 3, 6, 5]], dict(), "view.box-mixed"),
    }
    for name, (corners, how, key) in bad.items():
        job = begun()
        boxed(job, corners, **how)
        said = core.answers(job.intents)[-1]
        yield holds(f"{name}: refused in words", "by construction", key, isinstance(said, Refused) and said.key == key and " " in str(said), getattr(said, "key", said))
    frontal = Seen(turn=0.3, down=0.2, at=(-300, 100, 1500))
    job = begun()
    boxed(job, frontal.corners())
    said = core.answers(job.intents)[-1]
    keys = ("view.box-frontal", "view.box-no-box")
    yield holds("seen from the front, no focal length: refused in words", "by construction", " or ".join(keys), isinstance(said, Refused) and said.key in keys, getattr(said, "key", said))
    for order in ([3, 0, 5, 1, 6, 2, 4], [6, 5, 4, 3, 2, 1, 0]):
        job = begun(sigma=0.05)
        boxed(job, good[order], edges=(None, None, None))
        known = job.place([good[0], good[3]])
        job.known(known, 300.0, pm=0.05)
        mark = job.place(scene.opencv(MARKS["front"]))
        yield nearly(f"corners touched in the order {order} are put right: a length on the front, mm", PINHOLE, math.dist(*MARKS["front"]), core.play(job.intents).real(mark).value, 1e-3)


def by_touch(core):
    """Seven touches and one length, as a person makes them."""
    scene = Seen()
    good = scene.corners()
    for name, hidden, order in (("in the order asked for", None, range(7)), ("the top's far corner hidden", 6, range(6)), ("in another order", None, (3, 0, 5, 1, 6, 2, 4))):
        job = begun(scene.film(), 0.05)
        job.units("millimetres", "0.1 mm")
        job.add("go", step="true-length")
        job.add("tool", tool="boxed")
        for i in order:
            job.add("tap", at=[float(v) for v in good[i]], by="mouse", zoom=10.0, reach=24.0)
        if hidden is not None:
            job.add("hidden")
        if name == "in another order":
            # Which edge is asked about isn't known before they are put right: the upright is.
            job.add("accept", way="open")
            job.add("accept", way="open")
            job.add("entry", text="300 mm")
        else:
            job.add("entry", text="600 mm")
        job.add("accept", way="take")
        mark = job.place(good[[0, 2]])
        played = core.play(job.intents)
        yield nearly(f"by touch, {name}: the end's width, mm", PINHOLE, 400.0, played.real(mark).value, 2e-3)
        sides = [v["role"] for v in played.told["views"] if not v["whole"]]
        want = ["front", "side", "top"]
        yield holds(f"by touch, {name}: its sides are views", "by construction", want, sides == want, sides)


def rows(core, trials=2_000):
    """Every row of this area."""
    for part in (closed, two_lengths, pnp, by_touch, refused):
        yield from part(core)
    yield from precise(core, trials)
    yield from covered(core, trials)
