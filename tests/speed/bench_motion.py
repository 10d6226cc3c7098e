"""How fast positions of linkages are solved: run it, it prints figures and asserts nothing.

python tests/speed/bench_motion.py
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

import numpy as np

from clearance.suspension.kinds import build
from clearance.suspension.position import Cycle
from clearance.suspension.travel import left_over

ROOT = Path(__file__).resolve().parents[2]
COUNT = 10_000


def points_of(name):
    table = json.loads((ROOT / "fixtures" / "hardpoints" / f"{name}.json").read_text())
    hub = 1000.0 * np.array(table["hub"])
    values = {key: 1000.0 * np.array(p) - hub for key, p in table["points"].items()}
    if "track" in table:
        values["track"] = 1000.0 * table["track"]
    return table["kind"], values


def timed(name, cycle, steering=None):
    kind, values = points_of(name)
    start = time.perf_counter()
    suspension = build(kind, values, cycle, steering)
    built = time.perf_counter() - start
    rng = np.random.default_rng(7)
    low, high = suspension.cycle.box.T
    positions = rng.uniform(low, high, (COUNT, 3))
    start = time.perf_counter()
    suspension.pose(positions)
    solved = time.perf_counter() - start
    print(f"{name} ({kind}): {COUNT} positions in {solved:.3f} s, {1e6 * solved / COUNT:.1f} us each", end="")
    if hasattr(suspension, "travel"):
        worst = left_over(suspension.travel, positions).max()
        print(f", built in {built:.3f} s, largest residual {worst:.1e} mm")
    else:
        print(f", built in {built:.3f} s, closed form")


def main():
    live = Cycle(bump_mm=(-80.0, 80.0), other_bump_mm=(-80.0, 80.0))
    timed("heavy-off-road-front", Cycle(bump_mm=(-100.0, 100.0)), {"left": 33.0, "right": 28.0})
    timed("generic-strut", Cycle(bump_mm=(-80.0, 80.0)), {"left": 33.0, "right": 28.0})
    timed("generic-semi-trailing", Cycle(bump_mm=(-80.0, 80.0)))
    timed("generic-four-link", live)
    timed("truck-a-arm-rear", live)
    return 0


if __name__ == "__main__":
    sys.exit(main())
