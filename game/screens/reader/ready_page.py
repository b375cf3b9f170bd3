# SPDX-License-Identifier: MIT
"""Whether this computer is ready, line by line, as it is found."""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from threading import Thread
from typing import TYPE_CHECKING

from game.ready import Check, Finding, Parts, checks, found
from game.ui.list_page import ListPage
from game.ui.theme import says
from game.ui.widgets import Control
from game.words.text import _

if TYPE_CHECKING:
    from game.ui.screen import Screen
    from game.ui.stage import Stage

_HERE = ("window", "letters", "sound")  # what only the thread of the window may ask for
_AGAIN_S = 0.1


class ReadyPage(ListPage):
    """Stateful: what has been found so far, and what still has to be looked at."""

    name = "ready"
    narrow = 900
    high = 27
    top = 116

    def __init__(self, stage: Stage, behind: Screen) -> None:
        super().__init__(stage)
        self._behind = behind
        self.parts = Parts(
            stage.store.tried,
            says,
            lambda: stage.piano.keyboards,
            lambda: stage.sounds.player.reason,
        )
        self._checks = checks(self.parts)
        self._found: dict[str, Finding] = {}
        self._done = deque[Finding]()  # from the thread

    def enter(self) -> None:
        slow = [check for check in self._checks if check[0] not in _HERE]
        self._found = {check[0]: found(check) for check in self._checks if check[0] in _HERE}
        Thread(target=self._look, args=(slow,), daemon=True).start()

    def _look(self, slow: list[Check]) -> None:
        for check in slow:
            self._done.append(found(check))

    def wait(self, now: float) -> float | None:
        return None if len(self._found) == len(self._checks) else _AGAIN_S

    def tick(self, now: float) -> None:
        while self._done:
            finding = self._done.popleft()
            self._found[finding.topic] = finding

    @property
    def title(self) -> str:
        return _("This computer")

    @property
    def below_title(self) -> str:
        if len(self._found) < len(self._checks):
            return _("Looking …")
        return _(
            "To report a fault, copy these lines: run \u2018stavewise ready\u2019 in a terminal."
        )

    def rows(self) -> list[Control]:
        shown = {"fine": _("fine"), "look": _("look"), "broken": _("broken")}
        lines = []
        for topic, _check in self._checks:
            finding = self._found.get(topic)
            state = "…" if finding is None else shown[finding.state]
            title = topic[:1].upper() + topic[1:]
            lines.append(replace(self.words(title, state), style="chapter"))
            if finding is not None:
                lines.append(self.words(finding.what))
            if finding is not None and finding.mend:
                lines.append(self.words(finding.mend, mark="›"))
        return lines

    def feet(self) -> list[Control]:
        return [self.button("back", _("Back"), self.back, "primary")]

    def leave_page(self) -> None:
        self.stage.go.show(self._behind)
