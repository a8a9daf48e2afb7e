#!/usr/bin/env python3
"""Makes the page's type: of Source Sans 3 only the letters that the page itself uses, those of English in one file, those that
its other languages use besides in another, which is fetched when one of them is shown. And the type of printed sheets:
all Latin, Greek and Cyrillic letters it has, as TrueType that crate/src/sheet/font.rs can read, without what the outlines tell anyway.

    pip install fonttools brotli
    scripts/lib/fonts.py        www/fonts/*.woff2, *.type and fonts.css, from node_modules/@fontsource/source-sans-3

Letters beyond those (in names that people give) are set in the system's own face. What is made is an altered version in
the sense of the type's licence (SIL OFL 1.1), whose reserved name is "Source": so it is called by another.
tests/source/type.test.mjs fails when a sentence of the page has a letter that is missing here.
"""

import io
import json
import pathlib
import shutil
import struct
import tempfile

from fontTools import subset
from fontTools.merge import Merger
from fontTools.ttLib import TTFont

ROOT = pathlib.Path(__file__).resolve().parents[2]
FROM = ROOT / "node_modules/@fontsource/source-sans-3"
TO = ROOT / "www/fonts"
FAMILY = "Scrieve Text"
WEIGHTS = {400: "Regular", 600: "SemiBold"}
# ASCII; no-break space, °, ±, ·, ¼ ½ ¾, ×, ÷, – —, quotes, …, feet and inch marks, the fraction's bar, −.
LETTERS = [*range(0x20, 0x7F), 0xA0, 0xB0, 0xB1, 0xB7, 0xBC, 0xBD, 0xBE, 0xD7, 0xF7, 0x2013, 0x2014, 0x2018, 0x2019,
           0x201C, 0x201D, 0x2026, 0x2032, 0x2033, 0x2044, 0x2212]
# What sheets are set in: names may be in any of these.
SCRIPTS = ("latin", "latin-ext", "vietnamese", "greek", "greek-ext", "cyrillic", "cyrillic-ext")
# The small figures of a fraction stand at letters of private use, one for each digit above and below the bar:
# crate/src/sheet/font.rs looks there.
ABOVE, BELOW = 0xE000, 0xE010


def ranges(letters):
    """As CSS has them: U+20-7E, U+A0, …"""
    runs = []
    for letter in sorted(letters):
        if runs and letter == runs[-1][1] + 1:
            runs[-1][1] = letter
        else:
            runs.append([letter, letter])
    return ", ".join(f"U+{a:X}" if a == b else f"U+{a:X}-{b:X}" for a, b in runs)


def other_letters():
    """What the page's other languages need besides: read from their words."""
    words = [json.loads(path.read_text()) for path in sorted((ROOT / "www/words").glob("*.json"))]
    used = {c for sentences in words for text in sentences.values() for c in text}
    # A name may begin with what stands only within a word here.
    return sorted({ord(c) for letter in used for c in letter + letter.upper()} - set(LETTERS))


def cut(weight, style, letters, name):
    """So many letters of one weight; gives those it has."""
    options = subset.Options()
    options.flavor = "woff2"
    options.hinting = False
    options.layout_features = ["kern"]
    options.name_IDs = [0, 1, 2, 3, 4, 6, 13, 14]
    font = subset.load_font(FROM / f"files/source-sans-3-latin-{weight}-normal.woff2", options)
    has = set(font.getBestCmap()) & set(letters)
    for record in font["name"].names:
        told = {1: f"{FAMILY} {style}", 3: f"{FAMILY} {style}", 4: f"{FAMILY} {style}", 6: f"{FAMILY}-{style}".replace(" ", "")}
        if record.nameID in told:
            record.string = told[record.nameID]
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=has)
    cutter.subset(font)
    font.recalcTimestamp = False
    subset.save_font(font, TO / name, options)
    return has


def small_figures(font, feature):
    """The glyphs that a feature puts in place of the ten digits."""
    table = font["GSUB"].table
    wanted = {i for r in table.FeatureList.FeatureRecord if r.FeatureTag == feature for i in r.Feature.LookupListIndex}
    swaps = {}
    for i in wanted:
        for part in table.LookupList.Lookup[i].SubTable:
            swaps.update(getattr(part, "mapping", {}))
    cmap = font.getBestCmap()
    return [swaps[cmap[ord(digit)]] for digit in "0123456789"]


