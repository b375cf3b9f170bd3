# SPDX-License-Identifier: MIT
"""Playing phrases in time: a count-in, the phrase on its beat, then what became of each note."""

from __future__ import annotations

from collections import Counter
from math import floor
from typing import TYPE_CHECKING, NamedTuple

from game.engraving import Ghost, Mark, MarkShape
from game.keyboards import KeyDown, KeyUp
from game.levels import Prompt
from game.reader import spelled
from game.rounds import Alignment, Punctuality, Step, punctuality, steady_offset
from game.screens.play.heading import below_line
from game.screens.play.play import Play, PlayPhase
from game.screens.play.prompt_view import ghost_in, nearest_note
from game.ui import theme
from game.ui.widgets import Canvas
from game.words.text import _, plural

if TYPE_CHECKING:
    from game.session.live_round import LiveRound
    from game.ui.stage import Stage

SHOWN_S, SHOWN_RIGHT_S = 4.0, 1.5  # a judged phrase stays in view, its notes missed or all right
_TURN_S = 0.8  # before which a late last press does not turn the page


class PlayInTime(Play):
    """Stateful: the screen of a round of phrases read in time."""

    def __init__(self, stage: Stage, live: LiveRound) -> None:
        super().__init__(stage, live)
        self._shown_since = 0.0
        self._all_right = False
        self._steady = ""  # of a phrase that was right: how far off the beat it was

    # The beat

    def _beat_at(self, now: float) -> float | None:
        """Beats since the first one of the music, below 0 in the count-in; None between phrases."""
        state = self.live.round
        if self.phase is not PlayPhase.READING or state.since is None or state.pulse is None:
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
        pulse, end = self.live.round.pulse, self.live.round.phrase_end
        assert pulse is not None and end is not None
        next_beat = (floor(beat) + 1 - beat) * pulse.beat_s(self._view.prompt)
        over = end - self.live.time(now)
        return max(0.0, min(next_beat, over, self._robot_hands.next_at - now))

    def tick(self, now: float) -> None:
        self._last_press = now  # the beat goes on by itself: nobody is asleep
        super().tick(now)

    def shown(self, now: float) -> None:
        since = self.live.round.since
        super().shown(now)
        if self.live.round.since != since:
            self._sound_beats()

    def start(self) -> None:
        super().start()
        self._sound_beats()

    def resume(self) -> None:
        super().resume()
        self._sound_beats()

    def pause(self, reason: str = "") -> None:
        super().pause(reason)
        self.stage.sounds.beats([])

    def leave(self) -> None:
        super().leave()
        self.stage.sounds.beats([])

    def _sound_beats(self) -> None:
        """Let the beats of the phrase under way be heard, as the settings say."""
        now, prompt, pulse = self.stage.clock.now(), self._view.prompt, self.live.round.pulse
        beat, heard = self._beat_at(now), self.stage.settings.now.beat
        if beat is None or pulse is None or heard == "never":
            return
        bar, beat_s = self._beats_in_bar(), pulse.beat_s(prompt)
        bars = 0 if heard == "count-in only" else prompt.bars
        start = now - beat * beat_s
        beats = range(-pulse.count_in * bar, bars * bar)
        self.stage.sounds.beats([(start + n * beat_s, n % bar == 0) for n in beats])

    # What is drawn

    @property
    def question(self) -> str:
        return self._steady if self.phase is PlayPhase.SETTLING else ""

    def _staff_top(self, canvas: Canvas) -> int:
        """Below the beats."""
        return below_line(canvas) + canvas.px(14)

    def paint(self, canvas: Canvas) -> None:
        super().paint(canvas)
        beat = self._beat_at(self.stage.clock.now())
        if beat is not None and self.phase is PlayPhase.READING:
            draw_count(canvas, beat, self._beats_in_bar())
        elif self.phase is PlayPhase.SETTLING and not self._all_right:
            draw_legend(canvas)

    # What the reader does

    def piano(self, event: KeyDown | KeyUp) -> None:
        if isinstance(event, KeyDown) and self.phase is PlayPhase.READY:
            self.live = self.stage.sitting.on_this_keyboard(self.live)
        if isinstance(event, KeyDown) and self.phase is PlayPhase.SETTLING:
            if event.t - self._shown_since >= _TURN_S:
                self._settle_until = event.t
            return
        super().piano(event)

    def _after(self, done: Step) -> None:
        if done.finished is None and done.round.ended is None:
            return
        now = self.stage.clock.now()
        self.phase, self._shown_since = PlayPhase.SETTLING, now
        if done.finished is not None:
            self._judged(done.round.phrases[-1])
        self._settle_until = now + (SHOWN_RIGHT_S if self._all_right else SHOWN_S)

    def _judged(self, played: Alignment) -> None:
        """Mark every note with what became of it."""
        found = phrase_marks(self._view.prompt, played, self.live.round.limit_s)
        self._view.judged(found.marks, found.ghosts)
        self._all_right = found.all_right
        self.message, self._steady = ("", found.words) if found.all_right else (found.words, "")
        self.stage.window.keep_shot("right" if self._all_right else "wrong")

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
            (x, below_line(canvas)),
            size=26 if one == number else 20,
            face="strong" if one == number else "text",
            colour=(theme.ACCENT if beat < 0 else theme.INK) if one == number else theme.MUTED,
            anchor="center",
        )


