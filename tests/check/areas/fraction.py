"""Reading and writing lengths, against Python's fractions and Unicode's table of fraction characters."""

import math
from fractions import Fraction as F

from core import Job, Refused
from reference import INCH, inches, mixed, plain, vulgar_fractions
from row import all_of, holds, near, same

# The promised forms, each turned into an exact fraction by hand.
READ = [
    ("23 5/16", "inches", inches("23 5/16")),
    ("23-5/16", "inches", inches("23 5/16")),
    ("23 5\u204416", "inches", inches("23 5/16")),
    ("5' 3 1/2\"", "inches", inches("63 1/2")),
    ("5' 3-1/2\"", "inches", inches("63 1/2")),
    ("5\u2032 3\u00bd\u2033", "inches", inches("63 1/2")),
    ("5ft 3", "inches", inches("63")),
    ("5 ft 3 in", "millimetres", inches("63")),
    ("1 1/2 in", "millimetres", inches("1 1/2")),
    ("\u00bd", "inches", inches("1/2")),
    ("1\u00bd", "inches", inches("1 1/2")),
    ("14.5", "inches", inches("14 1/2")),
    ("14.5", "millimetres", F(29, 2)),
    ("368 mm", "inches", F(368)),
    ("36,8 cm", "inches", F(368)),
    ("1.2 m", "inches", F(1200)),
    ("3 63/64\"", "inches", inches("3 63/64")),
    ("\u00a014\u20091/2\u00a0in", "inches", inches("14 1/2")),
]

# Text, and the place of the first character that can't be part of a length.
REFUSED = [("23 5/x6", 5), ("12 in x", 6), ("1.2.3", 3), ("14 $", 3), ("1/0", 2), ("nan", 0), ("1e-9", 1), ("-3", 0)]


def reading(core):
    """Each promised form."""
    source = "Python fractions; 1 in = 25.4 mm (1959)"
    for style in ("inches", "millimetres"):
        wanted = [(text, value) for text, s, value in READ if s == style]
        for (text, value), got in zip(wanted, core.read_lengths([t for t, _ in wanted], style)):
            mm = got["mm"] if isinstance(got, dict) else f"refused: {got}"
            yield near(f"reads {text!r} ({style}), mm", source, float(value), mm, 1e-9)


def sweeps(core):
    """Many of a kind at once."""
    values = [F(n, 64) for n in range(1, 64 * 6 + 1)]
    texts = [plain(mixed(v)) for v in values]
    got = core.read_lengths(texts, "inches")
    pairs = [(t, float(v * INCH), g["mm"] if isinstance(g, dict) else str(g)) for t, v, g in zip(texts, values, got)]
    yield all_of("reads every 64th up to 6 in, mm", "Python fractions", pairs, 1e-9)
    signs = vulgar_fractions()
    got = core.read_lengths(["2" + sign for sign, _ in signs], "inches")
    pairs = [(s, float((2 + v) * INCH), g["mm"] if isinstance(g, dict) else str(g)) for (s, v), g in zip(signs, got)]
    yield all_of("reads every fraction character behind a 2, mm", "Unicode's numeric values (unicodedata)", pairs, 1e-9)


def written(core, style, values, step):
    """The finished figure of one mark for each wanted size."""
    job = Job()
    job.picture()
    mark = job.place([(100, 100), (1100, 100)])
    job.units(style, step)
    places = []
    for value in values:
        job.build(mark, float(value))
        places.append(job.here())
    return [scene.finished(mark).text for scene in core.play_at(job.intents, places)]


def writing(core):
    """Figures as they are set."""
    values = [F(n, 64) for n in range(1, 64 * 3 + 1)]
    got = written(core, "inches", [v * INCH for v in values], "1/64 in")
    yield all_of("writes every 64th up to 3 in, lowest terms", "Python fractions", [(str(v), mixed(v), g) for v, g in zip(values, got)])
    got = written(core, "feet-inches", [inches(t) for t in ("63 1/2", "12", "143 63/64", "6 1/4")], "1/64 in")
    wanted = ["5' 3 1/2\"", "1' 0\"", "11' 11 63/64\"", "6 1/4\""]
    yield all_of("writes feet and inches", "Python divmod; marks \u2032 and \u2033", [(w, w, plain(g)) for w, g in zip(wanted, got)])
    got = written(core, "millimetres", [F(7953, 10), F(368), F(1, 2)], "0.1 mm")
    yield all_of("writes mm", "decimal notation", [(w, w, g) for w, g in zip(("795.3", "368", "0.5"), (g.removesuffix(".0") for g in got))])
    got = written(core, "decimal-inches", [inches("23 5/16"), inches("1/8")], "0.001 in")
    yield all_of("writes decimal inches", "Python fractions: 23.3125 and 0.125 to three places", [(str(w), w, float(g)) for w, g in zip((23.313, 0.125), got)], 1e-12)


