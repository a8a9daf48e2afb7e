"""Edges, lines, corners, straight and round things, on pictures drawn by area coverage in numpy.

Blur is a Gaussian's σ in px, noise a share of full scale; 1 % is 40 dB. Values are blurred as they are stored (the
domain that the core states). The Cramér–Rao bound is worked out here from the drawn picture's own slope.
"""

import math
import pathlib

import cv2
import hen
import marsh_hen
import numpy as np
import rendered as draw
from core import Job
from row import all_of, holds, near, within
from scan import scan
from skimage.measure import find_contours

SIZE = 64
TRUTH = np.array([32.3, 31.8])
DRAWN = "numpy: area coverage"


def tiles(tone, share, count, rng, across=25):
    """Many noisy pictures of one thing, side by side, and where each begins."""
    return draw.sheet([draw.noisy(tone, 255 * share, rng) for _ in range(count)], across)


def caught(core, picture, corners, touch, reach=8, quality=None):
    """What each tile's touch catches: (kind, place, covariance), places from the tile's own corner."""
    asks = [{"kind": "catch", "at": [x + touch[0], y + touch[1]], "reach": reach} for x, y in corners]
    out = []
    for found, corner in zip(core.seek(picture, asks, quality), corners):
        told = found and found["caught"]
        out.append((told["what"], np.array(told["at"]) - corner, told["cov"]) if told else (None, None, None))
    return out


def across(got, what, normal):
    """Offsets from the truth along `normal`, and the variances told for them, of what was caught as `what`."""
    kept = [(place, cov) for kind, place, cov in got if kind == what]
    offs = np.array([(place - TRUTH) @ normal for place, _ in kept])
    told = np.array([c[0] * normal[0] ** 2 + 2 * c[1] * normal[0] * normal[1] + c[2] * normal[1] ** 2 for _, c in kept])
    return offs, told


def bound(shape, blur, share, half=8.0):
    """Cramér–Rao for the place of an edge of unknown slope, bend and tones in a stretch of ± `half` px, from the picture's own slope."""
    step = 0.02
    (x, y), angle = draw.grid(SIZE, 1), shape
    c, s = math.cos(angle), math.sin(angle)
    tone = [draw.toned(draw.covered(draw.side(TRUTH + d * np.array([c, s]), angle), SIZE, blur)) for d in (-step, step)]
    slope = (tone[1] - tone[0]) / (2 * step)
    t = (y - TRUTH[1]) * c - (x - TRUTH[0]) * s
    at = np.abs(t) <= half
    # A bend k moves the blurred edge by k (t² + blur²) / 2, the px's own blur of 1/12 px² included; tones are unknown.
    ink = draw.covered(draw.side(TRUTH, angle), SIZE, blur)
    rows = np.array([slope[at], (slope * t)[at], (slope * (t * t + blur * blur + 1 / 12))[at], ink[at], np.ones(at.sum())])
    return math.sqrt(np.linalg.inv(rows @ rows.T)[0, 0]) * 255 * share


def edges(core, trials):
    """The spread over noisy pictures at every blur and noise, against what is told, the aims, and the bound."""
    rng = np.random.default_rng(4)
    ratios, bounds = [], []
    for blur in (0.7, 1.0, 1.4, 2.0):
        for share in (0.01, 0.02, 0.03, 0.05):
            angle = rng.uniform(0, 2 * math.pi)
            normal = np.array([math.cos(angle), math.sin(angle)])
            tone = draw.toned(draw.covered(draw.side(TRUTH, angle), SIZE, blur))
            picture, corners = tiles(tone, share, trials, rng)
            offs, told = across(caught(core, picture, corners, TRUTH + (1, -0.7)), "edge", normal)
            name = f"blur {blur}, noise {share:.0%}"
            ratio = math.sqrt(told.mean()) / offs.std()
            ratios.append((name, 1.0, ratio if len(offs) == trials else math.nan))
            bounds.append((name, offs.std() / bound(angle, blur, share)))
            if share == 0.01:
                yield near(f"edge, {name}: bias over {trials}, px", DRAWN + "; aim 0.01", 0.0, float(offs.mean()), 0.01)
                yield within(f"edge, {name}: spread, px", DRAWN + "; aim 0.03", 0.0, 0.03, float(offs.std()))
    for name, _, ratio in ratios:
        yield within(f"edge, {name}: σ told over the spread of {trials}", DRAWN, 0.8, 1.25, float(ratio))
    name, worst = max(bounds, key=lambda b: b[1])
    yield within(f"edge, all of these: spread over the Cramér–Rao bound, the worst ({name})", "numpy: Fisher information of the drawn picture", 0.8, 1.3, float(worst))


