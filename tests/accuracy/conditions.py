"""Conditions in which a stated ± can't be believed, or is wide: what each does to a mark, and what the page says.

In each, something is otherwise than was told; the core isn't told of it.
"""

import dataclasses

import numpy as np

import maps
from areas.lens import bowed
from camera import MIDDLE, SIZE, Plane, frame
from maps import MAPS, Laid, Map
from marks import MARKS
from trials import beyond, run

LENGTHS = [m for m in MARKS if m.name in ("length", "path", "gap")]


@dataclasses.dataclass
class Condition:
    """What is so, on which map, and how it is laid."""

    what: str
    map: Map
    conditions: dict
    marks: list = dataclasses.field(default_factory=lambda: LENGTHS)


def named(name):
    return next(m for m in MAPS if m.name == name)


def usual(name, **other):
    """A map with some of its conditions otherwise."""
    map_ = named(name)
    return map_, map_.usual() | other


def changed(name, change, **other):
    """A map whose trials are changed once they are laid."""
    map_, conditions = usual(name, **other)
    return dataclasses.replace(map_, lay=lambda rng, **how: change(map_.lay(rng, **how))), conditions


def unseen_slant(degrees):
    """Taken as seen square-on, and turned."""
    def lay(rng, sigma, share, pm):
        plane, job = Plane((degrees, 0.0, 0.0), far=(0.0, 0.0, 900.0)), maps.begun(sigma)
        two = maps.line(share, 90.0)
        return Laid(job, plane.seen, sigma, maps.know(job, rng, plane.seen(two), float(np.hypot(*(two[1] - two[0]))), pm, sigma))

    return Map(f"turned by {degrees:g}°", lay, {}, ""), {"sigma": 0.5, "share": 0.4, "pm": 0.5}


def bend_left(amount):
    """A rectangle behind a lens of which nothing is told."""
    def lay(rng, sigma, **pose):
        true, _ = maps.slant(rng, told=False, **pose)
        see, job = lambda p: bowed(np.asarray(true.seen(p)), SIZE, (amount, 0, 0, 0)), maps.begun(sigma)
        corners, sides = maps.shake(rng, see(frame(600, 300)), sigma), (maps.side(rng, 600.0), maps.side(rng, 300.0))
        job.square_on(1, corners, *sides)
        return Laid(job, see, sigma, (corners[:2], sides[0]))

    return Map(f"bend of {amount:g} left", lay, {}, ""), named("known rectangle").usual()


def cut(share):
    """A picture of which a part was cut away on one side, so that the lens looked elsewhere than at its middle; nothing is told."""
    def lay(rng, sigma, pm, share_, about, **pose):
        true, _ = maps.slant(rng, told=False, **pose)
        true = dataclasses.replace(true, middle=(MIDDLE[0] + share * SIZE[0], MIDDLE[1]))
        job = maps.begun(sigma)
        job.square_on(1, maps.shake(rng, true.seen(frame(600, 300)), sigma))
        two = maps.line(share_, about)
        return Laid(job, true.seen, sigma, maps.know(job, rng, true.seen(two), float(np.hypot(*(two[1] - two[0]))), pm, sigma))

    conditions = named("unknown proportions").usual()
    conditions["share_"] = conditions.pop("share")
    return Map(f"cut by {share:g}", lay, {}, ""), conditions


def behind_untold(back):
    """Marks on what stands behind the rectangle."""
    def change(laid):
        see = laid.see
        laid.see = lambda p: MIDDLE + (np.asarray(see(p)) - MIDDLE) / (1 + back / 900.0)
        return laid

    return changed("known rectangle", change, yaw=0.0, pitch=0.0, roll=0.0, aside=0.0)


def worse_hand(times):
    """Every click of the marks is so many times worse than it looks on the screen, by blur or haste."""
    def change(laid):
        laid.sigma *= times
        return laid

    return changed("one scale", change)


def wrong_length(share):
    """The true length isn't so long."""
    def change(laid):
        known = next(i for i in laid.job.intents if i["kind"] == "set-known")
        known["length"] = {"mm": known["length"]["mm"] * (1 + share)}
        return laid

    return changed("one scale", change)


