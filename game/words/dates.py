# SPDX-License-Identifier: MIT
"""How a date is written, on every screen and paper: ``25 Nov``, with its year ``25 Nov 2026``.

Day and month cannot be taken for each other so, whatever a reader's country. Files that other
programs read, and names of files, have ISO 8601 instead, which sorts.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, tzinfo

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_words(day: date, today: str = "") -> str:
    """A day.

    Args:
        day: also a moment, of which only the day is written, in its own zone.
        today: as ISO 8601 has it; its year goes without saying. Empty writes every year, as
            papers do.
    """
    year = f"{day.year:04d}"
    year = "" if today.startswith(year) else f" {year}"
    return f"{day.day} {_MONTHS[day.month - 1]}{year}"


def moment_words(when: datetime, today: str = "") -> str:
    """A day and the time by the clock of its zone: ``25 Nov 2026, 14:05``."""
    return f"{day_words(when, today)}, {when:%H:%M}"


def local(when: datetime, zone: tzinfo | None = None) -> datetime:
    """A time by the clock on the wall; at either end of the calendar, where there is none, UTC."""
    try:
        return when.astimezone(zone)
    except (OverflowError, ValueError, OSError):
        return when.astimezone(UTC)
