# SPDX-License-Identifier: MIT
"""Sheet music is chosen among the files, to be read."""

from __future__ import annotations

from pathlib import Path

from game.files.nearby import shown
from game.pieces.files import FORMATS
from game.ui.pick_file import PickFile
from game.words.text import _


class MusicFiles(PickFile):
    """Stateful: the sheet music to choose from."""

    name = "music-files"
    title = _("Your own sheet music")
    endings = tuple(FORMATS)
    none_here = _(
        "No sheet music in Downloads, Documents or on the Desktop. Save a piece there as MusicXML, "
        "MEI, ABC or Humdrum; type or paste the path of one; or drop it on this window."
    )
    where = _("Choose a piece to make levels of it; or type the path of another.")
    asks = _("Where is the piece? Ctrl+V pastes its path.")

    def fault(self, path: Path) -> str:
        if path.is_file():
            return ""
        words = _("{file}: there is no such file; see that its path is right")
        return words.format(file=shown(path))

    def dropped(self, path: Path) -> bool:
        return path.suffix.lower() in FORMATS and super().dropped(path)