def refusals(core):
    """What is no length is refused, at its character."""
    source = "counted by hand"
    for (text, place), got in zip(REFUSED, core.read_lengths([t for t, _ in REFUSED], "inches")):
        if not isinstance(got, Refused):
            yield holds(f"refuses {text!r} at character {place}", source, "refused", False, got)
            continue
        first, end = got.at, None if got.at is None else got.at + max(got.len, 1)
        ok = first is not None and first <= place < end
        yield holds(f"refuses {text!r} at character {place}", source, f"points at {place}", ok, f"{first} … {end}: {got}")
    empty = ["", "   ", "0", "0/16", "1e12 mm", "9" * 70]
    got = core.read_lengths(empty, "inches")
    yield all_of("refuses nothing, zero and the absurd", "common practice, no source: none of these is a length", [(repr(t), True, isinstance(g, Refused)) for t, g in zip(empty, got)])
    same_word = {str(g) for g in got[:2]}
    yield same("nothing and blanks get the same words", "common practice, no source", 1, len(same_word))


# Captions: height, width, depth in mm.
CAPTIONS = [
    ("72 H x 32 W x 12 D", "inches", (72, 32, 12)),
    ('72" H \u00d7 32" W by 12" D', "millimetres", (72, 32, 12)),
    ("12 deep, 32 wide, 72 tall", "inches", (72, 32, 12)),
    ("6' 1 1/2\" H, 2' 8\" W, 12 D", "inches", (F(147, 2), 32, 12)),
    ("H 29-1/2 W 36 1/4", "inches", (F(59, 2), F(145, 4), None)),
    ("6 ft tall", "millimetres", (72, None, None)),
    ("H 182,88 x B 81,28 x T 30,48 cm", "inches", (72, 32, 12)),
    ("1828.8 hoch, 812.8 breit, 304.8 tief", "millimetres", (72, 32, 12)),
]
# What could be read in two ways, or not at all.
NO_CAPTION = ["72 x 32 x 12", "72 H x 32 H", "72 in H x 80 cm W x 12 D", "72 H x -32 W", "tall", "0 H", "72 Z"]


def kept(core, text, style):
    """What is offered in place of digits after a caption was typed: {extent: mm}; or the Refused."""
    job = Job()
    job.picture()
    job.units(style, "1/16 in" if style == "inches" else "1 mm")
    job.add("ask", about="caption")
    job.add("entry", text=text)
    job.add("accept", way="whole")
    mark = job.place([(100, 100), (100, 1100)])
    job.add("select", mark=mark)
    job.add("ask", about="length")
    answers = core.answers(job.intents)
    refused = next((a for a in answers if isinstance(a, Refused)), None)
    return refused or {c["id"]: c["intent"] for c in answers[-1].told["entry"]["choices"]}, job, mark


def captions(core):
    """Sizes of a caption, read and offered."""
    pairs = []
    for text, style, sizes in CAPTIONS:
        told, _, _ = kept(core, text, style)
        for name, size in zip(("height", "width", "depth"), sizes):
            got = told.get(f"caption-{name}") if isinstance(told, dict) else {"length": {"mm": str(told)}}
            want = "none" if size is None else float(size * INCH)
            pairs.append((f"{text}: {name}", want, "none" if got is None else got["length"]["mm"]))
    yield all_of("reads captions, in English and German, mm", "Python fractions; 1 in = 25.4 mm (1959)", pairs, 1e-9)
    bad = [(text, True, isinstance(kept(core, text, "inches")[0], Refused)) for text in NO_CAPTION]
    yield all_of("refuses captions that could mean two things", "by hand", bad)
    told, job, mark = kept(core, "72 H", "inches")
    job.intents.append(told["caption-height"])
    scene = core.play(job.intents)
    yield near("a caption's size, taken as a true length, mm", "1 in = 25.4 mm (1959)", 72 * 25.4, scene.real(mark).value, 1e-6)
    across = job.place([(100, 100), (100, 600)])
    half = core.play(job.intents).real(across).half
    ends = 1.96 * 1.8288 * 0.5 * math.sqrt(2) * math.hypot(1, 0.5)
    yield near("its ± is 1/4 in: of a mark half as long, every end put to 0.5 px, mm", "trade practice, no source; GUM 5.1.2 by Python", math.hypot(6.35 / 2, ends), half, 0.02)


def rows(core, trials=2_000):
    """Every row of this area."""
    yield from reading(core)
    yield from captions(core)
    yield from sweeps(core)
    yield from writing(core)
    yield from refusals(core)
