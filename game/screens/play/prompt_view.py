# SPDX-License-Identifier: MIT
"""The prompt in the middle of the play screen, with its marks and the ghost of a wrong press."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from game.engraving import Engraver, Ghost, Mark, ghost_for
from game.levels import Note, Prompt, Slot
from game.notation import KeySignature, Pitch
from game.rounds import JudgedPress
from game.ui import theme
from game.ui.widgets import Canvas, Rect

_STAFF_HEIGHTS = {"small": 0.36, "medium": 0.47, "large": 0.58}  # share of the window
_LEDGERS = 3.0  # staff spaces beyond both staves, for what most notes need
_SPACES_TALL = 17.0  # both staves and the gap between them, roughly, in staff spaces


def ghost_in(prompt: Prompt, note: Note, played: Pitch) -> Ghost:
    """What was played for a note of a prompt, as it stands beside the note."""
    return ghost_for(prompt, note, played, colour=theme.WRONG)


def nearest_note(notes: Iterable[Note], key: int) -> Note:
    """The note to press that lies nearest to a key."""
    return min((n for n in notes if not n.tied), key=lambda note: abs(note.key - key))


def _staff_alone(prompt: Prompt) -> Prompt:
    if prompt.hidden:  # its signature is what is to be read
        prompt = replace(prompt, signature=KeySignature())
    return replace(prompt, slots=tuple(slot._replace(notes=()) for slot in prompt.slots))


class PromptView:
    """Stateful: the prompt shown, and what has been marked on it.

    Args:
        engraver: draws it.
        size: small, medium or large.
        prompt: what is shown first.
        done: notes already found, of a bar that is gone on with.
        room: for how many slots every staff is long enough, at least.
    """

    def __init__(
        self,
        engraver: Engraver,
        size: str,
        prompt: Prompt,
        done: Iterable[Note] = (),
        *,
        room: int = 0,
    ) -> None:
        self._room = room
        self.prompt = self._framed(prompt)
        self.ghosts: tuple[Ghost, ...] = ()
        self._engraver = engraver
        self._share = _STAFF_HEIGHTS[size]
        self._marks: dict[str, Mark] = {}
        self._ghost_is_old = False
        self._high = 0  # pixels that were free for it when it was last drawn
        for note in done:
            self._mark(note, right=True)

    def show(self, prompt: Prompt) -> None:
        """Go to another prompt."""
        self.prompt, self.ghosts, self._marks = self._framed(prompt), (), {}

    def prepare(self, prompt: Prompt, canvas: Canvas) -> None:
        """Engrave what comes next while the reader reads; its flip must not wait for that."""
        space = self._space(canvas)
        self._engraver.prepare(self._framed(prompt), space, theme.INK)
        if self.fades:
            self._engraver.prepare(_staff_alone(self.prompt), space, theme.INK)

    def _framed(self, prompt: Prompt) -> Prompt:
        return prompt if prompt.room >= self._room else replace(prompt, room=self._room)

    @property
    def fades(self) -> bool:
        """Whether the notes can go out by themselves: one empty staff then serves many prompts."""
        return self.prompt.metre is None and not self.prompt.hidden

    def right(self, notes: Iterable[Note], *, finished: bool) -> None:
        """Tick notes. The ghost of a slot found at last stays until the next press."""
        self._drop_old_ghost()
        for note in notes:
            self._mark(note, right=True)
        self._ghost_is_old = finished

    def struck(self, slot: Slot, judged: JudgedPress, *, finished: bool) -> None:
        """Tick the notes of a right key, and all once the slot is found. A key that came too late
        for others of its chord is marked so, and their ticks go: all are to be struck again."""
        came = [note for note in slot.notes if (note.key - judged.key) % slot.apart == 0]
        every = [note for note in slot.notes if note in came or not note.tied]
        self.right(every if finished else came, finished=finished)
        if judged.late_s and not finished:
            for note in every:
                self._marks.pop(note.id, None)
            self._marks |= {note.id: Mark(note.id, "late", theme.WRONG) for note in came}

    def wrong(self, note: Note, played: Pitch) -> None:
        """Ring a note that was misread, and show beside it what was played."""
        self._drop_old_ghost()
        if note.id not in self.prompt.hidden:  # a mark would show what is asked for
            self._mark(note, right=False)
        self.ghosts, self._ghost_is_old = (ghost_in(self.prompt, note, played),), False

    def judged(self, marks: Iterable[Mark], ghosts: Iterable[Ghost]) -> None:
        """Show what became of a whole phrase."""
        self._marks = {mark.note_id: mark for mark in marks}
        self.ghosts = tuple(ghosts)

    def draw(self, canvas: Canvas, room: Rect, *, hidden: bool, gone: float = 0.0) -> None:
        """Draw it with the grand staff in the middle of a room.

        Args:
            canvas: on this.
            room: what is free for it; the same for all prompts of a round, or the staff would move.
            hidden: the staff alone.
            gone: how far its notes and marks have faded, 0 to 1; the staff stays.
        """
        self._high = room.height
        space, prompt = self._space(canvas), self.prompt
        if hidden:
            prompt = _staff_alone(prompt)
        elif gone > 0 and self.fades:
            self.draw(canvas, room, hidden=True)
        picture = self._engraver.surface(prompt, space, theme.INK)
        top = self._engraver.staff_middle(prompt, space)
        where = ((canvas.width - picture.get_width()) // 2, room.centery - top)
        layers = [picture]
        if not hidden and (self._marks or self.ghosts):
            marks = tuple(self._marks.values())
            layers.append(self._engraver.overlay(prompt, space, marks, self.ghosts))
        for layer in layers:
            if not hidden and gone > 0 and self.fades:
                layer.set_alpha(round(255 * (1 - gone)))
                canvas.surface.blit(layer, where)
                layer.set_alpha(255)  # it is kept for other times
            else:
                canvas.surface.blit(layer, where)

    def _space(self, canvas: Canvas) -> int:
        """Pixels of a staff space: the size asked for, or what there is room for."""
        space = max(6, round(canvas.height * self._share / _SPACES_TALL / 2) * 2)
        if self._high:
            space = min(space, max(4, int(self._high / (_SPACES_TALL + _LEDGERS) / 2) * 2))
        wide = self._engraver.frame(self.prompt, space).size[0]
        return max(3, space * canvas.width // wide) if wide > canvas.width else space

    def _mark(self, note: Note, *, right: bool) -> None:
        mark = Mark(note.id, "right", theme.RIGHT) if right else Mark(note.id, "wrong", theme.WRONG)
        self._marks[note.id] = mark

    def _drop_old_ghost(self) -> None:
        if self._ghost_is_old:
            self.ghosts = ()
