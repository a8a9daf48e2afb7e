"""The bend of a lens from edges that are straight in life: synthetic lenses, and photographs of a chessboard.

The photographs come with OpenCV's documentation (Debian's opencv-doc): 26 of them, two cameras, 9 × 6 inner corners, squares
of 25 mm. The board's four outer inner corners are given as a rectangle of known size, all others are predicted. The board
was printed or mounted unevenly, by up to 0.4 mm: OpenCV finds the same from either camera's pictures. So errors are told
against squares of 25 mm, and against the board as OpenCV measured it with the *other* camera.
"""

import json
import math
import pathlib

import cv2
import numpy as np
from scipy.stats import norm

from core import Job
from row import holds, near, within

BOARDS = pathlib.Path("/usr/share/doc/opencv-doc/examples/data")
PHOTOGRAPHS = "photographs of OpenCV's documentation"
# Where the inner corners are, mm, row by row; the outer four, in order round.
BOARD = np.array([(25.0 * (i % 9), 25.0 * (i // 9)) for i in range(54)])
OUTER = [0, 8, 53, 45]
REST = [i for i in range(54) if i not in OUTER]
LONG = 200.0
# Both coordinates of every predicted corner must lie within so many times the ±, that one in twenty pictures would fail.
MANY = float(norm.isf(0.025 / (2 * len(REST))) / norm.isf(0.025))


def photographs(core, camera):
    """For each photograph: its size, and each inner corner as the core caught it. Where it says that it caught something
    else it is touched again, a little beside, as a person would."""
    out = []
    for file in sorted(BOARDS.glob(f"{camera}[0-9][0-9].jpg")):
        grey = cv2.imread(str(file), cv2.IMREAD_GRAYSCALE)
        there, rough = cv2.findChessboardCorners(grey, (9, 6))
        if not there:
            continue
        touches = rough.reshape(-1, 2).astype(float) + 0.5
        caught = [None] * len(touches)
        for beside in ((0, 0), (2, 0), (-2, 0), (0, 2), (0, -2)):
            left = [i for i, c in enumerate(caught) if not c]
            asks = [{"kind": "catch", "at": (touches[i] + beside).tolist(), "reach": 6} for i in left]
            for i, f in zip(left, core.seek(grey, asks) if left else []):
                caught[i] = f and f["caught"]["what"] == "corner" and f["caught"]
        if all(caught):
            out.append((grey.shape[::-1], caught))
    return out


def places(caught):
    return np.array([c["at"] for c in caught])


def calibrated(core, photographs_, one, board):
    """The core's camera from all photographs but `one`."""
    shots = [(places(c).tolist(), board.tolist()) for i, (_, c) in enumerate(photographs_) if i != one]
    return json.loads(core.lines([{"kind": "calibrate", "size": photographs_[0][0], "shots": shots, "sigma": 0.1}])[0])


def measured(photographs_):
    """The board as OpenCV measures it with one camera, its outer four corners put where they should be, mm.

    calibrateCameraRO: Strobl & Hirzinger, ICCV Workshops 2011, for targets that aren't as they should be.
    """
    flat = np.c_[BOARD, np.zeros(54)].astype(np.float32)
    seen = [places(c).astype(np.float32)[:, None] - 0.5 for _, c in photographs_]
    found = cv2.calibrateCameraRO([flat] * len(seen), seen, photographs_[0][0], 8, None, None)[5].reshape(-1, 3)[:, :2]
    m = cv2.getPerspectiveTransform(found[OUTER].astype(np.float32), BOARD[OUTER].astype(np.float32))
    return cv2.perspectiveTransform(found[None].astype(float), m)[0]


def edges(caught, lines):
    """Rows and columns of the board as edges that are straight in life: their places, and how good those are."""
    at = places(caught).reshape(6, 9, 2)
    told = np.array([(c["cov"][0] + c["cov"][2]) / 2 for c in caught])
    rows = {"all": [at[i] for i in range(6)] + [at[:, j] for j in range(9)], "outer": [at[0], at[5], at[:, 0], at[:, 8]]}
    return [(line.tolist(), float(np.sqrt(told.mean()))) for line in rows[lines]]


def board_of(job, corners, size, points):
    """A rectangle of known size and places on it, each told as its distance from the side that is farther: the corners and
    the places as caught. Gives how the scene's answer becomes each place's (x, y) and ±, from the first corner, mm."""
    job.add("square-on", view=1, corners=[c["at"] for c in corners], width={"mm": size[0]}, height={"mm": size[1]}, of="thing", caught=corners, **job.hand)
    sides = {"left": (0, 3), "right": (1, 2), "top": (0, 1), "bottom": (3, 2)}

    def distance(side, caught):
        three = [corners[i] for i in sides[side]] + [caught]
        mark = job.place([c["at"] for c in three], ends="from-line")
        for i, c in enumerate(three):
            job.add("move-point", mark=mark, point=i, at=c["at"], caught=c, **job.hand)
        return mark

    marks = []
    for caught, (x, y) in points:
        across, down = "left" if x >= size[0] / 2 else "right", "top" if y >= size[1] / 2 else "bottom"
        marks.append((across, distance(across, caught), down, distance(down, caught)))

    def read(scene):
        at, half = [], []
        for across, a, down, d in marks:
            a, d = scene.real(a), scene.real(d)
            at.append((a.value / 2 if across == "left" else size[0] - a.value / 2, d.value / 2 if down == "top" else size[1] - d.value / 2))
            half.append((a.half / 2, d.half / 2))
        return np.array(at), np.array(half)

    return read


def predicted(core, photograph, straight, lens=None):
    """Where the core says the corners are on the board: each one's place and ±, mm."""
    (width, height), caught = photograph
    job = Job()
    job.picture(width, height)
    for points, sigma in straight:
        job.add("straight-edge", picture=1, points=points, sigma=sigma)
    if lens:
        job.add("know-lens", picture=1, lens=lens)
    read = board_of(job, [caught[i] for i in OUTER], (LONG, 125.0), [(caught[i], BOARD[i]) for i in REST])
    at, half = read(core.last(job.intents))
    return at, half


def share(off):
    """Error, RMS over the corners, as a share of the board's long side, %."""
    return float(np.sqrt((off**2).sum(1).mean())) / LONG * 100


def opencv(photographs_, one, board):
    """Where OpenCV says the corners of one photograph are, calibrated on the others, mm."""
    shape = photographs_[0][0]
    flat = np.c_[board, np.zeros(54)].astype(np.float32)
    others = [places(c).astype(np.float32)[:, None] - 0.5 for i, (_, c) in enumerate(photographs_) if i != one]
    _, camera, bend, *_ = cv2.calibrateCamera([flat] * len(others), others, shape, None, None)
    mine = places(photographs_[one][1])[:, None] - 0.5
    straight = cv2.undistortPoints(mine, camera, bend, P=camera)[:, 0]
    m = cv2.getPerspectiveTransform(straight[OUTER].astype(np.float32), BOARD[OUTER].astype(np.float32))
    return cv2.perspectiveTransform(straight[None].astype(float), m)[0][REST]


AIMS = {"left": (0.8, 0.17, 0.10), "right": (1.2, 0.10, 0.10)}
WAYS = ("as they are", "straight lines only", "camera known from the others")


def tables(core):
    """For each camera: the board as the other one measures it, and for each photograph where the corners are said to be, way
    by way, with the ± of the straight lines' way. Cameras are calibrated on that board, as on a print that was measured."""
    seen = {camera: photographs(core, camera) for camera in AIMS}
    boards_ = {"left": measured(seen["right"]), "right": measured(seen["left"])}
    out = {}
    for camera, board in boards_.items():
        table = []
        for one, photograph in enumerate(seen[camera]):
            lens = calibrated(core, seen[camera], one, board)["lens"]
            lines = predicted(core, photograph, edges(photograph[1], "all"))
            got = [predicted(core, photograph, [])[0], lines[0], predicted(core, photograph, [], lens)[0], opencv(seen[camera], one, board)]
            table.append((got, lines[1]))
        out[camera] = (board, table)
    return out


def boards(core):
    """Both cameras: errors as they are, with rows and columns straight, and with the lens known from the other pictures."""
    all_ = tables(core)
    covered, errors, halves, total = 0, [], [], 0
    for camera, aims in AIMS.items():
        board, table = all_[camera]
        truth = board[REST]
        ways = (*WAYS, "OpenCV, camera known from the others")
        print(f"  {camera}: error, RMS, % of the long side, against squares of 25 mm / the board as the other camera measures it")
        shares = {}
        for told, against in (("squares of 25 mm", BOARD[REST]), ("the board as measured", truth)):
            shares[told] = [[share(at - against) for at in got] for got, _ in table]
        for i, (plain, fine) in enumerate(zip(*shares.values())):
            print(f"  {camera} {i + 1:2}: " + ", ".join(f"{w} {a:.3f} / {b:.3f}" for w, a, b in zip(ways, plain, fine)), flush=True)
        plain, fine = ([float(np.median(column)) for column in zip(*rows_)] for rows_ in shares.values())
        print(f"  {camera} median: " + ", ".join(f"{w} {a:.3f} / {b:.3f}" for w, a, b in zip(ways, plain, fine)), flush=True)
        name = f"chessboard, {camera} camera, {len(table)} photographs: error, RMS, % of the long side, median"
        yield within(f"{name}, as they are, squares of 25 mm (what there is to gain)", f"{PHOTOGRAPHS}; known {aims[0]}", aims[0] * 0.9, aims[0] * 1.1, plain[0])
        yield within(f"{name}, {WAYS[1]}", f"{PHOTOGRAPHS}; OpenCV calibrateCameraRO on the other camera's; aim {aims[1]}", 0.0, aims[1], fine[1])
        print(f"  {camera}: camera known from the others {fine[2]:.3f} %, aim {aims[2]}")
        yield holds(f"{name}, {WAYS[2]}, against OpenCV's (five terms of bend against two)", f"{PHOTOGRAPHS}; OpenCV calibrateCamera on the others, undistortPoints, same corners, same board", f"<= {1.25 * fine[3]:.3f}", fine[2] <= 1.25 * fine[3], f"{fine[2]:.3f}")
        worse = sum(row[1] > row[0] for row in shares["the board as measured"])
        yield within(f"chessboard, {camera} camera: pictures made worse by straightening", PHOTOGRAPHS, 0, 0, worse)
        for got, half in table:
            off = got[1] - truth
            covered += bool((np.abs(off) <= MANY * half).all())
            errors.append(float(np.sqrt((off**2).sum(1).mean())))
            halves.append(float(np.median(np.hypot(*half.T))))
            total += 1
    yield within(f"chessboards: pictures whose every corner lies within the ± (times {MANY:.2f} for {2 * len(REST)} at once), of {total}", PHOTOGRAPHS + ", the board as measured; aim 22 of 26", 22, 26, covered)
    ratio = float(np.median(halves) / np.median(errors)) if errors else math.nan
    print(f"  median ± {np.median(halves):.3f} mm, median error {np.median(errors):.3f} mm against the board as measured")
    plain = [float(np.sqrt(((got[1] - BOARD[REST]) ** 2).sum(1).mean())) for _, table in all_.values() for got, _ in table]
    yield within("chessboards: median ± over median error, squares of 25 mm", PHOTOGRAPHS + "; aim 3 at most", 0.5, 3.0, float(np.median(halves) / np.median(plain)))
    print(f"  ± over error against the board as measured: {ratio:.2f}")


def bowed(points, size, terms):
    """Places as a lens shows them: x_d so that x_u = c + (x_d − c)/(1 + λ r² + μ r⁴), by bisection."""
    lam, mu, cx, cy = terms
    half = math.hypot(*size) / 2
    c = np.array(size) / 2 + half * np.array([cx, cy])
    d = (points - c) / half
    far = np.hypot(*d.T)
    low, high = np.zeros_like(far), np.full_like(far, 2.0)
    for _ in range(80):
        r = (low + high) / 2
        over = r / (1 + lam * r**2 + mu * r**4) > far
        low, high = np.where(over, low, r), np.where(over, r, high)
    return c + half * d * (np.where(far > 0, (low + high) / 2 / np.maximum(far, 1e-300), 1.0))[:, None]


def radial(points, size, k1, k2):
    """The two-term radial model about the picture's middle."""
    half = math.hypot(*size) / 2
    d = (points - np.array(size) / 2) / half
    r2 = (d**2).sum(1, keepdims=True)
    return np.array(size) / 2 + half * d * (1 + k1 * r2 + k2 * r2 * r2)


SIZE = (4000, 3000)
FRAME = [((300, 260), (3700, 330)), ((3690, 340), (3620, 2760)), ((3630, 2770), (290, 2700)), ((280, 2690), (310, 270)), ((300, 1450), (3700, 1500)), ((1990, 290), (2040, 2730))]
GRID = np.array([(x, y) for x in np.linspace(350, 3600, 7) for y in np.linspace(350, 2650, 5)])


def synthetic(core, trials):
    """Lenses whose truth is known: a rectangle of known size and points, seen through each; errors of 0.03 px."""
    rng = np.random.default_rng(21)
    lenses = {
        "division model, λ −0.08": (lambda p: bowed(p, SIZE, (-0.08, 0, 0.006, -0.004)), True),
        "division model, λ 0.04": (lambda p: bowed(p, SIZE, (0.04, 0, -0.003, 0.005)), True),
        "two radial terms −0.1, 0.03": (lambda p: radial(p, SIZE, -0.1, 0.03), False),
        "two radial terms −0.03, 0.06 (a moustache)": (lambda p: radial(p, SIZE, -0.03, 0.06), False),
    }
    count = max(5, min(trials // 200, 20))
    for name, (lens, division) in lenses.items():
        inside, all_, rms = 0, 0, []
        for _ in range(count):
            job = Job()
            job.picture(*SIZE)
            for a, b in FRAME:
                t = np.linspace(0, 1, 60)[:, None]
                line = lens(np.array(a) + (np.array(b) - np.array(a)) * t) + rng.normal(0, 0.03, (60, 2))
                job.add("straight-edge", picture=1, points=line.tolist(), sigma=0.03)
            corners = lens(np.array([(350.0, 350.0), (3600, 350), (3600, 2650), (350, 2650)]))
            hold = lambda p: {"what": "corner", "at": p.tolist(), "cov": [1e-6, 0, 1e-6], "along": None, "half": [0, 0]}
            read = board_of(job, [hold(p) for p in corners], (3250.0, 2300.0), [(hold(p), p0 - 350) for p, p0 in zip(lens(GRID), GRID)])
            at, half = read(core.last(job.intents))
            off = at - (GRID - 350)
            inside += int((np.abs(off) <= half).sum())
            all_ += off.size
            rms.append(float(np.sqrt((off**2).sum(1).mean())))
        # One px is one mm here.
        if division:
            yield within(f"{name}: left over once its corners agree, RMS, median of {count}, px", "computed by bisection; aim 0.03", 0.0, 0.03, float(np.median(rms)))
        else:
            print(f"  {name}: left over {np.median(rms):.3f} px", flush=True)
        yield within(f"{name}: share of places within the ±", "computed; 95 % and more, the ± holds the picture's own 0.1 px too", 0.95, 1.0, inside / all_)


def known_lens(core):
    """The bend that the core tells, against the truth; too little to tell; no bend; an edge that isn't straight."""
    def told(lines, lens, sigma=0.03):
        job = Job()
        job.picture(*SIZE)
        rng = np.random.default_rng(5)
        for a, b in lines:
            t = np.linspace(0, 1, 60)[:, None]
            line = lens(np.array(a) + (np.array(b) - np.array(a)) * t) + rng.normal(0, sigma, (60, 2))
            job.add("straight-edge", picture=1, points=line.tolist(), sigma=sigma)
        job.add("tool", tool="straighten")
        return core.play(job.intents).told["aside"]
    strong = lambda p: bowed(p, SIZE, (-0.08, 0, 0, 0))
    yield holds("a bend of 8 % at the corners is told", "by construction", "8.0 %", "by 8.0 %" in told(FRAME, strong), told(FRAME, strong))
    yield holds("no bend is told as none", "by construction", "straight", "seen straight" in told(FRAME, lambda p: p), told(FRAME, lambda p: p))
    short = [((1800, 1500), (2200, 1520))]
    yield holds("a short edge in the middle can't tell", "by construction", "too short", "too short" in told(short, strong, 0.3), told(short, strong, 0.3))


DOOR = np.array([(90.0, 80.0), (1500, 80), (1500, 1110), (90, 1110)])


def pixels(core):
    """A dark door as a lens shows it, its edges followed in the pixels themselves between touches near their ends."""
    size, lam = (1600, 1200), -0.08
    middle, half = np.array(size) / 2, math.hypot(*size) / 2

    def straight(p):
        d = (p - middle) / half
        return middle + d * half / (1 + lam * (d**2).sum(-1, keepdims=True))

    y, x = np.mgrid[0 : size[1], 0 : size[0]] + 0.5
    at = straight(np.stack([x, y], -1))
    inside = np.minimum(at - DOOR[0], DOOR[2] - at).min(-1)
    noise = np.random.default_rng(41).normal(0, 2.55, inside.shape)
    grey = np.clip(np.rint(215 - 150 / (1 + np.exp(np.clip(-2.4 * inside, -50, 50))) + noise), 0, 255).astype(np.uint8)
    touches = [[a + (b - a) * k for k in (0.05, 0.95)] for a, b in zip(DOOR, np.roll(DOOR, -1, 0))]
    asks = []
    for pair in touches:
        a, b = bowed(np.array(pair), size, (lam, 0, 0, 0))
        asks.append({"kind": "bowed", "from": a.tolist(), "to": (b + 2).tolist()})
    found = [f and f["path"] for f in core.seek(grey, asks)]
    rms = []
    for f, p, axis in zip(found, touches, (1, 0, 1, 0)):
        rms.append(float(np.sqrt(((straight(np.array(f["points"]))[:, axis] - p[0][axis]) ** 2).mean())) if f else math.inf)
    yield within("edges followed in the pixels, noise 1 %: the worst, RMS off its line once straightened, px", "computed: a door of soft edges through the division model", 0.0, 0.03, max(rms))
    job = Job()
    job.picture(*size)
    for f in found:
        if f:
            job.add("straight-edge", picture=1, points=f["points"], sigma=f["sigma"])
    job.add("tool", tool="straighten")
    told = core.play(job.intents).told["aside"]
    yield holds("and the bend that they tell", "computed", "8.0 %", "by 8.0 %" in told, told)
    blank = core.seek(np.full((400, 600), 128, np.uint8), [{"kind": "bowed", "from": [20, 20], "to": [500, 30]}])[0]
    yield holds("no edge is followed where there is none", "by construction", "nothing", blank is None, blank)


def rows(core, trials=2_000):
    """Every row of this area."""
    yield from known_lens(core)
    yield from pixels(core)
    yield from synthetic(core, trials)
    yield from boards(core)
