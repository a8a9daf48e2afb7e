"""The two drawings that are measured whole: Marsh Hen, drawn here by seed, and one that others made."""

import json
import math

import hen
import marsh_hen
import numpy as np
from core import ROOT, Job

SEEDS = range(1, 21)
SIGMA = 0.25  # px: a mouse with the picture at twice its size
BODY = hen.BODY
SHOWN = (("top", "wing, tip to tip"), ("top", "stabilizer"), ("front", "wing, tip to tip"))
REAL = ROOT / "tests" / "real" / "figures.json"


def hen_job(seed, dpi=300, shaken=0.0):
    """Marsh Hen with its three views and every drawn thing marked, each end off by so many px. Also {(view, name): mark}."""
    truth, *_ = marsh_hen.draw(seed, dpi)
    rng = np.random.default_rng(seed)
    job = Job()
    job.hand["zoom"] = 2.0
    job.picture(truth["width"], truth["height"], [dpi, dpi])
    for view in truth["views"]:
        job.view(1, view["role"], view["corners"][0], view["size"], math.degrees(view["tilt"]))
    marks = {}
    for f in truth["features"]:
        points = np.array(f["points"]) + rng.normal(0, 1, (len(f["points"]), 2)) * shaken
        marks[f["view"], f["name"]] = job.place(points, mark=f["kind"], name=f["name"])
    return job, marks, truth


def real_figures():
    """Every figure of the drawing that others made, with the places found on its picture."""
    return json.loads(REAL.read_text())


def real_job(known=None):
    """That drawing with every figure marked, `known` (a name) as the only true length, to a thousandth. Also {name: mark}."""
    told = real_figures()
    job = Job()
    # A mouse with the drawing seen at twice its size: 0.25 px, about what half-pixel lines allow.
    job.hand["zoom"] = 2.0
    job.picture(told["width"], told["height"])
    marks = {}
    for f in told["figures"]:
        marks[f["name"]] = job.place(f["points"], mark=f["kind"], name=f["name"])
        if f["name"] == known:
            job.known(marks[known], f["mm"], pm=0.01)
    return job, marks, told["figures"]
