# SPDX-License-Identifier: MIT
"""Presses that are no answer, though a key went down.

- **A bounce**: the same key again within 80 ms of when it last went down. Contacts close several
  times for one movement of the finger: for 10 to 20 ms as a rule (common practice), worn ones for
  longer. Nobody's finger comes back so soon.
- **A key too many** once all keys of a chord are down, within the chord's window after that: the
  next slot cannot have been read yet. One that the next slot asks for is its answer all the same.
- **A flat hand**: five keys or more within the chord's window, two of them at least not right, and
  two more at least than its first slot asks for, so that a large chord misread, or with a slip in
  it, is still an answer. All its keys are taken back, also those that were judged.

All three are seen from the times of the presses alone, so a record scored again finds the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from game.rounds.events import Press
from game.rounds.verdict import together

if TYPE_CHECKING:
    from game.rounds.round import Round

BOUNCE_S = 0.08
"""The same key again within this many seconds is one key still."""
FLAT_HAND = 5
"""So many keys at once are no answer."""
_ASTRAY = 2


@dataclass(frozen=True, slots=True, eq=False)
class Touch:
    """A key that went down a moment ago.

    Args:
        press: the press, on the round's clock.
        last: when the key last bounced; the press's time where it did not.
        before: the round before it; None where it was pressed in a pause.
        right: it was judged right.
        out: it was part of a flat hand already.
    """

    press: Press
    last: float
    before: Round | None
    right: bool = False
    out: bool = False


def lately(touches: Sequence[Touch], t: float, window_s: float) -> tuple[Touch, ...]:
    """Those that can still matter at `t`."""
    return tuple(one for one in touches if together(one.last, t, max(window_s, BOUNCE_S)))


def flat_hand(touches: Sequence[Touch], window_s: float) -> tuple[Touch, ...]:
    """The touches of the flat hand that the last of these belongs to; none where it is no part of
    one."""
    last = touches[-1]
    if last.before is None:
        return ()
    hand = tuple(
        one
        for one in touches
        if one.before is not None and together(one.press.t, last.press.t, window_s)
    )
    astray = {one.press.key for one in hand if not one.right}
    enough = max(FLAT_HAND, _ASTRAY + _asked(hand[0]))
    many = len({one.press.key for one in hand}) >= enough
    return hand if many and len(astray) >= _ASTRAY else ()


def _asked(first: Touch) -> int:
    return 0 if first.before is None else first.before.asked
