"""From one true length, several, or a resolution to every size: numpy, and two whole drawings."""

import math

import numpy as np

import drawings
from core import Job
from reference import INCH, inches, plain
from row import all_of, holds, near, same, within

INCH_MM = float(INCH)


def flat(marks, knowns=(), resolution=None, units=None):
    """A flat picture with marks; `knowns` are (place in marks, mm, ± mm)."""
    job = Job()
    job.hand["zoom"] = 8.0
    job.picture(8000, 6000, resolution)
    ids = [job.place(p) for p in marks]
    for at, length, pm in knowns:
        job.known(ids[at], length, pm=pm)
    if units:
        job.units(*units)
    return job, ids


def one_length(core):
    """One true length makes one scale."""
    lines = [[(100, 100), (1300, 100)], [(200, 300), (200, 1300)], [(50, 2000), (309.8, 2150)]]
    job, ids = flat(lines, [(0, 609.6, 0.1)])
    scene = core.play(job.intents)
    k = 609.6 / 1200
    yield near("the true length reads as given, mm", "definition", 609.6, scene.real(ids[0]).value, 1e-9)
    yield near("a plumb length, mm", "numpy: 1000 px × 609.6/1200", 1000 * k, scene.real(ids[1]).value, 1e-3)
    yield near("a sloping length, mm", "numpy: Pythagoras", 300 * k * math.hypot(259.8, 150) / 300, scene.real(ids[2]).value, 1e-3)


def worked_case(core):
    """Lengths that read 6, 5 and 1¾; the 5 is to finish at 14½."""
    source = "trade, common practice, no source"
    for step, wanted in (("1/2 in", ("17 1/2", "14 1/2", "5")), ("1/8 in", ("17 3/8", "14 1/2", "5 1/8")), ("1/16 in", ("17 3/8", "14 1/2", "5 1/16"))):
        job, ids = flat([[(100, y), (100 + n * 400, y)] for n, y in ((6, 100), (5, 300), (1.75, 500))], units=("inches", step))
        job.build(ids[1], "14 1/2")
        scene = core.play(job.intents)
        got = tuple(plain(scene.finished(i).text) for i in ids)
        yield same(f"6, 5 and 1 3/4 with the 5 at 14 1/2, to {step}", source + "; the 5 1/8 by Python fractions", wanted, got)
    yield near("the 6 comes to, in", source, 17.4, scene.finished(ids[0]).value / INCH_MM, 1e-5)
    yield near("the 1 3/4 comes to, in", source, 5.075, scene.finished(ids[2]).value / INCH_MM, 1e-5)
    yield same("no true length: nothing in life", "definition: only the finished length was given", None, scene.real(ids[0]))


def coin(core):
    """A coin as the true length: its diameter as its mint gives it."""
    across, scale = 24.26, 11.0
    source = "US Mint, coin specifications: quarter dollar 24.26 mm"
    turn = np.arange(12) * 2 * np.pi / 12
    rim = np.c_[np.cos(turn), np.sin(turn)] * across / 2 * scale + [900, 700]
    truth = 3000 / scale

    # A mouse at twice the size is good to a quarter of a px.
    def job_of(places, ends):
        job = Job()
        job.hand["zoom"] = 2.0
        job.picture(4000, 3000)
        job.known(job.place(places, mark="circle"), across, pm=0.1)
        return job, job.place(ends)

    exact, mark = job_of(rim.tolist(), [(300, 2000), (3300, 2000)])
    yield near("a length by a coin in the picture, mm", f"{source}; definition", truth, core.play(exact.intents).real(mark).value, 5e-3)
    rng = np.random.default_rng(24)
    hits, trials, sigma = 0, 200, 0.25
    for _ in range(trials):
        known = across + rng.normal(0, 0.1 / 1.959964)
        places = (rim - [900, 700]) * known / across + [900, 700] + rng.normal(0, sigma, rim.shape)
        ends = np.array([(300.0, 2000.0), (3300.0, 2000.0)]) + rng.normal(0, sigma, (2, 2))
        noisy, mark = job_of(places.tolist(), ends.tolist())
        hits += core.play(noisy.intents).real(mark).covers(truth)
    yield within("a length by a coin: its ± covers the truth, in 200 trials", "numpy: normal errors, 95 % of 200 within 2.6 σ of the count", 182, 198, hits)


def half_of_it(core):
    """A length from its middle, and from a line."""
    job = Job()
    job.hand["zoom"] = 8.0
    job.picture()
    known = job.place([(100, 100), (1100, 100)])
    job.known(known, 500, pm=0.05)
    middle = job.place([(1500, 800), (1900, 1100)], ends="from-centre")
    a, b, c = (300, 2000), (2300, 2100), (1400, 1500)
    line = job.place([a, b, c], ends="from-line")
    scene = core.play(job.intents)
    yield near("twice from the middle to the end, mm", "numpy: 2 × 500 px × 0.5", 500.0, scene.real(middle).value, 1e-3)
    cross = abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / math.dist(a, b)
    yield near("twice from the line to the end, mm", "numpy: cross product over length", 2 * cross * 0.5, scene.real(line).value, 1e-3)


