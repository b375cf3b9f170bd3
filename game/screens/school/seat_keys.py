# SPDX-License-Identifier: MIT
"""Each seat plays a key on its keyboard, and that keyboard is the seat's."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial
from typing import TYPE_CHECKING

import pygame

from game.heats import Binding, Forms, HeatSetup, Seat, fairness, form_of
from game.heats.seats import Bindings, ask, bind, heard, split, stop_asking, unbind
from game.keyboards import Keyboards, KeyDown, KeyUp
from game.levels import check_pool
from game.rounds import ON_SCREEN
from game.screens.school.called import called, called_at
from game.session.live_heat import HeatOptions
from game.ui import theme
from game.ui.list_page import ListPage
from game.ui.widgets import Canvas, Control
from game.words.percents import percent
from game.words.text import _, plural

if TYPE_CHECKING:
    from game.screens.school.heat_choices import HeatChoices
    from game.ui.stage import Stage

_LOOKED_AT = 60  # prompts of which the difficulty is worked out beforehand

_MOST_READ = 12  # tiles whose staves can be read on a projector's picture


class SeatKeys(ListPage):
    """Stateful: the seats of a heat being bound to the keyboards."""

    name = "seat-keys"
    hears_all = True
    narrow = 1100
    top = 250  # below what the seat is asked, in large letters

    def __init__(
        self, stage: Stage, setup: HeatSetup, manners: HeatOptions, behind: HeatChoices
    ) -> None:
        super().__init__(stage)
        self._setup, self._manners, self._behind = setup, manners, behind
        self._out: set[int] = set()
        self._sharing: Seat | None = None  # the seat that is to share another's keyboard
        self._share_with: int | None = None
        self.bindings = Bindings.begin((), stage.piano.keyboards.heard)
        self._ask()

    def enter(self) -> None:
        self.bindings = heard(self.bindings, self.stage.piano.keyboards).bindings

    @property
    def _seats(self) -> tuple[Seat, ...]:
        return tuple(seat for seat in self._setup.seats if seat.number not in self._out)

    @property
    def asked(self) -> Seat | None:
        """The seat that is to play a key."""
        number = next(iter(self.bindings.asked), None)
        return next((seat for seat in self._seats if seat.number == number), None)

    def _ask(self, *first: int) -> None:
        """Ask whoever has no keyboard, these before the others."""
        bound = dict(self.bindings.of)
        waiting = [seat.number for seat in self._seats if seat.number not in bound]
        order = dict.fromkeys([*(n for n in first if n in waiting), *waiting])
        self.bindings = ask(stop_asking(self.bindings), *order)

    # The page

    @property
    def title(self) -> str:
        return _("A keyboard for each seat")

    @property
    def below_title(self) -> str:
        count = len(self.stage.piano.keyboards.heard)
        words = plural("{n} keyboard is connected.", "{n} keyboards are connected.", count)
        said = words.format(n=count)
        if len(self._seats) > _MOST_READ:
            said += " " + _("More than {n} staves are small to read from.").format(n=_MOST_READ)
        bound = dict(self.bindings.of)
        seats = (replace(s, binding=bound[s.number]) for s in self._seats if s.number in bound)
        return f"{said} {_of_parts(self._setup, tuple(seats))}".rstrip()

    def rows(self) -> list[Control]:
        items = []
        for seat in self._setup.seats:
            keys = self.bindings.binding(seat.number)
            asked = self.asked
            if seat.number in self._out:
                value = _("left out")
            elif keys is None:
                value = _("plays a key now") if seat is asked else "…"
            else:
                value = self._keys_words(keys.keyboard, keys.low, keys.high)
            name = called(seat)
            label = f"{seat.number}  {name}" if name == seat.name else name
            mark = "✓" if keys is not None else "›" if seat is asked else "–"
            act = partial(self._again, seat)
            items.append(self.row(f"seat-{seat.number}", label, act, value, mark=mark))
        return items

    def _keys_words(self, keyboard: str, low: int, high: int) -> str:
        if low > 0:
            return _("{name}, from {key} up").format(
                name=keyboard, key=self.stage.piano.name_key(low)
            )
        if high < 127:
            key = self.stage.piano.name_key(high)
            return _("{name}, up to {key}").format(name=keyboard, key=key)
        return keyboard

    def feet(self) -> list[Control]:
        begin = self.button("begin", _("Begin"), self._begin, "primary")
        begin.enabled = bool(self.bindings.of)
        begin.why = _("Begin waits for a seat with a keyboard.")
        out = self.button("out", _("Leave this seat out"), self._leave_out)
        share = self.button("share", _("Share a keyboard"), self._share)
        out.enabled = self.asked is not None
        share.enabled = self.asked is not None and bool(self.bindings.of)
        return [begin, out, share, self.button("back", _("Back"), self.back)]

    def paint(self, canvas: Canvas) -> None:
        super().paint(canvas)
        words, quiet = self._call()
        px, x = canvas.px, self.area.x
        wide = canvas.width - 2 * x
        canvas.text(
            words,
            (x, px(150)),
            size=fitting(words, canvas, wide, smallest=22),
            face="title",
            anchor="midleft",
            width=wide,
        )
        canvas.text(quiet, (x, px(200)), size=19, colour=theme.MUTED, anchor="midleft", width=wide)

    def _call(self) -> tuple[str, str]:
        seat = self.asked
        if seat is None:
            return self._all_asked()
        name = called_at(seat)
        if self._sharing is not None and self._share_with is None:
            return (
                _("{seat}: share with whom?").format(seat=name),
                _("Choose the seat in the list whose keyboard is to have two readers."),
            )
        if self._sharing is not None:
            return (
                _("{seat}: play your lowest key").format(seat=name),
                _("On the keyboard that is shared. From this key up it is yours."),
            )
        return (
            _("{seat}: play any key").format(seat=name),
            _("Whoever has no keyboard yet is left out, or shares one."),
        )

    def _all_asked(self) -> tuple[str, str]:
        """Nobody is to play a key: who has keys, and who is left out."""
        if not self._out:
            return _("Everybody has keys."), _("Choose a seat to bind it again, or begin.")
        out = [called(seat) for seat in self._setup.seats if seat.number in self._out]
        words = plural("{n} seat is left out", "{n} seats are left out", len(out))
        who = _("Left out: {names}. Choose a seat in the list to bind it.")
        return words.format(n=len(out)), who.format(names=", ".join(out))

    # What is done

    def piano(self, event: KeyDown | KeyUp) -> None:
        if isinstance(event, KeyUp):
            return
        if event.keyboard == ON_SCREEN:
            return
        if self._sharing is not None:
            self._shared(event)
            return
        seat = self.asked
        done = heard(self.bindings, event)
        self.bindings, self.note = done.bindings, ""
        if done.bound:
            self._offer()
        if done.seat is not None and seat is not None and not done.bound:
            owner = self._seat(done.seat)
            words = _("This keyboard is {name}'s. Play another, or share it.")
            self.say(words.format(name=called(owner)))

    def _shared(self, event: KeyDown) -> None:
        seat, other = self._sharing, self._share_with
        keys = None if other is None else self.bindings.binding(other)
        if seat is None or other is None or keys is None:
            return
        if event.keyboard != keys.keyboard:
            self.say(_("That was another keyboard: play on {name}.").format(name=keys.keyboard))
            return
        if not keys.low < event.key <= keys.high:
            self.say(_("Higher, please: both need keys."))
            return
        if (keys.low, keys.high) == (0, 127):
            now = split(self.bindings, keys.keyboard, event.key, other, seat.number)
        else:  # a part is shared once more
            now = bind(self.bindings, other, replace(keys, high=event.key - 1))
            now = bind(now, seat.number, replace(keys, low=event.key))
        for reader in (self._seat(other), seat):
            if not self._can_read(reader, now):
                words = _("{name} would have fewer than two of the level's notes: another key.")
                self.say(words.format(name=called(reader)))
                return
        self.bindings, self._sharing, self._share_with, self.note = now, None, None, ""
        self._ask()
        self._offer()

    def _seat(self, number: int) -> Seat:
        return next(seat for seat in self._setup.seats if seat.number == number)

    def _can_read(self, seat: Seat, now: Bindings) -> bool:
        """Whether the seat's keys are enough for the level."""
        seat = replace(seat, binding=now.binding(seat.number))
        try:
            check_pool(self._setup.level(), self._setup.compass_of(seat))
        except ValueError:  # none of its keys is of the keyboards, or too few of the level
            return False
        return True

    def _offer(self) -> None:
        """Enter begins, once nobody is asked any more."""
        if self.asked is None and self.bindings.of:
            self.focus = "begin"

    def keyboards_changed(self, event: Keyboards) -> None:
        self.bindings = heard(self.bindings, event).bindings
        if not self.bindings.asked:
            self._ask()

    def _again(self, seat: Seat) -> None:
        """A row was chosen: share its keyboard, bind it again, or take it in again."""
        self.note = ""
        if self._sharing is not None and seat is not self._sharing:
            if self.bindings.binding(seat.number) is not None:
                self._share_with = seat.number
            return
        self._sharing = self._share_with = None
        self._out.discard(seat.number)
        self.bindings = unbind(self.bindings, seat.number)
        self._ask(seat.number)

    def _leave_out(self) -> None:
        seat = self.asked
        if seat is not None:
            self._sharing = self._share_with = None
            self._out.add(seat.number)
            self._ask()
            self._offer()

    def _share(self) -> None:
        self.note, self._sharing, self._share_with = "", self.asked, None
        bound = [number for number, _keys in self.bindings.of]
        if len(bound) == 1:
            self._share_with = bound[0]
        elif bound:
            self.focus = f"seat-{bound[-1]}"

    def key(self, event: pygame.event.Event) -> None:
        if event.key == pygame.K_ESCAPE and self._sharing is not None:
            self._sharing, self._share_with, self.note = None, None, ""
        else:
            super().key(event)

    def _begin(self) -> None:
        bound = dict(self.bindings.of)
        if not bound:
            return
        seats = tuple(
            replace(seat, binding=bound[seat.number])
            for seat in self._setup.seats
            if seat.number in bound
        )
        self._behind.begin(replace(self._setup, seats=seats), self._manners)

    def hints(self) -> list[tuple[str, str]]:
        return [
            (_("The pianos"), _("bind the seats")),
            ("↑ ↓ ← →", _("move")),
            (_("Enter"), _("choose")),
            (_("Esc"), _("back")),
        ]

    def leave_page(self) -> None:
        self.stage.go.show(self._behind)


