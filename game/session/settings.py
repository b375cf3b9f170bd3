# SPDX-License-Identifier: MIT
"""The settings as they are now."""

from __future__ import annotations

from collections.abc import Callable

from game.session.options import Options
from game.store import Store, StoreError


class SettingsInUse:
    """Stateful: the settings, where they are kept, and who acts on a change of them.

    Args:
        notices: where it is told that they could not be kept.
    """

    def __init__(self, notices: list[str]) -> None:
        self.now = Options()  # until a store says otherwise
        self.watch: list[Callable[[Options, Options], None]] = []
        """Called with the settings before a change and after it."""
        self._notices = notices
        self._store: Store | None = None

    def open(self, store: Store) -> None:
        """Take what a store has kept of them, and keep them there from now on.

        Raises:
            StoreError: it cannot be read.
        """
        self._change(Options.from_kept(store.get_setting("options", {})))
        self._store = store

    def save(self, options: Options) -> None:
        """Keep and apply the settings."""
        self._change(options)
        try:
            if self._store is not None:
                self._store.set_setting("options", options.kept())
        except StoreError as error:
            self._notices.insert(0, str(error))

    def _change(self, options: Options) -> None:
        before, self.now = self.now, options
        for tell in self.watch:
            tell(before, options)
