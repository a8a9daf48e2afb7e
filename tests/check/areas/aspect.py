"""Planes seen at a slant by a camera: rectangles of unknown proportions, parallel edges, round things, lengths."""

import math

import cv2
import numpy as np

from camera import MIDDLE, SIZE, Plane, frame, zhang
from core import Job, Refused
from montecarlo import BATCH
from reference import Z95
from rendered import covered as inked
from rendered import noisy, toned
from row import holds, near, nearly, within

ZHANG = "Zhang & He, MSR-TR-2003-39, in numpy"
PINHOLE = "OpenCV projectPoints, by construction"
VECTOR = [(1109.3977, 615.5494), (2972.7207, 1026.2756), (2536.6454, 2032.9387), (845.7795, 2062.1166)]


def begun(focal=None, sigma=0.5, size=SIZE):
    """A picture, and a hand that puts its places to `sigma` px."""
    job = Job()
    job.hand["zoom"] = 0.5 / sigma
    job.picture(*size, focal=focal)
    return job


def rectangle(corners, known=None, focal=None, sigma=0.5, marks=(), size=SIZE):
    """A picture turned square-on by corners whose sides aren't given; a true length (places, mm); more lengths."""
    job = begun(focal, sigma, size)
    job.square_on(1, corners)
    ids = [job.place(places) for places in marks]
    if known:
        job.known(job.place(known[0]), known[1], pm=0.1)
    return job, ids


def sides_of(corners):
    """The first side and the second, as places."""
    return [corners[0], corners[1]], [corners[1], corners[2]]


def closed(core):
    """The closed form, to its vector and at poses."""
    f, ratio = zhang(VECTOR)
    yield near("the check vector's focal length, px", "the project's notes on methods", 3000.0, f, 0.01)
    yield near("the check vector's w : h", "the project's notes on methods", 1.5, ratio, 1e-6)
    wide, high = sides_of(VECTOR)
    job, ids = rectangle(VECTOR, marks=(wide,), known=(high, 400.0))
    yield near("the check vector: width where the height is 400 mm", ZHANG, 600.0, core.play(job.intents).real(ids[0]).value, 2e-3)
    for angles, size in (((25, 20, 0), (600, 400)), ((-30, 25, 8), (400, 700)), ((35, -20, -5), (500, 500)), ((-20, -35, 90), (700, 300))):
        plane = Plane(angles)
        corners = plane.seen(frame(*size))
        f, ratio = zhang(corners)
        wide, high = sides_of(corners)
        job, ids = rectangle(corners, marks=(wide,), known=(high, 1e3 * size[1]))
        got = core.play(job.intents).real(ids[0]).value
        yield nearly(f"{size[0]} x {size[1]} m turned {angles}: width by its height, mm", ZHANG, 1e3 * ratio * size[1], got, 1e-6)
        line = plane.seen([(-200, 90), (150, -120)])
        job, ids = rectangle(corners, marks=(line,), known=(high, 1e3 * size[1]))
        got = core.play(job.intents).real(ids[0]).value
        yield nearly(f"{size[0]} x {size[1]} m turned {angles}: a slope on it, mm", PINHOLE, 1e3 * math.hypot(350, 210), got, 1e-6)


def told(core):
    """Where the file tells the focal length."""
    for name, angles in (("square-on", (0, 0)), ("turned one way", (25, 0)), ("turned the other way", (0, -30)), ("turned both ways", (25, 20))):
        plane = Plane(angles)
        corners = plane.seen(frame(600, 400))
        wide, high = sides_of(corners)
        job, ids = rectangle(corners, marks=(wide,), known=(high, 400.0), focal=plane.film())
        yield nearly(f"{name}, the file's focal length: width, mm", PINHOLE, 600.0, core.play(job.intents).real(ids[0]).value, 1e-6)


def homographies(core):
    """The whole map against OpenCV's, on the same points."""
    # A distance between two places is told less its bias, (σ/px)²: on a picture of 100,000 px that is nothing.
    plane = Plane((28, 22, 4), far=(2e4, -1.5e4, 9e5), focal=90_000.0, middle=(50_000, 37_500))
    big = frame(600_000, 400_000)
    corners = plane.seen(big)
    lines = [[(30_000, 25_000), (75_000, 31_000)], [(45_000, 19_000), (46_000, 55_000)], [(30_000, 42_000), (82_000, 23_000)]]
    job, ids = rectangle(corners, marks=lines, known=(sides_of(corners)[1], 400_000.0), size=(100_000, 75_000), sigma=0.25)
    scene = core.play(job.intents)
    # OpenCV keeps places as 32-bit floats; numpy solves the same eight equations with 64 bits.
    theirs = cv2.findHomography(np.array(corners), np.array(big), 0)[0]
    for source, m, share in (("OpenCV findHomography", theirs, 1e-6), ("numpy: Hartley & Zisserman 4.1, eight equations", four_points(corners, big), 1e-9)):
        for mark, line in zip(ids, lines):
            p = np.c_[np.array(line, float), [1, 1]] @ m.T
            a, b = p[:, :2] / p[:, 2:]
            yield nearly(f"{line}: no side given, mm", source + ", with the true sides", float(np.hypot(*(a - b))), scene.real(mark).value, share)


