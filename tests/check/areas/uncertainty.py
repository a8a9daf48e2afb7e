"""The stated ±: the uncertainties package, the Guide to the Expression of Uncertainty, Monte Carlo by numpy."""

import math

import numpy as np
from uncertainties import ufloat

import montecarlo
from core import Job
from reference import STUDENT, Z95, clicks, span
from row import near, nearly, within

GUIDE = "uncertainties package, first order; 1.96 u"
# JCGM 100:2008 (the Guide), table H.2: five observations of each.
VOLTS = (5.007, 4.994, 5.005, 4.990, 4.999)
MILLIAMPS = (19.663, 19.639, 19.640, 19.685, 19.678)
RADIANS = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)


def one_scale(core):
    """A true length, other marks, and what the size to build does to them."""
    a, b, c = [(200, 300), (1700, 350)], [(300, 900), (2900, 1900)], [(900, 2500), (1150, 2480)]
    job = Job()
    job.picture()
    ids = [job.place(p) for p in (a, b, c)]
    job.known(ids[0], 600, pm=1.5)
    job.build(ids[0], 400.0)
    scene = core.play(job.intents)
    pa, pb, pc = (clicks(p, 0.5) for p in (a, b, c))
    life = ufloat(600, 1.5 / Z95)
    for mark, points, name in ((ids[1], pb, "a long mark"), (ids[2], pc, "a short mark")):
        ref = life * span(*points) / span(*pa)
        yield nearly(f"{name} in life", GUIDE, Z95 * ref.s, scene.real(mark).half, 0.005)
        ref = 400 * span(*points) / span(*pa)
        yield nearly(f"{name} as built: the true length's own ± is gone", GUIDE, Z95 * ref.s, scene.finished(mark).half, 0.005)
    yield nearly("the true length keeps the ± that was said, no clicks in it", "definition", 1.5, scene.real(ids[0]).half, 1e-6)
    yield near("the chosen length has none", "definition", 0.0, scene.finished(ids[0]).half, 1e-9)


def hands(core):
    """A click is as good as the hand and the zoom."""
    wanted = (
        ("mouse", 4.0, True, 0.25, 0.25, "common practice, no source: σ 0.5–1 px as seen; the eye's 0.25 px floor"),
        ("mouse", 0.5, True, 1.0, 2.0, "common practice, no source: σ 0.5–1 px of the picture as seen, at half size"),
        ("touch", 1.0, True, 0.5, 1.0, "common practice, no source: σ 0.5–1 px of the picture as seen"),
        ("touch", 1.0, False, 3.39, 8.5, "Holz & Baudisch, CHI 2011: 1.6–4 mm at 95 %; 132 px to the inch, radius ÷ 2.448"),
    )
    for by, zoom, seen, low, high, source in wanted:
        job = Job()
        job.hand = {"by": by, "zoom": zoom, "seen": seen}
        job.picture(30000, 3000)
        known = job.place([(100, 100), (20100, 100)])
        job.known(known, 20000, pm=0.01)
        mark = job.place([(100, 900), (5100, 900)])
        # The scale brings ¼ of its own two clicks with it.
        share = math.sqrt(2 + 2 / 16) * Z95
        yield within(f"{by}, zoom {zoom:g}, {'seen' if seen else 'not seen'}: σ of a click, px", source, low - 1e-3, high + 1e-3, core.play(job.intents).real(mark).half / share)


def sum_of_squares(core):
    """The Guide's H.1: 25, 16.6, 6.7, 5.8, 3.9 and 2.89 combine to 32."""
    job = Job()
    job.picture(60000, 2000)
    known, mark = job.place([(100, 100), (40100, 100)]), job.place([(100, 900), (40100, 900)])
    for at, sigma, (m, p) in zip(((100, 100), (40100, 100), (100, 900), (40100, 900)), (6.7, 5.8, 25, 16.6), ((known, 0), (known, 1), (mark, 0), (mark, 1))):
        job.hand["zoom"] = 0.5 / sigma
        job.move(m, p, at)
    job.known(known, 40000, pm=Z95 * math.hypot(3.9, 2.89))
    half = core.play(job.intents).real(mark).half
    yield near("25, 16.6, 6.7, 5.8, 3.9, 2.89 combine to", "JCGM 100:2008, H.1.3.4: 32", 32.0, half / Z95, 0.5)


