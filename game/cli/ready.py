# SPDX-License-Identifier: MIT
"""Whether this computer is ready, on the command line; and what its keyboards send."""

from __future__ import annotations

import argparse
import time
from functools import partial
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from game.cli.options import command
from game.cli.said import Said, as_json

if TYPE_CHECKING:
    from game.midi.events import KeyboardEvent

_LISTEN_S = 10.0
_WIDE, _TOPIC, _STATE = 100, 12, 7


def add(children: Any) -> None:
    parser = command(
        children,
        "ready",
        _ready,
        "check this computer: engraving, window, letters, store, MIDI, sound, clock",
        "stavewise ready\n  stavewise ready --listen",
        "One line for each part: fine, look (it works, but could be better) or broken, with what "
        "to do. The exit status is 1 where something is broken. No reader is named: send these "
        "lines with a report.",
    )
    what = "print the keys that arrive for ten seconds, with their delays, instead"
    parser.flag("--listen", what)
    parser.store()
    parser.json()


def _ready(args: argparse.Namespace) -> Said:
    if args.listen:
        return _listen()
    from game.keyboards import find_keyboards
    from game.ready import Parts, checks, found
    from game.sound import SoundPlayer
    from game.store import try_store
    from game.ui.theme import says

    player = SoundPlayer.open(0.0)
    try:
        parts = Parts(partial(try_store, args.store), says, find_keyboards, lambda: player.reason)
        findings = [found(check) for check in checks(parts)]
    finally:
        player.close()
    status = int(any(one.state == "broken" for one in findings))
    if args.json:
        from game.contract.ready import ready_json

        return as_json(ready_json(findings), status=status)
    lines = []
    for one in findings:
        words = wrap(one.what, _WIDE - _TOPIC - _STATE) + wrap(one.mend, _WIDE - _TOPIC - _STATE)
        lines.append(f"{one.state:{_STATE}}{one.topic:{_TOPIC}}{words[0]}")
        lines += [" " * (_STATE + _TOPIC) + line for line in words[1:]]
    return Said("\n".join(lines), status=status)


def _listen() -> Said:
    """Print what comes from keyboards as it comes, for ten seconds."""
    from game.keyboards import MidiKeyboards, PressQueue

    queue = PressQueue(on_arrival=lambda: None)
    midi = MidiKeyboards(queue)
    midi.start()
    print(
        f"Listening for {_LISTEN_S:.0f} seconds: play some keys, unplug the keyboard …", flush=True
    )
    keys, end = 0, time.perf_counter() + _LISTEN_S
    try:
        while time.perf_counter() < end:
            for event in queue.drain():
                now = time.perf_counter()
                for line in _lines(event, now):
                    print(line, flush=True)
                keys += hasattr(event, "velocity")
            time.sleep(0.005)
    finally:
        midi.close()
    return Said(f"{keys} keys in {_LISTEN_S:.0f} seconds.")


def _lines(event: KeyboardEvent, now: float) -> list[str]:
    from game.keyboards import Keyboards, KeyDown
    from game.notation import likeliest

    if isinstance(event, KeyDown):
        late = 1000 * (now - event.t)
        return [
            f"  {likeliest(event.key)} (key {event.key}), velocity {event.velocity}, "
            f"{late:.1f} ms ago, {event.keyboard}"
        ]
    if isinstance(event, Keyboards):
        lost = [f"  gone: {name}" for name in event.gone]
        return [*lost, *(f"  here: {name}" for name in event.came)]
    return []
