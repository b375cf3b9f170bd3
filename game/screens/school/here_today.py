# SPDX-License-Identifier: MIT
"""Who is away from a class today, kept in the store's settings until the day is over."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from game.store import StoreError

if TYPE_CHECKING:
    from game.ui.stage import Stage


def away_today(stage: Stage, class_id: int) -> frozenset[int]:
    """Ids of the members who are away; nobody on a new day, or where it cannot be read.

    Those who are away are kept, not those who are here: whoever is new in the class is here.
    """
    try:
        kept = stage.store.get_setting(_key(class_id))
    except StoreError:
        return frozenset()
    if not isinstance(kept, dict) or kept.get("day") != stage.clock.today:
        return frozenset()
    away = kept.get("away")
    return (
        frozenset(one for one in away if type(one) is int)
        if isinstance(away, list)
        else frozenset()
    )


def keep_away(stage: Stage, class_id: int, away: Iterable[int]) -> str:
    """Keep who is away today; a complaint where it cannot be kept."""
    try:
        stage.store.set_setting(_key(class_id), {"day": stage.clock.today, "away": sorted(away)})
    except StoreError as error:
        return str(error)
    return ""


def came_today(stage: Stage, class_id: int, came: Iterable[int]) -> None:
    """Some came after all: they were taken into a heat while it was under way."""
    away = away_today(stage, class_id)
    left = away.difference(came)
    if left != away:
        keep_away(stage, class_id, left)  # if it cannot be kept, they are called away once more


def _key(class_id: int) -> str:
    return f"away from class {class_id}"
