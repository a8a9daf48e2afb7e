"""Balance: areas and their centres, what wood weighs, whether a vane faces the wind and hangs level, propellers: against shapely,
closed forms of NACA sections, the Wood Handbook's density formula, moments summed in fractions, and trials in numpy."""

import re
from fractions import Fraction as F

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon

from core import Job
from row import all_of, holds, near, nearly, same, within

SHAPELY = "shapely {}, union and centroid".format(shapely.__version__)
NACA = "NACA Report 460 (1933), the thickness formula, integrated term by term"
HANDBOOK = "Wood Handbook (USDA FPL): 1000·G·(1 + M/100)"
MEMORY = "rule of the trade, from memory, no source"
HAND = "moments summed by hand, in Python's fractions"
# Specific gravity at 12 %; all but yellow-poplar's from memory.
GRAVITY = {"yellow-poplar": 0.42, "sugar-maple": 0.63, "red-oak": 0.63, "white-pine": 0.35, "red-cedar": 0.32}
# Thickness of the NACA four-digit sections: coefficients and powers of x.
TERMS = [(0.2969, F(1, 2)), (-0.1260, F(1)), (-0.3516, F(2)), (0.2843, F(3)), (-0.1015, F(4))]


def rows(core, trials):
    """All of them."""
    yield from outlines(core)
    yield from unions(core)
    yield from sections(core)
    yield from wood(core)
    yield from vanes(core, trials)
    yield from propellers(core)
    yield from told(core)


def rings_of(shape):
    """A polygon as the core is given it: its outer ring and its holes, each without its first place again."""
    return [list(map(list, ring.coords[:-1])) for ring in [shape.exterior, *shape.interiors]]


def blob(rng, n=40, size=100.0):
    """A closed outline that doesn't cross itself, as a hand might trace it: never nearer to its middle than 0.35 of its size."""
    turns = 2 * np.pi * (np.arange(n) + rng.random(n)) / n
    radii = size * (0.35 + 0.65 * rng.random(n))
    at = rng.uniform(-3000, 3000, 2)
    return Polygon(np.column_stack([at[0] + radii * np.cos(turns), at[1] + radii * np.sin(turns)]))


def off_by(core, groups):
    """Of many groups of shapes: shapely's area and centre against the core's."""
    got = core.parts([{"region": [rings_of(s) for s in group]} for group in groups])
    out = []
    for i, (group, g) in enumerate(zip(groups, got)):
        want = shapely.union_all(group)
        out.append((f"{i} area", 1.0, g["area"] / want.area))
        size = np.sqrt(want.area)
        out += [(f"{i} centre {k}", 0.0, (g["centre"][k] - c) / size) for k, c in enumerate((want.centroid.x, want.centroid.y))]
    return out


