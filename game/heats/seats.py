# SPDX-License-Identifier: MIT
"""Which keys are whose: keyboards are bound to seats by playing a key, and come back to them.

Pure: (bindings, what a keyboard did) -> bindings and whose press it was.

- A seat that is *asked* gets the next keyboard without a seat on which a key goes down.
- A long keyboard may be split at a key between two seats.
- A keyboard that is gone leaves its seats *missing*. One that comes then is theirs when no other
  keyboard is missing; among several, theirs whose keyboard had the same name but for the number by
  which two of one name are told apart (:mod:`game.midi.ports`). Where that leaves more than
  one, or none, or several come at once, nobody can know: the missing seats are asked, the one that
  plays a key first being taken for the first that is asked.
- Some systems tell two keyboards of one name apart by their order only. When one of them comes or
  goes, all of them are taken for others, whatever their labels are then: so their seats are asked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import NamedTuple

from game.heats.setup import Binding, Seat
from game.midi.events import KeyboardEvent, Keyboards, KeyDown


@dataclass(frozen=True, slots=True)
class Bindings:
    """Whose keys are whose at one moment.

    Args:
        of: (seat number, its keys), in order of number; a seat that is not there has none yet.
        missing: the seats whose keyboard is gone; what they have in `of` they had last.
        present: labels of the keyboards that are connected, in the order in which they came.
        newcomers: those of them that came while a seat was missing its own, and have no seat.
        asked: the seats that are to play a key, the next one first.
    """

    of: tuple[tuple[int, Binding], ...] = ()
    missing: tuple[int, ...] = ()
    present: tuple[str, ...] = ()
    newcomers: tuple[str, ...] = ()
    asked: tuple[int, ...] = ()

    @classmethod
    def begin(cls, seats: Iterable[Seat] = (), present: Iterable[str] = ()) -> Bindings:
        """The bindings of a heat's seats, with the keyboards that are connected."""
        of = [(seat.number, seat.binding) for seat in seats if seat.binding is not None]
        there = tuple(present)
        missing = tuple(sorted(seat for seat, keys in of if keys.keyboard not in there))
        return cls(tuple(sorted(of, key=_number)), missing, there)

    def binding(self, seat: int) -> Binding | None:
        """The keys of a seat; None where it is not bound."""
        return dict(self.of).get(seat)

    def seat_of(self, keyboard: str, key: int) -> int | None:
        """Whose key this is."""
        return next((seat for seat, keys in self._there if keys.holds(keyboard, key)), None)

    def seats_of(self, keyboard: str) -> tuple[int, ...]:
        """The seats on a keyboard that is connected."""
        return tuple(seat for seat, keys in self._there if keys.keyboard == keyboard)

    @property
    def free(self) -> tuple[str, ...]:
        """The keyboards that are connected and are no seat's."""
        return tuple(label for label in self.present if not self.seats_of(label))

    @property
    def _there(self) -> tuple[tuple[int, Binding], ...]:
        return tuple(pair for pair in self.of if pair[0] not in self.missing)


class Heard(NamedTuple):
    """What a keyboard's event did.

    Args:
        bindings: after it.
        seat: whose press it was; None for nobody's, and where the key bound a seat instead.
        bound: the seats that have other keys now.
        lost: the seats that are missing their keyboard since now.
    """

    bindings: Bindings
    seat: int | None = None
    bound: tuple[int, ...] = ()
    lost: tuple[int, ...] = ()


def ask(now: Bindings, *seats: int) -> Bindings:
    """Ask these seats, in this order, to play a key, before any that are asked already. The keys
    that they have they keep until then."""
    rest = tuple(seat for seat in now.asked if seat not in seats)
    return replace(now, asked=(*dict.fromkeys(seats), *rest))


def stop_asking(now: Bindings) -> Bindings:
    """Nobody is asked any more."""
    return replace(now, asked=())


def bind(now: Bindings, seat: int, binding: Binding) -> Bindings:
    """Give a seat these keys. Other seats lose those among theirs that overlap."""
    kept = {other: keys for other, keys in now.of if other != seat and not _overlap(keys, binding)}
    return _rebound(now, kept | {seat: binding})


def unbind(now: Bindings, seat: int) -> Bindings:
    """Take a seat its keys."""
    return _rebound(now, {other: keys for other, keys in now.of if other != seat})


def split(now: Bindings, keyboard: str, at: int, lower: int, upper: int) -> Bindings:
    """Two seats on one keyboard.

    Args:
        now: the bindings.
        keyboard: its label.
        at: the lowest MIDI key of the upper seat, 1 to 127.
        lower: the seat that has the keys below.
        upper: the other one.

    Raises:
        ValueError: the two are one seat, or `at` leaves one of them no key.
    """
    if lower == upper or not 1 <= at <= 127:
        raise ValueError(f"a keyboard is split at a key from 1 to 127, for two seats, not at {at}")
    now = bind(now, lower, Binding(keyboard, 0, at - 1))
    return bind(now, upper, Binding(keyboard, at, 127))


