"""Plays trials: a map is laid, every mark placed on it, and the scene read; many trials in one process of the core."""

import dataclasses
import hashlib
import json
import math

import numpy as np

from camera import SIZE
from core import Refused, Scene
from marks import MARKS
from maps import shake
from ruler import STEPS, Ruler

BATCH = 100
MOST = 1 / 14  # how often the truth may leave the ±
WARNS = ("ask", "warn")


@dataclasses.dataclass
class Trial:
    """What one trial gave, by the place of a mark in `marks`: each None where there is nothing.

    `ours`: Size; `others`, `hand`: numbers; `flags`: what was said of the mark. `notes`: (name, tone, text). `refused`: its key.
    """

    seed: int
    ours: list
    others: list
    hand: list
    flags: list
    notes: list
    refused: str = ""
    said: str = ""


def random(map_, seed):
    """A seed belongs to its map: another's order of draws changes nothing."""
    name = int.from_bytes(hashlib.sha256(map_.name.encode()).digest()[:4], "big")
    return np.random.default_rng([name, seed])


class Without:
    """Chance that is drawn and left out."""

    def __init__(self, rng):
        self.rng = rng

    def normal(self, *what):
        return 0 * self.rng.normal(*what)


def place(map_, seed, conditions, marks, alone, without=""):
    """Lays one trial. Gives its intents, and how its scene is read. `alone`: nobody else is asked. `without`: no errors in what is
    `given`, or none in the `clicks` of the marks."""
    rng = random(map_, seed)
    laid = map_.lay(Without(rng) if without == "given" else rng, **conditions)
    job, rng = laid.job, Without(rng) if without == "clicks" else rng
    clicks = [shake(rng, laid.see(m.places), laid.sigma) for m in marks]
    ids = [job.place(c, mark=m.kind, ends=m.ends) for m, c in zip(marks, clicks)]
    ruler = Ruler(SIZE[0], STEPS[seed % 2])
    ruler.know(*laid.known)

    def read(answers):
        said = [a["error"] for a in answers if "error" in a]
        if said:
            told = Refused(said[0])
            return Trial(seed, *([None] * len(marks) for _ in range(4)), [], told.key, str(told))
        scene = Scene(answers[-1])
        ours = [None if scene.gone_wrong(i) else sized(m, scene, i) for m, i in zip(marks, ids)]
        if alone:
            laid.plain = None
        others = [tried(lambda: m.of(laid.plain(c))) if laid.plain else None for m, c in zip(marks, clicks)]
        hand = [m.hand and not alone and tried(lambda: m.hand(ruler, c)) for m, c in zip(marks, clicks)]
        notes = [(n["id"], n["tone"], n["text"]) for n in scene.told["notes"]]
        return Trial(seed, ours, others, hand, [scene.row(i)["flags"] for i in ids], notes)

    return job.intents, read


def sized(mark, scene, number):
    """Its size, or None where it has none, as an outline too thin for an area."""
    try:
        return mark.read(scene, number)
    except StopIteration:
        return None


def tried(reckon):
    """A number, or None where the others' way breaks down."""
    try:
        got = float(reckon())
    except (ValueError, ZeroDivisionError, np.linalg.LinAlgError):
        return None
    return got if math.isfinite(got) else None


def run(core, map_, seeds, conditions=None, marks=MARKS, alone=False):
    """A trial for each seed."""
    conditions, out, seeds = conditions or map_.usual(), [], list(seeds)
    for first in range(0, len(seeds), BATCH):
        jobs = [place(map_, seed, conditions, marks, alone) for seed in seeds[first : first + BATCH]]
        lines = core.jobs([intents for intents, _ in jobs])
        out += [read(answers) for (_, read), answers in zip(jobs, lines)]
    return out


def warned(trial):
    """The names of questions and warnings, without the numbers of views and marks."""
    names = {"-".join(w for w in n.split("-") if not w.isdigit()) for n, tone, _ in trial.notes if tone in WARNS}
    return sorted(names)


def cause(core, map_, seed, at):
    """Where the error of a trial came from: it is laid again without either part of the errors."""
    apart = {}
    for part in ("given", "clicks"):
        intents, read = place(map_, seed, map_.usual(), MARKS, True, without=part)
        size = read(core.jobs([intents])[0]).ours[at]
        apart[part] = abs(size.value - MARKS[at].truth) if size else math.nan
    share = apart["given"] / max(apart["given"] + apart["clicks"], 1e-300)
    return "its clicks" if share > 0.67 else "what was given" if share < 0.33 else "both"


@dataclasses.dataclass
class Came:
    """What became of one size over many trials. Shares of the truth in per cent, but degrees for an angle."""

    count: int
    bias: float
    spread: float
    half: float
    covered: float
    worst: float
    seed: int
    others: float
    hand: float


def beyond(size, truth):
    """The error over the ±, on that side on which the truth lies."""
    return (size.value - truth) / size.minus if size.value > truth else (truth - size.value) / size.plus


def came(trials, at, mark):
    """How mark number `at` came out."""
    truth = mark.truth
    unit = math.radians(1) if mark.unit == "°" else truth / 100
    good = [(t, t.ours[at]) for t in trials if t.ours[at] is not None]
    if not good:
        return None
    error = np.array([s.value - truth for _, s in good])
    over = np.array([beyond(s, truth) for _, s in good])
    rms = lambda values: math.sqrt(np.mean([((v - truth) / unit) ** 2 for v in values])) if values else math.nan
    worst = int(np.argmax(over))
    return Came(
        len(good),
        float(error.mean() / unit),
        float(error.std() / unit),
        float(np.mean([s.half for _, s in good]) / unit),
        float((over <= 1).mean()),
        float(over[worst]),
        good[worst][0].seed,
        rms([t.others[at] for t in trials if t.others[at] is not None]),
        rms([t.hand[at] for t in trials if t.hand[at]]),
    )
