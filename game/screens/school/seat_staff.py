# SPDX-License-Identifier: MIT
"""What one seat of a heat reads: its prompt, what became of it, and when the next one comes."""

from __future__ import annotations

from dataclasses import replace
from enum import Enum, auto
from math import floor

import pygame

from game.engraving import Engraver, Ghost, Mark, overlay, render
from game.heats import Chair, Form, HeatStep
from game.levels import LOWER, UPPER, Prompt
from game.notation import ledger_lines
from game.reader import spelled
from game.rounds import OctaveRun, Round, Verdict
from game.screens.play.in_time import SHOWN_RIGHT_S, SHOWN_S, phrase_marks
from game.screens.play.play import SETTLE_S, SETTLE_WRONG_S
from game.screens.play.prompt_view import PromptView, nearest_note
from game.ui import theme
from game.words.text import _, asked

_STAVES, _SIDES = 16, 4.0  # staff spaces: both staves with their gap; the room beside the staff
_LEAST_ABOVE, _CLEAR = 3.0, 2.2  # room outside the staves, and beyond the outermost note
_TOP_LINE = 8  # staff position
_SIGN = 1.8  # staff spaces that an accidental reaches beyond its note
_SMALLEST = 3  # pixels of a staff space
_LOOKED_AT = 4  # prompts that say how wide those of a form are


class SeatStage(Enum):
    """What the seat has before it."""

    NOTHING = auto()  # it has not begun
    READING = auto()
    SETTLING = auto()  # the answer stays in view
    DONE = auto()


