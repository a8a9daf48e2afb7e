"""Planes in front of and behind others, seen by the same camera."""

import math

import cv2
import numpy as np

from areas.box import Seen, boxed
from camera import SIZE, Plane, frame
from core import Job, Refused, mm
from montecarlo import BATCH
from reference import Z95
from row import holds, near, nearly, within

TRADE = "common practice, no source: 12 in behind at 10 ft"
PINHOLE = "OpenCV projectPoints, by construction"
FOOT, TEN = 304.8, 3048.0


def begun(focal=None, sigma=0.05):
    """A picture, and a hand that puts its places to `sigma` px."""
    job = Job()
    job.hand["zoom"] = 0.5 / sigma
    job.picture(*SIZE, focal=focal)
    return job


def behind(job, back, away=None, from_=1, at=(1500, 900), size=(900, 900), before=False, away_pm=None, pm=0.1):
    """A view of what stands behind view `from_`."""
    view = job.view(1, "other", at, size)
    fields = dict(view=view, **{"from_": from_}, back=None if back is None else mm(back), before=before, pm=None if back is None else mm(pm))
    if away is not None:
        fields |= dict(away=mm(away), away_pm=mm(away_pm or 1.0))
    job.add("stands-back", **fields)
    return view


def square_on(core):
    """Seen square-on, one scale: how far the camera stood is told."""
    per = 0.5
    for back, before, times in ((FOOT, False, 1.1), (FOOT, True, 0.9), (2 * FOOT, False, 1.2)):
        job = begun()
        job.known(job.place([(100, 100), (1100, 100)]), 1000 * per, pm=0.05)
        behind(job, back, TEN, before=before)
        mark = job.place([(1600, 1000), (2000, 1300)])
        where = "before" if before else "behind"
        yield nearly(f"{back / 25.4:g} in {where} at 10 ft, told: a length of 500 px reads × {times}", TRADE, 500 * per * times, core.play(job.intents).real(mark).value, 1e-4)
    job = begun()
    job.known(job.place([(100, 100), (1100, 100)]), 1000 * per, pm=0.05)
    behind(job, None)
    job.known(job.place([(1600, 1000), (2000, 1000)]), 400 * per * 1.1, pm=0.05)
    mark = job.place([(1600, 1000), (2000, 1300)])
    yield nearly("a true length of its own instead: × 1.1", TRADE, 500 * per * 1.1, core.play(job.intents).real(mark).value, 1e-4)
    half = 60.0  # so wide that the clicks are nothing beside it
    job = begun(sigma=0.001)
    job.known(job.place([(100, 100), (1100, 100)]), 1000 * per, pm=0.02)
    behind(job, FOOT, TEN, away_pm=TEN * 0.05, pm=half)
    mark = job.place([(1600, 1000), (2000, 1300)])
    got = core.play(job.intents).real(mark)
    want = 250 * math.hypot(half / TEN, 0.05 * FOOT / TEN)
    yield nearly("its ± is that of how far back and how far the camera stood, mm", "JCGM 100:2008 5.1.2, by hand", want, got.half, 0.01)


def slanted(core):
    """Behind a view that is seen at a slant, whose camera tells how far it stood."""
    for name, sides in (("width and height given", (600, 400)), ("proportions from the camera", (None, None))):
        for back in (100.0, -60.0, 250.0):
            plane = Plane((28, 22, 4))
            rotation = cv2.Rodrigues(np.radians([0.0, 0, 4]))[0] @ cv2.Rodrigues(np.radians([22.0, 0, 0]))[0] @ cv2.Rodrigues(np.radians([0.0, 28, 0]))[0]
            normal = rotation[:, 2] * np.sign(rotation[:, 2] @ np.array(plane.far))
            other = Plane(plane.angles, far=tuple(np.array(plane.far) + back * normal))
            job = begun(plane.film())
            corners = plane.seen(frame(600, 400))
            job.square_on(1, corners, *sides)
            if sides[0] is None:
                job.known(job.place(corners[:2]), 600.0, pm=0.05)
            seen = other.seen([(-80, 60), (110, -50)])
            low = seen.min(axis=0) - 30
            behind(job, abs(back), at=low, size=seen.max(axis=0) + 30 - low, before=back < 0)
            mark = job.place(seen)
            yield nearly(f"{back:g} mm behind, turned both ways, {name}: a length, mm", PINHOLE, math.hypot(190, 110), core.play(job.intents).real(mark).value, 2e-4)