def many_lengths(core):
    """Several true lengths: weighted least squares, and what stands out."""
    lines = [[(100, 100), (1100, 100)], [(100, 300), (2100, 300)], [(100, 500), (3100, 500)], [(100, 900), (4100, 900)]]
    given = [(0, 500.4, 0.5), (1, 999.5, 0.5), (2, 1500.6, 1.5)]
    job, ids = flat(lines, given)
    scene = core.play(job.intents)
    px = np.array([1000.0, 2000.0, 3000.0])
    mm = np.array([g[1] for g in given])
    u = np.array([g[2] for g in given]) / 1.959964
    k = mm.sum() / px.sum()
    for _ in range(20):
        w = 1 / (u**2 + (k * 0.25) ** 2 * 2)
        k = (w * px * mm).sum() / (w * px * px).sum()
    yield near("three lengths, weighted: 4000 px in mm", "numpy, least squares weighted by 1/u², clicks 0.25 px each way", 4000 * k, scene.real(ids[3]).value, 0.01)
    job, ids = flat(lines, [(0, 500, 0.5), (1, 1000, 0.5), (2, 1500, 0.5), (3, 2030, 0.5)])
    notes = core.play(job.intents).told["notes"]
    odd = [n["id"] for n in notes if n["id"].startswith("odd")]
    yield same("of 500, 1000, 1500 and 2030 for 1 : 2 : 3 : 4 the odd one is named", "by eye: 2030 should be 2000", [f"odd-1-{ids[3]}"], odd)
    job, ids = flat(lines, [(0, 500, 0.5), (1, 1000, 0.5), (2, 1500, 0.5), (3, 2000.5, 1)])
    notes = core.play(job.intents).told["notes"]
    yield same("of 500, 1000, 1500 and 2000.5 ± 1 none is", "by eye", [], [n["id"] for n in notes if n["tone"] != "say"])


def check_length(core):
    """A check length checks but doesn't pull."""
    lines = [[(100, 100), (2100, 100)], [(100, 500), (1100, 500)]]
    for given, off in ((510.0, True), (500.2, False)):
        job, ids = flat(lines, [(0, 1000, 0.5)])
        job.known(ids[1], given, pm=0.5, pulls=False)
        scene = core.play(job.intents)
        yield near(f"a check length of {given:g} where 500 is measured doesn't pull", "definition", 500.0, scene.real(ids[1]).value, 1e-3)
        told = any(n["id"] == f"check-{ids[1]}" for n in scene.told["notes"])
        yield same(f"and it is remarked on: {off}", "by eye: 10 and 0.2 against ± 0.7", off, told)


def stretched(core):
    """A scan stretched 2.5 % across: found, and cured by two scales."""
    across, along = 10.25, 10.0  # px a mm
    lines = [[(100, 100), (100 + 200 * across, 100)], [(100, 300), (100, 300 + 180 * along)], [(500, 600), (500 + 150 * across, 600 + 120 * along)]]
    job, ids = flat(lines, [(0, 200, 0.05), (1, 180, 0.05)])
    scene = core.play(job.intents)
    yield holds("two directions 2.5 % apart are questioned", "by construction", "a question about a stretch", any(n["id"].startswith("stretch") for n in scene.told["notes"]), scene.notes())
    truth = math.hypot(150, 120)
    yield holds("until then the ± of a sloping length covers the truth", "by construction", f"{truth:.3f}", scene.real(ids[2]).covers(truth), scene.real(ids[2]))
    job.add("two-scales", view=1, on=True)
    scene = core.play(job.intents)
    yield near("with two scales the sloping length comes right, mm", "numpy, by construction", truth, scene.real(ids[2]).value, 2e-3)


def from_paper(core):
    """A resolution and a drawing scale make real sizes without any true length."""
    job, ids = flat([[(100, 100), (3643.3, 100)], [(100, 400), (100, 2171.65)]], resolution=[300, 300])
    job.add("set-drawing-scale", picture=1, one_to=12)
    scene = core.play(job.intents)
    yield near("3543.3 px at 300 dpi, drawn 1:12, mm", "ISO 5455 scale; 25.4 mm to the inch", 3543.3 / 300 * 25.4 * 12, scene.real(ids[0]).value, 1e-2)
    job, ids = flat([[(100, 100), (3643.3, 100)], [(100, 400), (100, 2171.65)]], resolution=[300, 150])
    job.add("set-drawing-scale", picture=1, one_to=12)
    scene = core.play(job.intents)
    yield near("1771.65 px down at 150 dpi, drawn 1:12, mm", "the same", 1771.65 / 150 * 25.4 * 12, scene.real(ids[1]).value, 1e-2)


