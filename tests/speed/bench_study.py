"""What a study costs: a corner's outlines, a wheel laid against them, whole runs of many cars, and two workers.

Printed, never asserted. A combination is one wheel and tire on one corner. The fleet is made up: `MILLION_CORNERS`
corners like the pickup's, each with walls, lip and travel of its own, seeded; its list has `MILLION_ROWS` different
rows. Runs are of the command itself, with processor time (its own and its workers'), time by the clock and the
greatest memory of one process; a loaded machine shows in the clock and, less, in the processor time.

    python -m tests.speed.bench_study            one corner, then 10,000 and 50,000 combinations, by one and two workers
    python -m tests.speed.bench_study 20         the larger run of so many corners
    python -m tests.speed.bench_study --whole    and the million to its end
"""

from __future__ import annotations

import itertools
import os
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from clearance.answers.candidates import MOST_ROWS, Row, rows_from_csv
from clearance.answers.checked import gaps_of
from clearance.description.car import load_car
from clearance.door.study_work import window_for
from clearance.many.room import Room
from clearance.many.rows import Shelf, lines_of

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
NAMES = ["orchard-pickup-rear"]
MILLION_CORNERS, MILLION_ROWS = 200, 5_000
SMALL, LARGER = 2, 10


def list_for(rim: int, count: int) -> str:
    """Sizes, rims and offsets about what is on the corners, all of them distinct, as CSV."""
    sizes = [f"{w}/{a}R{rim}" for w, a in itertools.product(range(195, 276, 10), (60, 65, 70, 75))]
    lines = []
    for step, size, half_inches in itertools.product(range(60), sizes, range(12, 19)):
        lines.append(f"{size},{half_inches / 2:g} in,{step - 30:g} mm")
    head, some = "tire,width,offset", lines[:MOST_ROWS]
    rows, _ = rows_from_csv("\n".join([head, *some]), name="made")
    # of those that a rim permits, evenly from all offsets
    good = [some[row.line - 2] for row in rows]
    return "\n".join([head, *(good[at * len(good) // count] for at in range(count))]) + "\n"


def rows_for(rim: int, count: int) -> list[Row]:
    """The same, read."""
    rows, _ = rows_from_csv(list_for(rim, count), name="made")
    return list(rows)


def fleet(folder: Path, count: int) -> None:
    """So many corner files, no two alike."""
    text = (CORNERS / "orchard-pickup-rear.toml").read_text(encoding="utf-8")
    rng = np.random.default_rng(18)
    folder.mkdir()
    for number in range(count):
        wall, lip, radius, bump = rng.uniform((140, 135, 425, 80), (165, 155, 440, 100))
        changed = (
            text.replace('inboard = "6 in"', f'inboard = "{wall:.1f} mm"')
            .replace('outboard = "5 5/8 in"', f'outboard = "{lip:.1f} mm"')
            .replace('radius = "17 in"', f'radius = "{radius:.1f} mm"')
            .replace('bump = "3 1/2 in"', f'bump = "{bump:.1f} mm"')
        )
        (folder / f"corner-{number:03}.toml").write_text(changed, encoding="utf-8")


def run(corners: int, processes: int) -> tuple[float, float, float]:
    """The command to its end: time by the clock and of the processor, in seconds, and memory of one process, in MB."""
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        fleet(place / "cars", corners)
        (place / "list.csv").write_text(list_for(15, MILLION_ROWS), encoding="utf-8")
        words = ["study", str(place / "cars"), str(place / "list.csv"), "--out", str(place / "out")]
        line = [sys.executable, "-m", "clearance_cli.main", *words, "--processes", str(processes)]
        begun = time.perf_counter()
        with open(os.devnull, "wb") as nowhere:
            to_nowhere = [(os.POSIX_SPAWN_DUP2, nowhere.fileno(), handle) for handle in (1, 2)]
            child = os.posix_spawn(sys.executable, line, os.environ, file_actions=to_nowhere)
        _, status, used = os.wait4(child, 0)
        assert os.waitstatus_to_exitcode(status) == 0
        clock = time.perf_counter() - begun
        rows = (place / "out" / "study.csv").read_bytes().count(b"\n") - 1
        assert rows == corners * MILLION_ROWS, rows
        return clock, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def one_corner(name: str) -> None:
    """What a corner costs, and what a wheel laid against it does."""
    car = load_car(CORNERS / f"{name}.toml")
    (corner,) = car.corners
    rows = rows_for(round(car.at(corner).wheel.diameter_in), MILLION_ROWS)
    window, shelf, times = window_for(rows), Shelf(), []
    for _ in range(3):
        start = time.process_time()
        Room(car.at(corner), window)
        drawn = time.process_time() - start
        start = time.process_time()
        lines, _ = lines_of(car, corner, rows, window, shelf)
        # the first corner also mounts the list's tires; the others find them mounted
        times.append((drawn, (time.process_time() - start - drawn) / len(lines)))
    close = sum(line.measured == "search" for line in lines) / len(lines)
    start = time.process_time()
    gaps_of(car.at(corner))
    plain = time.process_time() - start
    laid = ", ".join(f"{1e3 * each:.2f}" for _, each in times)
    print(f"{name}: outlines {times[-1][0]:.1f} s; a row, three corners after one another: {laid} ms;", end=" ")
    print(f"{100 * close:.1f} % close calls; a plain check {plain:.2f} s", flush=True)


def main() -> None:
    """Print the figures."""
    words = [word for word in sys.argv[1:] if not word.startswith("-")]
    larger = int(words[0]) if words else LARGER
    for name in words[1:] or NAMES:
        one_corner(name)
    print(f"load before: {os.getloadavg()[0]:.1f}")
    print("corners  workers  combinations   clock  processor  each, processor  one process")
    found = {}
    for corners, processes in [(SMALL, 2), (larger, 1), (larger, 2)]:
        clock, used, memory = found[corners, processes] = run(corners, processes)
        count = corners * MILLION_ROWS
        each = f"{1e3 * used / count:.2f} ms"
        print(
            f"{corners:7} {processes:8} {count:13,} {clock:6.0f} s {used:8.0f} s {each:>16} {memory:9.0f} MB",
            flush=True,
        )
    print(f"load after: {os.getloadavg()[0]:.1f}")
    (one, _, _), (two, used, _) = found[larger, 1], found[larger, 2]
    print(f"efficiency of two workers by the clock: {one / (2 * two):.2f}")
    million = 1e6 / (larger * MILLION_ROWS) * used
    print(f"a million on two cores, reckoned from {larger * MILLION_ROWS:,}: {million / 2 / 60:.1f} min of both")
    if "--whole" in sys.argv:
        clock, used, memory = run(MILLION_CORNERS, 2)
        print(f"a million, run: {clock / 60:.1f} min by the clock, {used / 120:.1f} min of both cores, {memory:.0f} MB")


if __name__ == "__main__":
    main()
