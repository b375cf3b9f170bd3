# SPDX-License-Identifier: MIT
"""What a class reached before."""

from __future__ import annotations

from game.heats import HeatSetup
from game.store import School


def best_before(school: School, class_id: int, setup: HeatSetup) -> float | None:
    """The best mean score of a class in its finished heats of this kind on this level, 0 to 100.

    Raises:
        StoreError: the store cannot be read.
    """
    means = []
    for heat in school.heats(class_id):
        result = heat.result
        if not isinstance(result, dict):
            continue
        same = (result.get("level"), result.get("kind")) == (setup.level_id, setup.kind)
        if same and isinstance(result.get("mean"), int | float):
            means.append(max(0.0, float(result["mean"])))  # it was once kept below 0
    return max(means, default=None)
