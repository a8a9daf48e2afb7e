"""Printed sheets, read back by PDFium and qpdf: sizes of pages, bars, outlines, joints, writing, pictures; and what is refused."""

import hashlib
import io
import json
import math
import pathlib
import re
import tempfile

import cv2
import numpy as np
import shapely
import wholejob
from PIL import Image, ImageOps

from core import Refused
from printed import Printed, bars, longest, match_marks, off_line, runs
from row import all_of, holds, near, same, within

INCH = 25.4
# ISO 216:2007; ANSI/ASME Y14.1 (A is Letter, B is Tabloid); Legal: common practice, no source.
SIZES = {
    "a4": (210, 297), "a3": (297, 420), "a2": (420, 594), "a1": (594, 841), "a0": (841, 1189),
    "letter": (8.5 * INCH, 11 * INCH), "tabloid": (11 * INCH, 17 * INCH), "ansi-c": (17 * INCH, 22 * INCH),
    "ansi-d": (22 * INCH, 34 * INCH), "ansi-e": (34 * INCH, 44 * INCH), "legal": (8.5 * INCH, 14 * INCH),
}


def ring(points):
    """A closed outline of straight pieces, as an order has it."""
    out = []
    for (ax, ay), (bx, by) in zip([points[-1], *points[:-1]], points):
        third = lambda t: [ax + (bx - ax) * t, ay + (by - ay) * t]
        out.append({"c1": third(1 / 3), "c2": third(2 / 3), "p": [bx, by], "corner": True, "straight": True})
    return out


def thickness(x, chord):
    """NACA 0012's half thickness at x (both in chords; NACA Report 460, 1933)."""
    return 0.6 * chord * (0.2969 * math.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)


def section(chord, n=400):
    """Points round NACA 0012, its nose at 0, y down."""
    xs = [(1 - math.cos(math.pi * i / n)) / 2 for i in range(n + 1)]
    return [(chord * x, -thickness(x, chord)) for x in xs] + [(chord * x, thickness(x, chord)) for x in xs[::-1]]


def pattern(points, name="Wing", letter="A", **more):
    """A part with this outline."""
    x, y = [p[0] for p in points], [p[1] for p in points]
    part = {
        "letter": letter, "name": name, "quantity": 1, "hand": "one", "outline": {"rings": [ring(points)]},
        "bounds": [min(x), min(y), max(x), max(y)], "margin": 8.0, "marks": [], "axis": None, "grain": None, "front": None,
        "up": None, "picture": None, "lines": [],
    }
    return {"pattern": {**part, **more}}


def box(w, h):
    return [(0, 0), (w, 0), (w, h), (0, h)]


def order(pieces, name="letter", **more):
    """An order of these pieces on this paper."""
    paper = {"name": name, "size": [0, 0], "margins": [6.35] * 4, "turn": "upright", "lap": 12.7, "printer": [1, 1]}
    paper.update({k: more.pop(k) for k in list(more) if k in (*paper, "shift", "printer_name", "allow_many")})
    base = {"job": "Marsh Hen", "date": "26 November 2026", "revision": 3, "style": "inches", "step": "1/16 in", "direction": "nearest"}
    return {**base, "paper": paper, "pieces": pieces, "words": [], **more}


class Shop:
    """Prints into a folder."""

    def __init__(self, core, folder):
        self.core, self.folder, self.count = core, pathlib.Path(folder), 0

    def print(self, what, pictures=None):
        """The answer and the file; raises when it is refused."""
        self.count += 1
        files = {"pdf": str(self.folder / f"{self.count}.pdf"), "svg": str(self.folder / f"{self.count}.svg")}
        line = {"kind": "press", "order": what, **files, "pictures": pictures or {}}
        told = json.loads(self.core.lines([line])[0])
        if "error" in told:
            raise Refused(told["error"])
        return told, Printed(files["pdf"])

    def refused(self, what):
        """Under what name it is refused, with the words; nothing when it isn't."""
        try:
            self.print(what)
        except Refused as no:
            return no.key, str(no)
        return "", ""


