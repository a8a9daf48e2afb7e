"""Turns drawn lines into what a flat-bed scanner would have made of them.

Lines are filled polygons, sampled FINE times each way and averaged, so that the grey of a pixel is the
share of it that is inked. Pixel centres are at .5, origin top left.
"""

import cv2
import numpy as np
import shapely

FINE = 4
BAND = 256


def ink(runs, width_px, size):
    """How much of each pixel is inked, 0..1, for `runs` of picture points drawn `width_px` wide."""
    across, down = size
    # A filled polygon also paints the samples its border touches: half a sample wider on each side.
    reach = width_px / 2 - 0.5 / FINE
    solid = shapely.union_all([shapely.LineString(r).buffer(reach, quad_segs=16) for r in runs])
    rings = []
    for part in getattr(solid, "geoms", [solid]):
        rings += [np.asarray(r.coords) for r in (part.exterior, *part.interiors)]
    cover = np.zeros((down, across), np.float32)
    for top in range(0, down, BAND):
        rows = min(BAND, down - top)
        fine = np.zeros((rows * FINE, across * FINE), np.uint8)
        near = [r for r in rings if r[:, 1].max() >= top - 2 and r[:, 1].min() <= top + rows + 2]
        # The library's samples have their centres on whole numbers, ours at .5; 8 binary places below.
        shifted = [np.round(((r - (0, top)) * FINE - 0.5) * 256).astype(np.int32) for r in near]
        if shifted:
            cv2.fillPoly(fine, shifted, 255, lineType=cv2.LINE_8, shift=8)
            cover[top : top + rows] = fine.reshape(rows, FINE, across, FINE).mean((1, 3)) / 255
    return cover


def paper(rng, size, corners, strength):
    """Grey of the sheet and of the scanner's lid behind it, 0..1; `corners` are the sheet's, in picture px."""
    across, down = size
    x = np.linspace(-1, 1, across, dtype=np.float32)[None, :]
    y = np.linspace(-1, 1, down, dtype=np.float32)[:, None]
    a, b, c, d = rng.uniform(-1, 1, 4)
    shade = 0.86 + strength * (0.02 * a * x + 0.02 * b * y + 0.012 * c * x * y - 0.015 * (1 + d) * (x * x + y * y) / 2)
    sheet = np.zeros((down, across), np.uint8)
    cv2.fillPoly(sheet, [np.round((np.asarray(corners) - 0.5) * 256).astype(np.int32)], 255, lineType=cv2.LINE_AA, shift=8)
    share = cv2.GaussianBlur(sheet, (0, 0), 1.2).astype(np.float32) / 255
    return share * shade + (1 - share) * 0.95


def scan(runs, width_px, size, corners, rng, dots_per_mm, noise):
    """The picture as 8-bit greys. `noise` is the standard deviation of a pixel in grey steps."""
    inked = ink(runs, width_px, size)
    spread = (0.08 + 0.03 * rng.random()) * dots_per_mm  # ink and optics, mm on paper
    inked = cv2.GaussianBlur(inked, (0, 0), spread)
    ground = paper(rng, size, corners, 1.0)
    grey = (ground * (1 - inked) + 0.16 * inked) * 255
    if noise > 0:
        fibre = cv2.GaussianBlur(rng.standard_normal(grey.shape, dtype=np.float32), (0, 0), 1.5) * 4
        grey += noise * (0.8 * rng.standard_normal(grey.shape, dtype=np.float32) + 0.6 * fibre)
    return np.clip(np.round(grey), 0, 255).astype(np.uint8)