def false_focal(times):
    """The file tells another focal length."""
    def change(laid):
        laid.job.intents[1]["focal-35mm"] = laid.job.intents[1]["focal-35mm"] * times
        return laid

    return changed("unknown proportions, the file's focal length", change)


def no_rectangle(by):
    """One corner of what was taken for a rectangle stands off."""
    def change(laid):
        square = next(i for i in laid.job.intents if i["kind"] == "square-on")
        here = np.asarray(laid.see([(300.0, 150.0), (300.0 + by, 150.0)]))
        square["corners"][2] = (np.array(square["corners"][2]) + here[1] - here[0]).tolist()
        return laid

    return changed("known rectangle", change)


def scaled(times):
    """The marks made larger, so that they lie beyond the rectangle."""
    return [dataclasses.replace(m, places=m.places * times) for m in LENGTHS]


def conditions():
    """All of them."""
    out = [Condition(f"taken as flat, and turned by {d}°", *unseen_slant(float(d))) for d in (5, 10, 20)]
    out += [Condition(f"a lens that bends by {abs(b) * 100:g} % at the corners, nothing straightened", *bend_left(b)) for b in (-0.01, -0.03, -0.08)]
    out += [Condition(f"cut on one side by {2 * c * 100:g} % of its width, not told; proportions unknown", *cut(c)) for c in (0.05, 0.10)]
    out += [
        Condition("short reference: a twentieth of the thing", *usual("one scale", share=0.05)),
        Condition("few pixels: the thing is 120 px long", *usual("one scale", scale=0.2)),
        Condition("blur or haste: clicks three times worse than they look", *worse_hand(3.0)),
        Condition("the true length is wrong by 2 %", *wrong_length(0.02)),
        Condition("marks far outside: as long as twice the rectangle", *usual("known rectangle", far=2200.0), scaled(2.4)),
        Condition("nearly edge-on: turned by 78°", *usual("known rectangle", yaw=78.0, pitch=0.0, roll=0.0, far=1100.0)),
        Condition("on what stands 50 mm behind, at 900 mm, not told", *behind_untold(50.0)),
        Condition("the file's focal length is half the true one", *false_focal(0.5)),
        Condition("no rectangle: a corner stands off by 10 mm of 600", *no_rectangle(10.0)),
    ]
    return out


@dataclasses.dataclass
class Told:
    """What a condition came to, by its worst mark: error (RMS) and ± (mean), per cent of the truth."""

    what: str
    mark: str
    error: float
    half: float
    outside: float
    said: str


def look(core, condition, count):
    """One condition over seeds."""
    trials = run(core, condition.map, range(count), condition.conditions, condition.marks, alone=True)
    said = most(trials)
    best = None
    for at, mark in enumerate(condition.marks):
        sizes = [t.ours[at] for t in trials if t.ours[at] is not None]
        if not sizes:
            continue
        error = np.array([s.value / mark.truth - 1 for s in sizes])
        outside = float(np.mean([beyond(s, mark.truth) > 1 for s in sizes]))
        told = Told(condition.what, mark.name, 100 * float(np.sqrt((error**2).mean())), 100 * float(np.mean([s.half for s in sizes])) / mark.truth, outside, said)
        if best is None or (told.outside, told.error) > (best.outside, best.error):
            best = told
    return best or Told(condition.what, "", np.nan, np.nan, np.nan, said)


def most(trials):
    """What is said in more than half of the trials: the sentence of one, or nothing."""
    sentences = {}
    for t in trials:
        said = {t.refused: t.said} if t.refused else {warn: text for warn, text in zip([*map(kind, t.notes)], [n[2] for n in t.notes])}
        # What is said of rounding follows from the step that was chosen, not from the condition.
        said.pop("rounding", None)
        said |= {f.split(".")[0]: f for flags in t.flags for f in flags or ()}
        for name, text in said.items():
            sentences.setdefault(name, []).append(text)
    often = [texts[0] for texts in sentences.values() if len(texts) > len(trials) / 2]
    return " · ".join(often)


def kind(note):
    """A note's name, without the numbers of views and marks."""
    return "-".join(w for w in note[0].split("-") if not w.isdigit())