def outlines(core):
    """Fifty outlines by themselves, holes, and the same through the whole program."""
    rng = np.random.default_rng(7)
    shapes = [blob(rng, n) for n in (3, 5, 12, 40, 200) for _ in range(10)]
    yield same("how many outlines", "shapely says each is valid", 50, sum(s.is_valid for s in shapes))
    pairs = off_by(core, [[s] for s in shapes])
    yield all_of("area of 50 outlines, of shapely's", SHAPELY, [p for p in pairs if "area" in p[0]], 1e-9)
    yield all_of("centre of 50 outlines, off shapely's by so much of its size", SHAPELY, [p for p in pairs if "centre" in p[0]], 1e-9)
    holed = []
    for s in shapes[20:40]:
        c = s.centroid
        hole = affinity.scale(Polygon(c.buffer(15, 6).exterior), 1.0, 0.5, origin=c)
        holed.append(s.difference(hole))
    holed = [s for s in holed if s.geom_type == "Polygon" and s.interiors]
    yield all_of(f"area and centre of {len(holed)} outlines with holes", SHAPELY, off_by(core, [[s] for s in holed]), 1e-9)
    j, want = Job(), []
    j.picture(resolution=[254, 254])
    for i, s in enumerate(shapes[10:30]):
        c = s.centroid
        s = affinity.translate(affinity.scale(s, 2, 2, origin=c), 400 + 700 * (i % 5) - c.x, 350 + 600 * (i // 5) - c.y)
        j.place(s.exterior.coords[:-1], mark="outline")
        want.append(s)
    long = j.place([(100, 2900), (1100, 2900)])
    j.build(long, 500)
    scene = core.last(j.intents).told
    sizes = {row["id"]: {m["label"]: m["size"]["value"] for m in row["more"]} for row in scene["rows"]}
    pairs = []
    for i, s in enumerate(want):
        area = next(v for k, v in sizes[i + 1].items() if "area" in k)
        pairs.append((str(i), 1.0, area / (s.area / 4)))
    # The length built by is read less what the noise of its ends adds to it, σ²/L: a millionth of the area here.
    yield all_of("area of 20 outlines through the whole program, at half of a mm a px", SHAPELY, pairs, 2e-6)


def unions(core):
    """What lies over one another counts once."""
    rng = np.random.default_rng(8)
    groups = []
    while len(groups) < 30:
        group = [affinity.translate(s, *(rng.uniform(-80, 80, 2) - [s.centroid.x, s.centroid.y])) for s in (blob(rng, 25) for _ in range(2 + len(groups) % 3))]
        whole = shapely.union_all(group)
        if whole.area < sum(s.area for s in group) - 1:
            groups.append(group)
    pairs = off_by(core, groups)
    yield all_of("30 groups of 2 to 4 outlines over one another: area", SHAPELY, [p for p in pairs if "area" in p[0]], 1e-7)
    yield all_of("and its centre", SHAPELY, [p for p in pairs if "centre" in p[0]], 1e-7)
    square = Polygon([(0, 0), (40, 0), (40, 30), (0, 30)])
    beside = affinity.translate(square, 40, 0)
    touching = [[square, beside], [square, square], [square, affinity.translate(square, 20, 0)], [square, affinity.scale(square, 0.5, 0.5, origin=(0, 0))]]
    yield all_of("boards that share an edge, a place, a corner", SHAPELY, off_by(core, touching), 1e-9)


def naca(thick, n):
    """A section of chord 1 as a ring of straight lines, denser towards the nose."""
    x = (1 - np.cos(np.linspace(0, np.pi, n))) / 2
    y = 5 * thick * sum(c * x ** float(p) for c, p in TERMS)
    return np.vstack([np.column_stack([x, y]), np.column_stack([x, -y])[-1:0:-1]])


def sections(core):
    """Areas and centres of NACA sections."""
    for thick in (0.06, 0.12, 0.18, 0.24):
        got = core.parts([{"region": [[naca(thick, 4001).tolist()]]}])[0]
        area = 2 * 5 * thick * sum(c / float(p + 1) for c, p in TERMS)
        moment = 2 * 5 * thick * sum(c / float(p + 2) for c, p in TERMS)
        name = f"NACA 00{thick * 100:02.0f}"
        yield nearly(f"{name}: area", NACA, area, got["area"], 2e-6)
        yield nearly(f"{name}: centre along the chord", NACA, moment / area, got["centre"][0], 2e-6)
    yield near("NACA 0012: area", "NACA Report 460, 0.082210 c² (computed)", 0.082210, core.parts([{"region": [[naca(0.12, 4001).tolist()]]}])[0]["area"], 1e-6)


def wood(core):
    """What pieces weigh, and how well that is known."""
    for name, g in GRAVITY.items():
        for moisture, area, thick, count in ((12.0, 40_000.0, 19.05, 1), (8.0, 12_345.0, 6.35, 2)):
            got = core.parts([{"piece": dict(species=name, moisture=moisture, area=area, thickness=thick, count=count)}])[0]
            want = 1000 * g * (1 + moisture / 100) * area * thick * count * 1e-9
            yield nearly(f"{count} of {area:g} mm² × {thick} mm of {name} at {moisture:g} %, kg", HANDBOOK, want, got[0], 1e-12)
    yield near("the ± of a weight, of the weight", "Wood Handbook: specific gravity differs by 10 % (one SD), from memory; 1.96 SD", 0.196, got[1] / got[0], 1e-3)


def in_fractions(pieces, pivot, ends, front_first):
    """Lever, share, balance and what to add, by the moments."""
    area, kg = sum(p[0] for p in pieces), sum(p[2] for p in pieces)
    way = 1 if front_first else -1
    lever = way * (sum(p[0] * p[1] for p in pieces) / area - pivot)
    behind = way * (sum(p[2] * p[1] for p in pieces) / kg - pivot)
    nose, tail = ends if front_first else ends[::-1]
    end = nose if behind > 0 else tail
    return lever, lever / (ends[1] - ends[0]), behind, kg * abs(behind) / abs(end - pivot)


# Area (mm²), place along the body (mm), kg; then the pivot, the ends, and whether the front is where places are least.
VANES = {
    "a body with a fin": ([(30_000, 300, F(3, 10)), (10_000, 550, F(1, 10))], 180, (0, 600), True),
    "the same seen from its other side": ([(30_000, 300, F(3, 10)), (10_000, 50, F(1, 10))], 420, (0, 600), False),
    "a fin too small": ([(30_000, 300, F(3, 10)), (2_000, 580, F(1, 50))], 290, (0, 600), True),
    "its weight ahead": ([(25_000, 200, F(1, 2)), (15_000, 560, F(1, 20))], 260, (0, 620), True),
}


def vanes(core, trials):
    """Levers, what to move, and how well it is known."""
    for name, (pieces, pivot, ends, first) in VANES.items():
        ask = {"pieces": [[float(v) for v in p] for p in pieces], "pivot": pivot, "ends": ends, "front_first": first, "u": 0.5}
        got = core.parts([{"vane": ask}])[0]
        lever, share, behind, add = in_fractions(pieces, pivot, ends, first)
        faces, hangs = got["faces"], got["hangs"]
        yield near(f"{name}: centre of the side behind the pivot, mm", HAND, float(lever), faces["lever"][0], 1e-9)
        yield near(f"{name}: balances behind the pivot, mm", HAND, float(behind), hangs["behind"][0], 1e-9)
        yield near(f"{name}: to add at the lighter end, kg", HAND, float(add), hangs["add"], 1e-12)
        yield same(f"{name}: whether the pivot is to go forward", MEMORY + ": 15 % behind", bool(share < F(15, 100)), faces["forward"] is not None)
        if faces["forward"] is not None:
            ask["pivot"] = pivot - faces["forward"] * (1 if first else -1)
            again = core.parts([{"vane": ask}])[0]["faces"]
            yield near(f"{name}: with the pivot moved so far it is 15 % behind", HAND, 0.15, float(in_fractions(pieces, F(ask["pivot"]), ends, first)[1]), 1e-9)
            yield same(f"{name}: and nothing more is asked", MEMORY, True, again["forward"] is None or again["forward"] < 1e-9)
    rng, (pieces, pivot, ends, first) = np.random.default_rng(9), VANES["a body with a fin"]
    ask = {"pieces": [[float(v) for v in p] for p in pieces], "pivot": pivot, "ends": ends, "front_first": first, "u": 0.5}
    half = core.parts([{"vane": ask}])[0]["faces"]["lever"][1]
    a = np.array([[float(v) for v in p] for p in pieces])
    spread = [np.dot(a[:, 0], a[:, 1] + rng.normal(0, 0.5, len(a))) / a[:, 0].sum() - pivot - rng.normal(0, 0.5) for _ in range(10 * trials)]
    yield nearly("the ± of a lever: 1.96 SD of its trials, places ± 0.5 mm", "trials in numpy", 1.96 * float(np.std(spread)), half, 0.03)


def propellers(core):
    """The stick is what a blade lies in from corner to corner."""
    for across, blades, width, angle, count, length in [(300, 2, 50, 30, 1, 300), (240, 4, 36, 45, 2, 240), (300, 3, 40, 40, 3, 150)]:
        p = dict(across=across, blades=blades, width=width, angle=angle, bore=3.175, clockwise=True)
        got = core.parts([{"propeller": p}])[0]
        stick = got["stick"]
        name = f"{blades} blades {width} mm wide at {angle}°"
        yield near(f"{name}: diagonal of the stick", "Pythagoras", width, float(np.hypot(stick["width"], stick["thickness"])), 1e-9)
        yield near(f"{name}: slope of the diagonal", "tangent of the angle", float(np.tan(np.radians(angle))), stick["thickness"] / stick["width"], 1e-12)
        yield same(f"{name}: sticks and their length", MEMORY, (count, length), (stick["count"], stick["length"]))
        turns = np.linspace(0, 2 * np.pi, 100_000, endpoint=False)
        mean = np.mean(sum(np.abs(np.cos(turns + 2 * np.pi * k / blades)) for k in range(blades))) * width * across / 2 * np.sin(np.radians(angle))
        yield nearly(f"{name}: what a wind from the side meets, on the mean of a turn", "summed over a turn in numpy", float(mean), got["side"], 1e-6)
    for bad, key in [({"blades": 1}, "propeller.blades"), ({"angle": 0}, "propeller.angle"), ({"bore": 99}, "propeller.bore"), ({"width": 0}, "propeller.size")]:
        got = core.part_refused({"propeller": dict(across=300, blades=2, width=50, angle=30, bore=3, clockwise=True) | bad})
        yield same(f"{bad} is refused", "by construction: no propeller can be so", key, got)


def told(core):
    """What is said of a whole job: 40 px an inch, a body of 20 × 2 in with a fin of 4 × 5 in over its end."""
    j = Job()
    j.picture(resolution=[254, 254])
    body, fin = Polygon([(500, 1000), (1300, 1000), (1300, 1080), (500, 1080)]), Polygon([(1140, 880), (1300, 880), (1300, 1080), (1140, 1080)])
    for s, name in ((body, "Body"), (fin, "Fin")):
        j.place(s.exterior.coords[:-1], mark="outline", name=name)
    j.build(j.place([(500, 1400), (1500, 1400)]), "25")
    pivot = j.place([(740, 1040)], mark="point", name="pivot")
    j.add("set-part", mark=1, choice={"made": {"goods": "softwood", "stock": "1", "species": "white-pine"}})
    j.add("set-vane", vane={"pivot": pivot})
    j.add("go", step="lists")
    scene = core.last(j.intents).told
    lines = next(s["lines"] for s in scene["lists"]["sections"] if s["id"] == "vane")
    words = " ".join(line["text"] for line in lines).replace("\u00a0", " ")
    side = body.union(fin)
    share = (side.centroid.x - 740) / 800
    got = re.search(r"behind the pivot, (\d+) % of the length", words)
    yield near("the whole job: share of the length behind the pivot, to a whole %", SHAPELY, 100 * share, float(got.group(1)) if got else "not said", 0.5)
    drawn = {d["label"]: d["at"] for d in scene["drawn"]}
    yield near("where the side's centre is drawn, px across", SHAPELY, side.centroid.x, drawn["centre of side"][0], 1e-3)
    yield near("and down", SHAPELY, side.centroid.y, drawn["centre of side"][1], 1e-3)
    both = (body.area * body.centroid.x + fin.area * fin.centroid.x) / (body.area + fin.area)
    yield near("where it balances is drawn, px across: two boards of one stock", "shapely, moments by hand", both, drawn["balance point"][0], 1e-3)
    kg = (body.area + fin.area) * (25.4 / 40) ** 2 * 19.05 * 1000 * 0.35 * 1.12 * 1e-9
    got = re.search(r"comes to ([\d.]+) oz", words)
    yield near("what it weighs, ounces, as told", HANDBOOK + "; an ounce is 0.45359237/16 kg", kg / 0.45359237 * 16, float(got.group(1)) if got else "not said", 0.5)
    yield holds("it will face the wind", MEMORY, "It will face the wind", "It will face the wind" in words, words[:60])
    yield within("lines said", "none is empty", 5, 12, len([line for line in lines if line]))