def pages(shop):
    """Sizes of pages, and what viewers are asked for."""
    small = [pattern(box(40, 30))]
    for name, (w, h) in SIZES.items():
        _, file = shop.print(order(small, name))
        (mw, mh), (tw, th) = file.boxes()
        source = "ISO 216" if name[0] == "a" and name[1].isdigit() else "common practice" if name == "legal" else "ANSI/ASME Y14.1"
        yield all_of(f"page of {name}, MediaBox and TrimBox, mm", source, [("width", w, mw), ("height", h, mh), ("trim", w, tw), ("trim", h, th)], 0.001)
    _, lying = shop.print(order(small, "a3", turn="lying"))
    yield all_of("A3 lying", "ISO 216, sides changed", [("width", 420, lying.boxes()[0][0]), ("height", 297, lying.boxes()[0][1])], 0.001)
    _, custom = shop.print(order(small, "custom", size=[333.3, 222.2], turn="lying"))
    yield all_of("a size of one's own", "as ordered", [("width", 333.3, custom.boxes()[0][0]), ("height", 222.2, custom.boxes()[0][1])], 0.001)
    told, roll = shop.print(order([pattern(box(1500, 300))], "roll", size=[610, 0], turn="fewest"))
    w, h = roll.boxes()[0]
    yield holds("1.5 m on a roll 610 wide: one sheet, 610 wide, no longer than it must be", "by hand", "610 × 1516 … 1600", len(roll) == 1 and abs(w - 610) < 1e-3 and 1516 <= h < 1600, f"{len(roll)}: {w:.1f} × {h:.1f}")
    objects = roll.catalog()
    root = next(o["value"] for o in objects.values() if isinstance(o.get("value"), dict) and o["value"].get("/Type") == "/Catalog")
    asked = {k: root["/ViewerPreferences"].get(k) for k in ("/PrintScaling", "/Enforce", "/PickTrayByPDFSize", "/Duplex")}
    yield same("viewers are asked not to scale", "ISO 32000-2, 12.2", {"/PrintScaling": "/None", "/Enforce": ["/PrintScaling"], "/PickTrayByPDFSize": True, "/Duplex": "/Simplex"}, asked)
    fonts = [o["value"] for o in objects.values() if isinstance(o.get("value"), dict) and o["value"].get("/Type") == "/FontDescriptor"]
    yield holds("every font is embedded and a subset", "ISO 32000-1, 9.9", "FontFile2, a tag of six letters", fonts and all("/FontFile2" in f and re.match(r"/[A-Z]{6}\+", f["/FontName"]) for f in fonts), [f["/FontName"] for f in fonts])


def many(shop):
    """A set of several parts: labels, bookmarks, the same bytes."""
    what = order([pattern(section(700), "Wing"), pattern(box(90, 60), "Fin", "B"), pattern(box(70, 50), "Rudder", "C")], "a4")
    told, file = shop.print(what)
    _, again = shop.print(what)
    digest = lambda f: hashlib.sha256(pathlib.Path(f.path).read_bytes()).hexdigest()
    yield same("qpdf --check finds nothing", "qpdf", "", file.sound())
    yield same("the same order gives the same bytes", "hashlib sha256", digest(file), digest(again))
    names = [s["name"] for s in told["plan"]["sheets"]]
    yield same("page labels are the sheets' names", "PDFium", names, [file.pdf.get_page_label(i) for i in range(len(file))])
    marks = [(b.get_title(), b.get_dest().get_index()) for b in file.pdf.get_toc()]
    first = lambda part: next(i for i, n in enumerate(names) if part in n)
    yield same("a bookmark for each part, at its first sheet", "PDFium", [(first(p), True) for p in ("Wing", "Fin", "Rudder")], [(at, p in title) for p, (title, at) in zip(("Wing", "Fin", "Rudder"), marks)])
    yield same("the title is the job's name", "PDFium", "Marsh Hen", file.pdf.get_metadata_value("Title"))
    yield same("two small parts share a sheet", "by hand", (first("Fin"), 1), (first("Rudder"), len(names) - first("Fin")))
    for i in (0, len(file) - 1):
        said = file.text(i)
        due = [names[i], "FULL SIZE", "Print at 100 %", "Marsh Hen", "26 November 2026", "revision 3", f"sheet {i + 1} of {len(file)}", "6 in", "150 mm"]
        plain = lambda t: re.sub(r"\s+", " ", t)
        yield same(f"sheet {i + 1} says all it must", "text extracted by PDFium", [], [d for d in due if plain(d) not in plain(said)])


def measured(shop):
    """Check bars on pixels."""
    for name, turn in (("letter", "upright"), ("a4", "upright"), ("a4", "lying"), ("tabloid", "upright")):
        _, file = shop.print(order([pattern(box(120, 90))], name, turn=turn))
        for way, (inches, mm) in zip(("across", "down"), bars(file.pixels())):
            yield all_of(f"bars {way} on {name} {turn}, measured at 600 dpi, mm", "6 in and 150 mm", [("6 in", 152.4, inches), ("150 mm", 150.0, mm)], 0.05)
    what = order([pattern(box(120, 90))], "letter", printer=[0.98, 1.015], printer_name="bench printer")
    _, file = shop.print(what)
    got = bars(file.pixels())
    yield all_of("with a printer that makes 0.98 and 1.015 of 1 the bars are drawn so that they come out right", "152.4 / 0.98, 152.4 / 1.015", [("across", 152.4, got[0][0] * 0.98), ("down", 152.4, got[1][0] * 1.015)], 0.05)
    yield holds("and every sheet says so", "text extracted by PDFium", "bench printer, 98.00, 101.50", all(t in file.text() for t in ("bench printer", "98.00", "101.50")), file.text()[-200:])
    yield all_of("but the page is as it was", "ANSI/ASME Y14.1", [("width", 8.5 * INCH, file.boxes()[0][0]), ("height", 11 * INCH, file.boxes()[0][1])], 0.001)
    small, file = shop.print(order([pattern(box(40, 30))], "custom", size=[110, 140]))
    yield holds("a small sheet has a shorter bar and says its true figure", "text extracted by PDFium", "2 in and 50 mm", "2 in" in file.text() and "50 mm" in file.text(), file.text()[-120:])


