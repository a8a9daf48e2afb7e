"""Rounding of single sizes and of chains, against Python's fractions."""

from fractions import Fraction as F

import numpy as np

from areas.fraction import written
from core import Job
from reference import INCH, inches, mixed, plain, rounded, running
from row import all_of, holds, same

PER_INCH = 100  # picture px to the inch in the chains below


def chain(core, lengths, step, direction="nearest", style="inches", taker=None):
    """Finished figures of marks laid end to end, chained; lengths in inches. `taker` takes up the difference."""
    job = Job()
    job.hand["zoom"] = 8.0
    job.picture(20000, 3000)
    run = job.place([(100, 100), (100 + 10 * PER_INCH, 100)])
    job.known(run, 10 * float(INCH), pm=0.01)
    marks, at = [], F(100)
    for length in lengths:
        ends = at, at + F(length) * PER_INCH
        marks.append(job.place([(float(ends[0]), 500), (float(ends[1]), 500)]))
        at = ends[1]
    job.units(style, step, direction)
    job.add("set-build-ratio", finished=1, real=1)
    job.add("chain", marks=marks)
    if taker is not None:
        job.add("take-up", mark=marks[taker], on=True)
    scene = core.play(job.intents)
    return [scene.finished(m).text for m in marks]


def as_steps(figures, step):
    """Figures such as '5 1⁄16' (inches) as whole numbers of steps."""
    return [sum(F(part) for part in plain(f).split()) / F(step) for f in figures]


def single(core):
    """Sizes by themselves; the size is chosen, so that it is exact."""
    rng = np.random.default_rng(3)
    values = [F(int(n), 1000) for n in rng.integers(20, 60000, 150)]
    for step in ("1", "1/2", "1/4", "1/8", "1/16", "1/32", "1/64"):
        got = written(core, "inches", [v * INCH for v in values], f"{step} in")
        pairs = [(float(v), mixed(rounded(v, step) * F(step)), g) for v, g in zip(values, got)]
        yield all_of(f"150 sizes to the nearest {step} in", "Python fractions", pairs)
    for step in ("10", "5", "2", "1", "0.5", "0.2", "0.1"):
        mm = [v * 7 for v in values]
        got = written(core, "millimetres", mm, f"{step} mm")
        pairs = [(float(v), float(rounded(v, step) * F(step)), float(g)) for v, g in zip(mm, got)]
        yield all_of(f"150 sizes to the nearest {step} mm", "Python fractions", pairs, 1e-9)


def turned(core):
    """Up and down, ties, and the trade's own values."""
    values = [F(n, 1000) for n in (17400, 5075, 5000, 62, 63, 11999, 31304)]
    for direction in ("up", "down"):
        job = Job()
        job.picture()
        mark = job.place([(100, 100), (1100, 100)])
        job.units("inches", "1/8 in", direction)
        places = []
        for v in values:
            job.build(mark, float(v * INCH))
            places.append(job.here())
        got = [s.finished(mark).text for s in core.play_at(job.intents, places)]
        pairs = [(float(v), mixed(rounded(v, F(1, 8), direction) * F(1, 8)), g) for v, g in zip(values, got)]
        yield all_of(f"seven sizes {direction} to 1/8 in", "Python fractions (ceil, floor)", pairs)
    ties = [F(n, 32) for n in range(1, 33, 2)]
    got = written(core, "inches", [v * INCH for v in ties], "1/16 in")
    pairs = [(str(v), mixed(rounded(v, F(1, 16)) * F(1, 16)), g) for v, g in zip(ties, got)]
    yield all_of("half way goes to the longer 16th", "common practice, no source; Python fractions", pairs)
    carried = written(core, "feet-inches", [inches("11 63/64"), inches("23 31/32"), inches("35 1/64")], "1/16 in")
    pairs = [(w, w, plain(g)) for w, g in zip(("1' 0\"", "2' 0\"", "2' 11\""), carried)]
    yield all_of("carries from 16ths to inches to feet", "by hand", pairs)
    for value, step, wanted in (("17.4", "1/2 in", "17 1/2"), ("17.4", "1/8 in", "17 3/8"), ("5.075", "1/2 in", "5"), ("5.075", "1/16 in", "5 1/16")):
        got = written(core, "inches", [inches(value)], step)[0]
        yield same(f"{value} in to {step}", "trade, common practice, no source", wanted, plain(got))


