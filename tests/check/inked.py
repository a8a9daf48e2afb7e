"""Outlines whose truth is known, as pictures: exact area coverage in numpy, nothing of the core.

A ring is an array of places in px, origin top left, pixel centres at .5; rings with a hole turn the other way.
"""

import math

import cv2
import numpy as np
import shapely


def coverage(rings, width, height):
    """The share of each pixel that lies inside, exact for polygons: every side is cut at the pixels' sides, and each piece
    adds the area to its right (Green's theorem, row by row)."""
    cells = np.zeros(height * (width + 2))
    for ring in rings:
        a = np.asarray(ring, float)
        b = np.roll(a, -1, axis=0)
        for p, q in zip(a, b):
            cut = [np.array([0.0, 1.0])]
            for axis in (0, 1):
                low, high = sorted((p[axis], q[axis]))
                whole = np.arange(math.ceil(low), math.floor(high) + 1)
                if high > low:
                    cut.append(np.clip((whole - p[axis]) / (q[axis] - p[axis]), 0, 1))
            t = np.unique(np.concatenate(cut))
            ends = p + t[:, None] * (q - p)
            middle, step = (ends[1:] + ends[:-1]) / 2, np.diff(ends[:, 1])
            x, y = np.floor(middle[:, 0]).astype(int), np.floor(middle[:, 1]).astype(int)
            ok = (y >= 0) & (y < height)
            x, y, step, share = np.clip(x[ok], 0, width - 1), y[ok], step[ok], middle[ok, 0] - x[ok]
            np.add.at(cells, y * (width + 2) + x, step * (1 - share))
            np.add.at(cells, y * (width + 2) + x + 1, step * share)
    return np.abs(np.cumsum(cells.reshape(height, width + 2), axis=1)[:, :width])


def drawn(rings, line, size):
    """Rings drawn as closed lines `line` px wide, as ink 0 to 1."""
    lines = [shapely.LineString(np.vstack([r, r[:1]])) for r in rings]
    return stroked(lines, line, size)


def stroked(lines, line, size):
    """Any lines drawn `line` px wide, with square ends and sharp corners, as ink 0 to 1."""
    solid = shapely.union_all([s.buffer(line / 2, quad_segs=24, cap_style="flat", join_style="mitre") for s in lines])
    solid = shapely.orient_polygons(solid)
    parts = [np.asarray(r.coords)[:-1] for g in getattr(solid, "geoms", [solid]) for r in (g.exterior, *g.interiors)]
    return np.clip(coverage(parts, *size), 0, 1)


def picture(ink, rng, blur=1.0, noise=0.01, paper=225.0, black=40.0, shade=0.0, quality=None):
    """Ink as 8-bit greys: blurred by σ `blur` px, shaded across by a share, noise as a share of 255, JPEG or not."""
    ink = cv2.GaussianBlur(ink, (0, 0), blur)
    grey = paper + (black - paper) * ink
    height, width = ink.shape
    grey *= 1 + shade * (np.linspace(-1, 1, width)[None, :] + np.linspace(-1, 1, height)[:, None]) / 2
    grey = np.clip(np.round(grey + rng.standard_normal(ink.shape) * noise * 255), 0, 255).astype(np.uint8)
    if quality:
        grey = cv2.imdecode(cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, quality])[1], cv2.IMREAD_GRAYSCALE)
    return grey


def turned(points, degrees, about, k=1.0):
    """Points turned and enlarged, then put so that their box's middle lies at `about`."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    p = np.asarray(points, float) @ np.array([[c, s], [-s, c]]) * k
    return p - (p.max(0) + p.min(0)) / 2 + about


def naca(camber, at, thick, chord, n=400):
    """A NACA 4-digit section with its blunt tail closed by a straight line. NACA Report 460, 1933."""
    x = (1 - np.cos(np.linspace(0, math.pi, n))) / 2
    y = 5 * thick * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)
    if camber:
        fore = x < at
        line = np.where(fore, camber / at**2 * (2 * at * x - x**2), camber / (1 - at) ** 2 * (1 - 2 * at + 2 * at * x - x**2))
        slope = np.where(fore, 2 * camber / at**2 * (at - x), 2 * camber / (1 - at) ** 2 * (at - x))
    else:
        line, slope = 0 * x, 0 * x
    c, s = 1 / np.hypot(1, slope), slope / np.hypot(1, slope)
    upper, lower = np.c_[x - y * s, line + y * c], np.c_[x + y * s, line - y * c]
    return np.vstack([upper[::-1], lower[1:]]) * chord


def ellipse(a, b, n=2000):
    t = np.arange(n) * 2 * math.pi / n
    return np.c_[a * np.cos(t), b * np.sin(t)]


def ell(long, wide, r):
    """An L of two arms, its outer corner rounded by r."""
    t = np.linspace(math.pi, math.pi / 2, 60)
    rounded = np.c_[r + r * np.cos(t), long - r + r * np.sin(t)]
    return np.vstack([[(0, 0)], rounded, [(long, long), (long, long - wide), (wide, long - wide), (wide, 0)]])


def star(outer, inner, points=5):
    t = np.arange(2 * points) * math.pi / points
    r = np.where(np.arange(2 * points) % 2 == 0, outer, inner)
    return np.c_[r * np.sin(t), -r * np.cos(t)]


def distances(found, truth):
    """How far each place found lies from the rings that are true, px."""
    lines = shapely.MultiLineString([np.vstack([r, r[:1]]) for r in truth])
    return shapely.distance(shapely.points(np.asarray(found)), lines)


def hausdorff(found, truth):
    """The greatest distance between two rings, either way, px."""
    ring = lambda r: shapely.LinearRing(np.asarray(r))
    return float(shapely.hausdorff_distance(ring(found), ring(truth), densify=0.002))
