# SPDX-License-Identifier: MIT
"""The checks, in the order in which their lines are read. None of them names a reader."""

from __future__ import annotations

import locale
import os
import platform
import shutil
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import pygame

from game import __version__
from game.engraving import Engraver, EngravingError
from game.files.resources import documents_folder, levels_folder, own_levels_folder
from game.keyboards import Keyboards
from game.levels import deal, read_ladder
from game.pieces import PieceError, load_piece
from game.ready.finding import Check, Finding
from game.ready.scale import desktop_scale
from game.store import StoreError, StoreTrial

_PYTHONS = ((3, 11), (3, 14))
_SLOW_S = 0.25  # to engrave one note
_LITTLE = 200 * 2**20  # bytes of free disk
_ONE_NOTE = """<score-partwise version="4.0">
<part-list><score-part id="P1"><part-name/></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes>
<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>
</measure></part></score-partwise>"""
_LETTERS = "♯♭ŁЖ李ع"
_LEAST_WINDOW = 1024, 600


@dataclass(frozen=True)
class Parts:
    """What the game that asks has open already, or opens for this.

    Args:
        store: tries the store; it may raise a StoreError.
        says: whether all letters of a text can be drawn.
        keyboards: which MIDI keyboards there are.
        silence: why nothing can be heard; empty where it can.
    """

    store: Callable[[], StoreTrial]
    says: Callable[[str], bool]
    keyboards: Callable[[], Keyboards]
    silence: Callable[[], str]


def checks(parts: Parts) -> tuple[Check, ...]:
    """What is to be looked at; see :func:`game.ready.found`."""
    return (
        ("program", _program),
        ("engraving", _engraving),
        ("sheet music", _sheet_music),
        ("window", _window),
        ("letters", lambda: _letters(parts.says)),
        ("store", lambda: _store(parts.store)),
        ("folders", _folders),
        ("MIDI", lambda: _midi(parts.keyboards())),
        ("sound", lambda: _sound(parts.silence())),
        ("clock", _clock),
        ("encodings", _encodings),
    )


def _program() -> Finding:
    kind = "in a virtual environment" if sys.prefix != sys.base_prefix else "for all programs"
    if "WindowsApps" in sys.base_prefix:
        kind += ", from the Microsoft Store"
    what = (
        f"Stavewise {__version__}, {platform.python_implementation()} {platform.python_version()} "
        f"({platform.architecture()[0]}, {platform.machine()}, {kind}), {platform.platform()}, "
        f"{sys.executable}"
    )
    if _PYTHONS[0] <= sys.version_info[:2] <= _PYTHONS[1]:
        return Finding("program", "fine", what)
    first, last = (".".join(map(str, one)) for one in _PYTHONS)
    return Finding("program", "look", what, f"Stavewise is tried with Python {first} to {last}.")


def _engraving() -> Finding:
    level = read_ladder(levels_folder()).rungs[0].level
    prompts = deal(level, 1, 2)
    engraver = Engraver()
    try:
        engraver.engrave(prompts[0])  # the first one reads the fonts
        start = time.perf_counter()
        engraver.engrave(prompts[1])
    except EngravingError as error:
        return Finding("engraving", "broken", str(error), "Install Stavewise again.")
    took = time.perf_counter() - start
    what = f"a note is engraved in {1000 * took:.0f} ms"
    if took <= _SLOW_S:
        return Finding("engraving", "fine", what)
    return Finding("engraving", "look", what, "Close other programs while you play.")


def _sheet_music() -> Finding:
    start = time.perf_counter()
    try:
        with TemporaryDirectory() as folder:
            file = Path(folder) / "one-note.musicxml"
            file.write_text(_ONE_NOTE, encoding="utf-8")
            load_piece(file)
    except PieceError as error:
        return Finding("sheet music", "broken", str(error), "Install Stavewise again.")
    took = time.perf_counter() - start
    return Finding("sheet music", "fine", f"read in a process of its own, {took:.1f} s")


def _window() -> Finding:
    asked = not pygame.display.get_init()
    try:
        if asked:
            pygame.display.init()
        driver, sizes = pygame.display.get_driver(), pygame.display.get_desktop_sizes()
        shown, scale = pygame.display.get_surface(), desktop_scale()
    except pygame.error as error:
        if os.environ.pop("SDL_VIDEODRIVER", "") and (other := _window()).state != "broken":
            return Finding("window", "look", f"{error}; {other.what}", "Unset SDL_VIDEODRIVER.")
        return Finding("window", "broken", f"no window can be opened ({error})", _NO_WINDOW)
    finally:
        if asked:
            pygame.display.quit()
    desktops = ", ".join(f"{width}x{height}" for width, height in sizes)
    window = "" if shown is None else f", window {shown.get_width()}x{shown.get_height()}"
    sdl = ".".join(map(str, pygame.get_sdl_version()))
    scaled = "unknown" if scale is None else f"{scale:.0%}"
    what = (
        f"pygame {pygame.version.ver}, SDL {sdl} ({driver}), desktop {desktops}, scale {scaled}"
        f"{window}"
    )
    if driver in ("dummy", "offscreen"):
        return Finding("window", "broken", f"{what}: nobody can see it", _NO_WINDOW)
    if all(width >= _LEAST_WINDOW[0] and height >= _LEAST_WINDOW[1] for width, height in sizes):
        return Finding("window", "fine", what)
    return Finding("window", "look", what, "Choose a higher resolution: long levels need it.")


