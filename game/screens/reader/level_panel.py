# SPDX-License-Identifier: MIT
"""The level that is looked at on the ladder: what it shows, what it asks, and ways to read it."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from game.levels import EmptyPool, Level, Rung, beat_of, left_out, playable, tempo_mark
from game.rounds import Terms
from game.screens.play.example import example
from game.screens.reader.set_beat import SetBeat
from game.screens.reader.ways import Way, kind_words, length_words, ways
from game.session.records import guests
from game.store import Best, StoreError
from game.ui import theme
from game.ui.scroll import Scroll, drawn, prose
from game.ui.widgets import Canvas, Control, Rect
from game.words.percents import percent
from game.words.text import _, seconds, thousandths

if TYPE_CHECKING:
    from game.ui.stage import Stage

OFFERS = ("history", "beat", "tempo", "way", "counted", "other")
"""Its controls."""

_SLOWEST, _FASTEST, _TEMPO_STEP = 30.0, 200.0, 4.0


_LOSS = 0.2  # share of its notes that a level may lose with nothing said


def lost_words(stage: Stage, level: Level) -> str:
    """What a level loses on the reader's keyboard; empty where that is a fifth of it at most."""
    compass = stage.piano.compass
    lost, every = left_out(level, compass)
    if lost <= _LOSS * every and playable(level, compass):
        return ""
    what = {"chord": _("chords"), "written": _("bars")}.get(level.show.texture, _("notes"))
    low, high = stage.piano.name_key(compass.low), stage.piano.name_key(compass.high)
    if playable(level, compass):
        words = _(
            "Your keyboard, {low} to {high}, lacks {lost} of this level’s {all} {what}: "
            "you read the other {left}."
        )
    else:
        words = _(
            "This level can’t be read on your keyboard: {low} to {high} has {left} of its {all} "
            "{what}. Plug in another, or see Settings."
        )
    left = every - lost
    return words.format(low=low, high=high, lost=lost, all=every, left=left, what=what)


