"""What a study costs, in processor time: a corner's outlines, a wheel laid against them, the same by the search.

Printed, never asserted. A combination is one wheel and tire on one corner; `COMBINATIONS` distinct ones are laid. What
a million would take is the sum for 200 corners and 5,000 rows each, the share of close calls taken from these.
"""

from __future__ import annotations

import itertools
import sys
import time
from dataclasses import replace
from pathlib import Path

from clearance.answers.candidates import Rack, Row, rows_from_csv
from clearance.answers.checked import gaps_of
from clearance.description.car import load_car
from clearance.door.study_work import window_for
from clearance.many.room import Room
from clearance.many.rows import lines_of

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
COMBINATIONS = 2_000
NAMES = ["orchard-pickup-rear", "tern-coupe-rear"]
MILLION_CORNERS, MILLION_ROWS = 200, 5_000


def rows_for(rim: int, count: int) -> list[Row]:
    """Sizes, rims and offsets about what is on the corners, all of them distinct."""
    sizes = [f"{w}/{a}R{rim}" for w, a in itertools.product(range(195, 276, 10), (60, 65, 70, 75))]
    lines = ["tire,width,offset"]
    for step, size, width in itertools.product(range(400), sizes, ("6.5 in", "7 in", "7.5 in")):
        lines.append(f"{size},{width},{-30 + 0.25 * step:g} mm")
    rows, _ = rows_from_csv("\n".join(lines[:15_000]), name="made")
    return list(rows[:: max(1, len(rows) // count)][:count])


def main() -> None:
    print(f"{'corner':22} {'outlines':>9} {'laid':>9} {'close':>6} {'check':>7} {'a million on 2 cores':>22}")
    asked = int(sys.argv[1]) if len(sys.argv) > 1 else COMBINATIONS
    for name in sys.argv[2:] or NAMES:
        car = load_car(CORNERS / f"{name}.toml")
        (corner,) = car.corners
        rows = rows_for(round(car.at(corner).wheel.diameter_in), asked)
        window = window_for(rows)
        start = time.process_time()
        Room(car.at(corner), window)
        drawn = time.process_time() - start
        start = time.process_time()
        lines, _ = lines_of(car, corner, rows, window)
        each = (time.process_time() - start - drawn) / len(lines)
        close = sum(line.measured == "search" for line in lines) / len(lines)
        rack = Rack(replace(car, corners={corner: car.at(corner)}))
        place = rack.put(rows[0])[corner]
        start = time.process_time()
        gaps_of(place.corner)
        plain = time.process_time() - start
        minutes = MILLION_CORNERS * (drawn + MILLION_ROWS * each) / 2 / 60
        print(
            f"{name:22} {drawn:7.1f} s {1e3 * each:6.2f} ms {100 * close:4.1f} % {plain:5.2f} s {minutes:17.0f} min",
            flush=True,
        )


if __name__ == "__main__":
    main()
