"""Parts: stock, board feet, sag, weight, movement, cut lengths, and the cutting list as a table file and on paper: against the
softwood standard, plain arithmetic in fractions, an independent beam in numpy, Python's csv and an outside reader of PDFs."""

import csv
import io
import math
import pathlib
import tempfile
from fractions import Fraction as F

import numpy as np
import pypdfium2

from core import Job, Refused
from reference import INCH
from row import all_of, holds, near, nearly, same

PS20 = "American Softwood Lumber Standard PS 20, dry sizes"
FEET = "PS 20: T in × W in × L ft / 12 on nominal sizes, in Python's fractions"
TRADE = "common practice, no source"
HANDBOOK = "Wood Handbook (USDA FPL)"
MEMORY = f"{HANDBOOK}, figures from memory"
CFR = "16 CFR 1501.4: 31.7 mm wide, 25.4 to 57.1 mm deep"
THICK = {"1": F(3, 4), "1 1/4": F(1), "1 1/2": F(5, 4), "2": F(3, 2), "2 1/2": F(2), "3": F(5, 2), "3 1/2": F(3), "4": F(7, 2)}
WIDE = {2: F(3, 2), 3: F(5, 2), 4: F(7, 2), 5: F(9, 2), 6: F(11, 2), 8: F(29, 4), 10: F(37, 4), 12: F(45, 4), 14: F(53, 4), 16: F(61, 4)}
# Nominal thickness, width and length in inches; the last is thinner than the trade counts.
PIECES = [(F(1), 6, 96), (F(2), 4, 96), (F(2), 10, 168), (F(5, 4), 8, 120), (F(4), 4, 144), (F(1), 12, 12), (F(1, 2), 12, 48)]
# Specific gravity at 12 %.
GRAVITY = {"yellow-poplar": 0.42, "sugar-maple": 0.63, "red-oak": 0.63, "white-pine": 0.35, "red-cedar": 0.32}
# Span, depth, thickness (mm), modulus (N/mm²), load (N/mm).
SHELVES = [(914.4, 254, 19.05, 12500, 0.365), (762, 280, 18, 8500, 0.29), (600, 300, 15.9, 2400, 0.36), (1200, 250, 25.4, 10900, 0.4)]


def rows(core, _trials):
    """All of them."""
    yield from stock(core)
    yield from amounts(core)
    yield from wood(core)
    yield from shelves(core)
    yield from cuts(core)
    yield from listed(core)
    yield from bought(core)
    yield from proved(core)


def stock(core):
    """What is sold, and what a measured edge may be."""
    told = {s["name"]: s for s in core.parts([{"stock": "softwood"}])[0]}
    for name, inches in THICK.items():
        yield near(f"softwood {name} is {inches} in thick", PS20, float(inches * INCH), told[name]["actual"], 1e-9)
    yield same("how many thicknesses", PS20, len(THICK), len(told))
    widths = core.parts(["widths"])[0]
    pairs = [(f"{n} wide", float(w * INCH), got) for (n, w), (_, got) in zip(WIDE.items(), widths)]
    yield all_of("softwood widths, actual", PS20, pairs, 1e-9)
    yield all_of("softwood widths, nominal", PS20, [(str(n), n * 25.4, got) for n, (got, _) in zip(WIDE, widths)], 1e-9)
    ask = lambda goods, inches: [v / 25.4 for v in core.parts([{"offered": {"goods": goods, "thickness": inches * 25.4}}])[0]]
    yield same("an edge of 0.61 in is offered as 5/8 or 3/4", TRADE, [0.625, 0.75], [round(v, 9) for v in ask("softwood", 0.61)])
    yield same("an edge of 0.71 in of plywood as 19/32 or 23/32", "PS 1, from memory", [23 / 32, 19 / 32], [round(v, 9) for v in ask("plywood", 0.71)])
    rough = core.parts([{"stock": "rough"}])[0]
    pairs = [(s["name"], float(F(s["name"]) * INCH), s["nominal"]) for s in rough]
    yield all_of("rough hardwood by quarters of an inch", TRADE, pairs, 1e-9)


def amounts(core):
    """Board feet, areas, what to buy."""
    for t, w, length in PIECES:
        want = max(t, F(1)) * w * F(length, 12) / 12
        got = core.parts([{"board-feet": [float(v * INCH) for v in (t, w, length)]}])[0]
        yield near(f"board feet of {t} × {w} in, {length} in long", FEET, float(want), got, 1e-9)
    got = core.parts([{"square-feet": [1219.2, 2438.4]}])[0]
    yield near("square feet of a 4 × 8 ft sheet", "by hand", 32.0, got, 1e-9)
    for goods, least, most in [("softwood", 5, 10), ("surfaced", 15, 20), ("rough", 25, 35), ("plywood", 10, 20)]:
        got = core.parts([{"buy": {"goods": goods, "net": 12.0}}])[0]
        pairs = [(f"{p} %", float(12 / (1 - F(p, 100))), g) for p, g in zip((least, most), got)]
        yield all_of(f"what to buy of {goods} for 12: net / (1 − waste)", TRADE, pairs, 1e-9)


def wood(core):
    """Weight and movement."""
    volume = 304.8 * 304.8 * 25.4
    for name, g in GRAVITY.items():
        for moisture in (8.0, 12.0):
            density, weight = core.parts([{"weight": {"species": name, "moisture": moisture, "volume": volume}}])[0]
            want = 1000 * g * (1 + moisture / 100)
            source = HANDBOOK if name == "yellow-poplar" else MEMORY
            yield near(f"density of {name} at {moisture:g} %, kg/m³: 1000·G·(1 + M/100)", source, want, density, 1e-9)
        yield near(f"a board foot of {name}, kg", f"{source}, volume by hand", want * volume * 1e-9, weight, 1e-9)
    for sawn, want in (("flat", 0.18), ("quarter", 0.08)):
        got = core.parts([{"movement": {"species": "red-oak", "width": 12 * 25.4, "change": 4.0, "sawn": sawn}}])[0]
        yield near(f"12 in of red oak, {sawn}-sawn, over 4 %, in", MEMORY, want, got / 25.4, 0.005)
    for moisture in (-1.0, 45.0):
        got = core.part_refused({"weight": {"species": "red-oak", "moisture": moisture, "volume": 1.0}})
        yield same(f"wood at {moisture:g} % is refused", "green wood has more than 30 %: Wood Handbook, from memory", "part.moisture", got)


def beam(span, depth, thickness, modulus, load, pieces=24):
    """The middle's sag of a beam on two simple supports, by finite elements with cubic shapes."""
    ei, h = modulus * depth * thickness**3 / 12, span / pieces
    k = ei / h**3 * np.array([[12, 6 * h, -12, 6 * h], [6 * h, 4 * h**2, -6 * h, 2 * h**2],
                              [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h**2, -6 * h, 4 * h**2]])
    f = load * h * np.array([1 / 2, h / 12, 1 / 2, -h / 12])
    stiff, force = np.zeros((2 * pieces + 2,) * 2), np.zeros(2 * pieces + 2)
    for i in range(pieces):
        at = slice(2 * i, 2 * i + 4)
        stiff[at, at] += k
        force[at] += f
    free = [i for i in range(2 * pieces + 2) if i not in (0, 2 * pieces)]
    moved = np.zeros(2 * pieces + 2)
    moved[free] = np.linalg.solve(stiff[np.ix_(free, free)], force[free])
    return float(moved[pieces])


def sag_of(core, span, depth, thickness, modulus, load):
    """The core's."""
    return core.parts([{"sag": dict(span=span, depth=depth, thickness=thickness, modulus=modulus, load=load)}])[0]


def shelves(core):
    """Sag."""
    for shelf in SHELVES:
        span, depth, thickness, modulus, load = shelf
        got = sag_of(core, *shelf)
        name = f"sag of a shelf {span:g} × {depth:g} × {thickness:g} mm, E {modulus}, {load} N/mm"
        closed = 5 * load * span**4 / (384 * modulus * depth * thickness**3 / 12)
        yield nearly(name, "5wL⁴/384EI: any handbook of mechanics", closed, got, 1e-12)
        yield nearly(f"{name}, as a beam of 24 pieces", "computed by finite elements in numpy", beam(*shelf), got, 1e-6)
    for span, depth, thick, edge in [(914.4, 254, 19.05, (19.05, 19.05)), (1000, 300, 18, (18, 36)), (800, 250, 16, (25, 10))]:
        # Slices of the section, as many above where its width changes as below, each with its width, summed about their own mean.
        half = (np.arange(100_000) + 0.5) / 100_000
        y = np.concatenate([half * thick, thick + half * edge[1]])
        high = np.repeat([thick / 100_000, edge[1] / 100_000], 100_000)
        wide = np.where(y < thick, depth, 0) + edge[0]
        inertia = np.sum(wide * high * (y - np.average(y, weights=wide * high)) ** 2)
        ask = dict(span=span, depth=depth, thickness=thick, modulus=12500, load=0.365, front_edge=edge)
        name = f"sag of a shelf {span:g} × {depth} × {thick} mm, a strip {edge[0]} thick along its front, {edge[1]} mm below"
        yield nearly(name, "5wL⁴/384EI, I summed over slices in numpy", 5 * 0.365 * span**4 / (384 * 12500 * inertia), core.parts([{"sag": ask}])[0], 1e-6)
    thin, thick = (sag_of(core, 914.4, 254, t * 25.4, 12500, 0.365) for t in (0.61, 0.75))
    yield near("a shelf of 0.61 for 0.75 in sags so many times as much", "(0.75/0.61)³", float(F(75, 61) ** 3), thin / thick, 1e-9)
    yield near("that is 1.86", TRADE, 1.86, thin / thick, 0.005)


def cuts(core):
    """Cut lengths and small parts."""
    cases = [(24, "dado", F(1, 4), F(1, 4)), (20, "tenon", F(5, 4), F(5, 4)), (16, "tenon", F(1), 0), (12, "dovetail", F(3, 4), F(3, 4)), (30, "none", 9, 9)]
    for shoulder, joint, a, b in cases:
        ends = [{"joint": joint, "depth": float(v * INCH)} for v in (a, b)]
        want = shoulder + (0 if joint == "none" else a + b)
        got = core.parts([{"cut": {"shoulder": shoulder * 25.4, "ends": ends}}])[0]
        yield near(f"{shoulder} in between shoulders, {joint} {a} and {b} in: cut to, in", "by hand", float(want), got / 25.4, 1e-9)
    sides = [((31, 31, 31), False), ((22, 22, 57), True), ((22, 22, 58), False), ((23, 23, 40), False), ((5, 31, 50), True), ((32, 5, 50), False)]
    pairs = [(str(s), np.hypot(*sorted(s)[:2]) <= 31.7 and max(s) <= 57.1, core.parts([{"chokes": s}])[0]) for s, _ in sides]
    yield all_of("which boxes go into the small-parts cylinder upright", CFR, [(n, bool(w), g) for n, w, g in pairs])


NAMES = ['Side, "left"', "=1+1", "Flügel\nzwei", "Shelf"]


def job():
    """Four boards, 1000 px for 25 in, and what they are made of."""
    j = Job()
    j.picture(resolution=[254, 254])
    for i, name in enumerate(NAMES):
        y = 300 + 500 * i
        j.place([(500, y), (1500 + 20 * i, y), (1500 + 20 * i, y + 240), (500, y + 240)], mark="outline", name=name)
    long = j.place([(500, 300), (1500, 300)])
    j.build(long, "25")
    made = {"goods": "softwood", "stock": "1", "species": "white-pine"}
    ends = [{"joint": "dado", "depth": 6.35}] * 2
    j.add("set-part", mark=1, choice={"made": made, "ends": ends})
    j.add("set-part", mark=4, choice={"made": {"goods": "plywood", "stock": "3/4"}, "shelf": True})
    j.add("set-part", mark=3, choice={"left_out": True})
    choice = {"wanted": True, "quantity": 3, "hand": "one", "under": None, "grain": "across"}
    j.add("set-pattern", mark=4, choice=choice)
    return j