class SeatStaff(PromptView):
    """Stateful: the staff of one seat, following its round.

    Args:
        engraver: draws it.
        chair: the seat.
    """

    def __init__(self, engraver: Engraver, chair: Chair) -> None:
        super().__init__(engraver, "large", chair.form[0])
        self.moment = SeatStage.NOTHING
        self.last: Verdict | None = None  # of the last press
        self.settle_until = 0.0
        self.octaves = OctaveRun()  # whether the keyboard seems to be shifted
        self._index, self._attempt = 0, chair.attempt
        self._pictures: dict[tuple[int, int, int], pygame.Surface] = {}
        self._overlay: tuple[object, pygame.Surface] | None = None
        self._all_right = True
        self._chair: Chair | None = None  # as followed last
        self._right: float | None = None
        self._take(chair.form)
        round = chair.round
        if round is not None and round.ended is not None:
            self.moment = SeatStage.DONE
        elif round is not None:
            self._read(round)

    def _take(self, form: Form) -> None:
        self._form, self._right = form, None
        self.edges = edges(form)
        self.asks = any(prompt.hidden for prompt in form[:_LOOKED_AT])

    def question(self, round: Round | None) -> tuple[str, str]:
        """What is asked for where it is not printed, in short and in full."""
        if round is None or round.current is None or self.moment is not SeatStage.READING:
            return "", ""
        asks, fifths = self.prompt.slots[round.slot].asks, self.prompt.signature.fifths
        short = {
            "altered": _("Its sharps?") if fifths > 0 else _("Its flats?"),
            "major tonic": _("Major tonic?"),
            "minor tonic": _("Minor tonic?"),
        }
        return short.get(asks, ""), asked(asks, fifths, first=not round.slot)

    # Its round

    def follow(self, chair: Chair, now: float) -> None:
        """Look where the round is after an event; `now` on the game's clock."""
        if chair is self._chair:
            return
        self._chair = chair
        if chair.attempt != self._attempt:
            self.moment, self._attempt, self.last = SeatStage.NOTHING, chair.attempt, None
            self.octaves = OctaveRun()
            self._take(chair.form)
            self._pictures.clear()
        round = chair.round
        if round is None:
            self.moment = SeatStage.NOTHING
        elif self.moment is SeatStage.NOTHING:
            self._read(round)
        elif self.moment is SeatStage.READING and (
            round.ended is not None or round.prompt != self._index
        ):
            self.moment = SeatStage.SETTLING
            if round.pulse is not None:
                wait = SHOWN_RIGHT_S if self._all_right else SHOWN_S
            else:
                wait = SETTLE_S if self.last is Verdict.RIGHT else SETTLE_WRONG_S
            self.settle_until = now + wait

    def tick(self, round: Round | None, now: float) -> None:
        """The answered prompt gives way to the next one when its moment is over."""
        if self.moment is SeatStage.SETTLING and now >= self.settle_until and round is not None:
            self._read(round)

    def worth(self, done: HeatStep) -> None:
        """Show what an event of this seat was worth."""
        step = done.step
        if step is None:
            return
        if step.round.pulse is not None:
            if step.finished is not None:
                self._phrase(step.round)
            return
        if step.round.flat_hand:  # its answers are taken back
            self._read(step.round)
            self.last = None
        if step.judged is None:
            return
        before = self._chair.round if self._chair is not None else None
        if before is not None and before.began is None:
            self.octaves = self.octaves.after(before.expected, step.judged)
        index = step.finished.slot if step.finished is not None else step.round.slot
        slot, key = self.prompt.slots[index], step.judged.key
        self.last = step.judged.verdict if step.finished is None else step.finished.verdict
        if step.judged.late_s:
            self.last = Verdict.WRONG
        if step.judged.verdict is Verdict.RIGHT:
            self.struck(slot, step.judged, finished=step.finished is not None)
        else:
            missed = nearest_note(slot.notes, key)
            self.wrong(missed, spelled(self.prompt, missed, key))

    def _phrase(self, round: Round) -> None:
        found = phrase_marks(self.prompt, round.phrases[-1], round.limit_s)
        self.judged(found.marks, found.ghosts)
        self._all_right = found.all_right
        self.last = Verdict.RIGHT if self._all_right else Verdict.UNANSWERED

    def _read(self, round: Round) -> None:
        if round.current is None:
            self.moment = SeatStage.DONE
            return
        self._index = round.prompt
        self.show(round.current)
        for item in round.results:
            if item.prompt == round.prompt:
                self.right(self.prompt.slots[item.slot].notes, finished=False)
        self.moment = SeatStage.READING

    def beat(self, round: Round | None, t: float) -> float | None:
        """Beats since the phrase's first one, `t` on the heat's clock; None between phrases."""
        if round is None or round.pulse is None or round.since is None:
            return None
        if self.moment is not SeatStage.READING or round.paused is not None:
            return None
        passed = t - round.since - round.pulse.lead_s(self.prompt)
        return passed / round.pulse.beat_s(self.prompt)

    def next_beat_s(self, round: Round, beat: float) -> float:
        """Seconds from a beat to the next whole one."""
        assert round.pulse is not None
        return (floor(beat) + 1 - beat) * round.pulse.beat_s(self.prompt)

    # Drawn in a tile

    def space(self, prompt: Prompt, width: int, height: int) -> int:
        """Pixels of a staff space with which a prompt fits a tile's room."""
        right = max(self._usual_right, self._engraver.engrave(prompt).right)
        above, below = self.edges
        return max(
            _SMALLEST,
            int(min(width / (right + _SIDES), (height - 2) / (_STAVES + above + below))),
        )

    def spares(self, width: int, height: int, below: int) -> bool:
        """Whether a room can do without so many pixels of its height, and no staff be smaller."""
        first = self._form[0]
        return self.space(first, width, height - below) == self.space(first, width, height)

    @property
    def _usual_right(self) -> float:
        """Where the staves of the form end, as a rule: so one size does for all."""
        if self._right is None:
            self._right = max(self._engraver.engrave(one).right for one in self._form[:_LOOKED_AT])
        return self._right

    def engrave_next(self, round: Round, width: int, height: int) -> bool:
        """Engrave what comes next while this is read; whether there was something to do."""
        following = round.prompt + 1
        if round.ended is not None or following >= len(round.prompts):
            return False
        key = following, width, height
        if key in self._pictures:
            return False
        self._picture(following, round.prompts[following], width, height)
        return True

    def draw_in(self, surface: pygame.Surface, room: pygame.Rect, *, blank: bool = False) -> None:
        """Draw the prompt in the middle of a room of a tile."""
        picture = self._picture(self._index, self.prompt, room.width, room.height)
        at = picture.get_rect(center=room.center)
        surface.set_clip(room)
        surface.blit(picture, at)
        if not blank and (self.marks or self.ghosts):
            surface.blit(self._laid_over(room.width, room.height), at)
        surface.set_clip(None)

    @property
    def marks(self) -> tuple[Mark, ...]:
        """What is marked on the prompt."""
        return tuple(self._marks.values())

    @property
    def looks(self) -> object:
        """Compares equal while the staff looks the same."""
        return self.moment, self._attempt, self._index, self.marks, self.ghosts

    def _laid_over(self, width: int, height: int) -> pygame.Surface:
        """The marks and ghosts of now."""
        looks = width, height, self.looks
        if self._overlay is None or self._overlay[0] != looks:
            above, below = self.edges
            space = self.space(self.prompt, width, height)
            engraving = self._engraver.engrave(self.prompt)
            ghosts = [self._kept_in(ghost) for ghost in self.ghosts]
            laid = overlay(engraving, space, self.marks, ghosts, above=above, below=below)
            self._overlay = looks, laid
        return self._overlay[1]

    def _kept_in(self, ghost: Ghost) -> Ghost:
        """A ghost as it is, or an arrow where the tile has not the room outside its staves."""
        upper, up, lines = ghost.staff == UPPER, ghost.position > 0, ledger_lines(ghost.position)
        room = self.edges[0 if upper else 1]
        beyond = (ghost.position - _TOP_LINE if up else -ghost.position) / 2 + _SIGN
        if upper is not up or beyond <= room:
            return ghost
        return replace(ghost, farthest=max(0, min(int(room - _SIGN), abs(lines) - 1)))

    def _picture(self, index: int, prompt: Prompt, width: int, height: int) -> pygame.Surface:
        key = index, width, height
        if key not in self._pictures:
            for old in [k for k in self._pictures if k[0] not in (index - 1, index + 1)]:
                del self._pictures[old]
            above, below = self.edges
            space = self.space(prompt, width, height)
            self._pictures[key] = render(
                self._engraver.engrave(prompt), space, ink=theme.INK, above=above, below=below
            )
        return self._pictures[key]


def edges(form: tuple[Prompt, ...]) -> tuple[float, float]:
    """Room that a form's notes need above the upper and below the lower staff, staff spaces."""
    above = below = _LEAST_ABOVE
    for prompt in form:
        for note in prompt.notes:
            if note.staff == UPPER:
                above = max(above, (note.position - _TOP_LINE) / 2 + _CLEAR)
            if note.staff == LOWER:
                below = max(below, -note.position / 2 + _CLEAR)
    return above, below
