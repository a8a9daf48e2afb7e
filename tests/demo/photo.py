"""A camera of our own for invented photographs: flat faces in space, seen through a lens that may bend, drawn by the share of each pixel that a face fills.

Space is in inches: x to the right, y up, z away from whoever looks. Picture px have their origin top left and pixel centres at .5.
"""

import math

import cv2
import numpy as np

FINE = 6


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


def inside(ring, shape):
    """Which fine px of an array a ring covers; `ring` in fine px, whose centres have whole numbers.

    OpenCV counts the line round a shape as part of it, which is half a fine px too much. So what lies beyond is drawn as well: of
    the px that are in both every other one belongs to the shape.
    """
    down, across = shape
    fixed = np.round(ring * 256).astype(np.int32)
    frame = np.array([(-4, -4), (across + 4, -4), (across + 4, down + 4), (-4, down + 4)], np.int32) * 256
    within, beyond = (cv2.fillPoly(np.zeros(shape, np.uint8), rings, 1, lineType=cv2.LINE_8, shift=8) for rings in ([fixed], [frame, fixed]))
    odd = (np.arange(down)[:, None] + np.arange(across)) % 2 == 0
    return (within == 1) & ((beyond == 0) | odd)


def painted(rings, size):
    """Which of the rings, far to near, is seen in each fine px, counted from 1; 0 where none is."""
    across, down = size
    fine = np.zeros((down * FINE, across * FINE), np.uint8)
    for count, ring in enumerate(rings, 1):
        ring = ring * FINE - 0.5
        low = np.clip(np.floor(ring.min(0)).astype(int) - 2, 0, None)
        high = np.clip(np.ceil(ring.max(0)).astype(int) + 3, 0, (across * FINE, down * FINE))
        if (high <= low).any():
            continue
        part = fine[low[1] : high[1], low[0] : high[0]]
        part[inside(ring - low, part.shape)] = count
    return fine


def photograph(camera, faces, rng, ground=0.86, blur=0.7, noise=1.2):
    """The picture as 8-bit greys: `faces` (corners, grey) from far to near on a plain wall."""
    across, down = camera.size
    x = np.linspace(-1, 1, across, dtype=np.float32)[None, :]
    y = np.linspace(-1, 1, down, dtype=np.float32)[:, None]
    seen = painted([camera.face(corners) for corners, _ in faces], camera.size)
    # How much of each px is faces, and how light they are: what hides another leaves nothing of it at its edge.
    mean = lambda fine: fine.reshape(down, FINE, across, FINE).mean((1, 3), dtype=np.float32)  # noqa: E731
    share = mean(seen > 0)
    tones = mean(np.array([0, *(grey for _, grey in faces)], np.float32)[seen])
    light = ground * (1 - 0.05 * (x * x + y * y) + 0.03 * x) * (1 - share) + tones * (1 - 0.04 * (x * x + y * y))
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
