"""Story sticks, tables of offsets, sector cards and patterns before they are cut into sheets: against Python's fractions,
NACA's own formula and plain arithmetic."""

from fractions import Fraction as F

import numpy as np

from core import Refused
from reference import INCH, mixed, plain, rounded
from row import all_of, holds, near, same

CHORD = 300.0
NACA = "NACA Report 460 (1933): y = 5t(0.2969√x − 0.1260x − 0.3516x² + 0.2843x³ − 0.1015x⁴), t = 0.12"
BLANK = {"letter": "A", "name": "Part", "quantity": 1, "hand": "one", "bounds": [0, 0, 0, 0], "margin": 6, "marks": [], "lines": []}


def section(x):
    """Half the thickness of NACA 0012 at x of its chord."""
    x = np.asarray(x, float)
    return 0.6 * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)


def straight(points):
    """An outline of straight sides, as an order has it."""
    ring = []
    for a, b in zip([points[-1], *points[:-1]], points):
        third = [(2 * p + q) / 3 for p, q in zip(a, b)], [(p + 2 * q) / 3 for p, q in zip(a, b)]
        ring.append({"c1": third[0], "c2": third[1], "p": list(b), "corner": True, "straight": True})
    return ring


def naca(chord, bump=None):
    """The section as a fine polygon, from the tail over the top and back; `bump` is added to the top's height."""
    x = (1 - np.cos(np.linspace(0, np.pi, 1500))) / 2
    top = chord * section(x) + (bump(chord * x) if bump else 0)
    up = [(float(chord * a), float(-b)) for a, b in zip(x[::-1], top[::-1])]
    down = [(float(chord * a), float(chord * section(a))) for a in x[1:]]
    return straight(up + down)


def texts(drawing):
    """Every line of writing, in order."""
    return [i["text"]["text"] for i in drawing["items"] if "text" in i]


def table(drawing, columns, after):
    """A table's rows as told, from the head that ends with `after` on, as long as the first cell is a number or 'end'."""
    said = texts(drawing)
    at = said.index(after) + 1
    rows = []
    while at + columns <= len(said) and (said[at].isdigit() or said[at] == "end"):
        rows.append(said[at : at + columns])
        at += columns
    return rows


def mm(text):
    """A told length in mm."""
    return float(text.split()[0].replace("\u2212", "-"))


def offsets_of(ring, apart, base=((0, 0), (CHORD, 0))):
    return {"offsets": {"of": BLANK | {"outline": {"rings": [ring]}}, "base": [list(p) for p in base], "apart": apart}}


def offsets(core):
    """A section's table against its formula."""
    for apart in (25.0, 15.0, 20.0):
        drawing = core.drawings([offsets_of(naca(CHORD), apart)])[0][0]
        rows = table(drawing, 3, "each side")
        pairs = [(f"x {r[1]}", float(CHORD * section(mm(r[1]) / CHORD)), mm(r[2])) for r in rows]
        yield all_of(f"offsets of NACA 0012 at {CHORD:g} mm, stations {apart:g} mm apart, to 0.1 mm", NACA, pairs, 0.0501)
        yield same(f"stations {apart:g} mm apart", "by hand", int(CHORD / apart) + 1, len(rows))
    said = " ".join(texts(drawing))
    crown = said.split("Crown: ")[1].split(" along")[0].replace("\xa0", " ").split()
    x = np.linspace(0, 1, 2_000_001)
    best = int(np.argmax(section(x)))
    yield near("crown of the section", NACA + ", numpy argmax", float(CHORD * section(x[best])), float(crown[0]), 0.0501)
    yield near("where the crown stands", NACA + ", numpy argmax", float(CHORD * x[best]), float(crown[3]), 0.25)
    yield holds("a fair section is called fair", "the curve is smooth", "fair, none stands off", "fair curve passes" in said and "stands off" not in said, said[-120:])
    bumped = naca(CHORD, lambda x: 4.0 * np.maximum(0, 1 - ((x - 125) / 14) ** 2))
    said = " ".join(texts(core.drawings([offsets_of(bumped, 25.0)])[0][0]))
    yield holds("4 mm pulled out of its top at station 5", "planted", "station 5 is named", "station 5: stands off" in said, said[-200:])


