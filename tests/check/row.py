"""One row of a check: what the core is compared with, and how it came out."""

import dataclasses
import math


@dataclasses.dataclass
class Row:
    """A comparison. `source` says where `expected` comes from; it is never the core itself."""

    name: str
    source: str
    expected: str
    got: str
    tolerance: str
    passed: bool


def shown(value):
    """A value as it stands in the table."""
    if isinstance(value, float):
        return f"{value:.7g}"
    return str(value)


def near(name, source, expected, got, tolerance):
    """Numbers, within an absolute tolerance; what isn't a number fails."""
    ok = isinstance(got, (int, float)) and math.isfinite(got) and abs(got - expected) <= tolerance
    return Row(name, source, shown(float(expected)), shown(got), f"± {tolerance:.2g}", ok)


def nearly(name, source, expected, got, share):
    """Numbers, within a share of the expected one."""
    row = near(name, source, expected, got, abs(expected) * share)
    row.tolerance = f"± {share * 100:.2g} %"
    return row


def same(name, source, expected, got):
    """Exactly the same."""
    return Row(name, source, shown(expected), shown(got), "exact", expected == got)


def within(name, source, low, high, got):
    """Between two bounds, both allowed."""
    ok = isinstance(got, (int, float)) and low <= got <= high
    return Row(name, source, f"{shown(low)} … {shown(high)}", shown(got), "range", ok)


def holds(name, source, expected, ok, got):
    """A statement in words that must be true; `got` says what was found."""
    return Row(name, source, expected, shown(got), "true", bool(ok))


def all_of(name, source, pairs, tolerance=0.0):
    """Many of a kind in one row: (what, expected, got). Shows the first that is off."""
    pairs = list(pairs)
    off = [p for p in pairs if not agrees(p[1], p[2], tolerance)]
    got = f"{len(pairs) - len(off)} of {len(pairs)}"
    if off:
        got += f"; {off[0][0]}: {shown(off[0][1])} came out {shown(off[0][2])}"
    limit = f"± {tolerance:.2g} each" if tolerance else "exact"
    return Row(name, source, f"{len(pairs)} of {len(pairs)}", got, limit, bool(pairs) and not off)


def agrees(expected, got, tolerance):
    """Whether two values are the same within a tolerance (numbers) or exactly (all else)."""
    if isinstance(expected, (int, float)) and isinstance(got, (int, float)):
        return abs(expected - got) <= tolerance
    return expected == got
