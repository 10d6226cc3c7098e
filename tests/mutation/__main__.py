"""`python -m tests.mutation --seed 1 units pose`: try mutants of the rooms named, or of all, and say what survived."""

from __future__ import annotations

import argparse

from tests.mutation.mutants import sample_of, spots_of
from tests.mutation.rooms import ROOMS
from tests.mutation.trial import ROOT, longest_s, trials, unchanged_s


def main() -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    asked.add_argument("rooms", nargs="*", help="parts of module names; all rooms where none is named")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--each", type=int, help="mutants tried of each room; the room's own number where not given")
    asked.add_argument("--at-once", type=int, default=2)
    options = asked.parse_args()
    for room in ROOMS:
        if options.rooms and not any(word in room.module for word in options.rooms):
            continue
        source = (ROOT / room.module).read_text()
        most = longest_s(unchanged_s(room.module, room.tests))
        chosen = sample_of(room.module, source, options.each or room.each, options.seed)
        print(f"{room.module}: {len(chosen)} of {len(spots_of(source))}, {most:.0f} s at most", flush=True)
        counts = {"killed": 0, "survived": 0, "stuck": 0}
        for tried in trials([(mutant, room.tests, most) for mutant in chosen], options.at_once):
            counts[tried.end] += 1
            m = tried.mutant
            if tried.end != "killed":
                print(f"  {tried.end} {m.line} {m.operator}\n    was {m.was}\n    now {m.now}", flush=True)
        print(f"  {counts}", flush=True)


if __name__ == "__main__":
    main()
