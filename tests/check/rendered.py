"""Pictures whose truth is known, drawn by area coverage in numpy; nothing of the core takes part.

A shape is its signed distance, px, inside negative. Places are px, pixel centres at .5.
"""

import math

import cv2
import numpy as np

FINE = 6  # samples a px, each way; each itself covered in part


def grid(size, fine):
    """Places of the samples of a square of `size` px."""
    at = (np.arange(size * fine) + 0.5) / fine
    return np.meshgrid(at, at)


def covered(shape, size, blur):
    """How much of each px is covered, 0 to 1, through a Gaussian lens of σ `blur` px."""
    x, y = grid(size, FINE)
    ink = np.clip(0.5 - shape(x, y) * FINE, 0.0, 1.0)
    # A sample's own square adds 1/12 of its side squared; the lens gives the rest.
    sigma = math.sqrt(max((blur * FINE) ** 2 - 1 / 12, 1e-6))
    reach = 2 * math.ceil(5 * sigma) + 1
    ink = cv2.GaussianBlur(ink, (reach, reach), sigma, borderType=cv2.BORDER_REPLICATE)
    return ink.reshape(size, FINE, size, FINE).mean(axis=(1, 3))


def side(at, angle):
    """All beyond a line through `at`; `angle` is the direction into it."""
    c, s = math.cos(angle), math.sin(angle)
    return lambda x, y: (at[0] - x) * c + (at[1] - y) * s


def corner(at, angle, opening):
    """The sector about the direction `angle`."""
    a, b = side(at, angle + math.pi / 2 - opening / 2), side(at, angle - math.pi / 2 + opening / 2)
    return lambda x, y: np.maximum(a(x, y), b(x, y))


def disc(at, radius):
    return lambda x, y: np.hypot(x - at[0], y - at[1]) - radius


def oval(at, a, b, turn):
    """An ellipse; its distance is first order, which is exact where it counts."""
    c, s = math.cos(turn), math.sin(turn)

    def shape(x, y):
        u, v = ((x - at[0]) * c + (y - at[1]) * s) / a, ((y - at[1]) * c - (x - at[0]) * s) / b
        r = np.maximum(np.hypot(u, v), 1e-9)
        return (r - 1) * r / np.maximum(np.hypot(u / a, v / b), 1e-9)

    return shape


def line(a, b, half, butt=False):
    """A drawn line from a to b, with round ends or square ones."""
    (ax, ay), (bx, by) = a, b
    length = math.dist(a, b)
    c, s = (bx - ax) / length, (by - ay) / length

    def shape(x, y):
        t, u = (x - ax) * c + (y - ay) * s, (y - ay) * c - (x - ax) * s
        if butt:
            return np.maximum(np.abs(u) - half, np.maximum(-t, t - length))
        return np.hypot(t - np.clip(t, 0, length), u) - half

    return shape


def union(*shapes):
    return lambda x, y: np.minimum.reduce([s(x, y) for s in shapes])


def toned(ink, dark=20.0, light=235.0):
    """Coverage as grey levels, not yet rounded."""
    return light + (dark - light) * ink


def noisy(tone, sigma, rng):
    """With noise of σ grey levels, as bytes."""
    return np.clip(np.rint(tone + rng.normal(0, sigma, tone.shape) if sigma else tone), 0, 255).astype(np.uint8)


def sheet(tiles, across):
    """Equal squares side by side, as one picture, and the left top corner of each."""
    size = tiles[0].shape[0]
    rows = math.ceil(len(tiles) / across)
    out = np.full((rows * size, across * size, *tiles[0].shape[2:]), 235, np.uint8)
    corners = []
    for i, tile in enumerate(tiles):
        x, y = i % across * size, i // across * size
        out[y : y + size, x : x + size] = tile
        corners.append((x, y))
    return out, corners
