# SPDX-License-Identifier: MIT
"""A class list is chosen among the files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from game.heats.roster import RosterFaults
from game.session.class_lists import read_list
from game.ui.pick_file import PickFile
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.screen import Screen
    from game.ui.stage import Stage


class ListFiles(PickFile):
    """Stateful: the class lists to choose from.

    Args:
        stage: as for all screens.
        behind: the page that wants the list.
        usual: the class that it is for; empty for any.
        take: what is done with the file, back on that page.
    """

    name = "list-files"
    endings = (".csv",)
    none_here = _(
        "No CSV files in Downloads, Documents or on the Desktop. Type or paste the path of "
        "one, or drop it on this window."
    )
    where = _("CSV files in Downloads, Documents and on the Desktop; or type the path of another.")
    asks = _("Where is the list? Ctrl+V pastes its path.")

    def __init__(
        self, stage: Stage, behind: Screen, usual: str, take: Callable[[Path], None]
    ) -> None:
        super().__init__(stage, behind, take)
        self._usual = usual

    @property
    def title(self) -> str:
        if self._usual:
            return _("A list for {name}").format(name=self._usual)
        return _("A class list")

    def fault(self, path: Path) -> str:
        try:
            read_list(path, self._usual)
        except RosterFaults as error:
            if len(error.faults) == 1:  # several have a page of their own
                return str(error)
        return ""