def forty_eight(shop):
    """trade.md's own case: at 97 % a 48 in pattern is 46 9/16."""
    width = lambda file: float(np.ptp(longest(file.paths())[:, 0]))
    points = [(48 * INCH * i / 40, 0) for i in range(41)] + [(48 * INCH, 200), (0, 200)]
    what = lambda printer: order([pattern(points)], "roll", size=[400, 0], turn="fewest", printer=printer)
    span = lambda file: float(np.ptp(longest(file.paths()), axis=0).max())
    _, plain = shop.print(what([1, 1]))
    _, mended = shop.print(what([0.97, 0.97]))
    yield near("48 in printed at 97 % measures 46 9/16, in", "48 × 0.97 to the nearest 1/16", 46.5625, round(span(plain) * 0.97 / INCH * 16) / 16, 0)
    yield near("48 in corrected for 97 % measures, mm", "48 × 25.4", 48 * INCH, span(mended) * 0.97, 0.001)


def outlines(shop):
    """NACA 0012 at 300 mm chord, and one that takes several sheets."""
    _, file = shop.print(order([pattern(section(300))], "a3", turn="lying"))
    drawn = longest(file.paths())
    nose = np.array([drawn[:, 0].min(), drawn[np.argmin(drawn[:, 0]), 1]])
    off = [abs(abs(y - nose[1]) - thickness(min(max((x - nose[0]) / 300, 0), 1), 300)) for x, y in drawn]
    yield near("NACA 0012 at 300 mm, read from the file's own operators: farthest off, mm", "NACA Report 460", 0, max(off), 0.001)
    xs = [(1 - math.cos(math.pi * i / 150)) / 2 for i in range(1, 150)]
    points, normals = [], []
    for x in xs:
        slope = (thickness(x + 1e-6, 300) - thickness(x - 1e-6, 300)) / 6e-4
        for side in (-1, 1):
            points.append(nose + [300 * x, side * thickness(x, 300)])
            normals.append(np.array([-slope, side]) / math.hypot(slope, 1))
    # The tail's blunt end and its two sides come together within 1 mm of one another.
    kept = [i for i, p in enumerate(points) if 2 < p[0] - nose[0] < 285 or abs(p[0] - nose[0]) <= 2]
    away = off_line(file.pixels(), [points[i] for i in kept], [normals[i] for i in kept], reach=0.5)
    yield near("and on its pixels at 600 dpi: farthest off, mm", "NACA Report 460", 0, float(np.abs(away).max()), 0.05)


def joined(shop):
    """Sheets put together by their match marks alone."""
    told, file = shop.print(order([pattern(section(900))], "letter"))
    n = len(file)
    marks = [match_marks(file.paths(i)) for i in range(n)]
    half = 8.5 * INCH / 2
    place, residual, shapes, breaks = [np.zeros(2)], 0.0, [], 0.0
    dark = [file.pixels(i, 300) for i in range(n)]
    for i in range(n - 1):
        right = sorted((m for m in marks[i] if m[1] > half), key=lambda m: m[2])
        left = sorted((m for m in marks[i + 1] if m[1] < half), key=lambda m: m[2])
        shapes.append(([m[0] for m in right], [m[0] for m in left]))
        a, b = np.array([m[1:] for m in right]), np.array([m[1:] for m in left])
        move = (a - b).mean(axis=0)
        residual = max(residual, float(np.abs(a - b - move).max()))
        place.append(place[-1] + move)
        # Between the words in the lap and its end all that is drawn stands on both sheets, at the same height.
        px, at = 300 / INCH, right[0][1] + 9.0
        room = int((11 * INCH - 6.35 - 29) * px)
        one, other = np.array(runs(dark[i][:room, int(at * px)])), np.array(runs(dark[i + 1][:room, int((at - move[0]) * px)]))
        breaks = max(breaks, float(np.abs(one - other - move[1] * px).max()) / px) if len(one) == len(other) >= 2 else math.inf
    yield holds("a 900 mm wing takes several Letter sheets, two or more unlike match marks at each joint, the same on both", "by hand", "≥ 2 unlike", n > 3 and all(len(a) >= 2 and len(set(a)) == len(a) and a == b for a, b in shapes), shapes)
    yield near("marks of neighbours fit one another: worst, mm", "the same marks on both", 0, residual, 0.001)
    yield near("the outline goes on across every joint, on pixels: worst break, mm", "one line", 0, breaks, 0.05)
    outline = [longest(file.paths(i)) + place[i] for i in range(n)]
    whole = max(float(np.abs(o - outline[0]).max()) for o in outline[1:])
    yield near("placed by their marks all sheets give the one outline: worst, mm", "the first sheet's", 0, whole, 0.001)
    # The nose as the first sheet shows it, the tail as the last does.
    ends = outline[-1][:, 0].max() - outline[0][:, 0].min()
    yield near("from nose to tail over all sheets, mm", "900 mm chord", 900, float(ends), 0.002)
    said = file.text(0)
    yield holds("the length to check from A to B is said, and no longer than the set", "text extracted by PDFium", "A to B … 35 in", "A to B" in said and "35 in" in said, re.findall(r"A to B[^\n\r]*", said))
    yield same("sheets are named by row and column", "trade usage: never A1, A2", [f"row 1, column {i + 1}" for i in range(n)], [re.search(r"row \d+, column \d+$", s["name"])[0] for s in told["plan"]["sheets"]])
    grid, file = shop.print(order([pattern(box(700, 600))], "a4"))
    whole = grid["plan"]["wholes"][0]
    rows, columns = len(whole["joints"][1]) + 1, len(whole["joints"][0]) + 1
    yield same("sheets of a grid", "rows × columns", rows * columns, len(file))
    every = [match_marks(file.paths(i)) for i in range(len(file))]
    count = 2 * (rows * (columns - 1) + columns * (rows - 1))
    yield holds("every joint of a grid has two marks or more, each on both its sheets", "2 joints a pair", f"≥ {2 * count}", sum(map(len, every)) >= 2 * count, sum(map(len, every)))


