"""Every kind of map: a thing seen by a camera whose truth is known, what a person gives of it, and what others make of the same.

A map lays one trial: the camera is drawn anew (as much farther and off the middle as cameras are: 3 % of its focal length,
1 % of the width), all that is given is off by what its ± allows, every click by `sigma` px. Conditions stand in `space`:
the usual one, and the lowest and highest that the search may try.
"""

import dataclasses
import math
from typing import Callable, Optional

import cv2
import numpy as np
from scipy.optimize import least_squares

from areas.box import TOUCHED, Seen, boxed
from areas.lens import FRAME, bowed
from camera import MIDDLE, SIZE, Plane, frame, zhang
from core import Job, mm
from reference import Z95

# name: (usual, lowest, highest)
CLICKS = {"sigma": (0.5, 0.26, 2.0)}
FLAT = CLICKS | {"scale": (5.0, 0.4, 6.0), "roll": (12.0, 0.0, 90.0), "share": (0.6, 0.05, 0.9), "pm": (0.5, 0.05, 5.0)}
POSE = CLICKS | {"yaw": (28.0, -70.0, 70.0), "pitch": (22.0, -70.0, 70.0), "roll": (4.0, -90.0, 90.0), "far": (900.0, 850.0, 6000.0), "aside": (20.0, -150.0, 150.0)}
SAID = {"pm": (0.5, 0.05, 5.0)}
LENGTH = SAID | {"share": (0.6, 0.05, 0.9), "about": (25.0, 0.0, 180.0)}


@dataclasses.dataclass
class Laid:
    """One trial. `see`: places on the thing as the picture shows them; `plain`: places in the picture carried to the thing by
    others, from the same inputs; `known`: what a person with a ruler would go by: two places as clicked, and their length."""

    job: Job
    see: Callable
    sigma: float
    known: tuple
    plain: Optional[Callable] = None


def begun(sigma, focal=None):
    job = Job()
    job.hand["zoom"] = 0.5 / sigma
    job.units("millimetres", "1 mm")
    job.picture(*SIZE, focal=focal)
    return job


def shake(rng, places, sigma):
    places = np.asarray(places, float)
    return places + rng.normal(0, sigma, places.shape)


def off(rng, true, pm):
    """What is said of a length that may be off by `pm`, 95 %."""
    return true + rng.normal(0, pm / Z95)


def side(rng, true):
    """What is said of a rectangle's side or a box's edge: the core takes it as good to a thousandth, or a quarter of a mm."""
    return off(rng, true, max(0.001 * true, 0.25))


def line(share, about, middle=(0.0, 0.0)):
    """Two places, so far apart as a share of the thing's 600 mm, in a direction; shortened to what the thing's height holds."""
    d = np.array([math.cos(math.radians(about)), math.sin(math.radians(about))])
    half = min(300.0 * share, 150 / max(abs(d[1]), 1e-9))
    return np.array([middle - half * d, middle + half * d])


def know(job, rng, laid_px, true, pm, sigma):
    """A true length as a person gives it: its clicks, and what was said."""
    clicks = shake(rng, laid_px, sigma)
    said = off(rng, true, pm)
    job.known(job.place(clicks), said, pm=pm)
    return clicks, said


def flat(scale, roll, stretch=1.0):
    """Seen square-on: places to px."""
    c, s = math.cos(math.radians(roll)), math.sin(math.radians(roll))
    turn = np.array([[c, -s], [s, c]]) if stretch == 1.0 else np.diag([stretch, 1.0])
    return lambda places: MIDDLE + scale * np.asarray(places, float) @ turn.T


def one_scale(rng, sigma, scale, roll, share, pm, count=1):
    see, job, given = flat(scale, roll), begun(sigma), []
    for i in range(count):
        two = line(share, 25.0 + 47 * i, (0.0, 20.0 * i))
        given.append(know(job, rng, see(two), math.dist(*two), pm, sigma))
    px = np.array([math.dist(*g[0]) for g in given])
    per = float(px @ np.array([g[1] for g in given]) / (px @ px))
    return Laid(job, see, sigma, given[0], lambda p: per * np.asarray(p))


