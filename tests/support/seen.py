# SPDX-License-Identifier: MIT
"""A screen as a person sees it, who knows the game only by that: its words, found by OCR in the
picture that the X server holds, the keys of the piano in it, and what mouse and keys do there."""

from __future__ import annotations

import io
import os
import re
import struct
import subprocess
import time
from collections.abc import Iterator
from difflib import SequenceMatcher
from itertools import pairwise
from pathlib import Path

import numpy as np
import pygame
from pygame import Rect
from scipy import ndimage

_ENLARGED = 2  # the picture is this much larger for OCR, which reads small letters badly
_ALIKE = 0.8  # of the letters, so that one that OCR misreads does not matter
_TALLEST, _WIDEST = 50, 60  # pixels of a letter; what is larger is drawn
_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SIGNS = {"#": 1, "♯": 1, "b": -1, "♭": -1}
_NOTE = re.compile(r"\b([A-G])([#♯b♭]?)(\d)\b")

Line = list[tuple[str, Rect]]
"""Words that stand side by side, with their places."""


class Seen:
    """Stateful: what stands on the screen of an X server.

    Args:
        display: of the server.
        file: its picture, as Xvfb's ``-fbdir`` keeps it (the XWD format, version 7).
    """

    def __init__(self, display: str, file: Path) -> None:
        self.display, self._file = display, file
        self._read: tuple[bytes, list[Line]] = b"", []

    # Eyes

    def pixels(self) -> bytes:
        """The picture as it is now."""
        return self._file.read_bytes()

    def picture(self) -> pygame.Surface:
        """The same, to be looked at."""
        data = self.pixels()
        header = struct.unpack(">25I", data[:100])  # X11/XWDFile.h
        length, width, height, row, colours = (header[at] for at in (0, 4, 5, 12, 19))
        dots = np.frombuffer(data, np.uint8, row * height, length + 12 * colours)
        dots = dots.reshape(height, row)[:, : 4 * width].reshape(height, width, 4)
        return pygame.surfarray.make_surface(dots[:, :, 2::-1].swapaxes(0, 1))

    def lines(self) -> list[Line]:
        """All words, read anew when the picture has changed."""
        pixels = self.pixels()
        if pixels != self._read[0]:
            self._read = pixels, _read(_letters(self.picture()))
        return self._read[1]

    @property
    def text(self) -> str:
        """All of it as it was last read."""
        return "\n".join(" ".join(word for word, _ in line) for line in self._read[1])

    def find(self, words: str) -> Rect | None:
        """Where some words stand that are next to each other; None where they do not."""
        wanted, count = _plain(words), len(words.split())
        found = []
        for line in self.lines():
            for length in range(max(1, count - 1), count + 3):
                for start in range(len(line) - length + 1):
                    part = line[start : start + length]
                    here = _plain("".join(word for word, _ in part))
                    alike = SequenceMatcher(None, here, wanted, autojunk=False).ratio()
                    first = part[0][1]
                    found.append((alike, -first.y, first.unionall([rect for _, rect in part])))
        alike, _above, place = max(found, default=(0, 0, None), key=lambda one: one[:2])
        return place if alike >= _ALIKE else None

    def until(self, *words: str, seconds: float = 20.0) -> str:
        """Wait until some of these words are seen; which."""
        end = time.monotonic() + seconds
        while True:
            late = time.monotonic() > end  # before the look: a busy machine has one more
            for one in words:
                if self.find(one) is not None:
                    return one
            assert not late, f"looked for {words}, and there is:\n{self.text}"
            time.sleep(0.05)

    def until_changed(self, before: bytes, seconds: float = 20.0) -> None:
        """Wait until the picture is another one."""
        end = time.monotonic() + seconds
        while self.pixels() == before:
            assert time.monotonic() < end, f"nothing happens:\n{self.text}"
            time.sleep(0.02)

    def note(self) -> int | None:
        """The key of the note that a sentence on the screen names last; None where none does."""
        for line in self.lines():
            words = " ".join(word for word, _ in line)
            if (found := _NOTE.findall(words)) and len(words) > 8:
                letter, sign, octave = found[-1]
                return 12 * (int(octave) + 1) + _STEPS[letter] + _SIGNS.get(sign, 0)
        return None

    def piano(self) -> dict[int, tuple[int, int]]:
        """Where to press each key of the piano on the screen, known by its black keys and by the
        mark on middle C; empty where there is none."""
        grey = _grey(self.picture())
        blacks = [b for b, s in _shapes(grey < 60) if s.mean() > 0.8 and 3 * b.w < b.h < 200]
        rows = [[b for b in blacks if b.top == a.top] for a in blacks]
        row = sorted(max(rows, key=len, default=[]), key=lambda box: box.x)
        if len(row) < 5:
            return {}
        gaps = [b.centerx - a.centerx for a, b in pairwise(row)]
        white = max(gaps) / 1.75  # the width of a white key: E and F, B and C have no black between
        groups = [[row[0]]]
        for gap, box in zip(gaps, row[1:], strict=True):
            if gap > 1.5 * white:
                groups.append([])
            groups[-1].append(box)
        twos = [len(group) == 2 for group in groups]  # C♯ D♯; the others are F♯ G♯ A♯
        twos[0], twos[-1] = not twos[1], not twos[-2]  # at the ends some may be wanting
        whole, keys, octave = Rect.unionall(row[0], row[1:]), {}, 0
        below = whole.move(0, whole.h).inflate(2 * white, 0)
        marks = [box for box, _ in _shapes(grey < 150) if below.contains(box) and box.w < white / 2]
        middle = max(marks, key=lambda box: box.bottom)
        for number, (group, two) in enumerate(zip(groups, twos, strict=True)):
            places = [1, 3] if two else [6, 8, 10]
            places = places[-len(group) :] if number == 0 else places[: len(group)]
            octave += 12 * (two and number > 0)
            for place, box in zip(places, group, strict=True):
                key = octave + place
                keys[key] = box.center
                keys[key - 1] = round(box.centerx - 0.4 * white), middle.centery
                keys[key + 1] = round(box.centerx + 0.4 * white), middle.centery
        c = min((k for k in keys if k % 12 == 0), key=lambda k: abs(keys[k][0] - middle.centerx))
        return {key - c + 60: place for key, place in keys.items()}

    # Hands

    def do(self, *orders: str) -> None:
        """Move the mouse, or press keys, as xdotool is told."""
        command = ["xdotool", *orders]
        subprocess.run(command, check=True, env={**os.environ, "DISPLAY": self.display})

    def click(self, words: str) -> None:
        """Click on words, when they are seen."""
        self.until(words)
        place = self.find(words)
        assert place is not None
        self.do("mousemove", str(place.centerx), str(place.centery), "click", "1")


