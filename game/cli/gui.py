# SPDX-License-Identifier: MIT
"""The game started with no terminal behind it: by an entry of a menu, or `pythonw` on Windows."""

from __future__ import annotations

import sys
from contextlib import suppress

from game.cli import answer, say


def main() -> int:
    """Do what ``stavewise`` does; what it could not do is said in a window, too."""
    said = answer(sys.argv[1:])
    if said.status != 0 and said.err:
        _show("\n".join(said.err))
    return say(said)


def _show(words: str) -> None:
    # Where no window can be opened, there is only the standard error left.
    with suppress(Exception):
        import pygame

        from game.app.window import Window, check_display, is_seen
        from game.words.text import _

        check_display()
        if not is_seen():
            return
        canvas = Window((760, 360), full=False).canvas
        happened = pygame.event.Event(pygame.NOEVENT)
        while happened.type not in (pygame.QUIT, pygame.KEYDOWN, pygame.MOUSEBUTTONDOWN):
            canvas.clear()
            edge = canvas.px(48)
            title = _("Stavewise can't start")
            canvas.text(title, (edge, edge), size=30, face="title", anchor="topleft")
            wide = canvas.width - 2 * edge
            canvas.paragraph(
                f"{words[:1].upper()}{words[1:]}.", (edge, edge + canvas.px(64)), wide, size=20
            )
            canvas.hints([(_("Any key"), _("close"))])
            canvas.flip()
            happened = pygame.event.wait()
        pygame.quit()