_NO_WINDOW = "Start Stavewise from a desktop; the commands without a window work as they are."


def _letters(says: Callable[[str], bool]) -> Finding:
    lost = " ".join(one for one in _LETTERS if not says(one))
    if not lost:
        return Finding("letters", "fine", f"{' '.join(_LETTERS)} can be drawn")
    mend = "Install fonts for them, on Debian fonts-noto-core and fonts-noto-cjk."
    return Finding("letters", "look", f"no font here has {lost}", mend)


def _store(tried: Callable[[], StoreTrial]) -> Finding:
    try:
        trial = tried()
    except StoreError as error:
        return Finding("store", "broken", f"{error.place}: {error.what}", error.mend)
    if trial.path is None:
        return Finding("store", "fine", f"{trial.name}, on a server; writes and reads back")
    free = shutil.disk_usage(trial.path.parent).free
    log = "with" if trial.write_ahead else "without"
    what = (
        f"{trial.path}, on this computer's disk, {log} a write-ahead log; writes and reads back; "
        f"{free // 2**20} MB free"
    )
    if trial.warnings:
        return Finding("store", "look", what, " ".join(trial.warnings))
    if free < _LITTLE:
        return Finding("store", "look", what, "Free some space: answers are saved there.")
    return Finding("store", "fine", what)


def _folders() -> Finding:
    folders = {"papers": documents_folder(), "own levels": own_levels_folder()}
    what = "; ".join(f"{name}: {folder}" for name, folder in folders.items())
    shut = [str(folder) for folder in folders.values() if not _takes_files(folder)]
    if not shut:
        return Finding("folders", "fine", what)
    mend = "Allow Stavewise to write there, or make the folder yours."
    return Finding("folders", "look", f"{what}; can't write to {' or '.join(shut)}", mend)


def _takes_files(folder: Path) -> bool:
    """Whether a folder can be written, or made where there is none."""
    there = next(one for one in (folder, *folder.parents) if one.exists())
    return there.is_dir() and os.access(there, os.W_OK | os.X_OK)


def _midi(now: Keyboards) -> Finding:
    held = " (held by another program)"
    called = zip(now.there, now.identities or now.there, strict=True)
    names = [
        name + (f" ({raw})" if raw != name else "") + (held if name in now.refused else "")
        for name, raw in called
    ]
    what = "; ".join(
        (
            now.reached or "no answer yet",
            f"keyboards: {', '.join(names) or 'none'}",
            *([f"passed over: {', '.join(now.passed_over)}"] if now.passed_over else []),
        )
    )
    if now.reached.startswith("none"):
        mend = _OWN_MIDI if "STAVEWISE_MIDI" in now.reached else _NO_MIDI
        return Finding("MIDI", "broken", what, f"{mend} {_MEANWHILE}")
    if now.refused:
        return Finding("MIDI", "look", what, "Close the other program that uses the keyboard.")
    if not now.there:
        mend = "Plug your keyboard in and switch it on; some need a USB cable for data."
        return Finding("MIDI", "look", what, mend)
    return Finding("MIDI", "fine", what)


_OWN_MIDI = "Unset STAVEWISE_MIDI to take what there is."
_NO_MIDI = (
    "On Linux, see that ALSA's sequencer is loaded (modprobe snd-seq) or a JACK server runs; else "
    "install Stavewise again."
)
_MEANWHILE = "The computer's keys and the mouse play meanwhile."


def _sound(silence: str) -> Finding:
    if silence:
        chosen = "SDL_AUDIODRIVER" in os.environ
        mend = "unset SDL_AUDIODRIVER" if chosen else "connect a speaker"
        return Finding("sound", "look", silence, f"You can play without sound, or {mend}.")
    rate, _size, channels = pygame.mixer.get_init() or (0, 0, 0)
    return Finding("sound", "fine", f"opened: {rate} Hz, {channels} channels")


def _clock() -> Finding:
    clock = time.get_clock_info("perf_counter")
    sleep = "counts" if sys.platform == "win32" else "doesn't count"
    what = f"{clock.implementation}, steps of {clock.resolution:.0e} s; sleep {sleep}"
    if clock.monotonic and clock.resolution <= 1e-3:
        return Finding("clock", "fine", what)
    return Finding("clock", "look", what, "Times of answers are coarse on this computer.")


def _encodings() -> Finding:
    what = f"files {sys.getfilesystemencoding()}, text {locale.getpreferredencoding(False)}"
    if "utf" in sys.getfilesystemencoding().lower():
        return Finding("encodings", "fine", what)
    mend = "Set a UTF-8 language (LANG), or names of files may lose letters."
    return Finding("encodings", "look", what, mend)
