"""Finds a drawn line's middle on the picture itself, so that the written truth is checked against the ink."""

import cv2
import numpy as np


def line_middle(grey, at, along, reach=12.0, step=0.05):
    """How far from `at`, in px in the direction `along`, the middle of the darkness lies within `reach`.

    The centre of gravity of what is darker than the paper, along a section averaged over three parallels.
    """
    along = np.asarray(along, float) / np.hypot(*along)
    across = np.array([-along[1], along[0]])
    t = np.arange(-reach, reach + step / 2, step)
    total = np.zeros_like(t)
    for off in (-0.7, 0.0, 0.7):
        p = np.asarray(at) + off * across + t[:, None] * along
        # The library counts pixel centres as whole numbers, we as .5.
        x, y = (p - 0.5).astype(np.float32).T
        total += cv2.remap(grey, x[None], y[None], cv2.INTER_LINEAR)[0]
    dark = np.median(np.r_[total[:40], total[-40:]]) - total
    dark[dark < 0.25 * dark.max()] = 0
    return float((dark * t).sum() / dark.sum())
