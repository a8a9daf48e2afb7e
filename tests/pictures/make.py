#!/usr/bin/env python3
"""Writes the test pictures. What each holds is known because this script asked Pillow to write it so.

    make.py small DIR     a few hundred bytes each; kept beside this script, read by the core's own tests
    make.py large DIR     up to 48 million pixels; made when wanted, for page tests and benchmarks

Needs Pillow and numpy (tests/requirements.txt). Writes nothing that exists already, and is the same every time.
"""

import io
import struct
import sys
import zlib
from pathlib import Path

import numpy as np
from PIL import Image, ImageOps

ORIENTATION, X_RESOLUTION, Y_RESOLUTION, UNIT = 0x0112, 0x011A, 0x011B, 0x0128
EXIF, EXPOSURE, FOCAL_35MM, FILE_SOURCE = 0x8769, 0x829A, 0xA405, 0xA300

# How the upright picture is turned before it is stored, so that a reader that obeys shows it upright:
# EXIF's own table of where row 0 and column 0 lie (CIPA DC-008, 4.6.4 A, Orientation), as Pillow has it.
STORED = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def corners(width, height):
    """Upright: red top left, green top right, blue bottom left, white bottom right."""
    pixels = np.zeros((height, width, 3), np.uint8)
    top, left = slice(0, height // 2), slice(0, width // 2)
    bottom, right = slice(height // 2, None), slice(width // 2, None)
    pixels[top, left], pixels[top, right] = (255, 0, 0), (0, 255, 0)
    pixels[bottom, left], pixels[bottom, right] = (0, 0, 255), (255, 255, 255)
    return Image.fromarray(pixels)


def drawing(width, height, seed=7):
    """Something like a scanned drawing: grey paper with noise, dark lines, a few filled shapes."""
    random = np.random.default_rng(seed)
    pixels = np.full((height, width), 232, np.int16)
    for _ in range(60):
        x, y = random.integers(0, width), random.integers(0, height)
        pixels[max(0, y - 3):y + 3, :] -= 90
        pixels[:, max(0, x - 3):x + 3] -= 90
    for _ in range(40):
        x, y = random.integers(0, width), random.integers(0, height)
        w, h = random.integers(20, width // 8 + 21), random.integers(20, height // 8 + 21)
        pixels[y:y + h, x:x + w] -= random.integers(10, 80)
    rows = max(1, min(height, 400))
    noise = random.integers(-6, 7, (rows, width)).astype(np.int16)
    for y in range(0, height, rows):
        pixels[y:y + rows] += noise[:min(rows, height - y)]
    grey = np.clip(pixels, 0, 255).astype(np.uint8)
    return Image.fromarray(np.stack([grey, np.clip(grey.astype(np.int16) - 6, 0, 255).astype(np.uint8), grey], 2))


def tags(orientation=None, dpi=None, unit=2, camera=None):
    exif = Image.Exif()
    if orientation is not None:
        exif[ORIENTATION] = orientation
    if dpi is not None:
        exif[X_RESOLUTION], exif[Y_RESOLUTION], exif[UNIT] = float(dpi[0]), float(dpi[1]), unit
    for tag, value in (camera or {}).items():
        exif.get_ifd(EXIF)[tag] = value
    return exif


def shown_upright(stored, number):
    """What Pillow's own reader makes of the stored picture."""
    stored = stored.copy()
    stored.getexif()[ORIENTATION] = number
    return ImageOps.exif_transpose(stored)


def encode(image, kind, **options):
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def chunk(name, body):
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def after_heading(jpeg, marker, body):
    """The JPEG with one more segment after its JFIF heading."""
    end = 4 + struct.unpack(">H", jpeg[4:6])[0]
    return jpeg[:end] + bytes([0xFF, marker]) + struct.pack(">H", len(body) + 2) + body + jpeg[end:]


def jfif(jpeg, unit, x, y):
    """The JPEG with these figures in its JFIF heading, as libjpeg-like writers put them."""
    assert jpeg[6:11] == b"JFIF\0"
    return jpeg[:13] + struct.pack(">BHH", unit, x, y) + jpeg[18:]


def jpeg_with_both(unit, x, y, exif):
    """A JFIF heading and tags in one file: Pillow itself writes one or the other."""
    plain = jfif(encode(corners(24, 16), "JPEG", quality=60), unit, x, y)
    return after_heading(plain, 0xE1, exif.tobytes())


def small():
    small = corners(24, 16)
    for number, turn in STORED.items():
        stored = small.transpose(turn) if turn is not None else small
        exif = tags(number, dpi=(200, 100))
        assert shown_upright(stored, number) == small
        yield f"turned-{number}.jpg", encode(stored, "JPEG", quality=60, exif=exif)
        if number == 6:
            yield "turned-6.png", encode(stored, "PNG", exif=tags(number))
            yield "turned-6.webp", encode(stored, "WEBP", lossless=True, exif=tags(number, dpi=(200, 100)))
    for dpi in (300, 72, 96):
        yield f"jfif-{dpi}.jpg", encode(small, "JPEG", quality=60, dpi=(dpi, dpi))
    bare = encode(small, "JPEG", quality=60)
    yield "jfif-shape.jpg", jfif(bare, 0, 1, 1)
    yield "jfif-118-cm.jpg", jfif(bare, 2, 118, 118)
    yield "jfif-28-cm.jpg", jfif(bare, 2, 28, 28)
    yield "both-agree.jpg", jpeg_with_both(1, 300, 300, tags(dpi=(300, 300)))
    yield "both-disagree.jpg", jpeg_with_both(1, 150, 150, tags(dpi=(300, 300)))
    yield "both-72-300.jpg", jpeg_with_both(1, 72, 72, tags(dpi=(300, 300)))
    yield "both-300-72.jpg", jpeg_with_both(1, 300, 300, tags(dpi=(72, 72)))
    yield "exif-120-cm.jpg", encode(small, "JPEG", quality=60, exif=tags(dpi=(120, 120), unit=3))
    camera = {EXPOSURE: 0.01, FOCAL_35MM: 26}
    yield "camera-300.jpg", encode(small, "JPEG", quality=60, exif=tags(dpi=(300, 300), camera=camera))
    scanner = {EXPOSURE: 0.01, FILE_SOURCE: b"\x02"}
    yield "scanner-300.jpg", encode(small, "JPEG", quality=60, exif=tags(dpi=(300, 300), camera=scanner))
    yield "progressive.jpg", encode(small, "JPEG", quality=60, progressive=True)
    yield "phys-300.png", encode(small, "PNG", dpi=(300, 300))
    yield "phys-72.png", encode(small, "PNG", dpi=(72, 72))
    yield "phys-300-150.png", encode(small, "PNG", dpi=(300, 150))
    yield "lossy.webp", encode(small, "WEBP", quality=60)
    yield "lossless.webp", encode(small, "WEBP", lossless=True)
    second = small.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    yield "still.gif", encode(small, "GIF")
    yield "moving.gif", encode(small, "GIF", save_all=True, append_images=[second], duration=200)
    yield "moving.png", encode(small, "PNG", save_all=True, append_images=[second], duration=200)
    yield "moving.webp", encode(small, "WEBP", save_all=True, append_images=[second], duration=200)
    yield "plain.bmp", encode(small, "BMP", dpi=(300, 300))
    yield "plain.tif", encode(small, "TIFF", dpi=(300, 300), compression="tiff_lzw")
    yield "plain.avif", encode(small, "AVIF", quality=60)
    yield "plain.pdf", b"%PDF-1.4\n%%EOF\n"
    yield "one-pixel.png", encode(Image.new("RGB", (1, 1), "white"), "PNG")
    # A heading with no picture behind it: what a reader sees of a phone's file it can't decode.
    yield "heading.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic"
    yield "drawing.svg", b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"/>\n'
    yield "words.jpg", b"This is not a picture, whatever its name says.\n"
    yield "empty.jpg", b""
    yield "cut-short.jpg", encode(small, "JPEG", quality=60, dpi=(300, 300))[:120]


def large():
    wide = drawing(1200, 900)
    for number, turn in STORED.items():
        stored = corners(1200, 900).transpose(turn) if turn is not None else corners(1200, 900)
        yield f"corners-{number}.jpg", lambda s=stored, n=number: encode(s, "JPEG", quality=90, exif=tags(n))
    yield "see-through.png", lambda: encode(Image.new("RGBA", (600, 400), (0, 0, 0, 0)), "PNG")
    yield "cut-short.jpg", lambda: (lambda b: b[:len(b) // 2])(encode(wide, "JPEG", quality=90))
    yield "cut-short.png", lambda: (lambda b: b[:len(b) // 2])(encode(wide, "PNG"))
    yield "behind-the-end.jpg", lambda: encode(wide, "JPEG", quality=90) + b"\0" * 300_000
    yield "30000x100.png", lambda: encode(drawing(30_000, 100), "PNG", compress_level=1)
    yield "30000x100.jpg", lambda: encode(drawing(30_000, 100), "JPEG", quality=88)
    yield "12mpx.jpg", lambda: encode(drawing(4000, 3000), "JPEG", quality=88, dpi=(300, 300))
    yield "48mpx.jpg", lambda: encode(drawing(8000, 6000), "JPEG", quality=85, dpi=(300, 300))
    yield "48mpx-turned.jpg", lambda: encode(drawing(8000, 6000), "JPEG", quality=85, exif=tags(6))


def write(folder, made):
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in made:
        path = folder / name
        if not path.exists():
            path.write_bytes(content() if callable(content) else content)
            print(f"{path.stat().st_size:>10}  {name}")


if __name__ == "__main__":
    if len(sys.argv) != 3 or sys.argv[1] not in ("small", "large"):
        sys.exit(__doc__)
    write(Path(sys.argv[2]), small() if sys.argv[1] == "small" else large())