def chains(core):
    """Running positions are rounded, so that parts add up to the whole."""
    seven = as_steps(chain(core, [F("5.05")] * 7, "1/16 in"), F(1, 16))
    yield same("7 × 5.05 in at 1/16, sixteenths", "by hand: 80.8 a piece, running 80.8 161.6 242.4 323.2 404 484.8 565.6", [81, 81, 80, 81, 81, 81, 81], [int(n) for n in seven])
    yield same("7 × 5.05 in at 1/16 add up to", "by hand: 35.35 in is 565.6; each by itself would give 567", 566, int(sum(seven)))
    filled = [int(n) for n in as_steps(chain(core, [F("5.05")] * 7, "1/16 in", taker=3), F(1, 16))]
    yield same("the same with the fourth piece taking up the difference", "by hand: 81 each, 566 in all leave 80", [81, 81, 81, 80, 81, 81, 81], filled)
    rng = np.random.default_rng(12)
    for step in ("1/16", "1/32"):
        # No two so near that they could be meant alike.
        lengths = [F(int(n), 1000) for n in rng.permutation(np.arange(900, 9000, 131))[:10]]
        want = [rounded(v, step) for v in lengths]
        want[6] = rounded(sum(lengths), step) - sum(n for i, n in enumerate(want) if i != 6)
        got = [int(n) for n in as_steps(chain(core, lengths, f"{step} in", taker=6), F(step))]
        yield same(f"10 lengths at {step} in, the seventh takes up the difference, steps", "Python fractions", want, got)
    rng = np.random.default_rng(11)
    for step in ("1/8", "1/32"):
        lengths = [F(int(n), 1000) for n in rng.integers(900, 9000, 12)]
        got = [int(n) for n in as_steps(chain(core, lengths, f"{step} in"), F(step))]
        yield same(f"12 lengths in a chain at {step} in, steps", "Python fractions", running(lengths, step), got)
        yield same(f"the same add up to the whole, steps of {step} in", "Python fractions", rounded(sum(lengths), step), sum(got))
    lengths = [F(int(n), 1000) for n in rng.integers(900, 9000, 9)]
    got = chain(core, lengths, "1 mm", style="millimetres")
    yield same("9 lengths in a chain at 1 mm", "Python fractions", running([v * INCH for v in lengths], 1), [int(float(g)) for g in got])
    got = [int(n) for n in as_steps(chain(core, lengths, "1/16 in", "up"), F(1, 16))]
    yield same("9 lengths in a chain, up to 1/16, steps", "Python fractions (ceil)", running(lengths, "1/16", "up"), got)


def too_fine(core):
    """Finer than the picture can bear: said in words, and only then."""
    told = {}
    for step in ("1/64 in", "1 in"):
        job = Job()
        job.picture()
        known = job.place([(100, 100), (1400, 100)])
        job.known(known, inches_mm(24), pm=1.0)
        other = job.place([(100, 900), (3800, 900)])
        job.build(known, inches_mm(24))
        job.units("inches", step)
        scene = core.play(job.intents)
        told[step] = scene.notes()
        half = scene.finished(other).half
    yield holds("rounding finer than the ± is remarked on", f"the ± is {half:.2f} mm, 1/64 in is 0.40 mm", "a remark at 1/64, none at 1 in",
                len(told["1/64 in"]) > len(told["1 in"]), f"{len(told['1/64 in'])} remarks and {len(told['1 in'])}")


def inches_mm(n):
    """Inches in mm, as a float."""
    return float(n * INCH)


def rows(core, trials=2_000):
    """Every row of this area."""
    yield from single(core)
    yield from turned(core)
    yield from chains(core)
    yield from too_fine(core)
