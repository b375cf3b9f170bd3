# SPDX-License-Identifier: MIT
"""Makes StavewiseSymbols-Regular.ttf: the few characters that the text faces lack.

    python make_symbols.py NOTO

NOTO is a folder with NotoMusic-Regular.ttf, NotoSansSymbols2-Regular.ttf and
NotoSansCJK-Regular.ttc (Debian: fonts-noto-core, fonts-noto-cjk). Needs the package fonttools.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTCollection, TTFont

# Accidentals as engravers proportion them (the double sharp larger, to be read in small text), a
# note as tall as capitals, the dot beside its head, in staff spaces: (sign, height, lowest point).
SPACE = 265
SIGNS = (
    ("♯", 2.8, -0.2),
    ("♭", 2.45, -0.1),
    ("♮", 2.75, -0.2),
    ("𝄪", 1.3, 0.25),
    ("𝄫", 2.45, -0.1),
    ("♩", 2.7, 0.0),
)
DOT = "\ue1e7"  # augmentationDot of SMuFL: Unicode's own combines, and would have no width
OTHERS = "✗"
JAPANESE = "ハニホヘトイロ嬰変重"
JAPANESE_SCALE = 0.92  # brings its capitals to the height of Source Sans Pro's
CARET = "▏"
ASCENT, DESCENT = 984, -273  # those of Source Sans Pro, so that the lines do not move

Glyph = tuple[object, int]


def traced(draw: Callable[[object], None], matrix: tuple[float, ...]) -> object:
    """A TrueType outline of what `draw` draws, moved and scaled."""
    pen = TTGlyphPen(None)
    draw(TransformPen(Cu2QuPen(pen, max_err=0.5), matrix))
    return pen.glyph()


def copied(font: TTFont, character: str, scale: float = 1.0) -> Glyph:
    """A character of another font of 1000 units to the em, on the same baseline."""
    glyph = font.getGlyphSet()[font.getBestCmap()[ord(character)]]
    return traced(glyph.draw, (scale, 0, 0, scale, 0, 0)), round(glyph.width * scale)


def sign(font: TTFont, character: str, height: float, lowest: float) -> Glyph:
    """A sign of music in our proportions; a dot, which combines, is given a width."""
    glyphs = font.getGlyphSet()
    glyph = glyphs[font.getBestCmap()[ord(character)]]
    bounds = BoundsPen(glyphs)
    glyph.draw(bounds)
    _, bottom, right, top = bounds.bounds
    scale = height * SPACE / (top - bottom)
    shift = lowest * SPACE - bottom * scale
    advance = glyph.width or 1.5 * right
    return traced(glyph.draw, (scale, 0, 0, scale, 0, shift)), round(advance * scale)


def caret() -> Glyph:
    """A thin bar, for the place where typing goes on."""
    pen = TTGlyphPen(None)
    pen.moveTo((20, -200))
    for point in ((20, 800), (80, 800), (80, -200)):
        pen.lineTo(point)
    pen.closePath()
    return pen.glyph(), 200


def main(noto: Path, out: Path) -> None:
    """Write the font."""
    music = TTFont(noto / "NotoMusic-Regular.ttf")
    symbols = TTFont(noto / "NotoSansSymbols2-Regular.ttf")
    cjk = TTCollection(noto / "NotoSansCJK-Regular.ttc").fonts[0]  # the Japanese forms
    made = {item[0]: sign(music, *item) for item in SIGNS}
    made |= {character: copied(symbols, character) for character in OTHERS}
    made |= {character: copied(cjk, character, JAPANESE_SCALE) for character in JAPANESE}
    made[CARET] = caret()
    made[DOT] = sign(music, "𝅭", 0.4, 0.15)

    named: dict[str, Glyph] = {".notdef": (TTGlyphPen(None).glyph(), 300)}
    named |= {f"u{ord(character):05X}": glyph for character, glyph in made.items()}
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(list(named))
    builder.setupCharacterMap({int(name[1:], 16): name for name in named if name != ".notdef"})
    builder.setupGlyf({name: glyph for name, (glyph, _) in named.items()})
    table = builder.font["glyf"]
    builder.setupHorizontalMetrics(
        {name: (width, getattr(table[name], "xMin", 0)) for name, (_, width) in named.items()}
    )
    builder.setupHorizontalHeader(ascent=ASCENT, descent=DESCENT)
    builder.setupOS2(
        sTypoAscender=ASCENT, sTypoDescender=DESCENT, usWinAscent=ASCENT, usWinDescent=-DESCENT
    )
    builder.setupNameTable(
        {
            "copyright": "; ".join(str(f["name"].getDebugName(0)) for f in (music, symbols, cjk)),
            "familyName": "Stavewise Symbols",
            "styleName": "Regular",
            "psName": "StavewiseSymbols-Regular",
            "version": "Version 1.000",
            "licenseDescription": "SIL Open Font License, Version 1.1",
        }
    )
    builder.setupPost()
    builder.save(out)


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(Path(sys.argv[1]), Path(__file__).with_name("StavewiseSymbols-Regular.ttf"))