def fairness(core):
    """Tables from elsewhere: fair ones are let pass, a planted bad offset is found."""
    rng = np.random.default_rng(5)
    step = float(F(1, 16) * INCH)
    fair, bad = [], []
    for k in range(60):
        n = int(rng.integers(9, 22))
        x = np.linspace(0, 600, n)
        u = x / 600
        y = rng.uniform(20, 90) * np.sin(np.pi * u * rng.uniform(0.7, 1)) + rng.uniform(-30, 30) * u + rng.uniform(0, 80)
        y = np.array([float(rounded(F(float(v)), F(step)) * F(step)) for v in y])
        fair.append((x.tolist(), y.tolist(), step))
        at = int(rng.integers(2, n - 2))
        off = float(rng.choice([-1, 1]) * rng.integers(4, 17)) * step
        wrong = y.copy()
        wrong[at] += off
        bad.append(((x.tolist(), wrong.tolist(), step), at, off))
    told = core.odd_offsets([t for t in fair])
    yield same("60 smooth tables rounded to 1/16 in: named as odd", "sines and straight lines, rounded by Python's fractions", 0, sum(map(len, told)))
    told = core.odd_offsets([t for t, _, _ in bad])
    found = sum([o[0] for o in odd] == [at] for odd, (_, at, _) in zip(told, bad))
    yield same("the same with one offset 1/4 to 1 in wrong: the very one named, no other", "planted", 60, found)
    pairs = [(f"table {k}", off, odd[0][1] if odd else 0.0) for k, (odd, (_, _, off)) in enumerate(zip(told, bad))]
    yield all_of("and how far off it stands, within two steps", "planted", pairs, 2 * step)
    x = np.arange(13) * 25.0
    y = np.round(CHORD * section(x / CHORD))
    y[7] += 5
    odd = core.odd_offsets([(x.tolist(), y.tolist(), 1.0)])[0]
    yield same("NACA 0012 to 1 mm with 5 mm too much at station 7", "planted", [7], [o[0] for o in odd])


def upright(drawing, least=5.0):
    """Where upright lines stand, mm."""
    out = []
    for item in drawing["items"]:
        steps = item.get("path", {}).get("path", {}).get("steps", [])
        if len(steps) == 2 and "move" in steps[0] and "line" in steps[1]:
            a, b = steps[0]["move"], steps[1]["line"]
            if abs(a[0] - b[0]) < 1e-9 and abs(a[1] - b[1]) >= least:
                out.append(a[0])
    return out


def left_edge(drawing):
    """Where the first closed line of four sides begins."""
    for item in drawing["items"]:
        steps = item.get("path", {}).get("path", {}).get("steps", [])
        if len(steps) == 5 and steps[-1] == "close":
            return steps[0]["move"][0]
    raise ValueError("no border")


def sticks(core):
    """Running sizes, and where they are drawn."""
    rng = np.random.default_rng(9)
    for style, step, unit in (("inches", "1/16 in", INCH / 16), ("inches", "1/32 in", INCH / 32), ("millimetres", "1 mm", F(1))):
        at = [F(int(v), 100) for v in np.sort(rng.choice(np.arange(500, 180_000), 14, replace=False))]
        marks = [{"at": float(a), "text": f"m{k}", "thick": 0, "edge": 0} for k, a in enumerate(at)]
        stick = {"stick": {"title": "height", "datum": "FLOOR", "marks": marks, "length": 1828.8}}
        strip, listed = core.drawings([stick], style, step)[0]
        steps = [rounded(a, unit) for a in at]
        told = [plain(t) for t in texts(listed)]
        words = [f"{plain(mixed(n * unit / INCH))} in" if style == "inches" else f"{n} mm" for n in steps]
        pairs = [(f"m{k}", w, told[told.index(f"m{k}") - 1]) for k, w in enumerate(words)]
        yield all_of(f"running sizes of 14 marks to {step}", "Python fractions, each from the datum", pairs)
        border = left_edge(strip)
        drawn = sorted(x - border for x in upright(strip, 20))
        pairs = [(f"m{k}", float(n * unit), d) for k, (n, d) in enumerate(zip(steps, drawn))]
        yield all_of(f"where they are drawn, {step}, mm", "Python fractions", pairs, 1e-6)
    strip = core.drawings([{"stick": {"title": "", "datum": "", "marks": [{"at": 300, "text": "", "thick": 18.256, "edge": 0}], "length": 600}}])[0][0]
    a, b = sorted(upright(strip, 20))[:2]
    yield near("a neighbour's thickness between its two lines, mm", "as given, 23/32 in", 18.256, b - a, 1e-9)


