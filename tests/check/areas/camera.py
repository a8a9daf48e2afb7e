"""A camera from pictures of a target: focal length, centre and bend, on synthetic pictures and on photographs."""

import math
import time

import cv2
import numpy as np

import json
from areas.lens import BOARD, PHOTOGRAPHS, bowed, photographs, places
from row import holds, near, within

SIZE = (4000, 3000)
FOCAL, TERMS = 3200.0, (-0.07, 0.0, 0.007, -0.005)


def shots(rng, count, terms, sigma):
    """Pictures of the board from all sides, leaning up to 40°, each corner seen with an error of `sigma` px."""
    half = math.hypot(*SIZE) / 2
    centre = np.array(SIZE) / 2 + half * np.array(terms[2:])
    out = []
    while len(out) < count:
        turn, _ = cv2.Rodrigues(np.r_[rng.uniform(-0.7, 0.7, 2), rng.uniform(-3, 3)])
        at = (np.c_[BOARD - (100, 62.5), np.zeros(54)] @ turn.T) + (rng.uniform(-70, 70), rng.uniform(-50, 50), rng.uniform(280, 420))
        seen = bowed(FOCAL * at[:, :2] / at[:, 2:] + centre, SIZE, terms)
        if (seen > 20).all() and (seen < np.array(SIZE) - 20).all():
            out.append(seen + rng.normal(0, sigma, seen.shape))
    return out


def ask(core, size, seen, sigma):
    shots_ = [(s.tolist(), BOARD.tolist()) for s in seen]
    return json.loads(core.lines([{"kind": "calibrate", "size": size, "shots": shots_, "sigma": sigma}])[0])


def opencv(size, seen):
    flat = np.c_[BOARD, np.zeros(54)].astype(np.float32)
    _, k, *_ = cv2.calibrateCamera([flat] * len(seen), [s.astype(np.float32)[:, None] - 0.5 for s in seen], size, None, None)
    return k


def bend_apart(found, terms):
    """How far places go apart that are straightened by what was found and by the truth, RMS over the picture, px, once
    the pictures' middles and sizes are made to agree (a focal length takes those up)."""
    def straight(t, p):
        half = math.hypot(*SIZE) / 2
        c = np.array(SIZE) / 2 + half * np.array(t[2:])
        d = (p - c) / half
        r2 = (d**2).sum(1, keepdims=True)
        return c + half * d / (1 + t[0] * r2 + t[1] * r2 * r2)
    grid = np.array([(x, y) for x in np.linspace(200, 3800, 13) for y in np.linspace(200, 2800, 10)])
    a, b = straight(found, grid), straight(terms, grid)
    m, _ = cv2.findHomography(a, b)
    return float(np.sqrt(((cv2.perspectiveTransform(a[None], m)[0] - b) ** 2).sum(1).mean()))


def synthetic(core, trials):
    """Errors and ± of focal length and centre over many cameras."""
    rng = np.random.default_rng(31)
    count = max(20, min(trials // 50, 100))
    focal, centre, apart, slow = [], [], [], 0.0
    half = math.hypot(*SIZE) / 2
    for _ in range(count):
        found = ask(core, SIZE, shots(rng, 8, TERMS, 0.1), 0.1)
        focal.append((found["focal"] - FOCAL, found["focal-u"]))
        effects = np.array(found["lens"]["effects"])
        for k in (2, 3):
            centre.append((found["lens"]["terms"][k] - TERMS[k], float(np.hypot.reduce(effects[k]))))
        apart.append(bend_apart(found["lens"]["terms"], TERMS))
    focal, centre = np.array(focal), np.array(centre)
    source = "numpy: a pinhole and the division model"
    yield near(f"focal length of {FOCAL:g} px from 8 pictures, {count} cameras: bias, px; three standard deviations of a mean", source, 0.0, float(focal[:, 0].mean()), 3 * float(focal[:, 0].std()) / math.sqrt(count))
    yield within("the same: σ told over the spread", source, 0.8, 1.25, float(np.sqrt((focal[:, 1] ** 2).mean()) / focal[:, 0].std()))
    yield within("centre, across and down: σ told over the spread", source, 0.8, 1.25, float(np.sqrt((centre[:, 1] ** 2).mean()) / centre[:, 0].std()))
    yield within("bend left over, RMS over the picture, median, px", source + "; corners of 0.1 px", 0.0, 0.1, float(np.median(apart)))
    # Where the model is the same (no bend), ours is as near as OpenCV's.
    ours, theirs = [], []
    for _ in range(max(5, count // 5)):
        seen = shots(rng, 8, (0, 0, 0, 0), 0.1)
        ours.append(ask(core, SIZE, seen, 0.1)["focal"] - FOCAL)
        k = opencv(SIZE, seen)
        theirs.append((k[0, 0] + k[1, 1]) / 2 - FOCAL)
    rms = [float(np.sqrt(np.mean(np.square(e)))) for e in (ours, theirs)]
    yield holds("focal length without bend, RMS, px, against OpenCV's", "OpenCV calibrateCamera on the same corners", f"<= {1.1 * rms[1]:.3f}", rms[0] <= 1.1 * rms[1], f"{rms[0]:.3f}")
    seen = shots(rng, 12, TERMS, 0.1)
    begun = time.perf_counter()
    ask(core, SIZE, seen, 0.1)
    slow = time.perf_counter() - begun
    yield within("12 pictures, native, with starting the door, s", "aim 0.5", 0.0, 0.5, slow)


def refusals(core):
    """What can't tell a camera."""
    rng = np.random.default_rng(33)
    seen = shots(rng, 3, TERMS, 0.1)
    cases = {
        "two pictures": (seen[:2], "camera.too-few-pictures"),
        "a place that is none": ([seen[0], seen[1], seen[2] * 1e9], "camera.not-a-place"),
        "the same picture three times, seen square-on": ([BOARD * 10 + 800] * 3, "camera.no-answer"),
    }
    for name, (pictures, key) in cases.items():
        told = ask(core, SIZE, pictures, 0.1)
        got = told.get("error", {}).get("key", f"focal {told.get('focal')}")
        yield holds(f"{name}: refused", "by construction", key, got == key, got)


def boards(core):
    """Photographs: focal length and centre against OpenCV's, on the same corners."""
    for camera in ("left", "right"):
        seen = [places(c) for _, c in photographs(core, camera)]
        found = ask(core, (640, 480), seen, 0.1)
        k = opencv((640, 480), seen)
        theirs = (k[0, 0] + k[1, 1]) / 2
        name = f"chessboard, {camera} camera, {len(seen)} photographs"
        source = f"{PHOTOGRAPHS}; OpenCV calibrateCamera, its whole-number px centres moved by .5"
        yield near(f"{name}: focal length, px (± {1.96 * found['focal-u']:.2f})", source, float(theirs), found["focal"], 0.01 * theirs)
        for axis, at in enumerate("across down".split()):
            yield near(f"{name}: centre {at}, px", source, float(k[axis, 2]) + 0.5, found["centre"][axis], 6.4)


def rows(core, trials=2_000):
    """Every row of this area."""
    yield from synthetic(core, trials)
    yield from refusals(core)
    yield from boards(core)
