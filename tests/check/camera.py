"""A pinhole camera and planes in front of it, in numpy. Nothing here asks the core."""

import dataclasses

import cv2
import numpy as np

SIZE = (4000, 3000)
MIDDLE = np.array(SIZE) / 2
FILM = np.hypot(36, 24)  # the diagonal of 35 mm film


def turned(about_upright, about_level, about_sight=0.0):
    """A rotation, angles in degrees, by OpenCV's Rodrigues."""
    axis = lambda *v: cv2.Rodrigues(np.radians(np.array(v, float)))[0]
    return axis(0, 0, about_sight) @ axis(about_level, 0, 0) @ axis(0, about_upright, 0)


@dataclasses.dataclass
class Plane:
    """A plane turned by `angles` whose origin lies at `far` mm from the camera."""

    angles: tuple
    far: tuple = (20.0, -15.0, 900.0)
    focal: float = 3600.0
    middle: tuple = tuple(MIDDLE)

    def seen(self, places):
        """Places in mm on the plane as picture px, by OpenCV's projectPoints."""
        p = np.c_[np.asarray(places, float), np.zeros(len(places))]
        k = np.array([[self.focal, 0, self.middle[0]], [0, self.focal, self.middle[1]], [0, 0, 1]])
        rod = cv2.Rodrigues(turned(*self.angles))[0]
        return cv2.projectPoints(p, rod, np.array(self.far, float), k, None)[0][:, 0]

    def film(self):
        """The focal length that a file would tell, as on 35 mm film."""
        return self.focal * FILM / np.hypot(*SIZE)


def frame(width, height):
    """A rectangle about the origin, its first side the width."""
    w, h = width / 2, height / 2
    return [(-w, -h), (w, -h), (w, h), (-w, h)]


def zhang(corners, middle=MIDDLE):
    """(f, w/h) of a rectangle from its corners in order round it: Zhang & He, MSR-TR-2003-39, written out in numpy."""
    one = lambda p: np.array([p[0] - middle[0], p[1] - middle[1], 1.0])
    m1, m2, m4, m3 = map(one, corners)
    k2 = np.cross(m1, m4) @ m3 / (np.cross(m2, m4) @ m3)
    k3 = np.cross(m1, m4) @ m2 / (np.cross(m3, m4) @ m2)
    n2, n3 = k2 * m2 - m1, k3 * m3 - m1
    f2 = -(n2[0] * n3[0] + n2[1] * n3[1]) / ((k2 - 1) * (k3 - 1))
    square = lambda k, n: (k - 1) ** 2 + (n[0] ** 2 + n[1] ** 2) / f2
    return float(np.sqrt(f2)), float(np.sqrt(square(k2, n2) / square(k3, n3)))
