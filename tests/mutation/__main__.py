"""`python -m tests.mutation --seed 1 units pose`: try mutants of the rooms named, or of all, and say what survived.

Exit code 1 where more than a tenth of those tried survived unexplained.
"""

from __future__ import annotations

import argparse
import json
import sys

from tests.mutation import figures
from tests.mutation.mutants import sample_of, spots_of
from tests.mutation.rooms import ROOMS, Room
from tests.mutation.trial import ROOT, Tried, longest_s, trials, unchanged_s

LINE = 0.1
"""The share of those tried that may survive unexplained."""


def main() -> int:
    """The command."""
    asked = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    asked.add_argument("rooms", nargs="*", help="parts of module names; all rooms where none is named")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--each", type=int, help="mutants tried of each room; the room's own number where not given")
    asked.add_argument("--at-once", type=int, default=2)
    asked.add_argument("--write", action="store_true", help="write what was found to docs/mutants.md")
    options = asked.parse_args()
    rooms = [r for r in ROOMS if not options.rooms or any(word in r.module for word in options.rooms)]
    tried, left = 0, 0
    for room in rooms:
        done = _tried(room, options.seed, options.each or room.each, options.at_once)
        tried += len(done)
        left += sum(1 for one in done if one.end == "survived" and not _why(one))
        if options.write:
            _write(room, options.seed, done)
    print(f"{tried} tried, {left} left")
    return int(left > LINE * tried)


def _tried(room: Room, seed: int, each: int, at_once: int) -> list[Tried]:
    source = (ROOT / room.module).read_text()
    most = longest_s(unchanged_s(room.module, room.tests))
    chosen = sample_of(room.module, source, each, seed)
    print(f"{room.module}: {len(chosen)} of {len(spots_of(source))}, {most:.0f} s at most", flush=True)
    done = []
    for one in trials([(mutant, room.tests, most) for mutant in chosen], at_once):
        done.append(one)
        if one.end != "killed":
            m = one.mutant
            print(f"  {one.end} {m.line} {m.operator} {_why(one)}\n    was {m.was}\n    now {m.now}", flush=True)
    print(f"  {sum(1 for one in done if one.end != 'survived')} killed", flush=True)
    return done


def _why(one: Tried) -> str:
    return figures.why_of(one.mutant.module, one.mutant.was, one.mutant.now)


def _write(room: Room, seed: int, done: list[Tried]) -> None:
    found = json.loads(figures.FOUND.read_text()) if figures.FOUND.exists() else {}
    figures.kept(found, room.module, len(spots_of((ROOT / room.module).read_text())), seed, done)
    figures.FOUND.write_text(json.dumps(found, indent=1, sort_keys=True) + "\n")
    figures.PAGE.write_text(figures.page())


if __name__ == "__main__":
    sys.exit(main())