def listed(core):
    """The list as it is handed over."""
    j = job()
    told = core.table(j.intents).replace("\u00a0", " ")
    table = list(csv.reader(io.StringIO(told.removeprefix("\ufeff"), newline="")))
    source = "Python's csv"
    yield same("the table has its heads and a row for each part that isn't left out", source, 4, len(table))
    yield all_of("every row has a cell for every head", source, [(r[0], len(table[0]), len(r)) for r in table[1:]])
    head = {name: i for i, name in enumerate(table[0])}
    cell = lambda row, name: table[row][head[name]]
    yield same("names come through, quotes and all", source, NAMES[0], cell(1, "name"))
    yield same("a name that a spreadsheet would reckon is text", "common practice, no source", "'" + NAMES[1], cell(2, "name"))
    yield same("letters stay when a part is left out", TRADE, ["A", "B", "D"], [r[0] for r in table[1:]])
    yield same("how many", "as ordered", ["1", "1", "3"], [cell(i, "how many") for i in (1, 2, 3)])
    yield same("cut length of A: 25 and two dadoes of 1/4", "by hand", "25 1\u20442 in", cell(1, "cut to length"))
    yield same("length and width of A", "by hand: 1000 and 240 px at 25 in for 1000", ["25 in", "6 in"], [cell(1, "length"), cell(1, "width")])
    yield same("with the grain across, the length runs along it", TRADE, ["6 in", "26 1\u20442 in"], [cell(3, "length"), cell(3, "width")])
    yield same("3/4 plywood as it measures", "PS 1, from memory", "23\u204432 in", cell(3, "thickness"))
    net = F(6) * F(51, 2) / 144
    yield near("board feet of A, to a hundredth", FEET, float(net), float(cell(1, "stock before waste").split()[0]), 0.005)
    area = 3 * F(6) * F(53, 2) / 144
    yield near("square feet of three of D, to a hundredth", "by hand", float(area), float(cell(3, "stock before waste").split()[0]), 0.005)
    yield holds("B says that its thickness is assumed", "rule of the list", "assumed, as A", "assumed, as A" in cell(2, "where sizes come from"), cell(2, "where sizes come from"))
    yield holds("lengths are said to be measured, with their ±", "rule of the list", "length and width measured (mark 1, ±", "length and width measured (mark 1, ±" in cell(1, "where sizes come from"), cell(1, "where sizes come from"))
    yield from printed(core, j)
    for bad, key in [({"made": {"goods": "softwood", "stock": "9/9"}}, "part.no-such-stock"), ({"made": {"goods": "softwood", "stock": "1", "planed": 25.4}}, "part.planed"),
                     ({"ends": [{"joint": "tenon", "depth": -1}, {"joint": "none", "depth": 0}]}, "part.joint-depth")]:
        got = core.answers([*j.intents, {"kind": "set-part", "mark": 1, "choice": bad}])[-1]
        yield same(f"{bad} is refused", "rule of the list", key, got.key if isinstance(got, Refused) else "taken")


