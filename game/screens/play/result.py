# SPDX-License-Identifier: MIT
"""What a round was worth, and each note that was missed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Any

from game.levels import tempo_mark
from game.paper.history import round_words
from game.reader import PRACTICE_ID
from game.rounds import Pace, kept_time, lead, passes, steady_offset
from game.screens.play.in_time import steady_words
from game.screens.play.missed import MissedNotes
from game.screens.play.pace_mark import lead_words
from game.screens.reader.set_beat import SetBeat
from game.session.live_round import LiveRound
from game.session.paces import BEST
from game.store import Best, RoundTaken, StoreError
from game.ui import theme
from game.ui.button_row import button, in_rows
from game.ui.screen import Screen
from game.ui.scroll import Scroll, drawn, prose
from game.ui.widgets import Canvas, Control, Rect
from game.words.dates import day_words
from game.words.percents import percent
from game.words.text import _, seconds, thousandths

if TYPE_CHECKING:
    from game.ui.stage import Stage


_STEADY = 0.01  # drift below which nobody hears it
BREAK_AFTER_S = 600  # of reading; a break is suggested; design for care, not a medical figure


class Result(Screen):
    """Stateful: the figures of a round, its missed notes (in pages), and what to do next."""

    name = "result"

    def __init__(
        self,
        stage: Stage,
        live: LiveRound,
        before: Best | None,
        compared: bool = True,
        pace: Pace | None = None,
    ) -> None:
        super().__init__(stage)
        self.hands_off()
        self._live = live
        self._before = before
        self._compared = compared
        self._pace = pace
        self._score = live.round.score
        (self._body,) = self.lists = (Scroll(),)
        self._missed = MissedNotes(stage, live.round)
        self._break_due = stage.sitting.read_s >= BREAK_AFTER_S
        if self._break_due:  # said once; then the count begins anew
            stage.sitting.read_s = 0.0
        practice = self._practice = live.level.id == PRACTICE_ID
        self._same_bars = not practice and live.level.same_bars(live.terms.prompts)
        self._passed = not practice and passes(live.level, live.round, known=live.terms.known)
        following = (
            stage.levels.ladder.after(live.level.id, stage.piano.compass) if self._known else None
        )
        self._next = following.level.id if following else ""
        self._reached = stage.piano.compass.reaches(live.round.prompts)

    @property
    def _known(self) -> bool:
        level_id = self._live.level.id
        return any(rung.level.id == level_id for rung in self.stage.levels.ladder.rungs)

    def layout(self, canvas: Canvas) -> list[Control]:
        items = [
            button("new", _("Again, new notes"), self._again_new),
            button("same", _("Again, same notes"), self._again_same, enabled=self._reached),
            button("replay", _("Replay"), self._replay),
            button("ladder", _("Ladder"), self.back),
        ]
        if self._same_bars:
            items[:2] = [button("new", _("Again, same bars"), self._again_new)]
        if self._passed and self._next and self._trouble is None:
            items.insert(0, button("next", _("Next level"), self._next_level))
        if (self._steady_off or 0.0) > 0:
            items.append(button("beat", _("Set the beat"), self._set_beat))
        items[0].style = "primary"
        px = canvas.px
        room = Rect(px(40), px(76), canvas.width - px(80), canvas.height - px(60) - px(76))
        foot = in_rows(canvas, items, room, least=230, high=50)
        room.height = foot - px(14) - room.y
        view = Rect(room.topleft, (room.width + px(20), room.height))  # with the bar beside it
        return [*self._body.place(canvas, self._rows(canvas, room), view, ""), *items]

    def _rows(self, canvas: Canvas, view: Rect) -> list[Control]:
        """All between the title and the buttons."""
        px, rows, room = canvas.px, list[Control](), Rect(view)
        if canvas.narrow:
            for words, how in self._said():
                rows += prose(canvas, words, room, **how)
                room.y = rows[-1].rect.bottom + px(6)
        columns, gap = 2 if canvas.narrow else 4, px(16)
        wide = (room.width - gap * (columns - 1)) // columns
        for number, figure in enumerate(self._figures()):
            down, right = divmod(number, columns)
            at = room.x + right * (wide + gap), room.y + down * (px(118) + gap)
            paint = partial(self._figure, figure, strong=number == 0)
            rows.append(drawn(Rect(at, (wide, px(118))), paint))
        room.y = rows[-1].rect.bottom + px(18)
        if self._break_due:
            words = _("You have been reading for ten minutes: a good moment for a break.")
            rows += prose(canvas, words, room, face="strong")
            room.y = rows[-1].rect.bottom + px(12)
        room.height = view.bottom - room.y
        if self._missed:
            return rows + self._missed.rows(canvas, room)
        words = _("Nothing was answered.")
        if self._score.slots:
            words = _("Every note right at the first press.")
        room.height = max(room.height, px(80))
        return [*rows, drawn(room, partial(self._calm, words))]

    @staticmethod
    def _calm(words: str, canvas: Canvas, room: Rect) -> None:
        canvas.text(words, room.center, size=24, face="serif", colour=theme.MUTED, anchor="center")

    def _said(self) -> list[tuple[str, dict[str, Any]]]:
        """What the round was worth, in words, and how they look."""
        trouble = self._trouble
        if isinstance(trouble, RoundTaken):
            said, more = _("Not kept: {what}."), trouble.mend
        elif trouble is not None:
            said = _("Not kept yet: {what}.")
            more = _("It is kept by itself as soon as that is mended.")
        else:
            colour = theme.ACCENT if self._passed else theme.INK
            verdict = self._verdict(), {"size": 20, "face": "strong", "colour": colour}
            pace = self._against_pace(), {"size": 16, "colour": theme.MUTED}
            return [verdict, pace] if pace[0] else [verdict]
        words = said.format(what=trouble.what)
        return [(words, {"face": "strong", "colour": theme.WRONG}), (more, {})]

    def paint(self, canvas: Canvas) -> None:
        px, live, day = canvas.px, self._live, self._live.terms.day
        title = live.level.title
        if day:
            title = f"{title} · {day_words(date.fromisoformat(day))}"
        wide = canvas.width - px(80)
        if not canvas.narrow:
            wide = canvas.width // 2
            for (words, how), y in zip(self._said(), (px(40), px(62)), strict=False):
                at, room = (canvas.width - px(40), y), canvas.width // 2 - px(60)
                canvas.text(words, at, anchor="midright", width=room, **how)
        at = px(40), px(40)
        canvas.text(title, at, size=30, face="title", anchor="midleft", width=wide)
        hints = self.menu_hints()
        number = _("Round {number} · seed {seed}").format(
            number=live.record_id, seed=live.terms.seed
        )
        if live.terms.delay_s:
            number += _(" · {delay} taken off").format(delay=thousandths(live.terms.delay_s))
        if live.terms.day:
            number += _(" · the same for everybody who reads it on this day")
        canvas.hints(hints, message=number)

    @property
    def _trouble(self) -> StoreError | None:
        """Why the round is not in the store; until it is, it has passed nothing and beaten none."""
        return self.stage.keeper.why_unkept(self._live)

    def _verdict(self) -> str:
        if not self._live.round.complete:
            return _("Broken off: not counted as a best.")
        if self._practice:  # meant to go wrong one time in seven
            return _("Practised: what was missed comes back soon.")
        if self._passed:
            return _("✓ Level passed")
        if self._live.terms.misses is not None:
            return _("Endless: {n} right").format(n=self._score.right)
        if self._live.terms.untimed:
            return _("Without a clock: for accuracy alone")
        score, passing, terms = self._score, self._live.level.passing, self._live.terms
        if score.accuracy < passing.accuracy:
            now, needed = percent(score.accuracy), percent(passing.accuracy)
            if now == needed:
                now = f"{score.accuracy * 100:.1f}"
            return _("Not passed yet: {now} % right, it takes {needed} %").format(
                now=now, needed=needed
            )
        if score.median_s is None or score.median_s > passing.median_s:
            return _("Not passed yet: median {now}, it takes {needed}").format(
                now=seconds(score.median_s), needed=seconds(passing.median_s)
            )
        time = self._live.level.time
        if time is not None and terms.tempo is not None and terms.tempo < time.tempo:
            return _("Good enough to pass: play it at {tempo} to make it count").format(
                tempo=tempo_mark(time.tempo, self._live.level.show.metre)
            )
        if terms.known and self._same_bars:
            return _("Good enough to pass, but you have read these bars before")
        if terms.known:
            return _("Good enough to pass; on new notes it will count")
        return _("Good enough to pass; a whole round will count")

    def _figures(self) -> list[tuple[str, str, str]]:
        """Four figures, each with what it is and a word on it."""
        score, live = self._score, self._live
        tempo = "–" if score.tempo_per_min is None else f"{score.tempo_per_min:.0f}"
        points = _("Points") if live.terms.misses is None else _("Points, added up")
        figures = [
            (points, f"{score.score:.1f}", self._against_best()),
            (
                _("Accuracy"),
                f"{percent(score.accuracy)} %",
                _("{right} of {slots} right at first").format(right=score.right, slots=score.slots),
            ),
            (_("Median time"), seconds(score.median_s), _("of right answers")),
            (
                _("Reading tempo"),
                score.tempo_word or "–" if score.right else "–",
                _("{n} right a minute").format(n=tempo),
            ),
        ]
        return figures[:2] + self._in_time() if live.round.pulse is not None else figures

    def _figure(
        self, told: tuple[str, str, str], canvas: Canvas, rect: Rect, *, strong: bool
    ) -> None:
        px, (label, figure, below) = canvas.px, told
        canvas.panel(rect)
        x, width = rect.x + px(16), rect.width - px(24)
        canvas.text(label, (x, rect.y + px(10)), size=16, colour=theme.MUTED)
        canvas.text(figure, (x, rect.y + px(28)), size=36, face="title", width=width)
        canvas.text(
            below,
            (x, rect.bottom - px(32)),
            size=16,
            width=width,
            face="strong" if strong else "text",
            colour=theme.ACCENT if strong and self._is_best else theme.MUTED,
        )

    def _in_time(self) -> list[tuple[str, str, str]]:
        """How the phrases kept time, in the place of reading time and tempo."""
        kept = kept_time(self._live.round.phrases)
        spread, drift = kept.spread_s, kept.drift
        if drift is None:
            pace = _("too few right notes to tell")
        elif abs(drift) < _STEADY:
            pace = _("at a steady pace")
        elif drift > 0:
            pace = _("slowing down by {n} %").format(n=percent(drift))
        else:
            pace = _("rushing by {n} %").format(n=percent(-drift))
        off = self._steady_off
        words = _("median of right notes") if off is None else steady_words(off)
        return [
            (_("Off the beat"), thousandths(self._score.median_s), words),
            (_("Evenness"), "–" if spread is None else f"± {thousandths(spread)}", pace),
        ]

    @property
    def _steady_off(self) -> float | None:
        """By how many seconds the reader was steadily off the beat, if so."""
        return steady_offset(self._live.round.phrases, self._live.round.limit_s)

    @property
    def _is_best(self) -> bool:
        if not self._live.round.complete or not self._compared or self._trouble is not None:
            return False
        before = 0.0 if self._before is None else max(0.0, self._before.score)
        return not self._practice and self._score.mean_points > before

    def _against_best(self) -> str:
        if not self._live.round.complete:
            return _("unfinished")
        if self._trouble is not None:
            return _("not kept yet")
        if not self._compared:
            return _("your best could not be looked up")
        if self._practice:
            return ""
        if self._before is None:
            return _("Your first best") if self._is_best else _("No best yet")
        more = self._score.score - max(0.0, self._before.score)  # as both are shown
        change = f"{abs(more):.1f}"
        if change == "0.0":
            return _("As good as your best")
        words = _("New personal best, +{n}") if more > 0 else _("{n} below your best")
        return words.format(n=change)

    def _against_pace(self) -> str:
        """How the round stood to its pace at the end; the best is told of with the points."""
        pace, live = self._pace, self._live
        if pace is None or not live.round.complete:
            return ""
        if pace.name == BEST and self._before is not None:
            return ""
        words = lead_words(pace, lead(pace, live.round, self._score.seconds))
        return words[0].upper() + words[1:]

    def back(self) -> None:
        self.stage.go.open_ladder(self._live.level.id)

    def _set_beat(self) -> None:
        self.stage.go.show(SetBeat(self.stage, partial(self.stage.go.show, self)))

    def _replay(self) -> None:
        live, reader = self._live, self.stage.sitting.reader
        try:
            record = self.stage.store.record(live.record_id)
        except StoreError as error:
            self.stage.notices.insert(0, str(error))
            self.stage.go.open_readers()
            return
        name = "" if reader is None else reader.name
        self.stage.go.open_replay(record, round_words(name, live.record_id))

    def _again_new(self) -> None:
        if self._practice:
            self.stage.rounds.practise(self._live)
        else:
            terms = self._live.terms.afresh(self.stage.levels.new_seed(), self.stage.piano.compass)
            self.stage.rounds.begin(terms)

    def _again_same(self) -> None:
        self.stage.rounds.begin(replace(self._live.terms, known=True))

    def _next_level(self) -> None:
        self.stage.go.open_ladder(self._next)
