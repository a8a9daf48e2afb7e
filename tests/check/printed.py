"""Reads what was printed, by PDFium and qpdf: pages, lines as they were written, pixels at 600 dpi. mm from the page's top left corner."""

import ctypes
import json
import math
import subprocess

import numpy as np
import pypdfium2
import pypdfium2.raw as raw

POINT = 25.4 / 72


class Printed:
    """A PDF file."""

    def __init__(self, path):
        self.path = str(path)
        self.pdf = pypdfium2.PdfDocument(self.path)

    def __len__(self):
        return len(self.pdf)

    def boxes(self, page=0):
        """Width and height by MediaBox and TrimBox, mm."""
        p = self.pdf[page]
        size = lambda box: ((box[2] - box[0]) * POINT, (box[3] - box[1]) * POINT)
        return size(p.get_mediabox()), size(p.get_trimbox())

    def text(self, page=0):
        """All of a page's writing."""
        return self.pdf[page].get_textpage().get_text_range()

    def pixels(self, page=0, dpi=600):
        """Darkness of each pixel, 0 white to 1 black."""
        grey = self.pdf[page].render(scale=dpi / 72, grayscale=True).to_numpy()
        return 1 - grey.reshape(grey.shape[:2]) / 255.0

    def paths(self, page=0):
        """Every path: a list of (type, x, y), mm; control points are of type 'c'."""
        p = self.pdf[page]
        height = (p.get_mediabox()[3]) * POINT
        out = []
        for item in p.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
            a, b, c, d, e, f = item.get_matrix().get()
            steps = []
            for i in range(raw.FPDFPath_CountSegments(item.raw)):
                segment = raw.FPDFPath_GetPathSegment(item.raw, i)
                x, y = ctypes.c_float(), ctypes.c_float()
                raw.FPDFPathSegment_GetPoint(segment, x, y)
                kind = {raw.FPDF_SEGMENT_MOVETO: "m", raw.FPDF_SEGMENT_LINETO: "l", raw.FPDF_SEGMENT_BEZIERTO: "c"}[raw.FPDFPathSegment_GetType(segment)]
                px, py = a * x.value + c * y.value + e, b * x.value + d * y.value + f
                steps.append((kind, px * POINT, height - py * POINT))
            out.append(steps)
        return out

    def catalog(self):
        """qpdf's own reading of the whole file."""
        told = subprocess.run(["qpdf", "--json", self.path], capture_output=True, text=True, check=True).stdout
        return json.loads(told)["qpdf"][1]

    def sound(self):
        """What qpdf --check finds wrong; nothing when all is well."""
        done = subprocess.run(["qpdf", "--check", self.path], capture_output=True, text=True)
        return "" if done.returncode == 0 else done.stdout + done.stderr


def longest(paths):
    """The points of the path with most of them: the outline."""
    return np.array([[x, y] for _, x, y in max(paths, key=len)])


def match_marks(paths):
    """Match marks on a page: (shape, x, y) of each, known by their size and corners."""
    found = []
    for path in paths:
        kinds = [k for k, _, _ in path]
        x = [p[1] for p in path]
        y = [p[2] for p in path]
        w, h = max(x) - min(x), max(y) - min(y)
        middle = (min(x) + max(x)) / 2
        size = (round(w, 1), round(h, 1))
        if kinds.count("c") == 12 and size == (8.0, 8.0):
            found.append(("circle", middle, (min(y) + max(y)) / 2))
        elif kinds.count("c") == 0 and len(path) in (4, 5) and size == (8.0, 8.0):
            found.append(("diamond", middle, (min(y) + max(y)) / 2))
        elif kinds.count("c") == 0 and len(path) in (3, 4) and size == (8.0, 7.0):
            found.append(("triangle", middle, min(y) + 4.0))
        elif kinds.count("c") == 0 and len(path) in (4, 5) and size == (6.4, 6.4):
            found.append(("square", middle, (min(y) + max(y)) / 2))
    return found


def runs(line):
    """Middles of the dark runs of a line of pixels, each weighed by its darkness, px."""
    out, at = [], 0
    dark = line > 0.02
    while at < len(line):
        if not dark[at]:
            at += 1
            continue
        end = at
        while end < len(line) and dark[end]:
            end += 1
        weights = line[at:end]
        out.append(float((weights * (np.arange(at, end) + 0.5)).sum() / weights.sum()))
        at = end
    return out


def bars(pixels, dpi=600):
    """The check bars of a sheet, measured on its pixels: across and down, each as its whole inches' and its mm's length, mm."""
    px = dpi / 25.4
    told = []
    for turned in (False, True):
        area = pixels.T[:, : int(pixels.shape[0] * 0.86)] if turned else pixels
        # The bar's own line is the darkest within 17 mm of the edge.
        foot = int(17 * px)
        base = area.shape[0] - foot + int(np.argmax((area[-foot:] > 0.5).sum(axis=1)))
        sides = []
        # Beyond the small ticks, short of the long ones' ends. Turned, inches lie towards the edge.
        for away in ((2.4, -2.6) if turned else (-2.4, 2.6)):
            ends = runs(area[base + int(away * px)])
            sides.append((ends[-1] - ends[0]) / px)
        told.append(tuple(sides))
    return told


def off_line(pixels, points, normals, dpi=600, reach=0.6):
    """How far a drawn line's middle lies from each point along its normal, mm."""
    px = dpi / 25.4
    steps = np.linspace(-reach, reach, 121)
    out = []
    for (x, y), (nx, ny) in zip(points, normals):
        u, v = (x + steps * nx) * px - 0.5, (y + steps * ny) * px - 0.5
        i, j = np.floor(u).astype(int), np.floor(v).astype(int)
        a, b = u - i, v - j
        dark = (pixels[j, i] * (1 - a) + pixels[j, i + 1] * a) * (1 - b) + (pixels[j + 1, i] * (1 - a) + pixels[j + 1, i + 1] * a) * b
        out.append(float((dark * steps).sum() / dark.sum()) if dark.sum() > 1 else math.inf)
    return np.array(out)