def holes(shop):
    """Joints and drill centres; the sheets moved by hand."""
    plain, _ = shop.print(order([pattern(box(380, 120))], "letter"))
    joints = plain["plan"]["wholes"][0]["joints"][0]
    gaps = []
    for x in range(100, 150, 5):
        hole = {"number": 1, "text": "", "shape": {"round": {"centre": [x, 60], "radius": 5.0, "drilled": True}}}
        _, file = shop.print(order([pattern(box(380, 120), marks=[hole])], "letter"))
        for page in range(len(file)):
            paths = file.paths(page)
            # Joints run as far as the part is high; the bar down is 6 in.
            upright = [p[0][1] for p in paths if len(p) == 2 and abs(p[0][1] - p[1][1]) < 1e-4 and 110 < abs(p[0][2] - p[1][2]) < 150]
            rounds = [[q[1] for q in p] for p in paths if abs(np.ptp([q[1] for q in p]) - 10) < 0.01 and abs(np.ptp([q[2] for q in p]) - 10) < 0.01]
            gaps += [abs(line - (min(r) + max(r)) / 2) for line in upright for r in rounds]
    yield within("ten places of a hole 10 mm wide: nearest joint to its middle, mm", "its radius, 5", 5.0, 400.0, min(gaps, default=0.0))
    shifted, _ = shop.print(order([pattern(box(380, 120))], "letter", shift=[[5, 0]]))
    yield near("sheets moved 5 mm by hand: the joint moves, mm", "as ordered", joints[0] + 5, shifted["plan"]["wholes"][0]["joints"][0][0], 1e-9)


def pictures(shop):
    """Edges in the picture layer, on pixels."""
    paint = np.full((800, 1000), 230, np.uint8)
    paint[200:600, 300:700] = 30
    file = shop.folder / "square.png"
    Image.fromarray(paint).save(file)
    side = box(250, 200)
    for ink in ("grey", "lines"):
        under = {"picture": 1, "size": [1000, 800], "map": [[0.25, 0, 0], [0, 0.25, 0], [0, 0, 1]], "ink": ink}
        _, out = shop.print(order([pattern(side, picture=under)], "a3"), {"1": str(file)})
        yield edges(out, f"a square's edges in the picture, {ink}: farthest off, mm", [75, 175], [50, 150])
    # The same seen askew: OpenCV's whole-number pixel centres are half a pixel from ours.
    seen = np.float32([[40, 30], [930, 90], [960, 770], [20, 720]])
    true = np.float32([[0, 0], [250, 0], [250, 200], [0, 200]])
    to_mm = cv2.getPerspectiveTransform(seen, true)
    half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]])
    scaled = np.diag([4.0, 4.0, 1.0])
    fine = cv2.warpPerspective(paint, half @ np.linalg.inv(scaled @ to_mm) @ np.linalg.inv(half), (1000, 800), flags=cv2.INTER_AREA, borderValue=230)
    tilted = shop.folder / "tilted.png"
    Image.fromarray(fine).save(tilted)
    under = {"picture": 1, "size": [1000, 800], "map": to_mm.tolist(), "ink": "grey"}
    _, out = shop.print(order([pattern(side, picture=under)], "a2"), {"1": str(tilted)})
    yield edges(out, "the same from a picture taken askew: farthest off, mm", [75, 175], [50, 150], 0.1)


def first_corner(out, size=250):
    """The upper left corner of a board so many mm wide, mm on its sheet."""
    return longest([p for p in out.paths() if len(p) in (4, 5) and abs(np.ptp([q[1] for q in p]) - size) < 0.01]).min(axis=0)


def edges(out, name, xs, ys, limit=0.05, size=250):
    """Where a dark square's four sides lie, against the outline's own corner."""
    corner = first_corner(out, size)
    dark, px = out.pixels(), 600 / INCH
    off = []
    for axis, wanted in enumerate((xs, ys)):
        other = (ys, xs)[axis]
        across = np.mean([dark_line(dark, axis, int((corner[1 - axis] + other[0] + share) * px)) for share in np.linspace(12, 30, 40)], axis=0)
        for at in wanted:
            middle = int((corner[axis] + at) * px)
            piece = across[middle - 24 : middle + 24]
            level = (piece.min() + piece.max()) / 2
            rising = piece[-1] > piece[0]
            k = next(i for i in range(47) if (piece[i] < level) != (piece[i + 1] < level))
            cross = k + (level - piece[k]) / (piece[k + 1] - piece[k]) + 0.5
            off.append(abs((middle - 24 + cross) / px - corner[axis] - at))
            assert rising == (at == wanted[0])
    return near(name, "where it was painted", 0, max(off), limit)