def draw_legend(canvas: Canvas) -> None:
    """What the marks of a judged phrase mean."""
    canvas.text(
        _("✓ on the beat   → late   ← early   × missed   ringed: wrong   pale: your key"),
        (canvas.width // 2, below_line(canvas)),
        size=17,
        colour=theme.MUTED,
        anchor="center",
    )


class PhraseMarks(NamedTuple):
    """What became of a phrase.

    Args:
        marks: one on every note.
        ghosts: what was played instead, or too much.
        words: a short line on what was not right, and on a steady offset; empty without either.
    """

    marks: list[Mark]
    ghosts: list[Ghost]
    words: str

    @property
    def all_right(self) -> bool:
        """Whether every note is ticked."""
        return all(mark.shape == "right" for mark in self.marks)


def phrase_marks(prompt: Prompt, played: Alignment, limit_s: float) -> PhraseMarks:
    """What became of a phrase; a key too many rings the note that it spoils.

    Args:
        prompt: the phrase.
        played: what was played of it.
        limit_s: of the round.
    """
    by_id = {note.id: note for note in prompt.notes}
    marks: dict[str, Mark] = {}
    ghosts = []
    for outcome in played.notes:
        note, when = by_id[outcome.expected.id], punctuality(outcome, limit_s)
        if when is not None:
            marks[note.id] = Mark(note.id, _SHAPES[when], theme.RIGHT)
        elif outcome.press is None:
            marks[note.id] = Mark(note.id, "missed", theme.WRONG)
        else:
            marks[note.id] = Mark(note.id, "wrong", theme.WRONG)
            ghosts.append(ghost_in(prompt, note, spelled(prompt, note, outcome.press.key)))
    counts: Counter[str] = Counter(mark.shape for mark in marks.values())
    counts["extra"] = len(played.extras)
    for press in played.extras if marks else ():
        onset = min((n.expected.onset for n in played.notes), key=lambda at: abs(at - press.t))
        near = [by_id[n.expected.id] for n in played.notes if n.expected.onset == onset]
        note = nearest_note(near, press.key)
        ghosts.append(ghost_in(prompt, note, spelled(prompt, note, press.key)))
        if marks[note.id].shape != "missed":
            marks[note.id] = Mark(note.id, "wrong", theme.WRONG)
    off = steady_offset([played], limit_s)
    said = [] if off is None else [f"{steady_words(off)}."]
    if summary := _summary(counts, steady=off is not None):
        said.insert(0, summary)
    return PhraseMarks(list(marks.values()), ghosts, " · ".join(said))


def steady_words(off_s: float) -> str:
    """A steady offset from the beat, later = positive."""
    words = (
        _("Steady, {s} s behind the beat") if off_s > 0 else _("Steady, {s} s ahead of the beat")
    )
    return words.format(s=f"{abs(off_s):.1f}")


def _summary(counts: Counter[str], *, steady: bool) -> str:
    """What was not right; whoever is steady is not told of each note that was off the beat."""
    late, early = (0, 0) if steady else (counts["late"], counts["early"])
    parts = [
        text.format(n=count)
        for count, text in (
            (counts["wrong"], plural("{n} wrong key", "{n} wrong keys", counts["wrong"])),
            (counts["missed"], plural("{n} note missed", "{n} notes missed", counts["missed"])),
            (counts["extra"], plural("{n} key too many", "{n} keys too many", counts["extra"])),
            (late, plural("{n} note late", "{n} notes late", late)),
            (early, plural("{n} note early", "{n} notes early", early)),
        )
        if count
    ]
    return ", ".join(parts)
