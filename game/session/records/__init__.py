# SPDX-License-Identifier: MIT
"""Rounds as files, to be shown to others, and those that others brought: guests; and one's own
rounds over time.

A record is a JSON object in UTF-8:

- ``stavewise``: ``"round"``, so that no other file is mistaken for one; ``format``: 1;
- ``app_version``: of the game that wrote it; ``started``: when the round began, in UTC;
  ``reader``: a name, or null unless it was asked for;
- ``level``: its ``id`` and the whole ``text`` of its file;
- ``terms``: all else that the deal takes, field by field as in :class:`game.rounds.Terms`;
- ``result``: the figures that it claims, as in :class:`game.store.ResultSummary`;
- ``events``: in order of time; each has its ``t`` in seconds on the round's own clock and its
  ``event`` (``flip``, ``press``, ``pause``, ``resume``, ``tick``, ``stop``), a press its ``key``
  and ``velocity`` too.

Fields may be added within format 1; a reader leaves out those that it does not know, but refuses
terms that it does not know, since they change what is dealt or scored. Names of keyboards are not
in it: they say something of a room, and nothing of the round.

Whoever reads a record scores it again and believes nothing else. That shows that its figures follow
from its presses; that somebody played them, no file can show.
"""

from game.session.records.checking import RescoredRecord, check
from game.session.records.guests import guests, keep_guest
from game.session.records.history import (
    History,
    Week,
    compares,
    day_of,
    histories_of,
    history_of,
    recent_rounds,
    week_of,
)
from game.session.records.reading import RecordFault, parse_record, read_record
from game.session.records.shared import SharedRound, figures_of, record_text

__all__ = [
    "History",
    "RecordFault",
    "RescoredRecord",
    "SharedRound",
    "Week",
    "check",
    "compares",
    "day_of",
    "figures_of",
    "guests",
    "histories_of",
    "history_of",
    "keep_guest",
    "parse_record",
    "read_record",
    "recent_rounds",
    "record_text",
    "week_of",
]