def sectors(core):
    """Divisions of the two scales."""
    for ratio in (F(43275, 10000), F(1, 2), F(12), F(7, 3)):
        for style, step in (("millimetres", "1 mm"), ("inches", "1/16 in")):
            drawing = core.drawings([{"sector": {"ratio": float(ratio), "lines": []}}], style, step)[0][0]
            numbered = {}
            for item in drawing["items"]:
                t = item.get("text")
                if t and t["anchor"] == "middle":
                    numbered.setdefault(round(t["at"][1], 3), []).append((plain(t["text"]), t["at"][0]))
            unit = INCH if style == "inches" else F(1)
            for y, times in zip(sorted(numbered), (ratio, F(1))):
                own = numbered[y]
                zero = own[0][1]
                pairs = [(t, float(sum(F(p) for p in t.split()) * unit / times), x - zero) for t, x in own]
                name = "finished" if times == ratio else "picture"
                yield all_of(f"numbers of the {name} scale, {float(ratio):.4g} to 1, {style}", "value / ratio, Python fractions", pairs, 1e-9)


def patterns(core):
    """The outline as it is drawn, and what is refused."""
    ring = [(0, 0), (250, 0), (250, 80), (0, 120)]
    piece = {"pattern": BLANK | {"outline": {"rings": [straight(ring)]}, "marks": [{"number": 1, "text": "", "shape": {"length": [[20, 20], [220, 20]]}}]}}
    drawing = core.drawings([piece])[0][0]
    path = next(i["path"]["path"]["steps"] for i in drawing["items"] if "path" in i and (i["path"]["pen"] or {}).get("width") == 0.35)
    places = [next(iter(s.values())) for s in path if s != "close"]
    low = [min(p[i] for p in places) for i in (0, 1)]
    got = sorted({(round(p[0] - low[0], 6), round(p[1] - low[1], 6)) for p in places})
    yield same("corners of a board's outline, mm", "as given", sorted(map(tuple, ring)), got)
    yield holds("a length's text", "220 − 20", "200 mm", any(plain(t) == "200.0 mm" for t in texts(drawing)), texts(drawing)[0])
    wrong = {
        "crossing": straight([(0, 0), (100, 100), (100, 0), (0, 100)]),
        "no-area": straight([(0, 0), (100, 100), (200, 200)]),
        "too-long": straight([(0, 0), (40_001, 0), (40_001, 500), (0, 500)]),
        "too-small": straight([(0, 0), (0.2, 0), (0.2, 0.2), (0, 0.2)]),
    }
    answers = core.drawings([{"pattern": BLANK | {"outline": {"rings": [r]}}} for r in wrong.values()])
    pairs = [(k, f"sheet.{k}", a.key if isinstance(a, Refused) else "drawn") for k, a in zip(wrong, answers)]
    yield all_of("outlines that no pattern can be made of are refused in words", "by construction: none bounds anything that paper holds", pairs)


def rows(core, trials=2_000):
    """Every row of this area."""
    yield from offsets(core)
    yield from fairness(core)
    yield from sticks(core)
    yield from sectors(core)
    yield from patterns(core)