def of_script(script, weight, taken, folder):
    """The letters of one script that none before it had, without layout, as a file of its own."""
    font = TTFont(FROM / f"files/source-sans-3-{script}-{weight}-normal.woff2")
    font.flavor = None
    letters = set(font.getBestCmap()) - taken
    glyphs = []
    if script == "latin":
        figures = [(ABOVE, small_figures(font, "numr")), (BELOW, small_figures(font, "dnom"))]
        for table in font["cmap"].tables:
            if table.isUnicode():
                table.cmap.update({start + i: name for start, names in figures for i, name in enumerate(names)})
        letters |= {start + i for start, _ in figures for i in range(10)}
        glyphs = [name for _, names in figures for name in names]
    options = subset.Options()
    options.hinting = False
    options.layout_features = []
    options.notdef_outline = True
    options.drop_tables += ["BASE", "GSUB", "GPOS", "GDEF", "STAT", "gasp", "DSIG"]
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=letters, glyphs=glyphs)
    cutter.subset(font)
    path = pathlib.Path(folder) / f"{script}.ttf"
    font.save(path)
    taken |= letters
    return str(path)


def sheet_type(weight, style):
    """One weight for printed sheets."""
    taken = set()
    with tempfile.TemporaryDirectory() as folder:
        font = Merger().merge([of_script(script, weight, taken, folder) for script in SCRIPTS])
    for record in font["name"].names:
        told = {1: f"{FAMILY} {style}", 3: f"{FAMILY} {style}", 4: f"{FAMILY} {style}", 6: f"{FAMILY}-{style}".replace(" ", "")}
        if record.nameID in told:
            record.string = told[record.nameID]
    font["post"].formatType = 3.0
    font.recalcTimestamp = False
    plain = io.BytesIO()
    font.save(plain)
    path = TO / f"sheet-{weight}.type"
    path.write_bytes(lean(plain.getvalue()))
    print(f"{path.name}: {path.stat().st_size} bytes, {len(font.getGlyphOrder())} glyphs")


def lean(data):
    """A TrueType file without what its outlines tell: where each lies (`size` tells how long each is, in words of two bytes) and
    where it begins (`wide` tells how far it reaches, no more). What nobody reads from it is left out."""
    font = TTFont(io.BytesIO(data))
    table = {tag: font.reader[tag] for tag in ("cmap", "glyf", "head", "hhea", "maxp")}
    places = list(font["loca"].locations)
    sizes = [(b - a) // 2 for a, b in zip(places, places[1:])]
    if any((b - a) % 2 for a, b in zip(places, places[1:])) or max(sizes) > 255:
        raise ValueError("an outline's length can't be told in a byte")
    table["size"] = bytes(sizes)
    reach = font.reader["hmtx"]
    table["wide"] = b"".join(reach[4 * i:4 * i + 2] for i in range(font["hhea"].numberOfHMetrics))
    head, body, at = [], [], 12 + 16 * len(table)
    for tag, part in sorted(table.items()):
        head.append(struct.pack(">4sIII", tag.encode(), 0, at, len(part)))
        body.append(part + bytes(-len(part) % 4))
        at += len(body[-1])
    return struct.pack(">IHHHH", 0x10000, len(table), 0, 0, 0) + b"".join(head + body)


def main():
    TO.mkdir(exist_ok=True)
    shutil.copy(FROM / "LICENSE", TO / "LICENSE.txt")
    rules = []
    for weight, style in WEIGHTS.items():
        for letters, name in ((LETTERS, f"{weight}.woff2"), (other_letters(), f"{weight}-more.woff2")):
            has = cut(weight, style, letters, name)
            rules.append(f"""@font-face {{
  font-family: "{FAMILY}";
  font-weight: {weight};
  font-display: swap;
  src: url(./{name}) format("woff2");
  unicode-range: {ranges(has)};
}}""")
            print(f"{name}: {(TO / name).stat().st_size} bytes; none of", [chr(c) for c in letters if c not in has])
        sheet_type(weight, style)
    (TO / "fonts.css").write_text("/* Made by scripts/lib/fonts.py. */\n" + "\n".join(rules) + "\n")


if __name__ == "__main__":
    main()