def dark_line(dark, axis, at):
    return dark[at] if axis == 0 else dark[:, at]


def reused(shop):
    """A grey JPEG's own data in the PDF, where the picture lies evenly."""
    paint = np.full((800, 1000), 230, np.uint8)
    paint[200:600, 300:700] = 30
    file = shop.folder / "grey.jpg"
    tags = Image.Exif()
    tags[0x010E] = "a secret place"
    Image.fromarray(paint).save(file, quality=92, exif=tags)

    def made(paper, map_, **more):
        """The sheets, and how often the picture's own data and what the camera added stand in the file."""
        under = {"picture": 1, "size": [1000, 800], "map": map_, "ink": "grey"}
        shop.told, out = shop.print(order([pattern(box(250, 200), picture=under)], paper, turn="fewest", **more), {"1": str(file)})
        data, raw = file.read_bytes(), pathlib.Path(out.path).read_bytes()
        return out, (raw.count(data[data.index(b"\xff\xda") :]), raw.count(b"secret"))

    level = [[0.25, 0, 0], [0, 0.25, 0], [0, 0, 1]]
    out, counts = made("a3", level)
    yield edges(out, "a square's edges in a grey JPEG used as it is: farthest off, mm", [75, 175], [50, 150])
    yield same("such a file stands in the PDF from its scan on, once, without what a camera added", "the JPEG's own bytes", (1, 0), counts)
    _, askew = made("a3", [*level[:2], [1e-9, 0, 1]])
    yield same("one that is foreshortened, by however little, is made anew", "the JPEG's own bytes", (0, 0), askew)
    for name, (sheets, _) in {"used as it is": (out, 0), "made anew": made("a3", [*level[:2], [1e-9, 0, 1]])}.items():
        corner = first_corner(sheets)
        tone = lambda x, y: 255 * (1 - float(np.median(sheets.pixels(0, 100)[tuple(slice(int((corner[i] + v) * 100 / INCH), int((corner[i] + v + 8) * 100 / INCH)) for i, v in ((1, y), (0, x)))])))
        yield all_of(f"tones of one {name}, of 255", "half as dark: 255 − (255 − v)·128/255", [("30", 255 - 225 * 128 / 255, tone(82, 58)), ("230", 255 - 25 * 128 / 255, tone(30, 30))], 1.5)
    several, counts = made("a5", level)
    yield same("over several sheets too it stands there once, and qpdf --check finds nothing", "the JPEG's own bytes; qpdf", (True, (1, 0), ""), (len(several) > 1, counts, several.sound()))
    turned, counts = made("roll", level, size=[250, 0])
    plan = shop.told["plan"]
    yield same("on sheets that it is turned for as well", "the JPEG's own bytes", (True, (1, 0)), (plan["wholes"][0]["turned"], counts))
    yield edges(turned, "there the square's edges lie where they should: farthest off, mm", [50, 150], [75, 175], size=200)
    # Turned by 1°, PDFium would put it 0.2 mm off.
    c, s = 0.25 * math.cos(math.radians(1)), 0.25 * math.sin(math.radians(1))
    yield same("one that lies askew is made anew", "the JPEG's own bytes", (0, 0), made("a3", [[c, -s, 0], [s, c, 0], [0, 0, 1]])[1])


def scene(wide, high):
    """A picture in colours, with a dark square a quarter of the way in, both ways."""
    rng = np.random.default_rng(7)
    soft = cv2.resize(rng.uniform(90, 255, (9, 12, 3)), (wide, high), interpolation=cv2.INTER_CUBIC) + rng.normal(0, 4, (high, wide, 3))
    paint = np.clip(soft, 0, 255).astype(np.uint8)
    paint[200:600, 300:700] = (40, 20, 60)
    return Image.fromarray(paint)


def embedded(out):
    """The one JPEG in a file, and what is said of its colours."""
    raw = pathlib.Path(out.path).read_bytes()
    heads = re.findall(rb"/Subtype/Image[^>]*?/ColorSpace(/\w+)", raw)
    start = raw.index(b"\xff\xd8\xff")
    return raw[start : raw.index(b"\nendstream", start)], [h.decode() for h in heads]