def bought(core):
    """A wheel of 2 3/16 in that is bought, and its axle: 40 px are an inch."""
    j = Job()
    j.picture(3000, 2250)
    body = j.place([(100, 100), (500, 100), (500, 260), (100, 260)], mark="outline", name="Body")
    long = j.place([(100, 1400), (1100, 1400)])
    j.build(long, "25")
    r = 40 * 2.1875 / 2
    wheel = j.place([(312 + r, 180), (312 - r, 180), (312, 180 - r), (312, 180 + r)], mark="circle", name="Wheel")
    j.add("set-part", mark=body, choice={"made": {"goods": "softwood", "stock": "2"}})
    j.add("set-bought", of=wheel, bought={"ware": "wheel", "across": 50.8})
    offered = [k["label"] for k in core.play([*j.intents, {"kind": "ask-part", "mark": wheel, "about": "bought"}]).told["entry"]["choices"] if k["id"].startswith("size-")]
    plain = [o.replace("\u00a0", " ") for o in offered]
    yield same("a wheel of 2 3/16 in is offered as 2 1/4 or 2", TRADE, ["wheel 2 1\u20444 in: 1\u204416 in more than measured", "wheel 2 in: 3\u204416 in less than measured"], plain)
    j.add("add-axle", wheel=wheel + 1, through=body)
    table = list(csv.DictReader(io.StringIO(core.table(j.intents).replace("\u00a0", " ").removeprefix("\ufeff"), newline="")))
    by = {row["part"]: row for row in table}
    told = {row: by[row]["where sizes come from"] for row in "BC"}
    yield same("what is bought stands below what is cut", "rule of the list", ["A", "B", "C"], [row["part"] for row in table])
    yield same("what is bought says so", "rule of the list", ["to buy: wheel 2 in", "to buy: dowel 1\u20444 in"], [by[p]["made of"] for p in "BC"])
    # The body, two wheels of 5/8, two washers of 1/16, 1/16 of play.
    length = F(3, 2) + 2 * F(5, 8) + 2 * F(1, 16) + F(1, 16)
    yield same(f"the axle is body + wheels + washers + play: {length} in", f"{TRADE}; Python's fractions", "2 15\u204416 in", by["C"]["cut to length"])
    holes = [F(1, 4) + F(1, 64), F(1, 4) + F(1, 32)]
    want = " to ".join(f"{h.numerator}\u2044{h.denominator} in" for h in holes)
    yield holds("its hole is the axle and 1/64 to 1/32 in", f"{TRADE}; Python's fractions", want, want in told["C"], told["C"])
    yield holds("nothing is cut of a wheel", "rule of the list", "no cut length", by["B"]["cut to length"] == "", by["B"]["cut to length"])


def proved(core):
    """A carcase's diagonals: 20 px are an inch."""
    for wide, high, want in ((32, 72, "78 13\u204416"), (36, 48, "60"), (30, 40, "50")):
        j = Job()
        j.picture(3000, 2250)
        j.place([(100, 100), (100 + 20 * wide, 100), (100 + 20 * wide, 100 + 20 * high), (100, 100 + 20 * high)], mark="outline", name="Carcase")
        long = j.place([(100, 2000), (1100, 2000)])
        j.build(long, "50")
        table = list(csv.DictReader(io.StringIO(core.table(j.intents).replace("\u00a0", " ").removeprefix("\ufeff"), newline="")))
        source = f"Pythagoras: the root of {wide} squared and {high} squared is {math.hypot(wide, high):.3f}"
        yield holds(f"a carcase of {high} × {wide} in is square by diagonals of {want}", source, want, f"both diagonals are {want} in" in table[0]["notes"], table[0]["notes"])


def printed(core, j):
    """The list on paper, read by an outside reader."""
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "list.pdf"
        answer = core.answers_raw([*j.intents, {"kind": "press", "make": "cutting-list", "pdf": str(file)}])
        pdf = pypdfium2.PdfDocument(file)
        words = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in pdf)
        count = len(pdf)
        pdf.close()
    yield same("as many pages as were planned", "PDFium", len(answer["plan"]["sheets"]), count)
    for what in ("Cutting list", "25 1\u20442 in", "eastern white pine", "thickness assumed, as A", "3\u20444 \u00d7 6 \u00d7 25 in", "Gloves off"):
        yield holds(f"the sheet says {what!r}", "PDFium", what, what in words, f"{len(words)} characters")
    yield holds("it doesn't say that it is full size", "PDFium", "no FULL SIZE", "FULL SIZE" not in words, "")