def hen(core):
    """Marsh Hen by seed: every size, and the trap."""
    worst, inside, traps, figures = 0.0, [], [], []
    per_mm = float(inches("24")) / drawings.BODY
    for seed in drawings.SEEDS:
        for shaken in (0.0, drawings.SIGMA):
            job, marks, truth = drawings.hen_job(seed, shaken=shaken)
            job.build(marks["top", "body, nose to tail"], "24")
            scene = core.play(job.intents)
            sizes = [(scene.finished(marks[f["view"], f["name"]]), f["mm"]) for f in truth["features"] if f["mm"] != drawings.BODY]
            if shaken:
                inside += [size.covers(mm * per_mm) for size, mm in sizes]
            else:
                worst = max([worst] + [abs(size.value / per_mm - mm) for size, mm in sizes])
                got = [plain(scene.finished(marks[m]).text) for m in drawings.SHOWN]
                figures.append((f"seed {seed}", ["31 5/16", "10 3/16", "30 13/16"], got))
            spans = sorted(marks[view, "wing, tip to tip"] for view in ("top", "front"))
            asked = [sorted(int(n) for n in note["id"].split("-")[1:]) for note in scene.told["notes"] if note["id"].startswith("views-")]
            traps.append((f"seed {seed}, ends off by σ {shaken:g}", [spans], asked))
    source = "the script that draws it (tests/demo)"
    yield near("Marsh Hen, 20 seeds, ends at their true places: largest error, mm on paper", source, 0.0, worst, 0.001)
    yield within(f"and with ends off by σ {drawings.SIGMA:g} px (numpy): the share of {len(inside)} sizes within ±", source + "; 95 % ± three standard deviations", 0.91, 0.99, float(np.mean(inside)))
    yield all_of("Marsh Hen, 20 seeds: wing, stabilizer, and wing by the front view", "24 in body, 240/184, 78/184, 236/184 by Python fractions", figures)
    yield all_of("Marsh Hen, 20 seeds twice: the front view's 236 is caught, nothing else is", source, traps)


def real(core):
    """The drawing that others made: each figure in turn is the true length, all others must come out."""
    figures = drawings.real_figures()["figures"]
    for known in figures:
        if known["kind"] != "length":
            continue
        job, marks, told = drawings.real_job(known["name"])
        scene = core.play(job.intents)
        pairs, share = [], 0.0
        for f in told:
            if f["name"] == known["name"]:
                continue
            size = scene.real(marks[f["name"]])
            pairs.append((f["name"], True, size.covers(f["mm"])))
            share = max(share, abs(size.value - f["mm"]) / size.half)
        row = all_of(f"real drawing from {known['name']} = {known['mm']:g}: the other {len(pairs)} figures within ±", "the figures written on it by those who drew it", pairs)
        row.got += f" (largest {share:.2f} of its ±)"
        yield row
    job, marks, told = drawings.real_job("board, across")
    scene = core.play(job.intents)
    halves = [scene.real(marks[f["name"]]).half for f in told if f["kind"] == "length" and f["name"] != "board, across"]
    yield within("and the ± isn't idle: the widest of a length, mm", "numpy: 1.96 × 0.25 px × √2 ÷ 15.08 px/mm is 0.046", 0.04, 0.07, max(halves))


def found_on_picture(core):
    """The demo's written truth against the ink itself."""
    import hen as shape
    from found import line_middle
    from scan import scan

    truth, runs, corners, rng = marsh_hen_at(150)
    k = truth["px_per_mm"]
    grey = scan(runs, shape.LINE * k, (truth["width"], truth["height"]), corners, rng, k, 2.5).astype(np.float32)
    job, marks, _ = drawings.hen_job(2, 150)
    body = marks["top", "body, nose to tail"]
    pairs = []
    found = {}
    for f in truth["features"]:
        if "outer" not in f:
            continue
        a, b = (np.array(p) for p in f["points"])
        along = (b - a) / np.hypot(*(b - a))
        ends = [a + along * line_middle(grey, a, along, k), b + along * line_middle(grey, b, along, k)]
        mark = marks[f["view"], f["name"]]
        found[mark] = f["mm"]
        for point, at in enumerate(ends):
            job.move(mark, point, at)
    job.known(body, 184, pm=0.02)
    scene = core.play(job.intents)
    for mark, mm in found.items():
        if mark != body:
            pairs.append((mark, mm, scene.real(mark).value))
    yield all_of("Marsh Hen at 150 dpi, ends found in the ink with OpenCV's sampling, mm", "OpenCV remap, its whole-number pixel centres moved by .5", pairs, 0.06)


def marsh_hen_at(dpi):
    """The demo of seed 2, ready to be inked."""
    import marsh_hen

    return marsh_hen.draw(2, dpi)


def rows(core, trials=2_000):
    """Every row of this area."""
    for part in (one_length, worked_case, coin, half_of_it, many_lengths, check_length, stretched, from_paper, hen, real, found_on_picture):
        yield from part(core)