def four_points(start, end):
    """The map that carries four places to four others."""
    rows, right = [], []
    for (x, y), (u, v) in zip(start, end):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return np.append(np.linalg.solve(rows, right), 1).reshape(3, 3)


def together(core):
    """Any knowns together."""
    plane = Plane((28, 22, 4))
    line, want = [(-250, 150), (220, -130)], math.hypot(470, 280)
    measure = lambda job: (job.place(plane.seen(line)), core.play(job.intents))

    def known(job, a, b):
        job.known(job.place(plane.seen([a, b])), math.dist(a, b), pm=0.1)

    job = begun(plane.film())
    corners = [(-280, -190), (290, -170), (240, 200), (-300, 150)]
    for i, a in enumerate(corners):
        for b in corners[i + 1 :]:
            known(job, a, b)
    job.add("slanted", view=1, on=True)
    mark, scene = measure(job)
    yield nearly("any four points, all six lengths, and the file's focal length: another length, mm", PINHOLE, want, scene.real(mark).value, 1e-6)
    job = begun()
    for i, a in enumerate(corners):
        for b in corners[i + 1 :]:
            known(job, a, b)
    job.add("slanted", view=1, on=True)
    mark, scene = measure(job)
    yield nearly("the same without a focal length, mm", PINHOLE, want, scene.real(mark).value, 1e-6)
    alike = [[(-300, -200), (300, -180), (-300, 180), (300, 200)], [(-280, -200), (-200, 210), (220, -200), (300, 210)]]
    job = begun(plane.film())
    known(job, (-250, 150), (260, 120))
    for places in alike:
        job.add("formed", mark=job.place(plane.seen(places), mark="gap"), on=True)
    mark, scene = measure(job)
    yield nearly("two pairs of parallel edges, the file's focal length, one true length, mm", PINHOLE, want, scene.real(mark).value, 1e-6)
    job = begun()
    known(job, (-250, 150), (260, 120))
    square = [(-280, -200), (-280, 210), (-300, 200), (300, 200)]
    for places in ([(-300, -200), (300, -200), (-300, 200), (300, 200)], [(-280, -200), (-280, 210), (280, -200), (280, 210)]):
        job.add("formed", mark=job.place(plane.seen(places), mark="gap"), on=True)
    job.add("formed", mark=job.place(plane.seen(square), mark="crossing"), on=True)
    mark, scene = measure(job)
    yield nearly("parallel edges and a right angle, no focal length, one true length, mm", PINHOLE, want, scene.real(mark).value, 1e-6)
    ring = [(30 + 170 * math.cos(t), 20 + 170 * math.sin(t)) for t in np.arange(8) * 0.8]
    job = begun(plane.film())
    known(job, (-250, 150), (260, 120))
    job.add("formed", mark=job.place(plane.seen(alike[0]), mark="gap"), on=True)
    job.add("formed", mark=job.place(plane.seen(ring), mark="circle"), on=True)
    mark, scene = measure(job)
    yield nearly("something round, parallel edges, the file's focal length, mm", PINHOLE, want, scene.real(mark).value, 1e-6)


def impossible():
    """Four corners whose vanishing points lie on one side of the picture's middle: their f² is below nothing."""
    ahead, aside, first = np.array([9000.0, 3500, 1]), np.array([6000.0, 9000, 1]), np.array([1000.0, 1000, 1])
    second, fourth = first + 0.25 * (ahead - first), first + 0.15 * (aside - first)
    third = np.cross(np.cross(second, aside), np.cross(fourth, ahead))
    assert (ahead[:2] - MIDDLE) @ (aside[:2] - MIDDLE) > 0
    return [p[:2] / p[2] for p in (first, second, third, fourth)]


