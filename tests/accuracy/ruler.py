"""A person without a program: the picture printed on Letter, a ruler, a calculator. Nothing here asks the core.

What is read is rounded to 1/32 in, or 0.5 mm for half of the people; the factor from print to life is worked out once, by
the reference, and written down in two figures (common practice, no source); each size is then reckoned by itself. Nothing is
done about tilt, or a lens. Where the picture is turned square-on by two true sides, such a person has the longer one.
"""

import math

import numpy as np

PAPER = 250.0  # mm: what of Letter's longer side a print fills
STEPS = (25.4 / 32, 0.5)


class Ruler:
    """One person: the print, and how finely they read it."""

    def __init__(self, width, step):
        self.px, self.step = width / PAPER, step
        self.factor = math.nan

    def read(self, a, b):
        """A distance on the print, mm."""
        return round(math.dist(a, b) / self.px / self.step) * self.step

    def know(self, places, length):
        """The factor by the reference."""
        self.factor = figures(length / max(self.read(*places), self.step), 2)

    def life(self, a, b):
        return self.read(a, b) * self.factor


def figures(value, count):
    """In so many figures."""
    return float(f"{value:.{count - 1}e}")


def length(ruler, p):
    return ruler.life(p[0], p[1])


def path(ruler, p):
    return sum(ruler.life(a, b) for a, b in zip(p, p[1:]))


def around(ruler, p):
    return path(ruler, np.vstack([p, p[:1]]))


def angle(_, p):
    """With a protractor, to a degree."""
    u, v = p[0] - p[1], p[2] - p[1]
    return math.radians(round(math.degrees(math.atan2(abs(u[0] * v[1] - u[1] * v[0]), u @ v))))


def foot(a, b, p):
    """Where a square laid against a line meets it."""
    run = (b - a) / np.hypot(*(b - a))
    return a + run * ((p - a) @ run)


def from_line(ruler, p):
    return 2 * ruler.life(p[2], foot(p[0], p[1], p[2]))


def greatest(ruler, p):
    a, b = max(((a, b) for a in p for b in p), key=lambda two: math.dist(*two))
    return ruler.life(a, b)


def across(ruler, p):
    """The widest that is found between the places that were marked."""
    return greatest(ruler, p)


def bow(ruler, p):
    """The radius from chord and rise, as in any workshop handbook: c²/8h + h/2."""
    a, b = p[0], p[-1]
    rise = max(ruler.life(q, foot(a, b, q)) for q in p[1:-1])
    return ruler.life(a, b) ** 2 / (8 * rise) + rise / 2


def gap(ruler, p):
    """From the middle of one edge to the other."""
    middle = (p[0] + p[1]) / 2
    return ruler.life(middle, foot(p[2], p[3], middle))
