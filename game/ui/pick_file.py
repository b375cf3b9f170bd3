# SPDX-License-Identifier: MIT
"""A file is chosen: among those that lie near at hand, or by its path."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, wait
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

import pygame

from game.files.nearby import files_nearby, given_path, shown
from game.ui.clipboard import pastes
from game.ui.list_page import Field, ListPage
from game.ui.widgets import Control, Rect
from game.words.dates import moment_words
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.screen import Screen
    from game.ui.stage import Stage

_MOST = 200
_AT_ONCE_S = 0.2  # what comes within this is there when the page is first seen
_LONGEST = 4096  # characters of a path (Linux's PATH_MAX)


class PickFile(ListPage):
    """Stateful: the files to choose from. A subclass says of what kind, and the page's words.

    Args:
        stage: as for all screens.
        behind: the page that wants one.
        take: what is done with the file, back on that page.
    """

    endings: tuple[str, ...] = ()
    none_here = ""  # where there is no such file
    where = ""  # above the list of them
    asks = ""  # for a path

    def __init__(self, stage: Stage, behind: Screen, take: Callable[[Path], None]) -> None:
        super().__init__(stage)
        self._behind, self._take = behind, take
        self._files: list[tuple[Path, str]] = []
        self._looking: Future[tuple[Path, ...]] | None = None

    def fault(self, path: Path) -> str:
        """Why a file whose path was typed cannot be meant; empty where it can."""
        return ""

    def enter(self) -> None:
        # macOS asks its user first whether the game may look there, and until then nothing returns.
        self._looking = Future()
        Thread(target=self._look, args=(self._looking,), daemon=True).start()
        wait((self._looking,), _AT_ONCE_S)
        self.tick(self.stage.clock.now())

    def _look(self, found: Future[tuple[Path, ...]]) -> None:
        found.set_result(files_nearby(self.endings, _MOST))

    def wait(self, now: float) -> float | None:
        due = super().wait(now)
        if self._looking is None:
            return due
        return _AT_ONCE_S if due is None else min(due, _AT_ONCE_S)

    def tick(self, now: float) -> None:
        super().tick(now)
        if self._looking is not None and self._looking.done():
            self._files = [(path, self._when(path)) for path in self._looking.result()]
            self._looking = None

    def _when(self, path: Path) -> str:
        try:
            when = datetime.fromtimestamp(path.stat().st_mtime, UTC)
            return moment_words(when.astimezone(), self.stage.clock.today)
        except (OSError, ValueError, OverflowError):
            return ""

    @property
    def empty(self) -> str:
        if self._looking is not None:
            return _("Looking in Downloads, Documents and on the Desktop …")
        return self.none_here

    @property
    def below_title(self) -> str:
        return self.where if self._files else ""

    def rows(self) -> list[Control]:
        return [
            self.row(f"file-{number}", shown(path), partial(self._chosen, path), when)
            for number, (path, when) in enumerate(self._files)
        ]

    def beside(self) -> list[Control]:
        return [self.row("path", _("Type or paste a path"), self._ask)]

    def feet(self) -> list[Control]:
        return [self.button("back", _("Back"), self.back)]

    def leave_page(self) -> None:
        self.stage.go.show(self._behind)

    def dropped(self, path: Path) -> bool:
        """A file was dropped here instead."""
        self._chosen(path)
        return True

    def _chosen(self, path: Path) -> None:
        self.stage.go.show(self._behind)
        self._take(path)

    @property
    def types_at(self) -> Rect | None:
        return super().types_at or self._field_box(self.stage.window.canvas)

    def text_typed(self, words: str) -> None:
        """What is typed on the list of files is a path, which its focus would not be."""
        if self.field is None and words.strip():
            self._ask()
        super().text_typed(words)

    def key(self, event: pygame.event.Event) -> None:
        if self.field is None and pastes(event):
            self._ask()
        super().key(event)

    def _ask(self) -> None:
        self.ask(Field(self.asks, self._given, longest=_LONGEST, does=_("Read it")))

    def _given(self, words: str) -> str:
        """The path that was typed; a complaint while it is none that can be meant."""
        path = given_path(words)
        complaint = _("Type or paste the path of a file.") if path is None else self.fault(path)
        if path is None or complaint:
            return complaint
        self._chosen(path)
        return ""
