"""The worst valid scene of each map: a search over its conditions for where the truth leaves the stated ± most often.

Valid is what a person can do and what the page takes without a question or a warning: every place lies in the picture, nothing
is refused, the mark has no remark of its own. What is found is tried again on seeds that the search never saw.
"""

import dataclasses

import numpy as np

from camera import SIZE
from marks import MARKS
from trials import MOST, beyond, place, run, warned

# All marks together made smaller and moved on the thing: (usual, lowest, highest).
WHERE = {"size": (1.0, 0.1, 1.6), "x": (0.0, -300.0, 300.0), "y": (0.0, -150.0, 150.0)}
SEARCHED = [m for m in MARKS if m.kind != "outline"] + [m for m in MARKS if m.name in ("outline, area", "outline, way round")]


@dataclasses.dataclass
class Found:
    """What a scene came to: its worst mark, how often the truth was outside, of how many; `reach`: of the error over the ±, what
    one in fourteen exceeds."""

    conditions: dict
    mark: str = ""
    outside: int = 0
    of: int = 0
    reach: float = 0.0
    worst: float = 0.0
    said: tuple = ()

    @property
    def share(self):
        return self.outside / self.of if self.of else 0.0


def moved(conditions):
    """The marks at their places, and the map's own conditions."""
    size, x, y = (conditions[n] for n in WHERE)
    marks = [dataclasses.replace(m, places=m.places * size + (x, y)) for m in SEARCHED]
    return marks, {n: v for n, v in conditions.items() if n not in WHERE}


def within(map_, conditions):
    """Whether everything lies in the picture."""
    marks, own = moved(conditions)
    try:
        intents, _ = place(map_, 0, own, marks, True)
    except (ValueError, np.linalg.LinAlgError, OverflowError):
        return False
    at = [p for i in intents for name in ("points", "corners") if i["kind"] != "straight-edge" for p in i.get(name, [])]
    at = np.array(at)
    return bool(np.isfinite(at).all() and (at >= 0).all() and (at <= SIZE).all())


def look(core, map_, conditions, seeds, only=None):
    """What a scene comes to over seeds; `only` one mark."""
    marks, own = moved(conditions)
    marks = [m for m in marks if only in (None, m.name)]
    trials = run(core, map_, seeds, own, marks, alone=True)
    out = Found(conditions)
    silent = [t for t in trials if not t.refused and not warned(t)]
    said = sorted({w for t in trials for w in [t.refused, *warned(t)] if w})
    for at, mark in enumerate(marks):
        told = [(t.ours[at]) for t in silent if t.ours[at] is not None and not t.flags[at]]
        # Where the page mostly says something, the scene is not one that it takes without a word.
        if len(told) < len(trials) / 2:
            continue
        over = np.array([beyond(size, mark.truth) for size in told])
        reach = float(np.quantile(over, 1 - MOST))
        if reach > out.reach:
            out = Found(conditions, mark.name, int((over > 1).sum()), len(over), reach, float(over.max()), tuple(said))
    out.said = tuple(said)
    return out


def drawn(rng, space):
    """Conditions anywhere in the space; those that only grow are drawn by their logarithm."""
    out = {}
    for name, (_, low, high) in space.items():
        out[name] = float(np.exp(rng.uniform(np.log(low), np.log(high)))) if low > 0 else float(rng.uniform(low, high))
    return out


def near(rng, space, conditions, reach):
    """Conditions a little beside: some of them changed, by so much of their range."""
    out = dict(conditions)
    for name, (_, low, high) in space.items():
        if rng.random() < 0.5:
            out[name] = float(np.clip(out[name] + reach * (high - low) * rng.normal(), low, high))
    return out


def search(core, map_, scenes, seeds, fresh, seed=1):
    """The worst found, half as many times bettered as scenes were drawn, and tried anew on `fresh` seeds. Gives it, and how many scenes were
    looked at."""
    space, rng, looked = map_.space | WHERE, np.random.default_rng(seed), 0

    def valid(make):
        for _ in range(400):
            conditions = make()
            if within(map_, conditions):
                return conditions
        return map_.usual() | {n: u for n, (u, _, _) in WHERE.items()}

    found = []
    for _ in range(scenes):
        found.append(look(core, map_, valid(lambda: drawn(rng, space)), range(seeds)))
        looked += 1
    best = sorted(found, key=lambda f: -f.reach)[:3]
    for k in range(scenes // 2):
        i = k % len(best)
        tried = look(core, map_, valid(lambda: near(rng, space, best[i].conditions, 0.15 * 0.85 ** (k / 3))), range(seeds))
        looked += 1
        if tried.reach > best[i].reach:
            best[i] = tried
    again = [look(core, map_, f.conditions, range(10_000, 10_000 + fresh), f.mark) for f in best if f.mark]
    return max(again, key=lambda f: f.reach, default=None), looked