def _plain(words: str) -> str:
    return "".join(filter(str.isalnum, words.lower()))


def _grey(picture: pygame.Surface) -> np.ndarray:
    return pygame.surfarray.array3d(picture) @ np.array([0.3, 0.59, 0.11])


def _letters(picture: pygame.Surface) -> pygame.Surface:
    """A picture with nothing but letters in it, dark on light: OCR takes staves, frames and
    buttons for the layout of a newspaper."""
    grey = _grey(picture)
    for box, shape in _shapes(grey < 110):
        if box.w > _WIDEST and box.h > 20 and shape.mean() > 0.6:  # a dark button
            grey[_part(box)] = 255 - grey[_part(box)]
    letters = np.zeros(grey.shape, bool)
    for box, shape in _shapes(grey < 175):
        if box.w <= _WIDEST and box.h <= _TALLEST:
            letters[_part(box)] |= shape
    grey[~ndimage.binary_dilation(letters, iterations=2)] = 245
    return pygame.surfarray.make_surface(np.repeat(grey[:, :, None], 3, 2).clip(0, 255))


def _shapes(dots: np.ndarray) -> Iterator[tuple[Rect, np.ndarray]]:
    """The shapes that dots side by side make: the place of each, and which dots of it."""
    labels, _count = ndimage.label(dots, np.ones((3, 3)))
    for number, (x, y) in enumerate(ndimage.find_objects(labels), 1):
        box = Rect(x.start, y.start, x.stop - x.start, y.stop - y.start)
        yield box, labels[x, y] == number


def _part(box: Rect) -> tuple[slice, slice]:
    return slice(box.left, box.right), slice(box.top, box.bottom)


def _read(picture: pygame.Surface) -> list[Line]:
    larger = pygame.transform.smoothscale_by(picture, _ENLARGED)
    file = io.BytesIO()
    pygame.image.save(larger, file, "page.png")
    told = subprocess.run(
        ["tesseract", "-", "-", "--psm", "11", "tsv"],  # sparse text, in no order
        input=file.getvalue(),
        capture_output=True,
        check=True,
        env={**os.environ, "OMP_THREAD_LIMIT": "1"},
    )
    lines: dict[tuple[str, ...], Line] = {}
    for cells in map(str.split, told.stdout.decode().splitlines()):
        if len(cells) == 12 and cells[0] == "5":
            rect = Rect(*(int(side) // _ENLARGED for side in cells[6:10]))
            lines.setdefault(tuple(cells[1:5]), []).append((cells[11], rect))
    return list(lines.values())
