"""Writes the accuracy book: `tests/accuracy.md`, and the short table in README.md between its two markers."""

import math
import pathlib
import re

ROOT = pathlib.Path(__file__).resolve().parents[2]
BOOK = ROOT / "tests" / "accuracy.md"
README = ROOT / "README.md"
MARKERS = ("<!-- accuracy -->", "<!-- /accuracy -->")


def table(heads, rows):
    """A table; the first column to the left, the others to the right where they are figures."""
    line = lambda cells: "| " + " | ".join(str(c) for c in cells) + " |"
    return "\n".join([line(heads), "|---" + "|--:" * (len(heads) - 1) + "|", *map(line, rows)])


def figure(value, digits=3):
    """A number, or a dash where there is none."""
    return "–" if value is None or not math.isfinite(value) else f"{value:.{digits}f}"


def share(value):
    """A share, per cent."""
    return "–" if value is None or not math.isfinite(value) else f"{100 * value:.1f}"


HEADS = ("mark", "bias", "spread", "±", "within ±, %", "worst, ± = 1", "of seed", "came from", "others", "ruler")


def map_rows(rows):
    """A table of one map: (mark, Came, cause) each."""
    out = []
    for mark, c, cause in rows:
        unit = "°" if mark.unit == "°" else ""
        name = mark.name + (f", {unit}" if unit else "")
        out.append((name, figure(c.bias), figure(c.spread), figure(c.half), share(c.covered), figure(c.worst, 2), c.seed, cause, figure(c.others), figure(c.hand)))
    return table(HEADS, out)


def board_rows(rows):
    heads = tuple(h for h in HEADS if h != "came from")
    out = []
    for mark, c, _ in rows:
        name = mark.name + (", °" if mark.unit == "°" else "")
        out.append((name, figure(c.bias), figure(c.spread), figure(c.half), share(c.covered), figure(c.worst, 2), c.seed, figure(c.others), figure(c.hand)))
    return table(heads, out)


def shown(conditions):
    """Conditions in a line."""
    return ", ".join(f"{n} {v:.3g}" for n, v in conditions.items())


HEAD = """# How far the sizes can be trusted

Written by `scripts/accuracy`; nothing in it was typed. {count} trials for each map. In each trial a camera is drawn anew (its focal
length off by 3 % and its axis off the picture's middle by 1 % of the width, one standard deviation, which is what the core takes
cameras for), every click is off by {sigma} px, one standard deviation, and every length that is given by what its ± allows. The picture
has 4000 × 3000 px, the thing is about 600 × 300 mm. Pinhole cameras by OpenCV's projectPoints, noise by numpy, truth by construction.
`tests/accuracy/maps.py` and `marks.py` have the scenes; a seed and a map's name make a trial again.

Bias, spread (one standard deviation), ± (95 %, the mean of those stated) and the columns of others (root mean square) are per cent of the
true size; of angles, degrees. *Within ±*: how often the truth lay there; 95 is what is promised, and less than 92.9 (1 in 14 outside)
fails the script. *Worst*: the largest error, over the ± stated for it, and the seed that brought it; *came from*: whether the mark's own
clicks made that error, or what was given of the thing (its reference, and the camera), by trying that seed again with either left without
error. *Others*: the same clicks and lengths by OpenCV and numpy, as told at each map. *Ruler*: a person with the picture printed on Letter,
a ruler of 1/32 in or 0.5 mm, and a calculator whose factor is written down in two figures, each size by itself, no tilt undone. A point by
itself tells no size.
"""


def maps_part(tables):
    out = ["## Every map, every mark"]
    for map_, rows in tables:
        out += [f"### {map_.name[0].upper()}{map_.name[1:]}", f"Others: {map_.other}.", map_rows(rows)]
    return out


def boards_part(ways):
    out = [
        "## On real photographs",
        "Chessboards of OpenCV's documentation (Debian's opencv-doc), two cameras, 640 × 480 px, lenses that bend a good deal. The outer four "
        "inner corners are given as a rectangle of 200 × 125 mm; the others, as the core caught them, are the places of marks. The truth is the board as OpenCV "
        "(calibrateCameraRO) measures it with the *other* camera. Others: OpenCV's calibrateCamera on that camera's other photographs, undistortPoints, findHomography: "
        "it is told the lens; ours has only this one photograph. The columns are as above; the seed is the photograph's number.",
    ]
    for way, parts in ways.items():
        for camera, count, rows in parts:
            out += [f"### {way[0].upper()}{way[1:]}: {camera} camera, {count} photographs", board_rows(rows)]
    return out


def conditions_part(told):
    heads = ("condition", "its worst mark", "error, RMS, %", "±, %", "outside ±, %", "what the page says")
    rows = [(t.what, t.mark, figure(t.error, 2), figure(t.half, 2), share(t.outside), t.said or "nothing") for t in told]
    return ["## Where it can't be trusted", "Something is so that nobody told. What the page says where it says it in more than half of the trials.", table(heads, rows).replace("|--:|\n", "|---|\n", 1)]


def worst_part(found, looked, fresh):
    heads = ("map", "its worst mark", "outside ±, %", "of", "error over ± that 1 in 14 exceeds", "worst", "conditions", "said in some trials")
    rows = [(m.name, f.mark, share(f.share), f.of, figure(f.reach, 2), figure(f.worst, 2), shown(f.conditions), ", ".join(f.said) or "nothing") for m, f in found]
    return [
        "## The worst scenes that are taken without a word",
        f"Found by search (`tests/accuracy/worst.py`): {looked} scenes for each map, drawn at random and then bettered step by step, anything within the stated bounds "
        "of slant, distance, clicks, references, and size and place of the mark. Scenes in which the page refuses, asks or warns in most trials don't count; nor do trials in which it does. "
        f"The worst three were tried again on {fresh} seeds that the search had not seen; the table has the worst of these. More than 7.1 % outside (1 in 14) fails the script.",
        table(heads, rows).replace("|--:|\n", "|---|\n", 1),
    ]


def short(tables):
    """README's table: one line a map."""
    heads = ("scale from", "a length of 515 mm is off by, %", "OpenCV, numpy", "ruler", "truth within the stated ±, %, over all marks")
    rows = []
    for map_, marks in tables:
        by = {m.name: c for m, c, _ in marks}
        c = by["length"]
        low, high = min(c.covered for c in by.values()), max(c.covered for c in by.values())
        rows.append((map_.name, figure(math.hypot(c.bias, c.spread), 2), figure(c.others, 2), figure(c.hand, 1), f"{share(low)} … {share(high)}"))
    return table(heads, rows)


def write(parts, tables):
    """The book, and README's copy of its first table."""
    text = short(tables)
    body = [parts[0], "## In short", "Root mean square errors of the first mark; the rest stands below.", text, *parts[1:]]
    BOOK.write_text("\n\n".join(p.strip() for p in body) + "\n", encoding="utf-8")
    readme = README.read_text(encoding="utf-8")
    between = re.compile(re.escape(MARKERS[0]) + ".*?" + re.escape(MARKERS[1]), re.S)
    README.write_text(between.sub(lambda _: f"{MARKERS[0]}\n{text}\n{MARKERS[1]}", readme, count=1), encoding="utf-8")