def refused(core):
    """What can't be known, and what can't be: in words, and the map as before."""
    shape = frame(600, 400)
    good = Plane((28, 22, 4)).seen(shape)
    bad = {
        "seen square-on, no focal length": (Plane((0, 0)).seen(shape), None, "view.unknowable"),
        "hardly turned, no focal length": (Plane((0.15, 0.1)).seen(shape), None, "view.unknowable"),
        "turned one way, no focal length": (Plane((30, 0)).seen(shape), None, "view.unknowable"),
        "turned one way, a focal length of 10 m": (Plane((30, 0)).seen(shape), 10_000.0, "view.unknowable-file"),
        "turned one way, a focal length of 0": (Plane((30, 0)).seen(shape), 0.0, "view.unknowable-file"),
        "as no camera sees it": (impossible(), None, "view.corners-or-cropped"),
        "three corners in a line": ([(100, 100), (900, 100), (1700, 100), (900, 900)], None, "view.corners-in-line"),
        "two corners alike": ([(100, 100), (900, 100), (900, 100), (100, 900)], None, "view.same-place"),
        "a dented corner": ([(100, 100), (900, 100), (300, 300), (100, 900)], None, "view.corners-dented"),
    }
    for name, (corners, focal, key) in bad.items():
        job = begun(focal)
        job.square_on(1, good, 600, 400)
        job.square_on(1, corners)
        answers = core.answers(job.intents)
        said = answers[-1]
        source = ZHANG + ": f² < 0" if key.endswith("cropped") else "Zhang & He: k2 or k3 near 1" if "focal" in name else "by construction"
        yield holds(f"{name}: refused in words", source, key, isinstance(said, Refused) and said.key == key and " " in str(said), getattr(said, "key", said))
        mark = job.place(good[:2])
        again = core.answers(job.intents)[-1]
        yield near(f"{name}: the map as before, mm", "by construction", 600.0, again.real(mark).value, 1e-3)
    job = begun()
    a, b, c, d = Plane((28, 22, 4)).seen(shape)
    job.square_on(1, [a, b, d, c])
    job.known(job.place([a, d]), 400.0, pm=0.1)
    yield nearly("corners touched across one another are put right: width, mm", PINHOLE, 600.0, core.play(job.intents + [{"kind": "place", "picture": 1, "mark": "length", "points": [list(map(float, a)), list(map(float, b))]}]).real(2).value, 1e-6)
    job, _ = rectangle(good, known=(good[:2], 600.0), focal=Plane((0, 0)).film() * 2)
    notes = [n["id"] for n in core.play(job.intents).told["notes"]]
    yield holds("a file whose focal length is twice the true one is questioned", PINHOLE, "focal-disagrees", any("focal-disagrees" in n for n in notes), notes)
    corners = Plane((0, 78), far=(0, 0, 1500)).seen(shape)
    job = begun()
    job.square_on(1, corners, 600, 400)
    notes = [n["id"] for n in core.play(job.intents).told["notes"]]
    yield holds("seen at 78° it is said to be nearly edge-on", PINHOLE, "edge-on", any("edge-on" in n for n in notes), notes)
    corners = Plane((0, 70), far=(0, 0, 1500)).seen(shape)
    job = begun()
    job.square_on(1, corners, 600, 400)
    notes = [n["id"] for n in core.play(job.intents).told["notes"]]
    yield holds("seen at 70° it isn't", PINHOLE, "no word", not any("edge-on" in n for n in notes), notes)


def sided(corners, rounded=0.0):
    """The signed distance, px, of a part with straight sides, corners in order round it; corners may be rounded off."""
    def shape(x, y):
        off = np.full(np.shape(x), -np.inf)
        for a, b in zip(corners, np.roll(corners, -1, axis=0)):
            run = (b - a) / np.hypot(*(b - a))
            off = np.maximum(off, run[1] * (x - a[0]) - run[0] * (y - a[1]))
        if rounded:
            for i, c in enumerate(corners):
                into = (corners[i - 1] - c) / np.hypot(*(corners[i - 1] - c)) + (corners[(i + 1) % 4] - c) / np.hypot(*(corners[(i + 1) % 4] - c))
                into /= np.hypot(*into)
                off = np.maximum(off, rounded - (x - c[0]) * into[0] - (y - c[1]) * into[1])
        return off

    return shape


def offered(core):
    """The rectangle itself, from one touch inside: corners, and its proportions from those alone."""
    size, rng = 640, np.random.default_rng(3)
    for angles, noise, rounded in (((25, 20, 0), 0.0, 0.0), ((-30, 28, 12), 2.0, 0.0), ((32, -25, -20), 2.0, 5.0), ((20, 35, 45), 4.0, 0.0)):
        plane = Plane(angles, focal=560.0, middle=(size / 2, size / 2), far=(8, -5, 900))
        corners = np.array(plane.seen(frame(600, 400)))
        picture = noisy(toned(inked(sided(corners, rounded), size, 0.8), 60, 210), noise, rng)
        found = core.seek(picture, [{"kind": "quad", "inside": [size / 2, size / 2]}])[0]
        name = f"turned {angles}, noise {noise:g} of 150 tones" + (f", corners cut off {rounded:g} px" if rounded else "")
        at = np.array([f["at"] for f in found["quad"]]) if found else np.full((4, 2), np.nan)
        off = [min(np.hypot(*(a - c)) for a in at) for c in corners]
        yield within(f"{name}: one touch inside, the farthest corner from its place, px", "drawn by area in numpy; aim 0.05", 0.0, 0.05, float(max(off)))
    six = np.array([(200 + 180 * math.cos(t), 300 + 150 * math.sin(t)) for t in np.arange(6) * math.pi / 3]) + 60
    nothing = core.seek(noisy(toned(inked(sided(six), size, 0.8), 60, 210), 0, rng), [{"kind": "quad", "inside": [260, 360]}])[0]
    yield holds("six sides are not taken for four", "drawn in numpy", "nothing", nothing is None, nothing)


