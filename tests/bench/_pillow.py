"""The yardstick of tests/bench/sheets.mjs: the same crops of the same picture, averaged and read by cubic convolution, as JPEG on
pages of a PDF with the outline over them, by Pillow and reportlab.

    _pillow.py JOB.json RUNS     prints {"ms": [...], "bytes": N}

The picture is drawn and the libraries are loaded before the clock starts.
"""

import io
import json
import math
import sys
import time

import numpy as np
from PIL import Image
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen import canvas

DPI, QUALITY = 200, 80


def picture(width, height, seed):
    """As the page's: waves, and noise of 16 levels."""
    rng = np.random.default_rng(seed)
    x = np.linspace(0, 40 * math.pi, width)[None, :]
    y = np.linspace(0, 30 * math.pi, height)[:, None]
    return Image.fromarray((150 + 60 * np.sin(x) * np.sin(y) + rng.integers(-8, 8, (height, width))).astype(np.uint8))


def made(image, job):
    """The PDF's bytes."""
    out = io.BytesIO()
    sheet = canvas.Canvas(out, pageCompression=1)
    px = job["pxPerMm"]
    for page in job["sheets"]:
        wide, high = page["size"]
        sheet.setPageSize((wide * mm, high * mm))
        for left, top, right, bottom, x, y in page["windows"]:
            # Where there is picture: px of it from the whole's mm.
            pixels = lambda box: [(v - o) * px for v, o in zip(box, job["origin"] * 2)]  # noqa: E731
            box, within = pixels((left, top, right, bottom)), pixels(job["bounds"])
            clipped = [*map(max, box[:2], within[:2]), *map(min, box[2:], within[2:])]
            if clipped[0] >= clipped[2] or clipped[1] >= clipped[3]:
                continue
            size = [math.ceil((b - a) / px / 25.4 * DPI) for a, b in ((clipped[0], clipped[2]), (clipped[1], clipped[3]))]
            part = image.resize(size, Image.Resampling.BICUBIC, box=clipped)
            file = io.BytesIO()
            part.save(file, "JPEG", quality=QUALITY)
            file.seek(0)
            at = [x + (clipped[0] - box[0]) / px, y + (clipped[1] - box[1]) / px]
            w, h = [(b - a) / px for a, b in ((clipped[0], clipped[2]), (clipped[1], clipped[3]))]
            sheet.drawImage(ImageReader(file), at[0] * mm, (high - at[1] - h) * mm, w * mm, h * mm)
            path = sheet.beginPath()
            for i, (u, v) in enumerate(job["outline"]):
                place = ((u - left + x) * mm, (high - (v - top + y)) * mm)
                path.moveTo(*place) if i == 0 else path.lineTo(*place)
            sheet.drawPath(path)
        sheet.showPage()
    sheet.save()
    return out.getvalue()


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        job = json.load(file)
    image = picture(*job["picture"], 7)
    times, size = [], 0
    for _ in range(int(sys.argv[2])):
        begun = time.perf_counter()
        size = len(made(image, job))
        times.append((time.perf_counter() - begun) * 1000)
    print(json.dumps({"ms": times, "bytes": size}))


if __name__ == "__main__":
    main()
