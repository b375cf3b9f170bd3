# SPDX-License-Identifier: MIT
"""Where the levels and assets are: beside this package in a checkout, inside it in a wheel."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


class MissingResource(RuntimeError):
    """A file that belongs to Stavewise is not there; the message says which, and the mend."""


def levels_folder() -> Path:
    """The folder of the shipped levels.

    Raises:
        MissingResource: it is not there.
    """
    return _found("levels")


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
