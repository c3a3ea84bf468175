#!/usr/bin/env python3
"""Makes the lettering that pages carry: the letters of Western and Central European languages out of the shipped fonts.

    lettering.py            needs fonttools and brotli; writes src/report/picture/lettering/page.css
"""

import base64
import io
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

FOLDER = Path(__file__).resolve().parents[2] / "src" / "report" / "picture" / "lettering"
LETTERS = [*range(0x20, 0x7F), *range(0xA0, 0x180), *map(ord, "–—‘’“”•…−×€₩")]


def letters(name):
    font = TTFont(FOLDER / name)
    options = subset.Options(layout_features=["kern", "tnum", "mark", "mkmk", "ccmp"], hinting=False, desubroutinize=False, notdef_outline=True)
    options.flavor = "woff2"
    cut = subset.Subsetter(options)
    cut.populate(unicodes=LETTERS)
    cut.subset(font)
    font.flavor = "woff2"
    out = io.BytesIO()
    font.save(out)
    return base64.b64encode(out.getvalue()).decode()


css = "".join(
    f"@font-face{{font-family:'Landwaiter Lettering';font-weight:{weight};src:url(data:font/woff2;base64,{letters(name)})}}\n"
    for name, weight in [("regular.otf", 400), ("bold.otf", 700)]
)
(FOLDER / "page.css").write_text(css, encoding="ascii")
print(f"{len(css)} bytes")
