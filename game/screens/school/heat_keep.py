# SPDX-License-Identifier: MIT
"""The file of a heat, written where a teacher finds it; with names only if the teacher says so."""

from __future__ import annotations

import json
from pathlib import Path

from game import __version__
from game.heats.chain import heat_file
from game.screens.school.files import NAMED
from game.session.live_heat import LiveHeat
from game.store import Store, StoreError
from game.words.dates import local
from game.words.text import _

ENDING = ".heat.json"
WITH_NAMES = NAMED + ENDING
_NAMES = "heat file names"


def names_wanted(store: Store) -> bool:
    """Whether heat files are to have names; not before somebody has chosen so."""
    try:
        return store.get_setting(_NAMES, False) is True
    except StoreError:
        return False


def want_names(store: Store, wanted: bool) -> None:
    """Choose it, from now on.

    Raises:
        StoreError: the choice cannot be kept.
    """
    store.set_setting(_NAMES, wanted)


def keep_file(live: LiveHeat, *, names: bool) -> Path:
    """Write the file of an ended heat into the documents, or failing that the game's own folder.

    It is named after its date, class and level, and says so where it has names; no file is written
    over.

    Raises:
        NotSaved: neither folder takes it; the message says why. The heat is in the store.
    """
    from game.paper.saving import save_page  # here: few visits need it

    data = heat_file(
        live.setup,
        live.events,
        program=f"stavewise {__version__}",
        names=names,
        heat=live.heat,
    )
    return save_page(
        json.dumps(data, ensure_ascii=False, indent=1),
        heat_title(live),
        WITH_NAMES if data.get("names") else ENDING,
        _("make room there, then choose Export heat file"),
    )


def has_names(path: Path) -> bool:
    """Whether a heat's file has names, as its own name says."""
    return path.name.endswith(WITH_NAMES)


def heat_title(live: LiveHeat) -> str:
    """What the files of a heat are called: its day first, so that they lie in order of time."""
    day = local(live.began).date().isoformat()
    parts = [part for part in (live.manners.title, live.setup.level_title) if part]
    return " ".join([day, ", ".join(parts).replace(":", ",")]).strip()


def short_path(path: Path) -> str:
    """A path with the home folder as ``~``."""
    try:
        return str(Path("~") / path.relative_to(Path.home()))
    except (ValueError, RuntimeError):
        return str(path)