@lru_cache(maxsize=4)
def _of_parts(setup: HeatSetup, seats: tuple[Seat, ...]) -> str:
    """What is to be said where a keyboard is shared: how hard the notes of its parts are."""
    if not seats or all(
        seat.binding == Binding(seat.binding.keyboard) for seat in seats if seat.binding is not None
    ):
        return ""
    # A long form needs no more than its first prompts to tell.
    few = replace(
        setup, seats=seats, prompts=min(setup.prompts or _LOOKED_AT, _LOOKED_AT), seconds=None
    )
    try:
        found = fairness(few, [(seat, form_of(few, seat)) for seat in seats])
    except ValueError:  # the heat will not begin, and says why
        return ""
    if not found.parted:
        return ""
    if found.apart:
        said = _(
            "The parts of a shared one have different notes, up to {n} % harder for one than for "
            "another."
        ).format(n=percent(found.apart))
    else:
        said = _("The parts of a shared one have different notes, equally hard.")
    if setup.forms is Forms.SAME:
        said += " " + _("So not all read the same.")
    return said


def fitting(words: str, canvas: Canvas, wide: int, largest: int = 52, smallest: int = 36) -> int:
    """The largest size, of a window 720 high, at which a title fits a width in pixels."""
    size = largest
    while size > smallest and theme.text_width(words, "title", canvas.px(size)) > wide:
        size -= 2
    return size
