#!/usr/bin/env python3
"""Compares the core with things outside the project, a row each.

    run.py [AREA …] [--thorough] [--replay PATH]    rows, then "N passed, N failed"
    run.py [AREA …] --prove                         plants a fault in each area and shows that its rows turn red
    run.py [AREA …] --both                          the one after the other: the first of the rows that passed to turn red is enough

--thorough makes 10,000 trials where 2,000 are usual. As many areas are looked at side by side as there are processors.
"""

import argparse
import collections
import concurrent.futures
import importlib
import itertools
import os
import pathlib
import re
import sys
import traceback

# Each area is a process of its own: threads inside one would only stand in the other's way.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

HERE = pathlib.Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "demo")]

import core as door
from row import Row

# Monte Carlo trials a scene: usually, with --thorough, and where a planted fault only has to be seen.
USUAL, THOROUGH, PROVING = 2_000, 10_000, 250
AREAS = ("fraction", "scale", "ratio", "uncertainty", "rounding", "view", "aspect", "file", "edge", "outline", "sheet", "stick", "lens", "camera", "part", "box", "depth", "balance", "layout", "nook")
# What is planted where an area has no fault of its own: this.
FAULTS = {"nook": "uncertainty"}


def rows_of(area, core, trials):
    """An area's rows. What stops it short is a failed row of its own."""
    try:
        yield from importlib.import_module(f"areas.{area}").rows(core, trials)
    except Exception as stop:  # noqa: BLE001 - whatever it was, it belongs in the table
        where = traceback.extract_tb(stop.__traceback__)[-1]
        told = f"{type(stop).__name__}: {stop}"
        yield Row(f"{area} could not go on", f"{pathlib.Path(where.filename).name}:{where.lineno}", "no error", told, "", False)


# Where what is expected comes from: the first of these that a source's own words name. What names none is printed as it is.
SORTS = (
    ("from memory", r"from memory|\[memory\]"),
    ("common practice, no source", r"common practice"),
    ("a standard or a guide to it", r"JCGM|GUM|Guide|table H|\bISO|\bIEC|ANSI|ASME|\bPS 20|\bDIN|\bEN \d|CFR|RFC|Unicode|ECMA|W3C|SVG 1|PDF 1|agreement of 1959|\bNIST"),
    ("a handbook or a published table", r"[Hh]andbook|Wood Handbook|NACA|FPL|USDA|table|published"),
    ("a paper", r"\(\d{4}\)|\b(19|20)\d\d\b|Zhang & He|Hartley|MSR-TR|Birge|Holz"),
    ("open data", r"those who drew it|photograph|data ?set|instances|chessboard"),
    ("a reference library", r"OpenCV|numpy|scipy|shapely|skimage|scikit|uncertainties|reportlab|[Pp]ypdfium|PDFium|qpdf|hashlib|Pillow|jsonschema|fractions|Python|csv|zipfile|fontTools"),
    ("what went in, unchanged", r"^the (same|sizes before saving|file itself)"),
    ("by construction, or by hand", r"construct|script that draws it|planted|as given|as ordered|rule of the list|tangent|smooth|is empty|rusage|ru_maxrss|220 −|0\.61|notation|counted|× |\bis \d|holds \d|by hand|definition|computed|by eye|drawn|cos|sin|Pythagoras|arithmetic|aim|notes on methods|greedy"),
)


def sort_of(source):
    """Which sort of source a row has."""
    return next((name for name, words in SORTS if re.search(words, source)), f"other: {source}" if source.strip() else "none")


def sources(rows):
    """How many rows have which sort of source."""
    count = collections.Counter(sort_of(row.source) for row in rows)
    for name, many in sorted(count.items(), key=lambda item: -item[1]):
        print(f"  {many:4} rows: {name}")
    return count["none"] == 0


def show(row):
    """One line of the table."""
    verdict = "passed" if row.passed else "FAILED"
    print(f"  {row.name} | {row.source} | {row.expected} | {row.got} | {row.tolerance} | {verdict}", flush=True)


def side_by_side(work, areas):
    """What `work` makes of each area, in order, as each comes."""
    with concurrent.futures.ProcessPoolExecutor(os.cpu_count()) as pool:
        yield from zip(areas, pool.map(work, areas))


class Check:
    """An area's rows, all of them."""

    def __init__(self, binary, trials):
        self.binary, self.trials = binary, trials

    def __call__(self, area):
        return list(rows_of(area, door.Core(self.binary), self.trials))


class Prove:
    """How many rows an area has, and those that are red only while its fault is planted.

    `seen`: the rows of each area without a fault, where they were looked at already. `brief`: the first red one is enough.
    """

    def __init__(self, binary, seen=None, brief=False):
        self.binary, self.seen, self.brief = binary, seen or {}, brief

    def __call__(self, area):
        well = self.seen.get(area) or list(rows_of(area, door.Core(self.binary), PROVING))
        ill = rows_of(area, door.Core(self.binary, fault=FAULTS.get(area, area)), PROVING)
        # Some names tell how many trials there were.
        plain = lambda row: re.sub(r"[\d,]+", "#", row.name)  # noqa: E731
        passed = {plain(r) for r in well if r.passed}
        red = (r for r in ill if not r.passed and plain(r) in passed)
        return len(well), list(itertools.islice(red, 1)) if self.brief else list(red)


def check(areas, binary, trials, seen=None):
    """Prints every row; gives whether all passed. Puts the rows of each area into `seen`."""
    passed = failed = 0
    all_ = []
    print("  name | source | expected | got | tolerance | verdict")
    for area, rows in side_by_side(Check(binary, trials), areas):
        print(f"{area}", flush=True)
        if seen is not None:
            seen[area] = rows
        all_ += rows
        for row in rows:
            show(row)
            passed, failed = passed + row.passed, failed + (not row.passed)
    sourced = sources(all_)
    print(f"{passed} passed, {failed} failed")
    return failed == 0 and passed > 0 and sourced


def prove(areas, binary, seen=None, brief=False):
    """With a fault planted in an area some of its rows must turn red that are green without."""
    bitten = 0
    for area, (count, red) in side_by_side(Prove(binary, seen, brief), areas):
        print(f"{area}: {'a' if brief and red else len(red)} of {count} rows red", flush=True)
        for row in red[:2]:
            show(row)
        bitten += bool(red)
    print(f"{bitten} passed, {len(areas) - bitten} failed")
    return bitten == len(areas)


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("areas", nargs="*", metavar="AREA", help=", ".join(AREAS))
    p.add_argument("--prove", action="store_true")
    p.add_argument("--both", action="store_true")
    p.add_argument("--thorough", action="store_true")
    p.add_argument("--replay", help="a native door that is built already")
    a = p.parse_args()
    unknown = [area for area in a.areas if area not in AREAS]
    if unknown:
        p.error(f"no area {unknown[0]!r}; there are {', '.join(AREAS)}")
    areas = a.areas or AREAS
    seen, good = {}, True
    if a.both or not a.prove:
        good = check(areas, a.replay or door.build(), THOROUGH if a.thorough else USUAL, seen)
    if a.both or a.prove:
        good = prove(areas, (not a.both and a.replay) or door.build(fault=True), seen, brief=a.both) and good
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()