def on_a_box(core):
    """Behind the front of a box: its back, seen through."""
    scene = Seen()
    for back in (120.0, 400.0):
        job = begun(scene.film())
        boxed(job, scene.corners())
        job.last["view"] += 3
        seen = scene.opencv([(150, back, 250), (450, back, 120)])
        low = seen.min(axis=0) - 20
        behind(job, back, from_=2, at=low, size=seen.max(axis=0) + 20 - low)
        mark = job.place(seen)
        yield nearly(f"{back:g} mm behind the front of a box: a length, mm", PINHOLE, math.hypot(300, 130), core.play(job.intents).real(mark).value, 2e-4)


def sloping(core):
    """The same two ends on two views of a drawing: a strut of 30 × 40 × 120 mm is 130 mm long and leans atan(50 / 120)."""
    for name, roles, first, second in (
        ("front and side", ("front", "side"), (30, 120), (40, 120)),
        ("front and top", ("front", "top"), (120, 30), (120, 40)),
    ):
        job = begun(sigma=0.01)
        job.units("millimetres", "0.1 mm")
        job.view(1, roles[0], (0, 0), (1500, 1500))
        job.view(1, roles[1], (1600, 0), (1500, 1500))
        job.known(job.place([(100, 1300), (1300, 1300)]), 600, pm=0.01)
        one = job.place([(200, 200), (200 + 2 * first[0], 200 + 2 * first[1])])
        two = job.place([(1800, 300), (1800 + 2 * second[0], 300 + 2 * second[1])])
        job.add("same-thing", marks=[one, two], same=True)
        job.add("select", mark=one)
        scene = core.play(job.intents)
        told = " ".join(" ".join(line) for line in scene.told["detail"]["lines"])
        lean = math.degrees(math.atan2(50, 120))
        yield holds(f"a sloping strut on {name}: its true length", "30² + 40² + 120² = 130², by hand", "130.0", "130.0" in told, told)
        yield holds(f"a sloping strut on {name}: its lean, degrees", "atan(50 / 120), by hand", f"{lean:.1f}", f"{lean:.1f}" in told, told)
        yield holds(f"a sloping strut on {name}: not taken for a disagreement", "by construction", "no word", not any("cross" in n["id"] for n in scene.told["notes"]), [n["id"] for n in scene.told["notes"]])


def refused(core):
    """What can't be told."""
    def said(make):
        job = begun()
        job.known(job.place([(100, 100), (1100, 100)]), 500, pm=0.05)
        make(job)
        return core.answers(job.intents)[-1]

    for name, make, key in (
        ("how far the camera stood isn't told", lambda job: behind(job, FOOT), "view.back-unknown"),
        ("before it by more than the camera is away", lambda job: behind(job, 4000, TEN, before=True), "view.back-behind-camera"),
        ("behind itself", lambda job: behind(job, FOOT, TEN, from_=2), "job.back-from-itself"),
    ):
        got = said(make)
        yield holds(f"{name}: refused in words", "by construction", key, isinstance(got, Refused) and got.key == key and " " in str(got), getattr(got, "key", got))


def covered(core, trials):
    """Whether the stated ± holds where how far back and how far away are told with errors."""
    rng, per, sizes, sigma = np.random.default_rng(6), 0.5, [], 0.5
    truth = 500 * per * (1 + FOOT / TEN)
    for first in range(0, trials, BATCH):
        job, places = begun(sigma=sigma), []
        known = job.place([(100, 100), (1100, 100)])
        job.known(known, 500, pm=0.5)
        behind(job, FOOT, TEN)
        mark = job.place([(1600, 1000), (2000, 1300)])
        for _ in range(min(BATCH, trials - first)):
            for m, two in ((known, [(100, 100), (1100, 100)]), (mark, [(1600, 1000), (2000, 1300)])):
                for point, at in enumerate(np.array(two) + rng.normal(0, sigma, (2, 2))):
                    job.move(m, point, at)
            job.known(known, 500 + rng.normal(0, 0.5 / Z95), pm=0.5)
            job.add("stands-back", view=2, **{"from_": 1}, back=mm(FOOT + rng.normal(0, 10 / Z95)), pm=mm(10), away=mm(TEN + rng.normal(0, 100 / Z95)), away_pm=mm(100))
            places.append(job.here())
        sizes += [s.real(mark) for s in core.play_at(job.intents, places)]
    held = float(np.mean([s.covers(truth) for s in sizes]))
    yield within(f"square-on, both told: the ± holds the truth, of {len(sizes)} trials", "numpy, normal; JCGM 101 8", 0.93, 0.97, held)


def rows(core, trials=2_000):
    """Every row of this area."""
    for part in (square_on, slanted, on_a_box, sloping, refused):
        yield from part(core)
    yield from covered(core, trials)