def angles(core):
    """No pattern with the grid of px, whatever the direction and place."""
    rng = np.random.default_rng(5)
    worst = 0.0
    for blur in (0.7, 1.4):
        sheet, truths = [], []
        for _ in range(200):
            angle = rng.uniform(0, 2 * math.pi)
            at = TRUTH + rng.uniform(-0.5, 0.5, 2)
            truths.append((at, np.array([math.cos(angle), math.sin(angle)])))
            sheet.append(draw.noisy(draw.toned(draw.covered(draw.side(at, angle), SIZE, blur)), 0, rng))
        picture, corners = draw.sheet(sheet, 20)
        got = caught(core, picture, corners, TRUTH)
        worst = max([worst] + [abs((place - at) @ n) for (_, place, _), (at, n) in zip(got, truths)])
    yield near("edge without noise, 400 directions and places: the worst, px", DRAWN, 0.0, float(worst), 0.01)


def lines(core, trials):
    """Drawn lines: their middle."""
    rng = np.random.default_rng(6)
    d = np.array([math.cos(0.4), math.sin(0.4)])
    normal = np.array([-d[1], d[0]])
    for half, blur, share in ((0.8, 1.0, 0.01), (2.5, 0.7, 0.02), (2.6, 1.4, 0.05), (5.0, 1.0, 0.02)):
        tone = draw.toned(draw.covered(draw.line(TRUTH - 60 * d, TRUTH + 60 * d, half), SIZE, blur))
        picture, corners = tiles(tone, share, trials, rng)
        got = caught(core, picture, corners, TRUTH + (1, -0.7))
        offs, told = across(got, "line", normal)
        name = f"line {2 * half:g} px wide, blur {blur}, noise {share:.0%}"
        yield near(f"{name}: bias of its middle, px", DRAWN, 0.0, float(offs.mean()), 0.01)
        yield within(f"{name}: σ told over the spread", DRAWN, 0.8, 1.25, math.sqrt(told.mean()) / float(offs.std()) if len(offs) == trials else math.nan)


def corners(core, trials):
    """Corners of a filled shape and of drawn lines, against OpenCV's cornerSubPix on the same pictures."""
    rng = np.random.default_rng(7)
    n = np.array([-math.sin(0.5), math.cos(0.5)])
    d = np.array([n[1], -n[0]])
    cases = [(f"filled corner of {o}°", draw.corner(TRUTH, a, math.radians(o)), b) for o, a, b in ((90, 0.6, 0.7), (60, 2.6, 1.0), (120, 4.6, 1.4))]
    for wide in (3, 7):
        cases += [(f"two drawn lines {wide} px wide", draw.union(draw.line(TRUTH, TRUTH + 60 * d, wide / 2), draw.line(TRUTH, TRUTH + 60 * n, wide / 2)), 0.9)]
    cases += [("a drawn line that meets another", draw.union(draw.line(TRUTH - 60 * d, TRUTH + 60 * d, 1.5), draw.line(TRUTH, TRUTH + 60 * n, 1.5)), 0.9)]
    for name, shape, blur in cases:
        picture, where = tiles(draw.toned(draw.covered(shape, SIZE, blur)), 0.01, trials, rng)
        got = [(place, cov) for kind, place, cov in caught(core, picture, where, TRUTH + (1.5, -1)) if kind == "corner"]
        offs = np.array([place - TRUTH for place, _ in got])
        rms = math.sqrt((offs**2).sum(1).mean())
        told = math.sqrt(np.mean([c[0] + c[2] for _, c in got]))
        yield within(f"{name}, blur {blur}, 40 dB, caught {len(got)} of {trials}: error, RMS, px", DRAWN + "; aim 0.05", 0.0, 0.05, rms if len(got) >= 0.99 * trials else math.nan)
        yield within(f"{name}: σ told over the spread", DRAWN, 0.8, 1.25, told / math.sqrt(offs.var(0).sum()))
        if name.startswith("filled"):
            yield no_worse(f"{name}: RMS against cornerSubPix", "OpenCV cornerSubPix, its whole-number px centres moved by .5", refined(picture, where), rms)


