# SPDX-License-Identifier: MIT
"""Where the levels and assets are: beside this package in a checkout, inside it in a wheel."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_data_path, user_documents_path

OWN_LEVELS = "STAVEWISE_LEVELS"
"""The environment variable that names another folder for levels of one's own."""

_PACKAGE = Path(__file__).resolve().parent


class MissingResource(RuntimeError):
    """A file that belongs to Stavewise is not there; the message says which, and the mend."""


def levels_folder() -> Path:
    """The folder of the shipped levels.

    Raises:
        MissingResource: it is not there.
    """
    return _found("levels")


def own_levels_folder() -> Path:
    """The folder for levels of one's own; it need not exist."""
    named = os.environ.get(OWN_LEVELS)
    if named:
        return Path(named).expanduser().absolute()
    return user_data_path("stavewise", appauthor=False) / "levels"


def documents_folder() -> Path:
    """The folder for what is written for people to open; it need not exist."""
    return user_documents_path() / "Stavewise"


def level_folders() -> tuple[Path, Path]:
    """The folders that make the ladder: the shipped levels, then one's own.

    Raises:
        MissingResource: the shipped ones are not there.
    """
    return levels_folder(), own_levels_folder()


def asset(name: str) -> Path:
    """A file of the assets by its path among them, such as ``fonts/OFL-SourceSansPro.txt``.

    Raises:
        MissingResource: it is not there.
    """
    return _found(f"assets/{name}")


def font_path(name: str) -> Path:
    """A font file by its name without the ending, such as ``SourceSansPro-Regular``.

    Raises:
        MissingResource: it is not there.
    """
    return asset(f"fonts/{name}.ttf")


def _found(name: str) -> Path:
    # A wheel's own folder comes first: what lies beside an installed package is not ours.
    data = _PACKAGE / "data"
    path = (data if data.is_dir() else _PACKAGE.parent) / name
    if not path.exists():
        raise MissingResource(
            f"{name} is missing from this installation of Stavewise (looked for {path}). "
            "Install it again: python -m pip install --force-reinstall . "
            "in the folder of its source."
        )
    return path