def coloured(shop):
    """The luminance of a JPEG in colours, as it was coded, in the PDF."""
    level = [[0.25, 0, 0], [0, 0.25, 0], [0, 0, 1]]
    file = shop.folder / "colour.jpg"

    def made(picture, size, map_=level, **how):
        picture.save(file, **how)
        under = {"picture": 1, "size": list(size), "map": map_, "ink": "grey"}
        return shop.print(order([pattern(box(250, 200), picture=under)], "a3", turn="fewest"), {"1": str(file)})[1]

    for name, size, how in (
        ("4:4:4", (1000, 800), {"subsampling": 0}), ("4:2:2, with codes of its own", (1000, 800), {"subsampling": 1, "optimize": True}),
        ("4:2:0, of no whole blocks", (997, 793), {"subsampling": 2}), ("progressive, 4:2:0, of no whole blocks", (997, 793), {"subsampling": 2, "progressive": True}),
        ("that begins again every 7 blocks", (1000, 800), {"subsampling": 2, "restart_marker_blocks": 7}), ("progressive, that begins again every row", (1000, 800), {"progressive": True, "restart_marker_rows": 1}),
    ):
        out = made(scene(*size), size, quality=85, **how)
        data, colours = embedded(out)
        with Image.open(file) as reference, Image.open(io.BytesIO(data)) as got:
            reference.draft("L", size)
            kinds = (got.mode, reference.mode, got.size)
            worst = int(np.abs(np.asarray(got, int) - np.asarray(reference, int)).max()) if kinds == ("L", "L", size) else kinds
        yield same(f"a JPEG in colours, {name}: its pixels in the PDF less those of its luminance, greatest", "libjpeg's own luminance, by Pillow", 0, worst)
        yield holds(f"{name}: it is one grey picture, smaller than the file was", "by hand", "1 × DeviceGray, fewer bytes", colours == ["/DeviceGray"] and len(data) < file.stat().st_size and not out.sound(), f"{colours}, {len(data)} of {file.stat().st_size}")
    yield edges(made(scene(1000, 800), (1000, 800), quality=85), "a square's edges in a JPEG in colours: farthest off, mm", [75, 175], [50, 150])
    worst = []
    for way in range(1, 9):
        tags = Image.Exif()
        tags[0x0112] = way
        upright = scene(1000, 800)
        # Stored so that its way up undoes it; each but two of the eight is its own inverse.
        undo = {2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM, 5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE, 8: Image.Transpose.ROTATE_270}
        out = made(upright.transpose(undo[way]) if way > 1 else upright, (1000, 800), quality=85, exif=tags)
        with Image.open(file) as stored:
            turned = ImageOps.exif_transpose(stored)
        _, colours = embedded(out)
        row = edges(out, "", [75, 175], [50, 150])
        # What stands in its corners tells each way from its mirror image.
        corner, dark = first_corner(out), out.pixels(0, 100)
        at = lambda x, y: float(np.median(dark[tuple(slice(int((corner[i] + v) * 100 / INCH), int((corner[i] + v + 6) * 100 / INCH)) for i, v in ((1, y), (0, x)))]))
        grey = np.asarray(turned.convert("L"), float)
        off = max(abs(at(x, y) - (1 - np.median(grey[int(y * 4) : int(y * 4) + 24, int(x * 4) : int(x * 4) + 24]) / 255) * 128 / 255) for x, y in ((10, 10), (230, 10), (10, 180), (230, 180)))
        worst.append((way, float(row.got), off, len(colours)))
    yield holds("each of the eight ways up that a camera writes: the square's edges lie where they should, and each corner's tone in its corner", "Pillow's exif_transpose", "edges ≤ 0.05 mm, tones ≤ 3 of 255, one picture", all(e <= 0.05 and t <= 3 / 255 and n == 1 for _, e, t, n in worst), [(w, round(e, 3), round(t * 255, 1)) for w, e, t, _ in worst])
    plain = scene(1000, 800)
    plain.save(file, quality=85, keep_rgb=True)
    under = {"picture": 1, "size": [1000, 800], "map": level, "ink": "grey"}
    _, out = shop.print(order([pattern(box(250, 200), picture=under)], "a3", turn="fewest"), {"1": str(file)})
    data, _ = embedded(out)
    yield holds("one of red, green and blue has no luminance of its own: made anew", "Pillow, keep_rgb", "another size", Image.open(io.BytesIO(data)).size != (1000, 800), Image.open(io.BytesIO(data)).size)