def several(rng, **how):
    return one_scale(rng, count=4, **how)


def two_scales(rng, sigma, scale, share, pm, stretch):
    """A stretched scan: the true lengths lie along its two directions, to which `two-scales` belongs."""
    see, job = flat(scale, 0.0, stretch), begun(sigma)
    pairs = [np.array([(-300 * share, 10.0), (300 * share, 10)]), np.array([(-20.0, -150 * share), (-20, 150 * share)])]
    given = [know(job, rng, see(p), math.dist(*p), pm, sigma) for p in pairs]
    job.add("two-scales", view=1, on=True)
    per = np.array([g[1] / abs(np.subtract(*g[0])[i]) for i, g in enumerate(given)])
    return Laid(job, see, sigma, given[0], lambda p: np.asarray(p) * per)


def slant(rng, yaw, pitch, roll, far, aside, told):
    """The camera that is drawn, and the one that a file tells."""
    base = Plane((yaw, pitch, roll), far=(aside, -15.0, far))
    focal = base.focal * (1 + (0.03 * rng.normal() if told else 0.0))
    middle = tuple(MIDDLE + 0.01 * SIZE[0] * rng.normal(0, 1, 2))
    return dataclasses.replace(base, focal=focal, middle=middle), base


def carried(m):
    return lambda p: cv2.perspectiveTransform(np.asarray(p, float)[None], m)[0]


def square_on(corners, width, height):
    """OpenCV's map from four corners to a rectangle."""
    return cv2.findHomography(np.asarray(corners, float), np.array(frame(width, height)), 0)[0]


def known_rectangle(rng, sigma, bend=None, **pose):
    true, _ = slant(rng, told=False, **pose)
    see = true.seen if bend is None else lambda p: bowed(np.asarray(true.seen(p)), SIZE, (bend, 0, 0, 0))
    job = begun(sigma)
    if bend is not None:
        for a, b in FRAME:
            t = np.linspace(0, 1, 60)[:, None]
            edge = bowed(np.array(a) + (np.array(b) - np.array(a)) * t, SIZE, (bend, 0, 0, 0))
            job.add("straight-edge", picture=1, points=shake(rng, edge, 0.1).tolist(), sigma=0.1)
    corners, sides = shake(rng, see(frame(600, 300)), sigma), (side(rng, 600.0), side(rng, 300.0))
    job.square_on(1, corners, *sides)
    return Laid(job, see, sigma, (corners[:2], sides[0]), carried(square_on(corners, *sides)))


def unknown_rectangle(rng, sigma, pm, share, about, told=False, **pose):
    true, base = slant(rng, told=told, **pose)
    job = begun(sigma, base.film() if told else None)
    corners = shake(rng, true.seen(frame(600, 300)), sigma)
    job.square_on(1, corners)
    two = line(share, about)
    clicks, said = know(job, rng, true.seen(two), math.dist(*two), pm, sigma)
    plain = None
    if not told:
        shape = carried(square_on(corners, zhang(corners)[1] * 300, 300))
        per = said / math.dist(*shape(clicks))
        plain = lambda p: per * shape(p)
    return Laid(job, true.seen, sigma, (clicks, said), plain)


def unknown_told(rng, **how):
    return unknown_rectangle(rng, told=True, **how)


FOUR = np.array([(-280.0, -130), (290, -140), (240, 145), (-290, 120)])


def four_points(rng, sigma, pm, **pose):
    """All six lengths between four points. The others' way: places by the cosine rule from five of them, then OpenCV."""
    true, base = slant(rng, told=True, **pose)
    job, clicks, said = begun(sigma, base.film()), {}, {}
    seen = true.seen(FOUR)
    for i in range(4):
        for j in range(i + 1, 4):
            clicks[i, j], said[i, j] = know(job, rng, seen[[i, j]], math.dist(FOUR[i], FOUR[j]), pm, sigma)
    job.add("slanted", view=1, on=True)
    base_, places = said[0, 1], [(0.0, 0.0), (said[0, 1], 0.0)]
    for k in (2, 3):
        x = (said[0, k] ** 2 - said[1, k] ** 2 + base_**2) / (2 * base_)
        places.append((x, math.sqrt(max(said[0, k] ** 2 - x * x, 0.0))))
    at = [np.mean([c[int(i == k[1])] for k, c in clicks.items() if i in k], axis=0) for i in range(4)]
    m = cv2.findHomography(np.array(at), np.array(places), 0)[0]
    return Laid(job, true.seen, sigma, (clicks[0, 1], base_), carried(m))


