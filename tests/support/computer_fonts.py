# SPDX-License-Identifier: MIT
"""The fonts of the computer that tests run on, and a computer with others or none."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest.mock import patch

import pytest

from game.lettering import fonts
from game.paper import faces
from game.ui import theme

NAMES = {
    "Arabic": "محمد علی‌رضا",
    "Hebrew": "שָׁלוֹם כהן",
    "Chinese": "李小龙",
    "Japanese": "山田 ハナコ",
    "Korean": "김민준",
    "Devanagari": "अर्जुन सिंह",
    "Tamil": "தமிழ்ச்செல்வி",
    "Kannada": "ಕಾವ್ಯ",
    "Thai": "สมชาย ใจดี",
    "Georgian": "ქეთევან",
    "Ethiopic": "አበበ",
}
"""Names in scripts that the fonts of the assets lack."""


def needs(name: str) -> None:
    """Skip, or fail where fonts are required, if this computer cannot draw a name."""
    if not theme.says(name):
        words = f"needs a font for {name}: install fonts-noto-core, fonts-wqy-microhei"
        if os.environ.get("STAVEWISE_REQUIRE_FONTS") == "1":
            pytest.fail(words)
        pytest.skip(words)


@contextmanager
def only_fonts_of(*folders: Path) -> Iterator[None]:
    """A computer whose own fonts are in these folders."""
    with patch.object(fonts, "_folders", lambda: iter(folders)):
        _forget()
        try:
            yield
        finally:
            _forget()


def _forget() -> None:
    kept = (
        *(fonts._fonts, fonts.font_for, fonts.opened_font, faces.runs),
        *(theme._ours, theme._pieces, theme.text_surface),
    )
    for cached in kept:
        cached.cache_clear()
