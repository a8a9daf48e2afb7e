"""What the core is compared with: Python's fractions, numpy, uncertainties. Nothing here asks the core."""

import math
import unicodedata
from fractions import Fraction as F

import numpy as np
from uncertainties import ufloat, umath

INCH = F(254, 10)  # mm, exactly: agreement of 1959
Z95 = 1.959963984540054  # 97.5 % point of the normal distribution: any table of it


def inches(text):
    """Exact mm of plain inches such as '23 5/16' or '5.05'."""
    return sum((F(part) for part in text.split()), F(0)) * INCH


def rounded(value, step, direction="nearest"):
    """A whole number of steps; a length half way goes to the longer one."""
    count = F(value) / F(step)
    if direction == "up":
        return math.ceil(count)
    if direction == "down":
        return math.floor(count)
    return math.floor(count + F(1, 2))


def running(lengths, step, direction="nearest"):
    """Steps of each length when the running positions from the datum are rounded, then differenced."""
    places, at = [0], F(0)
    for length in lengths:
        at += F(length)
        places.append(rounded(at, step, direction))
    return [b - a for a, b in zip(places, places[1:])]


def mixed(value):
    """Inches in lowest terms as they are set: whole, space, fraction with U+2044."""
    whole, part = divmod(F(value), 1)
    fraction = f"{part.numerator}\u2044{part.denominator}"
    if part == 0:
        return str(whole)
    return fraction if whole == 0 else f"{whole} {fraction}"


def plain(text):
    """A figure with everything that only sets it as type taken away: slash, marks, spaces of all kinds."""
    text = text.replace("\u2044", "/").replace("\u2032", "'").replace("\u2033", '"')
    return " ".join(text.split())


def vulgar_fractions():
    """Every character that stands for a fraction between 0 and 1, with its value, from Unicode's own table."""
    out = []
    for code in range(0x80, 0x2190):
        sign = chr(code)
        value = unicodedata.numeric(sign, None)
        if value is not None and 0 < value < 1 and "VULGAR FRACTION" in unicodedata.name(sign, ""):
            out.append((sign, F(value).limit_denominator(1000)))
    return out


def click(at, sigma):
    """A place whose two coordinates are each uncertain by themselves."""
    return ufloat(float(at[0]), sigma), ufloat(float(at[1]), sigma)


def clicks(points, sigma):
    """The same for many."""
    return [click(p, sigma) for p in points]


def span(a, b):
    """The distance between two places, with its uncertainty."""
    return umath.sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2)


def circle(points):
    """Centre and radius of the least-squares circle through points: Gauss–Newton on the distances."""
    p = np.asarray(points, float)
    c = p.mean(0)
    for _ in range(200):
        d = p - c
        n = np.hypot(*d.T)
        j = np.c_[-d / n[:, None], -np.ones(len(p))]
        step = np.linalg.lstsq(j, n.mean() - n, rcond=None)[0]
        c = c + step[:2]
    return c, float(np.hypot(*(p - c).T).mean())


def whole_ratios(value, half, most):
    """Every pair of whole numbers up to `most`, in lowest terms, whose ratio lies within ± half of value."""
    return [
        (n, d)
        for d in range(1, most + 1)
        for n in range(1, most + 1)
        if math.gcd(n, d) == 1 and abs(n / d - value) <= half
    ]


# Student's t, 95 % two-sided, by degrees of freedom: JCGM 100:2008, table G.2.
STUDENT = {1: 12.71, 2: 4.30, 3: 3.18, 4: 2.78, 5: 2.57, 9: 2.26}