def empties(shop):
    """Sheets on which nothing lies."""
    # A bow 40 mm wide over 700 × 500 mm, open at its foot.
    arc = lambda r: [(350 - r * math.cos(t), 480 - r * math.sin(t)) for t in np.linspace(0, math.pi, 90)]
    bow = [*arc(340), *arc(300)[::-1]]
    for paper, part in (("a4", pattern(bow)), ("a3", pattern(bow)), ("a4", pattern(bow, picture={"picture": 1, "size": [100, 100], "map": [[8, 0, 0], [0, 8, 0], [0, 0, 1]], "ink": "grey"}))):
        told, file = shop.print(order([part], paper), {})
        whole, shows = told["plan"]["wholes"][0], [s["shows"][0] for s in told["plan"]["sheets"]]
        rows, columns = len(whole["joints"][1]) + 1, len(whole["joints"][0]) + 1
        made = {(s["row"], s["column"]) for s in shows}
        out = {tuple(place) for place in whole["left_out"]}
        # Where the bow lies on the whole: it has room of 8 mm round it.
        low = np.min(bow, axis=0)
        shape = shapely.geometry.Polygon(np.array(bow) - low + 8.0)
        joints = [[0, *j, size] for j, size in zip(whole["joints"], whole["size"])]
        cell = lambda r, c: shapely.geometry.box(joints[0][c], joints[1][r], joints[0][c + 1], joints[1][r + 1])
        places = [(r, c) for r in range(rows) for c in range(columns)]
        missing = [p for p in places if p not in made and shape.intersects(cell(*p))]
        spare = [p for p in made if not shape.buffer(8.0 if part["pattern"]["picture"] else 0.1).intersects(shapely.geometry.box(*next(s["window"] for s in shows if (s["row"], s["column"]) == p)))]
        with_it = " with its picture" if part["pattern"]["picture"] else ""
        name = f"a bow of 700 mm on {paper}{with_it}"
        yield same(f"{name}: no sheet that the outline touches is left out", "shapely", [], missing)
        written = [s["row"] for s in shows if (s["row"], s["column"]) in spare]
        yield holds(f"{name}: sheets are left out, and none is made that has nothing but its writing", "shapely", "≥ 1 left out", len(out) >= 1 and made | out == set(places) and len(spare) <= 2, f"{len(out)} of {len(places)} left out; {len(spare)} beyond the outline, in rows {written}")
        yield same(f"{name}: as many pages as are counted on them", "PDFium", (len(made), True), (len(file), f"sheet {len(file)} of {len(file)}" in file.text(len(file) - 1)))
        said = " ".join(file.text(i) for i in range(len(file)))
        names = {(int(a) - 1, int(b) - 1) for a, b in re.findall(r"row (\d+),? column (\d+)", re.sub(r"\s+", " ", said))}
        yield same(f"{name}: no sheet speaks of one that isn't made", "text extracted by PDFium", [], sorted(names - made))
        ends = whole["assembled"]
        on = [any(l - 1e-6 <= x <= r + 1e-6 and t - 1e-6 <= y <= b + 1e-6 for l, t, r, b in (s["window"] for s in shows)) for x, y in ends]
        axis = 0 if ends[0][1] == ends[1][1] else 1
        line = whole["straight"][axis]
        crossed = [p for p in places if cell(*p).intersects(shapely.geometry.LineString(ends))]
        yield holds(f"{name}: A and B stand on sheets that are made, and so does the straight line between them", "shapely", "both, on a row of made sheets", all(on) and all(p in made for p in crossed) and abs(ends[0][1 - axis] - line) < 1e-9, f"{on}, over {crossed}")
        marks = [match_marks(file.paths(i)) for i in range(len(file))]
        pairs = sum((r, c + 1) in made for r, c in made) + sum((r + 1, c) in made for r, c in made)
        yield holds(f"{name}: every joint of two sheets has two marks or more, and there are no others", "by hand", f"{pairs} joints", 2 * pairs <= len(whole["matches"]) <= 3 * pairs and sum(map(len, marks)) >= 4 * pairs, f"{len(whole['matches'])} marks, {sum(map(len, marks))} drawn")


def names(shop):
    """Names of all kinds."""
    letters = {"Greek": "Πτέρυγα Ωδή", "Cyrillic": "Крыло Жёлудь", "Latin": "Vængur Łódź ệ ş ő", "figures": "31 5⁄16 in"}
    for script, name in letters.items():
        told, file = shop.print(order([pattern(box(150, 90), name)], "letter"))
        said = file.text().replace("\u2215", "⁄").replace("\u2044", "⁄")
        yield holds(f"a name in {script} can be read back", "text extracted by PDFium", name, name in said and not told["remarks"], said[:60])
    told, file = shop.print(order([pattern(box(150, 90), "כנף")], "letter"))
    yield holds("right-to-left letters, which the type has not: a sheet and a notice", "by hand", "a remark that names them", len(file) == 1 and any("כ" in r for r in told["remarks"]), told["remarks"])
    told, file = shop.print(order([pattern(box(150, 90), "Fl\u0007ap\u202e\n\u0000s")], "letter"))
    yield holds("control characters and marks of direction never reach the sheet", "text extracted by PDFium", "Fl ap s", "Fl ap s" in file.text() and not file.sound() and not re.search("[\u0000-\u0008\u202a-\u202e]", file.text() + file.pdf.get_page_label(0)), file.text()[:30])
    told, file = shop.print(order([pattern(box(150, 90), "Hen " * 125)], "letter"))
    widest = max(x for x in runs(file.pixels(0, 100).max(axis=0)))
    yield holds("a name of 500 letters is shortened and stays on the sheet", "text extracted by PDFium", "… and within 8.5 in", "…" in file.text() and widest < 8.4 * 100 and not file.sound(), f"{widest / 100:.2f} in")