def heard(now: Bindings, event: KeyboardEvent) -> Heard:
    """What an event of a keyboard does."""
    match event:
        case KeyDown(_, key, _, keyboard):
            return _played(now, keyboard, key)
        case Keyboards():
            return _changed(now, event)
        case _:
            return Heard(now)


def base_name(label: str) -> str:
    """A keyboard's label without the number that tells it from others of its name."""
    return re.sub(r" \(\d+\)$", "", label)


def _played(now: Bindings, keyboard: str, key: int) -> Heard:
    if not now.asked or now.seats_of(keyboard):
        return Heard(now, now.seat_of(keyboard, key))
    seat, *rest = now.asked
    now = replace(now, asked=tuple(rest))
    if seat in now.missing:  # all that shared the keyboard come with it
        return _returned(now, seat, keyboard)
    return Heard(bind(now, seat, Binding(keyboard)), None, (seat,))


def _changed(now: Bindings, event: Keyboards) -> Heard:
    """Some have gone and others have come, all at once."""
    stayed = [label for label in now.present if label in event.heard and label not in event.gone]
    lost = {seat for label in now.present if label not in stayed for seat in now.seats_of(label)}
    came = [label for label in event.heard if label not in stayed]
    missing = tuple(sorted({*now.missing, *lost}))
    newcomers = tuple(label for label in now.newcomers if label in stayed)
    now = replace(now, missing=missing, present=(*stayed, *came), newcomers=newcomers)
    bound: tuple[int, ...] = ()
    # Those first that have a missing one's name.
    for label in sorted(came, key=lambda label: not _family(now, label)):
        done = _came(now, label, [other for other in came if other != label])
        now, bound = done.bindings, (*bound, *done.bound)
    return Heard(now, None, bound, tuple(sorted(lost & {*now.missing})))


def _came(now: Bindings, keyboard: str, with_it: list[str]) -> Heard:
    """A keyboard has come, and these with it."""
    gone, family = _gone(now), _family(now, keyboard)
    theirs = gone if len(gone) == 1 else family
    rivals = [
        other
        for other in with_it
        if not now.seats_of(other) and (not family or base_name(other) == base_name(keyboard))
    ]
    if len(theirs) == 1 and not rivals:
        return _returned(now, next(iter(theirs.values()))[0], keyboard)
    if not gone or now.seats_of(keyboard):
        return Heard(now)
    now = replace(now, newcomers=(*now.newcomers, keyboard))
    return Heard(ask(now, *(seats[0] for seats in (family or gone).values())))


def _family(now: Bindings, keyboard: str) -> dict[str, list[int]]:
    """Those of :func:`_gone` that have a keyboard's name."""
    name = base_name(keyboard)
    return {old: seats for old, seats in _gone(now).items() if base_name(old) == name}


def _returned(now: Bindings, seat: int, keyboard: str) -> Heard:
    """A missing seat, with those that shared its keyboard, has this one now."""
    seats = next(seats for seats in _gone(now).values() if seat in seats)
    of = tuple(
        (other, replace(keys, keyboard=keyboard) if other in seats else keys)
        for other, keys in now.of
    )
    missing, asked = (
        tuple(other for other in some if other not in seats) for some in (now.missing, now.asked)
    )
    newcomers = tuple(label for label in now.newcomers if label != keyboard)
    now = replace(now, of=of, missing=missing, asked=asked, newcomers=newcomers)
    gone = _gone(now)
    if len(gone) == 1 and len(newcomers) == 1:  # one is left, and one is to be had
        last = _returned(now, next(iter(gone.values()))[0], newcomers[0])
        return last._replace(bound=(*seats, *last.bound))
    return Heard(now, None, tuple(seats))


def _gone(now: Bindings) -> dict[str, list[int]]:
    """Label of a keyboard that is gone -> the seats that are missing it."""
    gone: dict[str, list[int]] = {}
    for seat, keys in now.of:
        if seat in now.missing:
            gone.setdefault(keys.keyboard, []).append(seat)
    return gone


def _rebound(now: Bindings, of: dict[int, Binding]) -> Bindings:
    """The bindings with these instead; what is bound to a keyboard that is there is not missing."""
    same = dict(now.of)
    missing = tuple(
        seat
        for seat, keys in sorted(of.items(), key=_number)
        if keys.keyboard not in now.present or (seat in now.missing and keys == same.get(seat))
    )
    taken = {keys.keyboard for seat, keys in of.items() if seat not in missing}
    newcomers = tuple(label for label in now.newcomers if label not in taken)
    return replace(
        now, of=tuple(sorted(of.items(), key=_number)), missing=missing, newcomers=newcomers
    )


def _overlap(one: Binding, other: Binding) -> bool:
    same = one.keyboard == other.keyboard
    return same and one.low <= other.high and other.low <= one.high


def _number(pair: tuple[int, Binding]) -> int:
    return pair[0]
