# SPDX-License-Identifier: MIT
"""What is in force at each place of a bar, and which sign a note there must print."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from game.notation.pitch import LETTERS, Pitch
from game.notation.signature import C_MAJOR, KeySignature

SIGN_OF_ALTER = {-2: "bb", -1: "b", 0: "n", 1: "#", 2: "##"}
ALTER_OF_SIGN = {sign: alter for alter, sign in SIGN_OF_ALTER.items()}
_NOTHING: Mapping[tuple[int, int], int] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Bar:
    """The alterations in force at one moment of a bar.

    A printed sign holds for its own staff and its own diatonic step (this letter, this
    octave) until the barline; a natural holds likewise. Common practice; stated in
    Gould, *Behind Bars* (2011), "Accidentals" (from memory).

    Args:
        signature: the key signature, which alters every octave.
        signs: (staff, diatonic step) -> alteration, for the signs printed in this bar.
    """

    signature: KeySignature = C_MAJOR
    signs: Mapping[tuple[int, int], int] = field(default_factory=lambda: _NOTHING)

    def alter(self, staff: int, step: int) -> int:
        """The alteration that an unsigned note on this staff and step has now, in semitones."""
        return self.signs.get((staff, step), self.signature.alter(LETTERS[step % 7]))

    def sign(self, staff: int, pitch: Pitch, *, tied: bool = False) -> str | None:
        """The sign to print: ``#``, ``b``, ``n``, ``##``, ``bb`` or None.

        None when the signature or an earlier sign of this bar already says it, or when the
        note continues a tie (the tie carries the alteration over the barline).

        Raises:
            ValueError: the pitch needs a sign beyond a double sharp or flat, which has none.
        """
        if tied or self.alter(staff, pitch.step) == pitch.alter:
            return None
        try:
            return SIGN_OF_ALTER[pitch.alter]
        except KeyError:
            raise ValueError(f"no printed sign for {pitch}") from None

    def read(
        self, staff: int, step: int, sign: str | None = None, *, tied: int | None = None
    ) -> Pitch:
        """The pitch of a note as it is printed, the reverse of :meth:`sign`.

        Args:
            staff: the staff it stands on.
            step: its diatonic step, :attr:`Pitch.step`.
            sign: the sign printed at it, as :meth:`sign` names it; None for none.
            tied: the alteration of the note whose tie it continues; None for no tie. A sign
                printed at it goes before.

        Raises:
            ValueError: a sign that is none of those.
        """
        if sign is not None:
            try:
                return Pitch.at_step(step, ALTER_OF_SIGN[sign])
            except KeyError:
                raise ValueError(
                    f"{sign!r} is not one of the signs {' '.join(ALTER_OF_SIGN)}"
                ) from None
        return Pitch.at_step(step, self.alter(staff, step) if tied is None else tied)

    def after(self, staff: int, pitch: Pitch, *, tied: bool = False) -> Bar:
        """The bar once this note has been printed.

        A note that continues a tie prints nothing, so it changes nothing: a later note at
        its place in the new bar needs a sign of its own.
        """
        if self.sign(staff, pitch, tied=tied) is None:
            return self
        return Bar(
            self.signature, MappingProxyType({**self.signs, (staff, pitch.step): pitch.alter})
        )

    def barline(self) -> Bar:
        """The next bar: only the signature is in force."""
        return Bar(self.signature)
