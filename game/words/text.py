# SPDX-License-Identifier: MIT
"""The words on the screens, ready to be translated with gettext."""

from __future__ import annotations

import gettext

from game.notation import Clef, NoteNames, Pitch
from game.reader import Explanation, Misread
from game.rounds import Verdict

_catalogue = gettext.translation("stavewise", fallback=True)
_ = _catalogue.gettext
plural = _catalogue.ngettext

TEMPO_NONE = "–"


def feedback(names: NoteNames, verdict: Verdict, played: Pitch) -> str:
    """One short line on a press that was not right."""
    name = names.name(played, octave=True)
    if verdict is Verdict.WRONG_OCTAVE:
        return _("Right name, another octave: that was {name}.").format(name=name)
    return _("That was {name}. Look again.").format(name=name)


def misread(names: NoteNames, why: Explanation, clef: Clef) -> str:
    """One short line on why a note under a clef was misread, in the reader's note names."""
    shown = names.name(why.shown, octave=True)
    read = names.name(why.read, octave=True)
    lines = {
        Misread.OCTAVE: _("Right name, another octave: that was {read}."),
        Misread.SIGNATURE: _("The key signature makes this {shown}."),
        Misread.SIGN: _("The sign makes this {shown}; you played {read}."),
        Misread.CARRIED: _("New bar: the earlier sign no longer holds, so this is {shown}."),
        Misread.NATURAL: _("The natural holds here: {shown}."),
        Misread.CLEF: _("{read} would be right in the {other} clef; here it is {shown}."),
        Misread.STEP: _("{read} is next door; this is {shown}."),
        Misread.THIRD: _("You skipped a line or space: that was {read}; this is {shown}."),
        Misread.LEDGER: _("Count the ledger lines once more: {shown}."),
        Misread.SLIP: _("Your finger met the next key; {shown} was meant."),
        Misread.MIRROR: _("The other direction: {shown}."),
        Misread.UNKNOWN: _("That was {read}. Look again."),
    }
    place = clef.position(why.shown)
    clefs = (one for one in Clef if (one.step_at(place) - why.read.step) % 7 == 0)
    other = next(clefs, clef)
    return lines[why.kind].format(shown=shown, read=read, other=_(other.value))


def apart(late_s: float) -> str:
    """One short line on a chord whose keys did not go down together; none where they did."""
    if not late_s:
        return ""
    words = _("Not together: {n} s apart. Play all its keys at once.")
    return words.format(n=f"{late_s:.2f}")


def asked(question: str, fifths: int, *, first: bool) -> str:
    """What is to be played of a key signature that is shown; `first` of all that is asked of it."""
    if question == "altered":
        if fifths > 0:
            return _("Play the sharps of this signature, in their order. Any octave.")
        return _("Play the flats of this signature, in their order. Any octave.")
    if question == "major tonic":
        return _("Play its major tonic. Any octave.") if first else _("Now its major tonic.")
    if question == "minor tonic":
        return _("Play its minor tonic. Any octave.") if first else _("Now its minor tonic.")
    return ""


def seconds(value: float | None) -> str:
    """A reading time, such as ``1.24 s``."""
    return TEMPO_NONE if value is None else f"{value:.2f} s"


def thousandths(value: float | None) -> str:
    """A short time, such as ``24 ms``."""
    return TEMPO_NONE if value is None else f"{round(1000 * value)} ms".replace("-", "−")


def clock(value: float) -> str:
    """A length of time, such as ``0:42``."""
    whole = int(value + 0.999)
    return f"{whole // 60}:{whole % 60:02d}"