def as_svg(shop):
    """The whole as SVG."""
    shop.print(order([pattern(section(300))], "a3"))
    text = (shop.folder / f"{shop.count}.svg").read_text()
    head = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d.]+) ([\d.]+)"', text)
    yield holds("an SVG's unit is a mm", "SVG 1.1, 7.7", "width and height in mm, viewBox as many", head and head.groups()[:2] == head.groups()[2:], head and head.groups())
    runs_ = [np.array(re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", d), float) for d in re.findall(r' d="([^"]+)"', text)]
    drawn = max(runs_, key=len)
    yield near("a chord of 300 in it, mm", "as ordered", 300, float(np.ptp(drawn[:, 0])), 0.001)


def bad(shop):
    """What is refused, in words."""
    good = box(100, 80)
    cases = [
        ("an outline without area", order([pattern([(0, 0), (100, 0), (50, 0)])]), "sheet.no-area"),
        ("an outline that crosses itself", order([pattern([(0, 0), (100, 80), (100, 0), (0, 90)])]), "sheet.crossing"),
        ("a finished size of 40 m", order([pattern(box(40_000, 80))]), "sheet.too-long"),
        ("a finished size of 50 m", order([pattern(box(50_000, 80))]), "sheet.too-long"),
        ("an outline of size 0", order([pattern(box(0, 0))]), "sheet.no-area"),
        ("a view of size 0", order([pattern(box(0, 0), outline=None)]), "sheet.no-area"),
        ("a paper that isn't known", order([pattern(good)], "foolscap"), "sheet.paper-unknown"),
        ("paper smaller than its margins", order([pattern(good)], "a4", margins=[120, 6, 120, 6]), "sheet.paper-small"),
        ("paper of no size", order([pattern(good)], "custom", size=[0, 100]), "sheet.paper-size"),
        ("a margin below 0", order([pattern(good)], "a4", margins=[-1, 6, 6, 6]), "sheet.margins"),
        ("a lap of half the sheet", order([pattern(good)], "a4", lap=150), "sheet.lap"),
        ("a printer 10 % off", order([pattern(good)], "a4", printer=[0.9, 1]), "sheet.printer"),
        ("nothing ordered", order([], "a4"), "sheet.nothing"),
    ]
    for name, what, key in cases:
        got, words = shop.refused(what)
        yield holds(f"{name} is refused in words", "by hand", key, got == key and len(words) > 30 and "{" not in words, f"{got}: {words[:50]}")
    picture = {"kind": "add-picture", "name": "a.png", "width": 900, "height": 700, "digest": "a"}
    part = {"kind": "place", "picture": 1, "mark": "outline", "points": [[100, 100], [500, 100], [500, 300]]}
    target = shop.folder / "none.pdf"
    told = json.loads(shop.core.lines([picture, part, {"kind": "press", "pdf": str(target)}])[-1]).get("error", {})
    yield holds("an outline without a true length: words, and no file", "by hand", "job.no-patterns", told.get("key") == "job.no-patterns" and "true length" in told["text"] and not target.exists(), f"{told.get('key')}: {told.get('text', '')[:90]}")
    huge = order([pattern(box(6000, 5000))], "letter")
    got, words = shop.refused(huge)
    count = int((re.findall(r"\d+", words) or [0])[0])
    least = math.ceil(6016 / (8.5 * INCH)) * math.ceil(5016 / (11 * INCH))
    yield holds("over 400 sheets are refused, and it says how many", "more than the bare area takes", f"> {least}", got == "sheet.many" and count > least > 400, words[:60])
    told, file = shop.print({**huge, "paper": {**huge["paper"], "allow_many": True}})
    yield same("asked for on purpose they are made, as many as were said", "PDFium", count, len(file))


def printers(shop):
    """What a bar's measure says of a printer."""
    cases = [
        ("199 of 200 is fine", 199, False, 0.995), ("202 of 200 is fine", 202, False, 1.01),
        ("196 of 200 is doubted", 196, False, "printer.off"), ("unless this printer always does so", 196, True, 0.98),
        ("Letter fitted to A4 is named", 200 * 210 / 215.9, False, "printer.letter-on-a4"),
        ("A4 fitted to Letter is named", 200 * 279.4 / 297, False, "printer.a4-on-letter"),
        ("and refused whatever is said, being over 5 % off", 200 * 279.4 / 297, True, "printer.a4-on-letter"),
        ("212 of 200 is refused whatever is said", 212, True, "printer.far-off"), ("0 is no length", 0, True, "printer.not-a-length"),
    ]
    lines = [{"kind": "printer", "measured": m, "drawn": 200.0, "always": a} for _, m, a, _ in cases]
    for (name, _, _, expected), line in zip(cases, shop.core.lines(lines)):
        told = json.loads(line)
        got = told.get("factor", told.get("error", {}).get("key"))
        yield holds(f"printer: {name}", "ratios of ISO 216 and ANSI sizes", expected, got == expected or (isinstance(got, float) and abs(got - expected) < 1e-12), got)


def test_sheet(shop):
    """The sheet by which a printer is measured."""
    told, file = shop.print(order(["test"], "letter", printer=[0.98, 0.98]))
    lines = [p for p in file.paths() if len(p) == 2]
    across = max(abs(p[0][1] - p[1][1]) for p in lines)
    down = max(abs(p[0][2] - p[1][2]) for p in lines)
    yield near("the test sheet's bar across, mm: uncorrected, whole inches", "7 in", 7 * INCH, across, 0.001)
    yield near("and down, mm", "8 in", 8 * INCH, down, 0.001)
    said = file.text()
    yield holds("it says how long they were drawn", "text extracted by PDFium", "7 in, 8 in", "7 in" in said and "8 in" in said, said[:80])


def rows(core, trials):
    """All rows. `trials` says only for how many seeds the whole job is done: where a planted fault has to be seen, two do."""
    with tempfile.TemporaryDirectory() as folder:
        shop = Shop(core, folder)
        for part in (pages, many, measured, forty_eight, outlines, joined, holes, empties, pictures, reused, coloured, names, as_svg, bad, printers, test_sheet):
            for row in part(shop):
                # What was extracted may have line breaks.
                row.got = re.sub(r"\s+", " ", row.got)
                yield row
        yield from wholejob.rows(core, folder, wholejob.SEEDS if trials >= 1_000 else 2)