class LevelPanel:
    """Stateful: the way and the tempi that were chosen for this visit.

    Args:
        stage: begins the rounds.
        bests: of the reader, by level and kind of round.
    """

    def __init__(self, stage: Stage, bests: Mapping[tuple[str, str], Best]) -> None:
        self.stage = stage
        self._bests = bests
        self._friends: dict[str, bool] = {}  # whether a level has rounds of theirs, once looked up
        self._tempos: dict[str, float] = {}  # chosen, by level
        self.text = Scroll()
        self._way = 0  # of those to read a level otherwise than by so many prompts

    def controls(self, canvas: Canvas, panel: Rect, rung: Rung) -> list[Control]:
        """What the level offers, in its panel."""
        px = canvas.px
        half = (panel.width - px(56)) // 2
        y = panel.bottom - px(70)
        way = self._chosen_way(rung)
        can = playable(rung.level, self.stage.piano.compass)  # its page says why not
        controls = [
            Control(
                "counted",
                Rect(panel.x + px(20), y, half, px(50)),
                length_words(rung.level),
                partial(self._begin, rung, None),
                "primary",
                enabled=can,
            ),
            Control(
                "other",
                Rect(panel.x + px(36) + half, y, half, px(50)),
                way.name,
                partial(self._begin, rung, way),
                enabled=can,
            ),
            Control(
                "way",
                Rect(panel.x + px(20), y - px(40), panel.width - px(40), px(32)),
                _("Or read"),
                partial(self._change_way, 1),
                "row",
                way.words,
                adjust=self._change_way,
            ),
        ]
        if rung.level.time is not None:
            controls.append(
                Control(
                    "tempo",
                    Rect(panel.x + px(20), y - px(74), panel.width - px(40), px(32)),
                    _("Tempo"),
                    partial(self._change_tempo, rung, 1),
                    "row",
                    tempo_mark(self._tempo(rung.level), rung.level.show.metre),
                    adjust=partial(self._change_tempo, rung),
                )
            )
            delay = self.stage.settings.now.delays.get(self.stage.piano.playing_on)
            controls.append(
                Control(
                    "beat",
                    Rect(panel.x + px(20), y - px(108), panel.width - px(40), px(32)),
                    _("Set the beat"),
                    partial(self._set_beat, rung),
                    "row",
                    _("{delay} taken off").format(delay=thousandths(delay)) if delay else "",
                )
            )
        if past := self._past(rung.level):
            rect = Rect(panel.right - px(108), panel.y + px(16), px(96), px(34))
            go = partial(self.stage.go.open_history, rung.level.id)
            controls.append(Control("history", rect, past, go, "quiet"))
        return controls

    def _set_beat(self, rung: Rung) -> None:
        back = partial(self.stage.go.open_ladder, rung.level.id)
        self.stage.go.show(SetBeat(self.stage, back))

    def said(self, canvas: Canvas, panel: Rect, rung: Rung) -> list[Control]:
        """The level and its example, above its controls; scrolled where they have no room."""
        px, level = canvas.px, rung.level
        end = panel.bottom - px(110 if level.time is None else 178)
        view = Rect(panel.x + px(24), panel.y + px(14), panel.width - px(32), 0)
        view.height = end - px(6) - view.y
        above, below = self._above(level), self._below(rung)
        wide = view.width - px(16)
        rows, y = list[Control](), view.y
        for words, how in above:
            room = Rect(view.x, y, wide - px(90 if not rows and self._past(level) else 0), 0)
            rows += prose(canvas, words, room, **how)
            y = rows[-1].rect.bottom + px(3)
        tail = list[Control]()
        for words in below:
            deep = tail[-1].rect.bottom if tail else 0
            tail += prose(canvas, words, Rect(view.x, deep, wide, 0), size=17)
        high = max(px(130), view.bottom - y - tail[-1].rect.bottom)
        rows.append(drawn(Rect(view.x, y, wide, high), partial(self._sample, level)))
        for row in tail:
            row.rect.y += y + high
        return self.text.place(canvas, [*rows, *tail], view, "")

    def _above(self, level: Level) -> list[tuple[str, dict[str, Any]]]:
        said: list[tuple[str, dict[str, Any]]] = [
            (level.title, {"size": 26, "face": "title"}),
            (level.about, {"colour": theme.MUTED}),
        ]
        if words := lost_words(self.stage, level):
            said.append((words, {"size": 16, "face": "strong", "colour": theme.WRONG}))
        return [one for one in said if one[0]]

    def _below(self, rung: Rung) -> list[str]:
        """What it asks, and the bests so far."""
        level = rung.level
        lines = [
            (
                _("Passed at the first reading only: {accuracy} % right, half within {median}.")
                if level.same_bars(level.round.prompts)
                else _("Passed at {accuracy} % right, half of them within {median}.")
                if level.time is None
                else _("Passed at {accuracy} % right, half within {median} of the beat.")
            ).format(
                accuracy=percent(level.passing.accuracy), median=seconds(level.passing.median_s)
            )
        ]
        for terms in (self._terms(rung, None), self._terms(rung, self._chosen_way(rung))):
            best = self._bests.get((level.id, terms.kind))
            if best is not None:
                words = kind_words(terms.kind, level.show.metre)
                lines.append(f"{words}: {max(0.0, best.score):.1f}")
        return lines

    def _sample(self, level: Level, canvas: Canvas, room: Rect) -> None:
        with suppress(EmptyPool):
            canvas.sample(self.stage.engraver, example(level, self.stage.piano.compass), room)

    def _past(self, level: Level) -> str:
        """What leads to the finished rounds on it, the reader's or friends'; empty without any."""
        if any(level_id == level.id for level_id, _kind in self._bests):
            return _("History")
        if level.id not in self._friends:
            try:
                self._friends[level.id] = bool(guests(self.stage.store, level.id))
            except StoreError:  # a server that is away for a moment: nothing is offered
                return ""
        return _("Friends") if self._friends[level.id] else ""

    def _tempo(self, level: Level) -> float:
        assert level.time is not None
        return self._tempos.get(level.id, level.time.tempo)

    def _change_tempo(self, rung: Rung, by: int) -> None:
        if rung.level.time is not None:
            step = _TEMPO_STEP * beat_of(rung.level.show.metre)
            tempo = self._tempo(rung.level) + step * by
            self._tempos[rung.level.id] = min(_FASTEST, max(_SLOWEST, tempo))

    def _begin(self, rung: Rung, way: Way | None) -> None:
        self.stage.rounds.begin(self._terms(rung, way, self.stage.levels.new_seed()))

    def _chosen_way(self, rung: Rung) -> Way:
        every = ways(rung, self.stage.piano.compass, self.stage.clock.today)
        return every[self._way % len(every)]

    def _change_way(self, by: int) -> None:
        self._way += by

    def _terms(self, rung: Rung, way: Way | None, seed: int = 0) -> Terms:
        """Those of a round read in a way; None is the level's own number of prompts."""
        level = rung.level
        if way is None:
            terms = Terms.counted(level, rung.text, seed, None, self.stage.piano.compass)
        else:
            terms = way.terms(seed)
        if level.time is not None and self._tempo(level) != level.time.tempo:
            terms = replace(terms, tempo=self._tempo(level))
        return terms