def refined(picture, where):
    """RMS of OpenCV's corners."""
    first = np.array([[x + TRUTH[0] + 0.7, y + TRUTH[1] - 1.1] for x, y in where], np.float32).reshape(-1, 1, 2) - 0.5
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 100, 1e-4)
    found = cv2.cornerSubPix(picture, first, (7, 7), (-1, -1), stop).reshape(-1, 2) + 0.5
    return float(math.sqrt(((found - np.array(where) - TRUTH) ** 2).sum(1).mean()))


def no_worse(name, source, theirs, ours):
    """Ours must not be larger."""
    return holds(name, source, f"<= {theirs:.4f}", ours <= theirs, f"{ours:.4f}")


def ends(core, trials):
    """Where a drawn line ends."""
    rng = np.random.default_rng(8)
    d = np.array([math.cos(0.4), math.sin(0.4)])
    tone = draw.toned(draw.covered(draw.line(TRUTH, TRUTH + 60 * d, 2.0, butt=True), SIZE, 0.8))
    picture, where = tiles(tone, 0.01, trials, rng)
    asks = [{"kind": "catch", "at": [x + TRUTH[0] - 2, y + TRUTH[1] + 1], "reach": 8} for x, y in where]
    got = [(f["caught"], w) for f, w in zip(core.seek(picture, asks), where) if f and f["caught"]["what"] == "end"]
    offs = np.array([np.array(g["at"]) + g["half"] - w - TRUTH for g, w in got])
    error = float(math.sqrt(((offs @ d) ** 2).mean()))
    yield near(f"square end of a drawn line, caught {len(got)} of {trials}: error along, RMS, px", DRAWN, 0.0, error if len(got) > 0.98 * trials else math.nan, 0.05)


def stored(core):
    """JPEG: the place holds, and what is told holds the error."""
    rng = np.random.default_rng(9)
    for quality in (60, 75, 95):
        sheet, truths = [], []
        for _ in range(300):
            angle, at = rng.uniform(0, 2 * math.pi), TRUTH + rng.uniform(-4, 4, 2)
            truths.append((at, np.array([math.cos(angle), math.sin(angle)])))
            sheet.append(draw.noisy(draw.toned(draw.covered(draw.side(at, angle), SIZE, 1.0)), 2.55, rng))
        picture, where = draw.sheet(sheet, 20)
        got = caught(core, picture, where, TRUTH, reach=12, quality=quality)
        offs = np.array([(p - at) @ n for (kind, p, _), (at, n) in zip(got, truths) if kind == "edge"])
        told = np.array([c[0] + c[2] for kind, _, c in got if kind == "edge"])
        yield within(f"edge in a JPEG of quality {quality}, 300 directions: RMS, px", DRAWN + ", stored by Pillow", 0.0, 0.05, float(math.sqrt((offs**2).mean())))
        yield within(f"edge in a JPEG of quality {quality}: σ told over the spread", DRAWN + ", stored by Pillow", 0.7, 2.0, math.sqrt(told.mean()) / float(offs.std()))


