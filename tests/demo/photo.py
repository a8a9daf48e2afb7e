"""A camera of our own for invented photographs: flat faces in space, seen through a lens that may bend, drawn by area coverage.

Space is in inches: x to the right, y up, z away from whoever looks. Picture px have their origin top left and pixel centres at .5.
"""

import math

import cv2
import numpy as np

FINE = 4
BAND = 256


class Camera:
    """Where it stands, how it is turned, what it sees.

    `at`: where, inches. `yaw`, `pitch`, `roll`: degrees, to the right, up, clockwise. `focal`: px. `bend`: a place is seen
    1 + bend · r² times as far from the middle as without (r in halves of the picture's diagonal).
    """

    def __init__(self, size, at, yaw=0.0, pitch=0.0, roll=0.0, focal=None, bend=0.0):
        self.size, self.at, self.bend = size, np.asarray(at, float), bend
        self.focal = focal or 1.1 * max(size)
        y, p, r = (math.radians(v) for v in (yaw, pitch, roll))
        turn_y = np.array([[math.cos(y), 0, -math.sin(y)], [0, 1, 0], [math.sin(y), 0, math.cos(y)]])
        turn_x = np.array([[1, 0, 0], [0, math.cos(p), -math.sin(p)], [0, math.sin(p), math.cos(p)]])
        turn_z = np.array([[math.cos(r), math.sin(r), 0], [-math.sin(r), math.cos(r), 0], [0, 0, 1]])
        self.turn = turn_z @ turn_x @ turn_y

    def see(self, points):
        """Places in space to picture px."""
        p = (np.asarray(points, float) - self.at) @ self.turn.T
        flat = self.focal * np.c_[p[:, 0], -p[:, 1]] / p[:, 2:3]
        half = math.hypot(*self.size) / 2
        r2 = (flat**2).sum(axis=1, keepdims=True) / half**2
        return flat * (1 + self.bend * r2) + np.asarray(self.size) / 2

    def along(self, a, b, count=12):
        """Places along a straight edge, as seen."""
        t = np.linspace(0, 1, count)[:, None]
        return self.see(np.asarray(a, float) * (1 - t) + np.asarray(b, float) * t)

    def face(self, corners):
        """The ring of a flat face, its edges bent as they are seen."""
        pairs = zip(corners, [*corners[1:], corners[0]])
        return np.concatenate([self.along(a, b, 24)[:-1] for a, b in pairs])


def cover(rings, size):
    """How much of each pixel a ring covers, 0..1."""
    across, down = size
    out = np.zeros((down, across), np.float32)
    for top in range(0, down, BAND):
        rows = min(BAND, down - top)
        fine = np.zeros((rows * FINE, across * FINE), np.uint8)
        shifted = [np.round(((r - (0, top)) * FINE - 0.5) * 256).astype(np.int32) for r in rings]
        cv2.fillPoly(fine, shifted, 255, lineType=cv2.LINE_8, shift=8)
        out[top : top + rows] = fine.reshape(rows, FINE, across, FINE).mean((1, 3)) / 255
    return out


def photograph(camera, faces, rng, ground=0.86, blur=0.7, noise=1.2):
    """The picture as 8-bit greys: `faces` (corners, grey) from far to near on a plain wall."""
    across, down = camera.size
    x = np.linspace(-1, 1, across, dtype=np.float32)[None, :]
    y = np.linspace(-1, 1, down, dtype=np.float32)[:, None]
    light = ground * (1 - 0.05 * (x * x + y * y) + 0.03 * x)
    for corners, grey in faces:
        share = cover([camera.face(corners)], camera.size)
        light = light * (1 - share) + grey * (1 - 0.04 * (x * x + y * y)) * share
    light = cv2.GaussianBlur(light.astype(np.float32), (0, 0), blur)
    grey = light * 255 + noise * rng.standard_normal(light.shape, dtype=np.float32)
    return np.clip(np.round(grey), 0, 255).astype(np.uint8)


def box(low, high, front, side, top):
    """The three faces of a box that can be seen from the front, one side and above or below: (corners, grey), far to near.

    `side` and `top` are (which, grey): "left" or "right", "over" or "under".
    """
    (x0, y0, z0), (x1, y1, z1) = low, high
    x = x0 if side[0] == "left" else x1
    y = y1 if top[0] == "over" else y0
    return [
        ([(x0, y, z0), (x1, y, z0), (x1, y, z1), (x0, y, z1)], top[1]),
        ([(x, y0, z0), (x, y0, z1), (x, y1, z1), (x, y1, z0)], side[1]),
        ([(x0, y0, z0), (x1, y0, z0), (x1, y1, z0), (x0, y1, z0)], front),
    ]
