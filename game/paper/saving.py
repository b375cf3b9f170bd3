# SPDX-License-Identifier: MIT
"""Where a page goes that is saved from the window, where nobody names a file."""

from __future__ import annotations

import re
import unicodedata
from itertools import count
from pathlib import Path

from platformdirs import user_documents_path

from game.files.private import make_folder, new_file
from game.files.resources import data_folder
from game.words.text import _

_LONGEST, _MOST_BYTES = 60, 200  # of a title in the name of a file: characters, bytes of UTF-8
# "Naming Files, Paths, and Namespaces" of the Windows documentation, from memory.
_DEVICES = r"(CON|PRN|AUX|NUL|(COM|LPT)[0-9¹²³])"


class NotSaved(Exception):
    """A page could not be written; the message says where and why."""


def save_page(
    text: str,
    title: str,
    ending: str = ".html",
    mend: str = "make room there, then save it again",
) -> Path:
    """Write a page among the user's documents, or failing that among the game's data.

    Args:
        text: the page, or a table.
        title: what the file is called, any text; a number follows where that name is taken.
        ending: of its name.
        mend: what to do when it cannot be written, for the message.

    Raises:
        NotSaved: neither place can be written.
    """
    trouble = ""
    for folder in (user_documents_path(), data_folder()):
        try:
            return _written(text, folder / "Stavewise", file_name(title), ending)
        except OSError as error:
            trouble = trouble or f"{folder / 'Stavewise'}: {error.strerror}"
    raise NotSaved(f"{trouble}; {mend}")


def saved_words(text: str, title: str, ending: str = ".html") -> str:
    """Write a page as :func:`save_page` does, and say where it is, or why it is nowhere."""
    try:
        return _("Saved: {path}").format(path=save_page(text, title, ending))
    except NotSaved as error:
        return _("Not saved: {why}").format(why=error)


def file_name(title: str, instead: str = "page") -> str:
    """A title as the name of a file that every system takes, without its ending.

    Windows keeps some names for devices, and takes no space or full stop at the end; Linux takes
    255 bytes at most. Letters that stand apart from their accents are put together.

    Args:
        title: any text.
        instead: for one of which nothing is left.
    """
    kept = "".join(
        one if unicodedata.category(one)[0] in "LNM" or one in " -_," else " "
        for one in unicodedata.normalize("NFC", title)
    )
    name = " ".join(kept.split())[:_LONGEST]
    name = name.encode()[:_MOST_BYTES].decode(errors="ignore").strip(" ,")
    device = re.fullmatch(_DEVICES, name, re.IGNORECASE)
    return f"_{name}" if device else name or instead


def _written(text: str, folder: Path, name: str, ending: str) -> Path:
    make_folder(folder)
    for number in count(1):
        path = folder / f"{name}{'' if number == 1 else f' {number}'}{ending}"
        try:
            file = new_file(path)
        except FileExistsError:
            continue
        try:
            with file:
                file.write(text.encode())
        except OSError:  # half a file would be taken for a whole one
            path.unlink(missing_ok=True)
            raise
        return path
    raise AssertionError("unreachable")
