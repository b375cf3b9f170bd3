# SPDX-License-Identifier: MIT
"""Eight keyboards at once, by hand: ``python tests/studies benchmarks/eight_keyboards``.

Needs a JACK server (``jackd -S -r -d dummy -r 48000 -p 128``) and a display. Each keyboard is a
process; all play for ten seconds at a human rate and then at 1,000 presses a second each, while
the heat is drawn, judged and kept. One of them is then pulled out and comes back as another port.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from eight_keyboards import Outcome, Room


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--seconds", type=float, default=10.0)
    options.add_argument("--rates", type=float, nargs="*", default=[4.0, 1000.0])
    options.add_argument("--size", default="1280x720")
    args = options.parse_args()
    width, height = map(int, args.size.split("x"))
    wrong = 0
    for rate in args.rates:
        with tempfile.TemporaryDirectory() as folder:
            room = Room(Path(folder) / "store.db", (width, height))
            try:
                outcome = room.during(lambda room=room, rate=rate: _happens(room, rate, args))
            finally:
                room.close()
        wrong += report(rate, outcome)
    return 1 if wrong else 0


def _happens(room: Room, rate: float, args: argparse.Namespace) -> None:
    room.play(rate, args.seconds)
    room.replug(3, "Found again")
    room.play(rate, 1.0)


def report(rate: float, outcome: Outcome) -> int:
    """Print what came of it; how many seats did not get exactly their own presses."""
    wrong = [seat for seat in outcome.sent if outcome.heard.get(seat) != outcome.sent[seat]]
    sent = sum(map(len, outcome.sent.values()))
    heard = sum(len(presses) for seat, presses in outcome.heard.items() if seat)
    waits = sorted(outcome.waits_ms)
    shares = {name: waits[int(share * (len(waits) - 1))] for name, share in _SHARES}
    print(f"\n{rate:g} presses a second each, asked for; the longest took {outcome.took_s:.1f} s")
    print(f"  sent {sent}, kept {heard}, nobody's {outcome.strays}")
    print(f"  seats whose presses differ in number, order or owner: {wrong or 'none'}")
    print("  press to verdict, ms:", ", ".join(f"{k} {v:.1f}" for k, v in shares.items()))
    print(f"  all kept {outcome.kept_s:.2f} s after the last; {outcome.frames} frames drawn")
    print(f"  seat 3 is on {outcome.bindings[3]!r}")
    return len(wrong)


_SHARES = (("p50", 0.5), ("p90", 0.9), ("p99", 0.99), ("max", 1.0))

if __name__ == "__main__":
    sys.exit(main())