BOX = np.array([600.0, 400.0, 300.0])


def box_face(rng, sigma, turn, down, far, told=False):
    """The front of a box by seven corners and its width. The others' way: cv2.projectPoints and scipy's least_squares over
    pose, focal length and the two other edges."""
    aim = Seen(turn=turn, down=down, at=(-60.0, 0.4 * far, far), edges=BOX)
    focal = aim.focal * (1 + (0.03 * rng.normal() if told else 0.0))
    true = Seen(turn=turn, down=down, at=(-60.0, 0.4 * far, far), edges=BOX, focal=focal, middle=MIDDLE + 0.01 * SIZE[0] * rng.normal(0, 1, 2))
    job = begun(sigma, aim.film() if told else None)
    corners, width = shake(rng, true.corners(), sigma), side(rng, 600.0)
    boxed(job, corners, edges=(width, None, None))
    job.last["view"] += 3
    see = lambda p: true.opencv(np.c_[300 + np.asarray(p)[:, 0], np.zeros(len(p)), 150 - np.asarray(p)[:, 1]])
    return Laid(job, see, sigma, (corners[:2], width), lambda p: on_front(adjusted(corners, width, aim), p))


def adjusted(corners, width, aim):
    """(rotation vector, shift, f, edges) by which OpenCV's projectPoints comes nearest to the corners."""
    k = lambda f: np.array([[f, 0, MIDDLE[0]], [0, f, MIDDLE[1]], [0, 0, 1.0]])
    right = np.array([1, -1, 1.0])  # the box's own axes are left-handed

    def miss(u):
        edges = np.array([width, u[7] * 100, u[8] * 100])
        return (cv2.projectPoints(np.array(TOUCHED) * edges * right, u[:3], u[3:6] * 1000, k(u[6] * 1000), None)[0][:, 0] - corners).ravel()

    rod = cv2.Rodrigues(aim.rotation * right)[0][:, 0]
    found = least_squares(miss, np.r_[rod, aim.place / 1000, aim.focal / 1000, 4.0, 3.0], method="lm").x
    return found, k(found[6] * 1000), right


def on_front(fit, places):
    """Places in the picture where their rays meet the front, mm."""
    u, k, right = fit
    r = cv2.Rodrigues(u[:3])[0]
    rays = np.c_[np.asarray(places, float), np.ones(len(places))] @ np.linalg.inv(k).T
    normal, at = r[:, 1], u[3:6] * 1000
    hit = rays * (normal @ at / (rays @ normal))[:, None] - at
    return np.c_[hit @ r[:, 0], -(hit @ r[:, 2])]


def box_told(rng, **how):
    return box_face(rng, told=True, **how)


def behind_flat(rng, sigma, scale, share, pm, back):
    """Behind a view with one scale, square-on; how far back and how far the camera stood are told."""
    away, back_pm, away_pm = 3600 / scale, 2.0, 0.02 * 3600 / scale
    front, see, job = flat(scale, 0.0), flat(scale / (1 + back / away), 0.0), begun(sigma)
    two = line(share, 0.0, (0.0, -330.0 if scale < 4 else -280.0))
    clicks, said = know(job, rng, front(two), math.dist(*two), pm, sigma)
    back_said, away_said = off(rng, back, back_pm), off(rng, away, away_pm)
    stand(job, see, back_said, back_pm, away=mm(away_said), away_pm=mm(away_pm))
    per = said / math.dist(*clicks) * (1 + back_said / away_said)
    return Laid(job, see, sigma, (clicks, said), lambda p: per * np.asarray(p))


