# SPDX-License-Identifier: MIT
"""Sheet music of other formats as MEI, by Verovio."""

from __future__ import annotations

from game.engraving.toolkit import toolkit


def to_mei(text: str, kind: str) -> str | None:
    """A text of a format that Verovio knows (``xml`` for MusicXML, ``mei``, ``humdrum``) as MEI.

    Ids are the same each time. What Verovio complains of goes to the standard error of the process,
    which some files end: so this is for a process of its own (:mod:`game.pieces.child`).

    Returns:
        The document, or None where Verovio cannot read the text.

    Raises:
        ImportError: Verovio is missing.
    """
    reader = toolkit()
    reader.resetXmlIdSeed(1)
    reader.setOptions({"mdivAll": True})
    reader.setInputFrom(kind)
    return str(reader.getMEI()) if reader.loadData(text) else None
