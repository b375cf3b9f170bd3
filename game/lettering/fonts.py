# SPDX-License-Identifier: MIT
"""The fonts of this computer, and which of them has the characters of a text."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import uharfbuzz

_ENDINGS = {".ttf", ".otf", ".ttc", ".otc"}
_UNLIKE = (
    *("italic", "oblique", "bold", "black", "light", "thin", "medium"),
    *("mono", "condensed", "narrow", "serif", "unifont"),
)
"""What the name of a font says that would stand out among the assets' upright sans-serif."""
_NO_LETTERS = ("emoji", "lastresort", "adobeblank")  # pictures, boxes, nothing


@lru_cache(maxsize=1024)
def font_for(text: str) -> Path | None:
    """The computer's font to draw all of a text with; None if no font here has it all."""
    return next((font for font in _fonts() if all(has(font, one) for one in text)), None)


def has(font: Path, character: str) -> bool:
    """Whether a font has a character."""
    opened = opened_font(font)
    return opened is not None and opened.get_nominal_glyph(ord(character)) is not None


@cache
def opened_font(font: Path) -> uharfbuzz.Font | None:
    """A font for HarfBuzz, in its own units; None where the file cannot be read."""
    import uharfbuzz

    try:
        blob = uharfbuzz.Blob.from_file_path(str(font))
    except uharfbuzz.HarfBuzzError:
        return None
    return uharfbuzz.Font(uharfbuzz.Face(blob))


@cache
def _fonts() -> tuple[Path, ...]:
    """The computer's fonts, the plainest first."""
    found = {
        path
        for folder in _folders()
        for path in folder.rglob("*")
        if path.suffix.lower() in _ENDINGS
        and not any(word in path.stem.lower() for word in _NO_LETTERS)
    }
    return tuple(sorted(found, key=_plainness))


def _plainness(path: Path) -> tuple[int, bool, str, str]:
    name = path.stem.lower()
    return sum(word in name for word in _UNLIKE), "sans" not in name, name, str(path)


def _folders() -> Iterator[Path]:
    """Where the three systems keep fonts (fontconfig's defaults where there is fontconfig)."""
    home, env = Path.home(), os.environ
    if sys.platform == "win32":
        yield Path(env.get("WINDIR", r"C:\Windows"), "Fonts")
        yield home / "AppData/Local/Microsoft/Windows/Fonts"
    elif sys.platform == "darwin":
        yield from (Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library/Fonts")
    else:
        shared = env.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share"
        for folder in (env.get("XDG_DATA_HOME") or home / ".local/share", *shared.split(":")):
            yield Path(folder, "fonts")
        yield home / ".fonts"
