# SPDX-License-Identifier: MIT
"""How long a long history takes: the page of a million presses, a choice after 100,000.

    python tests/studies benchmarks/progress [--presses N]

Fills a store in bulk with the rounds of a simulated reader, some hundred of them played anew over
and over, and times each thing in a process of its own (cold) or call by call.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import cycle, islice
from pathlib import Path
from random import Random

from builders import shipped
from places import ROOT
from progress_builders import played
from sqlalchemy import create_engine, insert

from game.levels import FULL_COMPASS
from game.notation import Clef
from game.reader import DAY_S, Profile, practice
from game.reader.history import MOST
from game.rounds import Event, Press, Round, Terms
from game.session.profiles import learn, profile_of
from game.store import RoundState, Store, terms_to_json
from game.store.rows import event_to_row
from game.store.tables import EVENTS, RECORDS

_PLAYED = 200  # different rounds
_ROUNDS_A_DAY = 20
_TIMED = 2000
NOW = datetime.now(UTC)


def some_rounds() -> list[tuple[Terms, list[Event], Round]]:
    """Rounds on every level that is not read in time, each as played to its end."""
    rungs = [rung for rung in shipped().rungs if rung.level.time is None]
    rng = Random(1)
    found = []
    for number, rung in enumerate(islice(cycle(rungs), _PLAYED)):
        terms = Terms.counted(rung.level, rung.text, number, None, FULL_COMPASS)
        events = played(terms.begin().prompts, rng, 0.12, 1.2)
        found.append((terms, events, terms.replay(events)))
    return found


def fill(path: Path, rounds: Sequence[tuple[Terms, list[Event], Round]], presses: int) -> int:
    """A store with so many presses of one reader; how many rounds."""
    with Store.open(path) as store:
        reader = store.add_reader("Anna").id
    engine = create_engine(f"sqlite:///{path}")
    count, made = 0, 0
    lengths = [sum(isinstance(event, Press) for event in events) for _, events, _ in rounds]
    total = -(-presses // (sum(lengths) // len(lengths)))
    kept = [
        [
            {name: value for name, value in event_to_row(0, seq, event).items() if name != "record"}
            for seq, event in enumerate(events)
        ]
        for _, events, _ in rounds
    ]
    while count < presses:
        records, rows = [], []
        for _ in range(500):
            which = made % len(rounds)
            terms, _events, ended = rounds[which]
            score = ended.score
            made += 1
            records.append(
                {
                    "id": made,
                    "reader": reader,
                    "level_id": terms.level_id,
                    "kind": terms.kind,
                    "terms": terms_to_json(terms),
                    "state": RoundState.FINISHED,
                    "started": NOW - timedelta(days=(total - made) / _ROUNDS_A_DAY),
                    "app_version": "0",
                    "score": score.score,
                    "mean_points": score.mean_points,
                    "accuracy": score.accuracy,
                    "median_s": score.median_s,
                    "tempo_per_min": score.tempo_per_min,
                    "slots": score.slots,
                    "right": score.right,
                    "passed": False,
                    "complete": True,
                }
            )
            rows += [{**row, "record": made} for row in kept[which]]
            count += lengths[which]
            if count >= presses:
                break
        with engine.begin() as connection:
            connection.execute(insert(RECORDS), records)
            connection.execute(insert(EVENTS), rows)
    engine.dispose()
    return made


def full_history(profile: Profile) -> Profile:
    """The profile as it is after years: as many slopes as are ever kept."""
    slopes = {}
    for clef in Clef:
        now = profile.counting(clef)
        if now is not None:
            slopes[clef] = tuple(
                (NOW.timestamp() - (MOST - n) * DAY_S, replace(now, ms_per_step=100 + n % 40))
                for n in range(MOST)
            )
    return replace(profile, slopes=slopes)


def cold(path: Path, out: Path) -> tuple[float, float, float]:
    """Seconds by the clock and of the processor, and MB, of a process that opens the store and
    writes the page."""
    out.unlink(missing_ok=True)
    code = (
        "import resource, sys; from game.cli import main; status = main(sys.argv[1:]); "
        "used = resource.getrusage(resource.RUSAGE_SELF); "
        "print(used.ru_utime + used.ru_stime, used.ru_maxrss); sys.exit(status)"
    )
    argv = ["progress", "Anna", "--store", str(path), "--html", str(out)]
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", code, *argv], cwd=ROOT, capture_output=True, text=True, check=True
    )
    taken = time.perf_counter() - start
    *_, busy, kilobytes = done.stdout.split()
    return taken, float(busy), int(kilobytes) / 1024


def told(what: str, times_s: Iterable[float]) -> None:
    times = sorted(1000 * value for value in times_s)

    def at(share: float) -> float:
        return times[min(len(times) - 1, int(share * len(times)))]

    print(
        f"{what:48} p50 {at(0.5):8.2f}  p90 {at(0.9):8.2f}  p99 {at(0.99):8.2f}  "
        f"max {times[-1]:8.2f} ms  (n = {len(times)})",
        flush=True,
    )


def timed(call: Callable[[], object]) -> float:
    """Seconds by the clock."""
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def learning(rounds: Sequence[tuple[Terms, list[Event], Round]], presses: int) -> Profile:
    """Learn slot by slot from so many presses, timing the first and the last answers."""
    profile, times, count = Profile(), list[float](), 0
    for made, (_, _, ended) in enumerate(cycle(rounds)):
        at = NOW.timestamp() - (presses / 25 - made) / _ROUNDS_A_DAY * DAY_S
        profile = profile.begun(at)
        for result in ended.results:
            prompt = ended.prompts[result.prompt]
            before = ended.prompts[result.prompt - 1] if result.prompt else None
            start = time.process_time()
            profile = profile.after(prompt, result, at, before).profile
            times.append(time.process_time() - start)
            count += len(result.presses)
        if count >= presses:
            break
    told("a slot learnt, the first 2000", times[:_TIMED])
    told(f"a slot learnt, after {count} presses", times[-_TIMED:])
    return profile


def choosing(profile: Profile, presses: int) -> None:
    """Today's practice, for one who has reached all levels; and a prompt's share of it."""
    rungs, now = shipped().rungs, NOW.timestamp()
    each, whole = [], []
    for seed in range(40):
        start = time.process_time()
        chosen = practice(profile.knowledge, rungs, seed, now, compass=FULL_COMPASS)
        taken = time.process_time() - start
        whole.append(taken)
        each.append(taken / len(chosen.purposes))
    told(f"today's practice, after {presses} presses", whole)
    told("  of which for one prompt", each)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--presses", type=int, default=1_000_000)
    parser.add_argument("--learnt", type=int, default=100_000)
    args = parser.parse_args()
    rounds = some_rounds()
    profile = learning(rounds, args.learnt)
    choosing(profile, args.learnt)
    told(
        "slopes of both clefs",
        [timed(lambda: [profile.counting(c) for c in Clef]) for _ in range(10)],
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "store.db"
        made = fill(path, rounds, args.presses)
        print(f"store: {made} rounds, {args.presses} presses, {path.stat().st_size >> 20} MB")
        with Store.open(path) as store:
            store.set_setting("profile", full_history(profile).to_json(), 1)
            told("figures of all rounds", [timed(lambda: store.figures(1)) for _ in range(5)])
            told(
                "a round learnt and kept",
                [timed(lambda: learn(store, 1, profile, [rounds[0][2]])) for _ in range(20)],
            )
            told(
                "the kept profile opened", [timed(lambda: profile_of(store, 1)) for _ in range(20)]
            )
            store.set_setting("profile", full_history(profile).to_json(), 1)
        page = Path(folder) / "page.html"
        for what in ("the page, cold", "the page, cold, no profile kept"):
            found = [cold(path, page) for _ in range(5 if "no" not in what else 2)]
            told(what, [seconds for seconds, _, _ in found])
            told("  of which the processor's", [busy for _, busy, _ in found])
            print(f"  {max(mb for *_, mb in found):.0f} MB at most, {page.stat().st_size >> 10} KB")
            with Store.open(path) as store:
                store.set_setting("profile", None, 1)


if __name__ == "__main__":
    main()
