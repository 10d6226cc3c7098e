"""Try seeds by hand: `python -m tests.judge 17`, or `0:200`; what is held against an answer, and counts at the end.

With `--keep FOLDER` the corner files stay there, the minimised ones among them.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from .court import SLOW_WORK, hear
from .tally import Tally


def main() -> int:
    """Try the seeds that were asked for."""
    asked = argparse.ArgumentParser(prog="python -m tests.judge", description=__doc__)
    asked.add_argument("seeds", nargs="+", help="a seed, or from:to")
    asked.add_argument("--keep", type=Path, help="a folder for the corner files")
    asked.add_argument("--work", type=int, default=SLOW_WORK, help="boxes that the program may look at for one part")
    words = asked.parse_args()
    tally, charged = Tally(), 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in _seeds(words.seeds):
            hearing = hear(seed, words.keep or Path(folder), work=words.work)
            tally.add(hearing.trial, hearing.suspension)
            charged += len(hearing.trial.charges)
            if hearing.trial.charges:
                print(hearing.text(), flush=True)
    print(tally.text())
    return int(charged > 0)


def _seeds(words: list[str]) -> list[int]:
    found: list[int] = []
    for word in words:
        first, _, last = word.partition(":")
        found += range(int(first), int(last) if last else int(first) + 1)
    return found


if __name__ == "__main__":
    sys.exit(main())
