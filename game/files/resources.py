# SPDX-License-Identifier: MIT
"""Where the levels and assets are: beside this package in a checkout, inside it in a wheel."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

from platformdirs import user_data_path, user_documents_path

OWN_LEVELS = "STAVEWISE_LEVELS"
"""The environment variable that names another folder for levels of one's own."""

_PACKAGE = Path(__file__).resolve().parents[1]  # game/


class MissingResource(RuntimeError):
    """A file that belongs to Stavewise is not there; the message says which, and the mend."""


def levels_folder() -> Path:
    """The folder of the shipped levels.

    Raises:
        MissingResource: it is not there.
    """
    return _found("levels")


def data_folder() -> Path:
    """The folder for what is kept; it need not exist.

    Python from the Microsoft Store writes a program's data where Explorer shows no one, and where
    they go when that Python is uninstalled
    (docs.python.org/3/using/windows.html, "Redirection of local data, registry, and temporary
    paths"). There it is a folder in the user's own, to which what an older game left is moved once.
    """
    usual = user_data_path("stavewise", appauthor=False)
    if sys.platform != "win32" or "WindowsApps" not in Path(sys.base_prefix).parts:
        return usual
    own = Path.home() / "Stavewise"
    if usual.is_dir() and not own.exists():
        fresh = own.with_name(f"{own.name}-moving-{os.getpid()}")
        try:
            shutil.copytree(usual, fresh)  # first all of it, so that nothing is half there
            fresh.rename(own)
        except OSError:  # no room, or another game was quicker
            shutil.rmtree(fresh, ignore_errors=True)
            return own if own.is_dir() else usual
        shutil.rmtree(usual, ignore_errors=True)
    return own


def own_levels_folder() -> Path:
    """The folder for levels of one's own; it need not exist."""
    named = os.environ.get(OWN_LEVELS)
    if named:
        return Path(named).expanduser().absolute()
    return data_folder() / "levels"


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