POSES = [((25, 20, 0), 820), ((35, 30, 5), 820), ((-30, 35, -8), 820), ((40, -25, 10), 820)]


def precise(core, trials):
    """How good proportions are at corners good to 0.1 px, where the lens looked at the middle."""
    rng = np.random.default_rng(9)
    count = max(trials // 5, 50)
    for angles, far in POSES:
        plane = Plane(angles, far=(0, 0, far))
        true = plane.seen(frame(600, 400))
        job, places = begun(sigma=0.1), []
        ours, closed_form = [], []
        job.square_on(1, true)
        mark = job.place(true[:2])
        other = job.place(true[1:3])
        job.known(other, 400.0, pm=0.01)
        for _ in range(count):
            corners = true + rng.normal(0, 0.1, (4, 2))
            job.square_on(1, corners)
            for m, two in ((mark, corners[:2]), (other, corners[1:3])):
                for point, at in enumerate(two):
                    job.move(m, point, at)
            places.append(job.here())
            closed_form.append(zhang(corners)[1])
        ours = [s.real(mark).value / 400 for s in core.play_at(job.intents, places)]
        half = Z95 * float(np.std(np.array(ours) / 1.5))
        good = Z95 * float(np.std(np.array(closed_form) / 1.5))
        yield within(f"turned {angles}: w : h by corners good to 0.1 px, 95 %, per cent", "aim: 0.04 %", 0.0, 0.04, 100 * half)
        yield within(f"turned {angles}: the same against the closed form, times", ZHANG, 0.0, 1.02, half / good)


SCENES = {
    "turned both ways, no focal length": dict(angles=(28, 22, 4), told=False, share=0.01, sigma=0.3),
    "turned both ways, the file's focal length": dict(angles=(28, 22, 4), told=True, share=0.01, sigma=0.5),
    "turned one way, the file's focal length": dict(angles=(25, 0, 0), told=True, share=0.01, sigma=0.5),
    "hardly turned, the file's focal length": dict(angles=(3, 2, 1), told=True, share=0.01, sigma=0.5),
    "turned both ways, cropped": dict(angles=(38, 32, 5), told=False, share=0.05, sigma=0.3),
}
ALONG, ACROSS = [(-250, 150), (260, 120)], [(35, -190), (20, 180)]


def covered(core, trials):
    """Whether the stated ± holds, the lens looking off the middle and seeing as far as it may."""
    for name, scene in SCENES.items():
        rng = np.random.default_rng(5)
        sigma, sizes = scene["sigma"], []
        for first in range(0, trials, BATCH):
            base = Plane(scene["angles"])
            job, places = begun(base.film() if scene["told"] else None, sigma), []
            if scene["share"] > 0.01:
                job.add("cropped", picture=1, on=True)
            mark, known = job.place(base.seen(ACROSS)), job.place(base.seen(ALONG))
            job.known(known, math.dist(*ALONG), pm=0.5)
            for _ in range(min(BATCH, trials - first)):
                focal = base.focal * (1 + (0.03 * rng.normal() if scene["told"] else 0))
                plane = Plane(scene["angles"], focal=focal, middle=tuple(MIDDLE + scene["share"] * SIZE[0] * rng.normal(0, 1, 2)))
                shaken = lambda places: plane.seen(places) + rng.normal(0, sigma, (len(places), 2))
                job.square_on(1, shaken(frame(600, 400)))
                for m, two in ((mark, ACROSS), (known, ALONG)):
                    for point, at in enumerate(shaken(two)):
                        job.move(m, point, at)
                job.known(known, math.dist(*ALONG) + rng.normal(0, 0.5 / Z95), pm=0.5)
                places.append(job.here())
            sizes += [s.real(mark) for s in core.play_at(job.intents, places)]
        truth = math.dist(*ACROSS)
        held = float(np.mean([s.covers(truth) for s in sizes]))
        yield within(f"{name}: the ± holds the truth, of {len(sizes)} trials", "numpy, normal; JCGM 101 8", 0.93, 0.97, held)


def rows(core, trials=2_000):
    """Every row of this area."""
    for part in (closed, told, homographies, together, refused, offered):
        yield from part(core)
    yield from precise(core, trials)
    yield from covered(core, trials)