def contours(core):
    """A straight edge and a circle, against scikit-image's contour at half-way."""
    rng = np.random.default_rng(10)
    for blur, share in ((0.7, 0.01), (1.4, 0.03)):
        angle = 0.7
        normal = np.array([math.cos(angle), math.sin(angle)])
        tone = draw.toned(draw.covered(draw.side(TRUTH, angle), SIZE, blur))
        picture, where = tiles(tone, share, 200, rng)
        ours, _ = across(caught(core, picture, where, TRUTH), "edge", normal)
        theirs = []
        for x, y in where:
            for piece in find_contours(picture[y : y + SIZE, x : x + SIZE].astype(float), 127.5):
                # Rows and columns of whole px: half a px from ours.
                p = piece[:, ::-1] + 0.5 - TRUTH
                p = p[np.abs(p @ [-normal[1], normal[0]]) < 8]
                theirs += list(p @ normal)
        yield no_worse(f"edge, blur {blur}, noise {share:.0%}: RMS against a contour", "scikit-image find_contours, moved by .5", float(np.sqrt(np.mean(np.square(theirs)))), float(np.sqrt((ours**2).mean())))


def straight(core, trials):
    """A line drawn roughly along an edge: both places independent, and as good as told."""
    rng = np.random.default_rng(11)
    size, count = 160, max(100, trials // 10)
    d = np.array([math.cos(0.7), math.sin(0.7)])
    n = np.array([-d[1], d[0]])
    c = np.array([80.3, 79.6])
    for kind, shape, blur, share in (("edge", draw.side(c, 0.7 + math.pi / 2), 0.7, 0.01), ("edge", draw.side(c, 0.7 + math.pi / 2), 2.0, 0.05), ("drawn line", draw.line(c - 200 * d, c + 200 * d, 1.5), 1.4, 0.02)):
        picture, where = draw.sheet([draw.noisy(draw.toned(draw.covered(shape, size, blur)), 255 * share, rng) for _ in range(count)], 10)
        asks = [{"kind": "straight", "along": [list(c - 60 * d + 3 * n + w), list(c + 60 * d - 4 * n + w)], "reach": 10} for w in map(np.array, where)]
        found = core.seek(picture, asks)
        fits = [(f["straight"], np.array(w)) for f, w in zip(found, where) if f]
        offs = np.array([[(np.array(q["at"]) - w - c) @ n for q in f["fitted"]] for f, w in fits])
        told = np.mean([q["cov"][0] + q["cov"][2] for f, _ in fits for q in f["fitted"]])
        name = f"straight {kind}, blur {blur}, noise {share:.0%}"
        yield near(f"{name}: bias at its two places, px, {len(fits)} of {count} found", DRAWN, 0.0, float(np.abs(offs.mean(0)).max()) if len(fits) == count else math.nan, 0.01)
        yield within(f"{name}: σ told over the spread", DRAWN, 0.8, 1.25, math.sqrt(told) / float(offs.std()))
        yield near(f"{name}: correlation of the two places", DRAWN + "; three standard deviations", 0.0, float(np.corrcoef(offs.T)[0, 1]), 3 / math.sqrt(count))


def rounds(core, trials):
    """Circles and ellipses: the radius, what is told of it, and a part of one."""
    rng = np.random.default_rng(12)
    size, count = 160, max(60, trials // 16)
    c = np.array([80.3, 79.6])
    for radius, blur, share in ((20, 0.7, 0.01), (20, 2.0, 0.01), (60, 1.4, 0.03)):
        tone = draw.toned(draw.covered(draw.disc(c, radius), size, blur))
        picture, where = draw.sheet([draw.noisy(tone, 255 * share, rng) for _ in range(count)], 10)
        touches = [c + radius * (1 + e) * np.array([math.cos(a), math.sin(a)]) for a, e in ((0.3, 0.04), (2.5, -0.03), (4.4, 0.03))]
        found = core.seek(picture, [{"kind": "round", "through": [list(t + w) for t in touches], "reach": 6} for w in map(np.array, where)])
        fits = [kasa(f["round"], np.array(w)) for f, w in zip(found, where) if f]
        off = np.array([r - radius for _, r, _ in fits])
        told = np.mean([v for *_, v in fits]) / 12
        name = f"circle of radius {radius}, blur {blur}, noise {share:.0%}"
        yield near(f"{name}: radius, {len(fits)} of {count} found, px", DRAWN + "; aim 0.02", radius, radius + float(off.mean()) if len(fits) == count else math.nan, 0.02)
        yield within(f"{name}: σ told of the radius over the spread", DRAWN + "; a circle through the places", 0.75, 1.3, math.sqrt(told) / float(off.std()))
    a, b, turn = 60, 42, 0.5
    shape = draw.oval(c, a, b, turn)
    picture, where = draw.sheet([draw.noisy(draw.toned(draw.covered(shape, size, 1.0)), 2.55, rng) for _ in range(30)], 10)
    across, along = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    on = [c + a * math.cos(t) * across + b * math.sin(t) * along for t in (0.3, 1.4, 2.5, 4.0, 5.2)]
    asks = [{"kind": "round", "through": [list(p + w) for p in on], "reach": 14} for w in map(np.array, where)]
    fits = [f["round"] for f in core.seek(picture, asks) if f]
    worst = max(abs(float(shape(*(np.array(q["at"]) - w)))) for f, w in zip(fits, where) for q in f)
    yield near(f"ellipse of radii 60 and 42, {len(fits)} of 30 found: the worst place, px", DRAWN, 0.0, worst if len(fits) == 30 else math.nan, 0.03)


def kasa(places, corner):
    """Centre, radius and variance across from the places told."""
    p = np.array([q["at"] for q in places]) - corner
    x, y, k = np.linalg.lstsq(np.c_[2 * p, np.ones(len(p))], (p**2).sum(1), rcond=None)[0]
    return (x, y), math.sqrt(k + x * x + y * y), places[0]["cov"][0] + places[0]["cov"][2]


def nothing(core):
    """What must not be caught."""
    rng = np.random.default_rng(13)
    x, y = draw.grid(256, 1)
    u, v = (x + y) / 1.4142 / 6, (x - y) / 1.4142 / 6
    dots = np.clip((0.3 - np.hypot(u - np.rint(u), v - np.rint(v))) * 6 + 0.5, 0, 1)
    grain = cv2.GaussianBlur(rng.normal(0, 30, (256, 256)), (0, 0), 1.2) * 3 + 190
    grid = np.where((x % 15 < 1.5) | (y % 15 < 1.5), 212.0, 235.0)
    shade = 120 + 80 * x / 256 + 20 * np.sin(y / 40)
    scenes = {
        "blank": (np.full((256, 256), 200.0), 0, None),
        "noise": (np.full((256, 256), 128.0), 40, None),
        "grain": (grain, 2, None),
        "single px": (np.where((x.astype(int) + y.astype(int)) % 2, 255.0, 0.0), 0, None),
        "halftone dots": (draw.toned(dots), 3, None),
        "a faint printed grid": (grid, 3, None),
        "shading in a JPEG of quality 60": (shade, 2, 60),
    }
    pairs = []
    for name, (tone, sigma, quality) in scenes.items():
        asks = [{"kind": "catch", "at": [float(px), float(py)], "reach": r} for px in (70, 121, 180) for py in (64, 133, 190) for r in (8, 20, 40)]
        found = core.seek(draw.noisy(tone, sigma, rng), asks, quality)
        pairs.append((name, 0, sum(f is not None for f in found)))
    yield all_of("nothing is caught where there is nothing, 27 touches each", "by construction", pairs)
    ink = draw.covered(draw.side(np.array([128.3, 120.0]), 0.3), 256, 0.8)
    found = core.seek(draw.noisy(draw.toned(ink * dots, 40, 235), 2, rng), [{"kind": "catch", "at": [129.0, 118.0], "reach": 12}])[0]
    off = (np.array(found["caught"]["at"]) - (128.3, 120.0)) @ [math.cos(0.3), math.sin(0.3)] if found else math.nan
    yield near("the edge of a tone printed in dots 6 px apart, px", "by construction; the dots themselves end unevenly", 0.0, float(off), 2.0)


# Equally light by ITU-R BT.709: 0.2126 R + 0.7152 G + 0.0722 B is 89.8 of the one and 89.7 of the other.
RED, GREEN = np.array([200.0, 60.0, 60.0]), np.array([35.0, 109.0, 60.0])


def coloured(ink, rng, sigma=2.55):
    """Coverage as two colours that are equally light; noise of lightness and of each colour by itself."""
    picture = RED + ink[..., None] * (GREEN - RED)
    picture += rng.normal(0, sigma, ink.shape)[..., None] + rng.normal(0, sigma, picture.shape)
    return np.clip(np.rint(picture), 0, 255).astype(np.uint8)


def colours(core, trials):
    """Edges between two colours that are equally light: where they are, what is told of it, straight ones and round ones."""
    rng = np.random.default_rng(14)
    gap = 128
    truth = TRUTH + 32
    angle = 0.7
    normal = np.array([math.cos(angle), math.sin(angle)])
    for blur in (0.8, 1.4):
        ink = draw.covered(draw.side(truth, angle), gap, blur)
        picture, where = draw.sheet([coloured(ink, rng) for _ in range(trials)], 10)
        asks = [{"kind": "catch", "at": [x + truth[0] + 2, y + truth[1] - 1], "reach": 8} for x, y in where]
        found = [(f["caught"], w) for f, w in zip(core.seek(picture, asks), where) if f]
        offs = np.array([(np.array(c["at"]) - w - truth) @ normal for c, w in found if c["what"] == "edge"])
        told = np.mean([c["cov"][0] + c["cov"][2] for c, _ in found])
        name = f"edge between colours that are equally light, blur {blur}"
        kept = len(offs) >= 0.98 * trials
        yield near(f"{name}: bias, px, {len(offs)} of {trials} caught", DRAWN, 0.0, float(offs.mean()) if kept else math.nan, 0.01)
        yield within(f"{name}: σ told over the spread", DRAWN, 0.8, 1.25, math.sqrt(told) / float(offs.std()))
    tiles_of, truths = [], []
    for _ in range(trials):
        turn, at = rng.uniform(0, 2 * math.pi), truth + rng.uniform(-4, 4, 2)
        truths.append((at, np.array([math.cos(turn), math.sin(turn)])))
        tiles_of.append(coloured(draw.covered(draw.side(at, turn), gap, 1.0), rng))
    picture, where = draw.sheet(tiles_of, 10)
    found = core.seek(picture, [{"kind": "catch", "at": [x + truth[0], y + truth[1]], "reach": 12} for x, y in where], 92)
    kept = [(f["caught"], np.array(w), *t) for f, w, t in zip(found, where, truths) if f and f["caught"]["what"] == "edge"]
    offs = np.array([(np.array(c["at"]) - w - at) @ n for c, w, at, n in kept])
    told = np.mean([c["cov"][0] + c["cov"][2] for c, *_ in kept])
    name = f"the same in a JPEG with its colour at half size, {trials} directions"
    yield within(f"{name}, {len(kept)} caught: RMS, px", DRAWN + ", stored by Pillow at quality 92, 4:2:0", 0.0, 0.1, float(math.sqrt((offs**2).mean())) if len(kept) >= 0.95 * trials else math.nan)
    yield within(f"{name}: σ told over the spread", DRAWN + ", stored by Pillow", 0.7, 2.0, math.sqrt(told) / float(offs.std()))
    size, c = 160, np.array([80.3, 79.6])
    few = max(trials // 5, 20)
    picture, where = draw.sheet([coloured(draw.covered(draw.disc(c, 40), size, 1.0), rng) for _ in range(few)], 10)
    touches = [c + 40 * (1 + e) * np.array([math.cos(a), math.sin(a)]) for a, e in ((0.3, 0.04), (2.5, -0.03), (4.4, 0.03))]
    fits = [kasa(f["round"], np.array(w)) for f, w in zip(core.seek(picture, [{"kind": "round", "through": [list(t + w) for t in touches], "reach": 6} for w in map(np.array, where)]), where) if f]
    yield near(f"circle between such colours: radius, {len(fits)} of {few} found, px", DRAWN, 40.0, float(np.mean([r for _, r, _ in fits])) if len(fits) == few else math.nan, 0.03)
    d, n = np.array([math.cos(angle + math.pi / 2), math.sin(angle + math.pi / 2)]), normal
    picture, where = draw.sheet([coloured(draw.covered(draw.side(c, angle), size, 1.0), rng) for _ in range(few)], 10)
    asks = [{"kind": "straight", "along": [list(c - 60 * d + 3 * n + w), list(c + 60 * d - 4 * n + w)], "reach": 10} for w in map(np.array, where)]
    fits = [(f["straight"], np.array(w)) for f, w in zip(core.seek(picture, asks), where) if f]
    worst = max(abs(float(np.mean([(np.array(f["fitted"][i]["at"]) - w - c) @ n for f, w in fits]))) for i in (0, 1))
    yield near(f"straight edge between such colours: bias, {len(fits)} of {few} found, px", DRAWN, 0.0, worst if len(fits) == few else math.nan, 0.01)
    shade = draw.grid(256, 1)[0][..., None] / 256 * np.array([30.0, 10.0, -25.0]) + np.array([150.0, 140.0, 120.0])
    flat = np.clip(np.rint(shade + rng.normal(0, 3, shade.shape)), 0, 255).astype(np.uint8)
    asks = [{"kind": "catch", "at": [float(x), float(y)], "reach": r} for x in (70, 121, 180) for y in (64, 133, 190) for r in (8, 20, 40)]
    pairs = [(name, 0, sum(f is not None for f in core.seek(flat, asks, quality))) for name, quality in (("as it is", None), ("a JPEG of quality 60", 60))]
    yield all_of("nothing is caught in a soft change of colour, 27 touches each", "by construction", pairs)


# Photographs of a chessboard that come with OpenCV's documentation (Debian's opencv-doc), 9 × 6 inner corners.
BOARDS = pathlib.Path("/usr/share/doc/opencv-doc/examples/data")


def boards(core):
    """Corners of a chessboard in real photographs: against cornerSubPix, and against the board's own regularity."""
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 100, 1e-4)
    squares = np.array([(i % 9, i // 9) for i in range(54)], float)
    for camera in ("left", "right"):
        mine, others, apart, count = [], [], [], 0
        for file in sorted(BOARDS.glob(f"{camera}[0-9][0-9].jpg")):
            grey = cv2.imread(str(file), cv2.IMREAD_GRAYSCALE)
            there, rough = cv2.findChessboardCorners(grey, (9, 6))
            if not there:
                continue
            theirs = cv2.cornerSubPix(grey, rough.copy(), (5, 5), (-1, -1), stop).reshape(-1, 2).astype(float) + 0.5
            asks = [{"kind": "catch", "at": [float(x) + 0.5, float(y) + 0.5], "reach": 6} for x, y in rough.reshape(-1, 2)]
            found = [f and f["caught"] for f in core.seek(grey, asks)]
            held = np.array([bool(f) and f["what"] == "corner" for f in found])
            ours = np.array([f["at"] for f, h in zip(found, held) if h])
            count += len(held)
            apart += list(np.hypot(*(ours - theirs[held]).T))
            mine.append(irregular(squares[held], ours, grey.shape))
            others.append(irregular(squares[held], theirs[held], grey.shape))
        rms = [float(np.sqrt(np.mean(np.square(of)))) if of else math.nan for of in (mine, others)]
        name = f"chessboard, {camera} camera, {len(mine)} photographs"
        source = "photographs of OpenCV's documentation; cornerSubPix, its whole-number px centres moved by .5"
        yield within(f"{name}: share of {count} corners caught", source, 0.99, 1.0, len(apart) / count if count else math.nan)
        fewer = sum(a <= b for a, b in zip(mine, others))
        yield no_worse(f"{name}: what a homography and one lens term leave, RMS, px (no larger in {fewer} of them)", source, rms[1], rms[0])
        yield within(f"{name}: from cornerSubPix's, median, px; at most what that itself is off", source, 0.0, rms[1], float(np.median(apart)) if apart else math.nan)


def irregular(squares, places, shape):
    """RMS of what a homography and one lens term (the division model about the picture's middle) leave of the corners, px."""
    middle = np.array([shape[1] / 2, shape[0] / 2])
    size = math.hypot(*middle)
    first, _ = cv2.findHomography(squares, (places - middle) / size)
    start = np.r_[(first / first[2, 2]).ravel()[:8], 0.0]

    def left(p):
        h = np.r_[p[:8], 1.0].reshape(3, 3)
        q = np.c_[squares, np.ones(len(squares))] @ h.T
        q = q[:, :2] / q[:, 2:]
        return ((q * (1 + p[8] * (q**2).sum(1, keepdims=True)) * size + middle) - places).ravel()

    p = start
    for _ in range(20):
        r = left(p)
        steps = np.maximum(np.abs(p), 1e-2) * 1e-6
        slopes = np.array([(left(p + np.eye(9)[i] * s) - r) / s for i, s in enumerate(steps)]).T
        p = p - np.linalg.lstsq(slopes, r, rcond=None)[0]
    return float(np.sqrt((left(p) ** 2).reshape(-1, 2).sum(1).mean()))


def smaller(core, seeds=5):
    """How much smaller a size's ± is with its ends caught than as a finger leaves them on the whole picture."""
    times, covered = [], []
    for seed in range(1, seeds + 1):
        truth, runs, corners, rng = marsh_hen.draw(seed, 150)
        k = truth["px_per_mm"]
        grey = scan(runs, hen.LINE * k, (truth["width"], truth["height"]), corners, rng, k, 2.5)
        lengths = [f for f in truth["features"] if f["kind"] == "length"]
        asks = [{"kind": "catch", "at": list(rng.normal(p, 2.0)), "reach": 8} for f in lengths for p in f["points"]]
        found = core.seek(grey, asks)
        ends = [[f and f["caught"] for f in found[2 * i : 2 * i + 2]] for i in range(len(lengths))]
        kept = [(f, e) for f, e in zip(lengths, ends) if all(e) and f["view"] == "top"]
        told = []
        for caught in (False, True):
            job = Job()
            job.picture(truth["width"], truth["height"])
            job.hand = {"by": "touch", "zoom": 3.0, "seen": True} if caught else {"by": "touch", "zoom": 800 / truth["width"], "seen": False}
            for feature, held in kept:
                mark = job.place(feature["points"])
                for point, end in enumerate(held if caught else []):
                    job.add("move-point", mark=mark, point=point, at=end["at"], caught=end, **job.hand)
            job.known(1, kept[0][0]["mm"], pm=0.01)
            scene = core.play(job.intents)
            told.append([scene.real(2 + i) for i in range(len(kept) - 1)])
        times += [a.half / b.half for a, b in zip(*told)]
        covered += [b.covers(f["mm"]) for (f, _), b in zip(kept[1:], told[1])]
    source = "the numbers as the page tells them; the drawing's own script"
    yield within(f"Marsh Hen: ± of {len(times)} sizes, as touched on the whole picture against caught, median", source, 5, 1000, float(np.median(times)))
    yield within("and the truth lies within the smaller ±, share", source, 0.9, 1.0, float(np.mean(covered)))


def rows(core, trials=2_000):
    """Every row of this area."""
    many = min(trials // 2, 1_000)
    yield from edges(core, many)
    yield from angles(core)
    few = max(many // 4, 50)
    for part in (lines, corners, ends, straight, rounds):
        yield from part(core, few)
    yield from colours(core, min(few, 150))
    for part in (stored, contours, nothing, boards, smaller):
        yield from part(core)
