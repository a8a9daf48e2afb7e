"""Ratios against a base, against uncertainties and plain counting."""

import math

from core import Job
from reference import Z95, clicks, span, whole_ratios
from row import holds, near, nearly, same

SIGMA = 0.5  # px: a mouse at the picture's own size
LARGEST = 24  # no whole-number ratio with a larger number is offered: the core's own limit


def pair(core, mark_px, base_px, zoom=1.0, known=None):
    """The ratio row of one length against another on the same picture."""
    job = Job()
    job.hand["zoom"] = zoom
    job.picture(20000, 3000)
    base = job.place([(100, 100), (100 + base_px, 100)])
    mark = job.place([(100, 900), (100 + mark_px, 900)])
    if known:
        job.known(base, known, pm=known / 20)
    job.ratios(base)
    return core.play(job.intents).ratio(mark)


def reference(mark_px, base_px, sigma=SIGMA):
    """The same by the uncertainties package."""
    a, b, c, d = clicks([(100, 100), (100 + base_px, 100), (100, 900), (100 + mark_px, 900)], sigma)
    return span(c, d) / span(a, b)


def values(core):
    """Ratio, percent, inverse, and the ± that leaves out what both share."""
    for mark, base, wanted, source in ((2400, 2000, 1.2, "6 ÷ 5; trade, common practice, no source"), (700, 2400, 0.291667, "1 3/4 ÷ 6; trade, common practice, no source")):
        row = pair(core, mark, base)
        ref = reference(mark, base)
        yield near(f"{mark} to {base}", source, wanted, row["value"], 1e-5)
        yield nearly(f"{mark} to {base}: its ±", "uncertainties, 1.96 u", Z95 * ref.s, row["half_width"], 0.01)
    row = pair(core, 2400, 2000, known=1000)
    yield nearly("a true length ± 5 % leaves the ratio's ± as it was", "uncertainties: a shared factor cancels", Z95 * reference(2400, 2000).s, row["half_width"], 0.01)
    shown = lambda text: float(text.split()[0])
    yield near("6 to 5 in per cent", "arithmetic", 120.0, shown(row["percent"]), 0.05)
    yield near("6 to 5 the other way round", "arithmetic", 5 / 6, shown(row["inverse"]), 0.001)


def wholes(core):
    """Whole-number ratios are those that fit within the ±, and no others."""
    for mark, base, zoom in ((2400, 2000, 4.0), (1589, 1000, 0.5), (707, 1000, 1.0), (1304, 1000, 0.25)):
        row = pair(core, mark, base, zoom)
        fits = {f"{n}:{d}" for n, d in whole_ratios(row["value"], row["half_width"], LARGEST)}
        got = {as_ratio(text) for text in row["whole"]}
        ok = got <= fits and (bool(got) == bool(fits))
        yield holds(f"whole ratios for {mark / base:g} ± {row['half_width']:.4f}", f"every pair up to {LARGEST} counted through in Python", f"among {sorted(fits)}", ok, sorted(got))
    row = pair(core, 2400, 2000, 4.0)
    yield same("6 to 5 is offered first for 1.2", "counted by hand", "6:5", as_ratio(row["whole"][0]) if row["whole"] else "nothing")


def as_ratio(text):
    """'6 : 5, 0.02 % off' as '6:5'."""
    head = text.replace("\u2236", ":").replace("\u00a0", " ").split(",")[0]
    return "".join(c for c in head if c.isdigit() or c == ":")


def golden(core):
    """The golden section is offered only within the ±, and never taken."""
    section = (1 + math.sqrt(5)) / 2
    source = "(1+√5)/2 = 1.618034, by its definition"
    for value, zoom, wanted in ((section, 1.0, True), (1.67, 1.0, False), (1 / section, 1.0, True), (1.6, 1.0, False), (1.625, 0.1, True)):
        row = pair(core, value * 2000, 2000, zoom)
        yield same(f"golden section offered for {value:.4f} ± {row['half_width']:.4f}", source, wanted, row["golden"] is not None)
    row = pair(core, 1.59 * 1000, 1000, 0.08)
    yield near("1.59 that could be 5:8 or golden stays 1.59", "by construction; trade: neither is taken", 1.59, row["value"], 1e-2)
    both = row["golden"] is not None and any(as_ratio(t) == "8:5" for t in row["whole"])
    yield holds("and both are offered", f"± {row['half_width']:.3f} holds 1.600 and 1.618", "both", both, f"{row['golden']}, {row['whole']}")


def rows(core, trials=2_000):
    """Every row of this area."""
    yield from values(core)
    yield from wholes(core)
    yield from golden(core)
