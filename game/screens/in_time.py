# SPDX-License-Identifier: MIT
"""Playing phrases in time: a count-in, the phrase on its beat, then what became of each note."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING

from game.engraving import Ghost, Mark, MarkShape
from game.keyboards import KeyDown, KeyUp
from game.levels import Prompt
from game.rounds import Alignment, Outcome, Pulse, Punctuality, Step, punctuality
from game.screens import theme
from game.screens.play import Phase, Play
from game.screens.prompt_view import ghost_in
from game.screens.text import _, plural
from game.screens.widgets import Canvas

if TYPE_CHECKING:
    from game.screens.stage import Stage
    from game.store import LiveRound

SHOWN_S, SHOWN_RIGHT_S = 4.0, 1.5  # a judged phrase stays in view, its notes missed or all right
_TURN_S = 0.8  # before which a late last press does not turn the page


class PlayInTime(Play):
    """Stateful: the screen of a round of phrases read in time."""

    def __init__(self, stage: Stage, live: LiveRound) -> None:
        super().__init__(stage, live)
        self._beat_heard: int | None = None
        self._shown_since = 0.0
        self._all_right = False

    # The beat

    def _beat_at(self, now: float) -> float | None:
        """Beats since the first one of the music, below 0 in the count-in; None between phrases."""
        state = self.live.round
        if self.phase is not Phase.READING or state.since is None or state.pulse is None:
            return None
        prompt = self._view.prompt
        passed = self.live.time(now) - state.since - state.pulse.lead_s(prompt)
        return passed / state.pulse.beat_s(prompt)

    def _beats_in_bar(self) -> int:
        prompt = self._view.prompt
        return round((prompt.bar_quarters or 4) / (prompt.beat_quarters or 1))

    def wait(self, now: float) -> float | None:
        beat = self._beat_at(now)
        if beat is None:
            return super().wait(now)
        pulse = self.live.round.pulse
        assert pulse is not None
        next_beat = (floor(beat) + 1 - beat) * pulse.beat_s(self._view.prompt)
        return max(0.0, min(next_beat, self._robot_hands.next_at - now))

    def tick(self, now: float) -> None:
        self._last_press = now  # the beat goes on by itself: nobody is asleep
        beat = self._beat_at(now)
        if beat is not None and floor(beat) != self._beat_heard:
            self._beat_heard = floor(beat)
            self._sound_beat(self._beat_heard)
        super().tick(now)

    def _sound_beat(self, beat: int) -> None:
        bars = self._view.prompt.bars * self._beats_in_bar()
        heard = self.stage.options.beat
        if heard == "never" or beat >= bars or (heard == "count-in only" and beat >= 0):
            return
        self.stage.click(first=beat % self._beats_in_bar() == 0)

    # What is drawn

    def paint(self, canvas: Canvas) -> None:
        super().paint(canvas)
        beat = self._beat_at(self.stage.now())
        if beat is not None and self.phase is Phase.READING:
            draw_count(canvas, beat, self._beats_in_bar())
        elif self.phase is Phase.SETTLING and not self._all_right:
            draw_legend(canvas)

    # What the reader does

    def piano(self, event: KeyDown | KeyUp) -> None:
        if isinstance(event, KeyDown) and self.phase is Phase.SETTLING:
            if event.t - self._shown_since >= _TURN_S:
                self._settle_until = event.t
            return
        super().piano(event)

    def _after(self, done: Step) -> None:
        if done.finished is None and done.round.ended is None:
            return
        now = self.stage.now()
        self.phase, self._shown_since, self._beat_heard = Phase.SETTLING, now, None
        if done.finished is not None:
            self._judged(done.round.phrases[-1])
        self._settle_until = now + (SHOWN_RIGHT_S if self._all_right else SHOWN_S)

    def _judged(self, played: Alignment) -> None:
        """Mark every note with what became of it."""
        pulse, prompt = self.live.round.pulse, self._view.prompt
        assert pulse is not None
        marks, ghosts, self.message = phrase_marks(prompt, pulse, played)
        self._view.judged(marks, ghosts)
        self._all_right = not self.message
        self.stage.keep_shot("right" if self._all_right else "wrong")

    def _robot(self, now: float) -> None:
        self._robot_hands.perform(self.live.round, now)


_SHAPES: dict[Punctuality, MarkShape] = {
    Punctuality.ON_TIME: "right",
    Punctuality.LATE: "late",
    Punctuality.EARLY: "early",
}


def draw_count(canvas: Canvas, beat: float, count: int) -> None:
    """Where the bar is, `beat` beats after the music's first one, with `count` beats to a bar."""
    number = floor(beat) % count + 1
    for one in range(1, count + 1):
        x = canvas.width // 2 + round((one - (count + 1) / 2) * canvas.px(34))
        canvas.text(
            str(one),
            (x, canvas.px(66)),
            size=26 if one == number else 20,
            face="strong" if one == number else "text",
            colour=(theme.ACCENT if beat < 0 else theme.INK) if one == number else theme.MUTED,
            anchor="center",
        )


def draw_legend(canvas: Canvas) -> None:
    """What the marks of a judged phrase mean."""
    canvas.text(
        _("✓ on the beat   → late   ← early   × missed   ringed: wrong   pale: your key"),
        (canvas.width // 2, canvas.px(66)),
        size=17,
        colour=theme.MUTED,
        anchor="center",
    )


def phrase_marks(
    prompt: Prompt, pulse: Pulse, played: Alignment
) -> tuple[list[Mark], list[Ghost], str]:
    """What became of a phrase: a mark on every note, what was played instead, and a short line
    on what was not right, which is empty where all was."""
    by_id = {note.id: note for note in prompt.notes}
    marks, ghosts = [], []
    missed = wrong = 0
    for outcome, when in zip(played.notes, punctuality(played, pulse.beat_s(prompt)), strict=True):
        note = by_id[outcome.expected.id]
        if outcome.outcome is Outcome.RIGHT:
            shape = _SHAPES[when or Punctuality.ON_TIME]
            marks.append(Mark(note.id, shape, theme.RIGHT))
        elif outcome.press is None:
            missed += 1
            marks.append(Mark(note.id, "missed", theme.WRONG))
        else:
            wrong += 1
            marks.append(Mark(note.id, "wrong", theme.WRONG))
            ghosts.append(ghost_in(prompt, note, outcome.press.key))
    onsets = {outcome.expected.id: outcome.expected.onset for outcome in played.notes}
    for press in played.extras:
        if onsets:
            nearest = min(onsets, key=lambda name: abs(onsets[name] - press.t))
            ghosts.append(ghost_in(prompt, by_id[nearest], press.key))
    return marks, ghosts, _summary(missed, wrong, len(played.extras))


def _summary(missed: int, wrong: int, extra: int) -> str:
    parts = [
        text.format(n=count)
        for count, text in (
            (wrong, plural("{n} wrong key", "{n} wrong keys", wrong)),
            (missed, plural("{n} note missed", "{n} notes missed", missed)),
            (extra, plural("{n} key too many", "{n} keys too many", extra)),
        )
        if count
    ]
    return ", ".join(parts)
