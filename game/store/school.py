# SPDX-License-Identifier: MIT
"""What a teacher keeps."""

from __future__ import annotations

from game.store.connections import Connections
from game.store.heats import KeptHeats
from game.store.imports import Imports
from game.store.outbox import Outbox


class School(Imports, KeptHeats):
    """Classes and heats; reached as `store.school`.

    Every method raises :class:`StoreError` when the database refuses, but for those that keep
    a heat: what cannot be written waits.
    """

    def __init__(self, connections: Connections, outbox: Outbox) -> None:
        Imports.__init__(self, connections)
        KeptHeats.__init__(self, connections, outbox)
