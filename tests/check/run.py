#!/usr/bin/env python3
"""Compares the core with things outside the project, a row each.

    run.py [AREA …] [--thorough] [--replay PATH]    rows, then "N passed, N failed"
    run.py [AREA …] --prove                         plants a fault in each area and shows that its rows turn red

--thorough makes 10,000 trials where 2,000 are usual.
"""

import argparse
import importlib
import pathlib
import sys
import traceback

HERE = pathlib.Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "demo")]

import core as door
from row import Row

# Monte Carlo trials a scene: usually, with --thorough, and where a planted fault only has to be seen.
USUAL, THOROUGH, PROVING = 2_000, 10_000, 250
AREAS = ("fraction", "scale", "ratio", "uncertainty", "rounding", "view", "aspect", "file", "edge", "outline", "sheet", "stick", "lens", "camera", "part", "layout")


def rows_of(area, core, trials):
    """An area's rows. What stops it short is a failed row of its own."""
    try:
        yield from importlib.import_module(f"areas.{area}").rows(core, trials)
    except Exception as stop:  # noqa: BLE001 - whatever it was, it belongs in the table
        where = traceback.extract_tb(stop.__traceback__)[-1]
        told = f"{type(stop).__name__}: {stop}"
        yield Row(f"{area} could not go on", f"{pathlib.Path(where.filename).name}:{where.lineno}", "no error", told, "", False)


def show(row):
    """One line of the table."""
    verdict = "passed" if row.passed else "FAILED"
    print(f"  {row.name} | {row.source} | {row.expected} | {row.got} | {row.tolerance} | {verdict}", flush=True)


def check(areas, core, trials):
    """Prints every row; gives how many passed and failed."""
    passed = failed = 0
    print("  name | source | expected | got | tolerance | verdict")
    for area in areas:
        print(f"{area}", flush=True)
        for row in rows_of(area, core, trials):
            show(row)
            passed, failed = passed + row.passed, failed + (not row.passed)
    print(f"{passed} passed, {failed} failed")
    return failed == 0 and passed > 0


def prove(areas, binary):
    """With a fault planted in an area some of its rows must turn red that are green without."""
    seen = 0
    for area in areas:
        well = list(rows_of(area, door.Core(binary), PROVING))
        ill = list(rows_of(area, door.Core(binary, fault=area), PROVING))
        red_before = {r.name for r in well if not r.passed}
        red = [r for r in ill if not r.passed and r.name not in red_before]
        print(f"{area}: {len(red)} of {len(well)} rows red", flush=True)
        for row in red[:2]:
            show(row)
        seen += bool(red)
    print(f"{seen} passed, {len(areas) - seen} failed")
    return seen == len(areas)


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("areas", nargs="*", metavar="AREA", help=", ".join(AREAS))
    p.add_argument("--prove", action="store_true")
    p.add_argument("--thorough", action="store_true")
    p.add_argument("--replay", help="a native door that is built already")
    a = p.parse_args()
    unknown = [area for area in a.areas if area not in AREAS]
    if unknown:
        p.error(f"no area {unknown[0]!r}; there are {', '.join(AREAS)}")
    areas = a.areas or AREAS
    binary = a.replay or door.build(fault=a.prove)
    sys.exit(0 if (prove(areas, binary) if a.prove else check(areas, door.Core(binary), THOROUGH if a.thorough else USUAL)) else 1)


if __name__ == "__main__":
    main()
