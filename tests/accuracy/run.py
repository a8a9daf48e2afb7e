#!/usr/bin/env python3
"""The accuracy book: how far every mark on every map can be trusted, and where it can't.

    run.py            all of it: writes tests/accuracy.md and README.md's short table; exits 1 where a ± doesn't hold
    run.py --brief    fewer trials, only whether each ± holds; writes nothing
    run.py --trials N --scenes N --seeds N --fresh N --replay PATH
"""

import argparse
import concurrent.futures
import os
import pathlib
import sys

# Each map is a process of its own: threads inside one would only stand in the other's way.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

HERE = pathlib.Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "check")]

import core as door
from maps import MAPS
from marks import MARKS
from trials import MOST, came, cause, run

# Trials of a map, with --brief, and of a condition.
TRIALS, BRIEF, CONDITION = 2000, 1000, 100
# Of the search: scenes drawn for each map, seeds on which each is looked at, and fresh seeds on which the worst are tried again.
SCENES, SEEDS, FRESH = 120, 60, 2000


class Book:
    """What is reckoned for one map, in a process of its own."""

    def __init__(self, binary, trials, brief, search):
        self.binary, self.trials, self.brief, self.search = binary, trials, brief, search

    def table(self, number):
        """A map's rows: (mark's number, Came, cause)."""
        core, map_ = door.Core(self.binary), MAPS[number]
        trials = run(core, map_, range(self.trials), alone=self.brief)
        refused = [t for t in trials if t.refused]
        assert len(refused) * 100 <= len(trials), f"{map_.name}: {len(refused)} of {len(trials)} refused: {refused[0].said}"
        rows = [(i, came(trials, i, mark)) for i, mark in enumerate(MARKS)]
        return [(i, c, "" if self.brief else cause(core, map_, c.seed, i)) for i, c in rows]

    def worst(self, number):
        """The worst scene of a map that is taken without a word."""
        import worst

        return worst.search(door.Core(self.binary), MAPS[number], *self.search)


def in_turn(work, count):
    """What `work` makes of each number, in order, as each comes."""
    with concurrent.futures.ProcessPoolExecutor(os.cpu_count()) as pool:
        yield from pool.map(work, range(count))


def short_of(what, covered, count):
    """Prints whether the truth lay outside no more often than 1 in 14."""
    good = covered >= 1 - MOST
    print(f"  {what}: within ± {100 * covered:.1f} % of {count}{'' if good else ' FAILED: less than ' + format(100 * (1 - MOST), '.1f')}", flush=True)
    return good


def coverage(book):
    """Every map and mark; gives the tables, and how many rows passed and failed."""
    tables, passed, failed = [], 0, 0
    for map_, rows in zip(MAPS, in_turn(book.table, len(MAPS))):
        print(map_.name, flush=True)
        for i, c, _ in rows:
            good = short_of(MARKS[i].name, c.covered, c.count)
            passed, failed = passed + good, failed + (not good)
        tables.append((map_, [(MARKS[i], c, why) for i, c, why in rows]))
    return tables, passed, failed


def whole(book, tables):
    """The rest of the book; gives how many of the worst scenes passed and failed."""
    import boards
    import conditions
    from book import HEAD, boards_part, conditions_part, maps_part, worst_part, write

    print("the worst scenes, on fresh seeds", flush=True)
    found, looked, passed, failed = [], 0, 0, 0
    for map_, (one, count) in zip(MAPS, in_turn(book.worst, len(MAPS))):
        looked = count
        if one:
            found.append((map_, one))
            good = short_of(f"{map_.name}, {one.mark}", 1 - one.share, one.of)
            passed, failed = passed + good, failed + (not good)
    core = door.Core(book.binary)
    told = [conditions.look(core, c, CONDITION) for c in conditions.conditions()]
    ways = {
        way: [(camera, len(trials), [(m, came(trials, i, m), "") for i, m in enumerate(made)]) for camera, made, trials in parts]
        for way, parts in boards.run(core).items()
    }
    head = HEAD.format(count=book.trials, sigma=0.5)
    write([head, *maps_part(tables), *boards_part(ways), *conditions_part(told), *worst_part(found, looked, book.search[2])], tables)
    return passed, failed


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("--brief", action="store_true")
    p.add_argument("--trials", type=int)
    for name, usual in (("scenes", SCENES), ("seeds", SEEDS), ("fresh", FRESH)):
        p.add_argument(f"--{name}", type=int, default=usual)
    p.add_argument("--replay", help="a native door that is built already")
    a = p.parse_args()
    book = Book(a.replay or door.build(), a.trials or (BRIEF if a.brief else TRIALS), a.brief, (a.scenes, a.seeds, a.fresh))
    tables, passed, failed = coverage(book)
    if not a.brief:
        more = whole(book, tables)
        passed, failed = passed + more[0], failed + more[1]
    print(f"{passed} passed, {failed} failed")
    sys.exit(0 if failed == 0 and passed > 0 else 1)


if __name__ == "__main__":
    main()