def repeated(core):
    """The Guide's H.2 as marks made five times each."""
    for name, values, scale, published in (("V", VOLTS, 1000.0, 0.0032), ("I", MILLIAMPS, 250.0, 0.0095)):
        job = Job()
        job.picture(30000, 9000)
        known = job.place([(100, 100), (28100, 100)])
        job.known(known, 28000, pm=0.01)
        mark = job.place([(100, 900), (100 + values[0] * scale, 900)])
        for v in values[1:]:
            job.add("again", mark=mark, points=[[100.0, 900.0], [100 + v * scale, 900.0]])
        size = core.play(job.intents).real(mark)
        u = np.std(values, ddof=1) / math.sqrt(5)
        yield near(f"{name} five times: the mean", "JCGM 100:2008, table H.2", float(np.mean(values)), size.value / scale, 2e-5)
        yield nearly(f"{name} five times: ± by Student's t, 4 degrees", f"table H.2: s of the mean {published} (numpy {u:.5f}); t 2.78 from table G.2", STUDENT[4] * u, size.half / scale, 0.015)
    job = Job()
    job.picture(9000, 9000)
    arms = lambda phi: [[4000.0 + 3000 * math.cos(phi), 100 + 3000 * math.sin(phi)], [4000.0, 100.0], [7000.0, 100.0]]
    mark = job.place(arms(RADIANS[0]), mark="angle")
    for phi in RADIANS[1:]:
        job.add("again", mark=mark, points=arms(phi))
    size = core.play(job.intents).real(mark)
    u = np.std(RADIANS, ddof=1) / math.sqrt(5)
    yield near("φ five times: the mean, rad", "JCGM 100:2008, table H.2", float(np.mean(RADIANS)), size.value, 1e-6)
    yield nearly("φ five times: ±", f"table H.2: numpy {u:.5f}; t 2.78 from table G.2", STUDENT[4] * u, size.half, 0.01)


def refused_map(core):
    """One scale kept where two were possible carries the width of the two."""
    lines = [[(100, 100), (2100, 100)], [(100, 300), (100, 1900)], [(400, 500), (1600, 1400)]]
    halves = []
    for two in (False, True):
        job = Job()
        job.picture()
        ids = [job.place(p) for p in lines]
        job.known(ids[0], 1000, pm=1)
        job.known(ids[1], 800, pm=1)
        job.add("two-scales", view=1, on=two)
        halves.append(core.play(job.intents).real(ids[2]).half)
    kx = ufloat(1000, 1 / Z95) / span(*clicks(lines[0], 0.5))
    ky = ufloat(800, 1 / Z95) / span(*clicks(lines[1], 0.5))
    (x0, y0), (x1, y1) = clicks(lines[2], 0.5)
    ref = (((x1 - x0) * kx) ** 2 + ((y1 - y0) * ky) ** 2) ** 0.5
    yield nearly("a slope under two scales", GUIDE, Z95 * ref.s, halves[1], 0.01)
    yield nearly("the same where one scale is kept", "uncertainties, the two scales: the simpler map carries the width of the one refused", Z95 * ref.s, halves[0], 0.05)


def poor_scales(core):
    """Two scales that a person wanted, told by lengths good to 5 % only: the ± is as wide as that makes it."""
    lines = [[(100, 100), (300, 100)], [(100, 300), (100, 460)], [(400, 500), (1600, 1400)]]
    job = Job()
    job.picture()
    ids = [job.place(p) for p in lines]
    job.known(ids[0], 100, pm=5)
    job.known(ids[1], 75, pm=4)
    job.add("two-scales", view=1, on=True)
    size = core.play(job.intents).real(ids[2])
    kx, ky = ufloat(100, 5 / Z95) / span(*clicks(lines[0], 0.5)), ufloat(75, 4 / Z95) / span(*clicks(lines[1], 0.5))
    (x0, y0), (x1, y1) = clicks(lines[2], 0.5)
    ref = (((x1 - x0) * kx) ** 2 + ((y1 - y0) * ky) ** 2) ** 0.5
    yield nearly("two scales by lengths good to 5 %: a slope, mm", GUIDE, ref.n, size.value, 1e-4)
    yield nearly("and its ±", GUIDE, Z95 * ref.s, size.half, 0.01)


def disagreement(core):
    """Lengths that disagree don't make the ± smaller than their disagreement."""
    job = Job()
    job.hand["zoom"] = 4.0
    job.picture()
    given = [(1000, 500.0), (1500, 750.0), (2000, 1006.0), (2500, 1256.0)]
    for i, (px, length) in enumerate(given):
        job.known(job.place([(100, 100 + 200 * i), (100 + px, 100 + 200 * i)]), length, pm=0.2)
    mark = job.place([(100, 2000), (2100, 2000)])
    half = core.play(job.intents).real(mark).half
    px, mm = np.array(given).T
    u = np.hypot(0.2 / Z95, 0.5 * 0.25 * math.sqrt(2))
    k = (px * mm).sum() / (px * px).sum()
    birge = math.sqrt((((mm - k * px) / u) ** 2).sum() / 3)
    scale = birge * u / math.sqrt((px * px).sum())
    want = Z95 * math.hypot(2000 * scale, k * 0.25 * math.sqrt(2))
    yield nearly("four lengths that disagree: ± widened", f"Birge, Physical Review 40 (1932) 207: × {birge:.1f}, by numpy", want, half, 0.05)


def coverage(core, count):
    """How often the truth lies within the stated ±, in trials by numpy, scene by scene."""
    for scene in montecarlo.SCENES:
        found = montecarlo.run(core, scene, count)
        source = f"Monte Carlo (JCGM 101:2008) by numpy, {count} trials"
        yield within(f"{scene.name}: truth within ±", source + "; the aim is 93–97 %", 0.93, 0.97, found.covered)
        if scene.few:
            continue
        yield within(f"{scene.name}: mean ± over that of the trials", source + "; the aim is ≤ 1.1", 0.9, 1.1, found.width)


def rows(core, trials=2_000):
    """Every row of this area."""
    for part in (one_scale, hands, sum_of_squares, repeated, refused_map, poor_scales, disagreement):
        yield from part(core)
    yield from coverage(core, trials)
