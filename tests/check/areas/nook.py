"""A whole photograph by touch: the reading-nook bookcase (tests/check/nook.py)."""

import nook

# Of so many trials a scene elsewhere one photograph here.
TRIALS = 200


def rows(core, trials):
    yield from nook.rows(core, max(6, trials // TRIALS))
