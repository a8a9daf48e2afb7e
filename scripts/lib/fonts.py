#!/usr/bin/env python3
"""Makes the page's type: of Source Sans 3 only the letters that the page itself uses.

    pip install fonttools brotli
    scripts/lib/fonts.py        www/fonts/*.woff2 and fonts.css, from node_modules/@fontsource/source-sans-3

Letters beyond those (in names that people give) are set in the system's own face. What is made is an altered version in
the sense of the type's licence (SIL OFL 1.1), whose reserved name is "Source": so it is called by another.
tests/source/type.test.mjs fails when a sentence of the page has a letter that is missing here.
"""

import pathlib
import shutil

from fontTools import subset

ROOT = pathlib.Path(__file__).resolve().parents[2]
FROM = ROOT / "node_modules/@fontsource/source-sans-3"
TO = ROOT / "www/fonts"
FAMILY = "Scrieve Text"
WEIGHTS = {400: "Regular", 600: "SemiBold"}
# ASCII; no-break space, °, ±, ·, ¼ ½ ¾, ×, ÷, – —, quotes, …, feet and inch marks, the fraction's bar, −.
LETTERS = [*range(0x20, 0x7F), 0xA0, 0xB0, 0xB1, 0xB7, 0xBC, 0xBD, 0xBE, 0xD7, 0xF7, 0x2013, 0x2014, 0x2018, 0x2019,
           0x201C, 0x201D, 0x2026, 0x2032, 0x2033, 0x2044, 0x2212]


def ranges(letters):
    """As CSS has them: U+20-7E, U+A0, …"""
    runs = []
    for letter in sorted(letters):
        if runs and letter == runs[-1][1] + 1:
            runs[-1][1] = letter
        else:
            runs.append([letter, letter])
    return ", ".join(f"U+{a:X}" if a == b else f"U+{a:X}-{b:X}" for a, b in runs)


def cut(weight, style):
    """One weight; gives the letters it has."""
    options = subset.Options()
    options.flavor = "woff2"
    options.hinting = False
    options.layout_features = ["kern"]
    options.name_IDs = [0, 1, 2, 3, 4, 6, 13, 14]
    font = subset.load_font(FROM / f"files/source-sans-3-latin-{weight}-normal.woff2", options)
    has = set(font.getBestCmap()) & set(LETTERS)
    for record in font["name"].names:
        told = {1: f"{FAMILY} {style}", 3: f"{FAMILY} {style}", 4: f"{FAMILY} {style}", 6: f"{FAMILY}-{style}".replace(" ", "")}
        if record.nameID in told:
            record.string = told[record.nameID]
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=has)
    cutter.subset(font)
    font.recalcTimestamp = False
    subset.save_font(font, TO / f"{weight}.woff2", options)
    return has


def main():
    TO.mkdir(exist_ok=True)
    shutil.copy(FROM / "LICENSE", TO / "LICENSE.txt")
    rules = []
    for weight, style in WEIGHTS.items():
        has = cut(weight, style)
        rules.append(f"""@font-face {{
  font-family: "{FAMILY}";
  font-weight: {weight};
  font-display: swap;
  src: url(./{weight}.woff2) format("woff2");
  unicode-range: {ranges(has)};
}}""")
        print(f"{weight}: {(TO / f'{weight}.woff2').stat().st_size} bytes; none of", [chr(c) for c in LETTERS if c not in has])
    (TO / "fonts.css").write_text("/* Made by scripts/lib/fonts.py. */\n" + "\n".join(rules) + "\n")


if __name__ == "__main__":
    main()