def stand(job, see, back, pm, **away):
    """A view of what stands behind view 1, round all that is marked on it."""
    places = np.asarray(see(np.array(frame(560, 290))))
    low, high = places.min(axis=0) - 40, places.max(axis=0) + 40
    view = job.view(1, "other", low.tolist(), (high - low).tolist())
    job.add("stands-back", view=view, from_=1, back=mm(abs(back)), pm=mm(pm), before=bool(back < 0), **away)


def behind_slanted(rng, sigma, back, **pose):
    """Behind a known rectangle seen at a slant. The others' way: OpenCV's solvePnP with the file's focal length, and rays."""
    true, base = slant(rng, told=True, **pose)
    rod = cv2.Rodrigues(np.radians([0, 0, pose["roll"]]))[0] @ cv2.Rodrigues(np.radians([pose["pitch"], 0.0, 0]))[0] @ cv2.Rodrigues(np.radians([0.0, pose["yaw"], 0]))[0]
    normal = rod[:, 2] * np.sign(rod[:, 2] @ np.array(true.far))
    other = dataclasses.replace(true, far=tuple(np.array(true.far) + back * normal))
    job = begun(sigma, base.film())
    corners, sides = shake(rng, true.seen(frame(600, 300)), sigma), (side(rng, 600.0), side(rng, 300.0))
    job.square_on(1, corners, *sides)
    back_said = off(rng, back, 2.0)
    stand(job, other.seen, back_said, 2.0)
    k = np.array([[base.focal, 0, MIDDLE[0]], [0, base.focal, MIDDLE[1]], [0, 0, 1.0]])

    def plain(p):
        _, turn, shift = cv2.solvePnP(np.c_[np.array(frame(*sides)), np.zeros(4)], corners, k, None)
        r, at = cv2.Rodrigues(turn)[0], shift[:, 0]
        n = r[:, 2] * np.sign(r[:, 2] @ at)
        rays = np.c_[np.asarray(p, float), np.ones(len(p))] @ np.linalg.inv(k).T
        return (rays * ((n @ at + back_said) / (rays @ n))[:, None] - at) @ r[:, :2]

    return Laid(job, other.seen, sigma, (corners[:2], sides[0]), plain)


@dataclasses.dataclass
class Map:
    """A kind of map: how a trial is laid, the conditions, and what `plain` is."""

    name: str
    lay: Callable
    space: dict
    other: str

    def usual(self):
        return {name: u for name, (u, _, _) in self.space.items()}


TURNS = CLICKS | {"turn": (35.0, 12.0, 75.0), "down": (25.0, 4.0, 40.0), "far": (1050.0, 1000.0, 5000.0)}
WITHOUT = lambda names, space: {n: v for n, v in space.items() if n not in names}

MAPS = [
    Map("one scale", one_scale, FLAT, "division, unrounded"),
    Map("several lengths", several, FLAT, "numpy, least squares"),
    Map("two scales", two_scales, WITHOUT(("roll",), FLAT) | {"stretch": (1.02, 0.9, 1.1), "scale": (5.0, 0.4, 5.5)}, "division, each way by itself"),
    Map("known rectangle", known_rectangle, POSE, "OpenCV findHomography"),
    Map("unknown proportions", unknown_rectangle, POSE | LENGTH, "Zhang & He in numpy, OpenCV findHomography"),
    Map("unknown proportions, the file's focal length", unknown_told, POSE | LENGTH, "nothing of the kind"),
    Map("four points and six lengths", four_points, POSE | SAID, "cosine rule, OpenCV findHomography"),
    Map("front of a box", box_face, TURNS, "OpenCV projectPoints, scipy least_squares"),
    Map("front of a box, the file's focal length", box_told, TURNS, "OpenCV projectPoints, scipy least_squares, focal length free"),
    Map("plane behind, square-on", behind_flat, WITHOUT(("roll",), FLAT) | {"scale": (4.0, 0.6, 4.4), "back": (100.0, -150.0, 400.0)}, "division"),
    Map("plane behind, at a slant", behind_slanted, POSE | {"back": (100.0, -150.0, 400.0)}, "OpenCV solvePnP with the file's focal length"),
    Map("known rectangle behind a lens", known_rectangle, POSE | {"bend": (-0.06, -0.15, 0.08)}, "OpenCV findHomography, the bend left in"),
]
