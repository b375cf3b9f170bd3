# SPDX-License-Identifier: MIT
"""Text in a table that a spreadsheet may open: it must not be run as a formula.

OWASP, "CSV Injection", names the first characters that make a cell a formula: ``=``, ``+``, ``-``,
``@``, tab, carriage return, line feed, and the full-width forms that some spreadsheets take for the
same (from memory). OWASP ASVS 5.0, requirement 1.2.10, adds the null character and asks for an
apostrophe before them. Numbers are no text: a negative one stays as it is.
"""

from __future__ import annotations

import re

_FORMULA = re.compile("'*[=+\\-@\t\r\n\0＝＋－＠]")


def guarded(text: str) -> str:
    """A text as a cell: with an apostrophe before what would be a formula.

    So has a text that already is apostrophes and then a formula: :func:`unguarded` finds any again.
    """
    return f"'{text}" if _FORMULA.match(text) else text


def unguarded(cell: str) -> str:
    """The text of a cell that :func:`guarded` gave."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell
