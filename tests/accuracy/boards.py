"""Marks on real photographs: the chessboards of OpenCV's documentation, as the check `lens` takes them.

Each place is a corner of the board as the core caught it in the photograph. The truth is the board as OpenCV measures it with
the other camera; its outer four corners are given as a rectangle of 200 by 125 mm.
"""

import numpy as np

import marks as m
import ruler
from areas import lens
from core import Job
from marks import Mark
from ruler import STEPS, Ruler
from trials import Trial

# Marks by the numbers of corners, row by row, nine in a row.
PLACED = [
    ("length", "length", (10, 43), m.apart, ruler.length, m.main, "between", "mm"),
    ("short length", "length", (20, 21), m.apart, ruler.length, m.main, "between", "mm"),
    ("length, twice from a line", "length", (2, 47, 24), m.from_line, ruler.from_line, m.main, "from-line", "mm"),
    ("path", "path", (37, 20, 32, 15), m.along, ruler.path, m.main, "between", "mm"),
    ("angle", "angle", (16, 37, 51), m.opening, ruler.angle, m.main, "between", "°"),
    ("outline, area", "outline", (11, 14, 25, 34, 42, 38, 28, 19), m.MARKS[8].of, None, m.more("area"), "between", "mm²"),
    ("outline, way round", "outline", (11, 14, 25, 34, 42, 38, 28, 19), m.MARKS[9].of, ruler.around, m.more("round"), "between", "mm"),
    ("gap", "gap", (10, 16, 37, 43), m.gap, ruler.gap, m.main, "between", "mm"),
    ("crossing, its angle", "crossing", (11, 42, 29, 24), m.crossing, None, m.more("angle"), "between", "°"),
]
WAYS = ("known rectangle", "known rectangle, its rows and columns straight")


def marks_on(board):
    """The marks, at their true places on a board."""
    return [Mark(name, kind, board[list(at)], of, hand, read, ends, unit) for name, kind, at, of, hand, read, ends, unit in PLACED]


def intents(photograph, way):
    """A photograph's job: the rectangle, and every mark with what its places caught."""
    (width, height), caught = photograph
    job = Job()
    job.picture(width, height)
    if way == WAYS[1]:
        for points, sigma in lens.edges(caught, "all"):
            job.add("straight-edge", picture=1, points=points, sigma=sigma)
    corners = [caught[i] for i in lens.OUTER]
    job.square_on(1, [c["at"] for c in corners], lens.LONG, 125.0)
    job.intents[-1]["caught"] = corners
    ids = []
    for _, kind, at, *_, ends, _ in PLACED:
        ids.append(job.place([caught[i]["at"] for i in at], mark=kind, ends=ends))
        for point, i in enumerate(at):
            job.add("move-point", mark=ids[-1], point=point, at=caught[i]["at"], caught=caught[i], **job.hand)
    return job.intents, ids


def opencv(photographs, one, board):
    """All corners of one photograph as OpenCV tells them, calibrated on the others, mm."""
    out = lens.BOARD.copy()
    out[lens.REST] = lens.opencv(photographs, one, board)
    return out


def run(core):
    """For each way: (marks, trials) of each camera."""
    seen = {camera: lens.photographs(core, camera) for camera in lens.AIMS}
    boards = {"left": lens.measured(seen["right"]), "right": lens.measured(seen["left"])}
    theirs = {camera: [opencv(all_, i, boards[camera]) for i in range(len(all_))] for camera, all_ in seen.items()}
    out = {}
    for way in WAYS:
        for camera, photographs in seen.items():
            jobs = [intents(p, way) for p in photographs]
            scenes = core.scenes([one for one, _ in jobs])
            made = marks_on(boards[camera])
            trials = [trial(i, scene, ids, photographs[i], made, theirs[camera][i]) for i, (scene, (_, ids)) in enumerate(zip(scenes, jobs))]
            out.setdefault(way, []).append((camera, made, trials))
    return out


def trial(number, scene, ids, photograph, made, theirs):
    """One photograph, read as a trial is."""
    (width, _), caught = photograph
    px = lens.places(caught)
    person = Ruler(width, STEPS[number % 2])
    person.know(px[lens.OUTER[:2]], lens.LONG)
    ours = [mark.read(scene, i) for mark, i in zip(made, ids)]
    others = [mark.of(theirs[list(at)]) for mark, (_, _, at, *_) in zip(made, PLACED)]
    hand = [mark.hand and mark.hand(person, px[list(at)]) for mark, (_, _, at, *_) in zip(made, PLACED)]
    return Trial(number + 1, ours, others, hand, [scene.row(i)["flags"] for i in ids], [])
