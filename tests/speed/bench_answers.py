"""How long the answers take, each over a plain check of the same corner: prints figures, asserts nothing.

Processor time, of one process; the anchor of every ratio is the check that stands above it. A second question is a
check of the same corner with another offset, another tire or one part moved, in the process that answered the first.

Run: python tests/speed/bench_answers.py [corner ...]
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from clearance.answers.budget import budget
from clearance.answers.changed import with_offset, with_part_moved, with_tire
from clearance.answers.largest import largest
from clearance.answers.least_change import least_change
from clearance.answers.relief import relief
from clearance.answers.window import window
from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.gap.memory import Memory
from clearance.mockup.mockup import MockUp
from clearance.terms import Terms
from clearance.tire.catalog import standard_sizes

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"


def timed(what: str, answer: Callable[[], str], anchor: float | None = None) -> float:
    """Print wall and processor seconds, their ratio to the check's, and what came out."""
    wall, cpu = time.perf_counter(), time.process_time()
    said = answer()
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    ratio = "" if anchor is None else f"{cpu / anchor:6.2f} x check"
    print(f"  {what:<28} {wall:7.2f} s wall {cpu:7.2f} s processor {ratio:>16}   {said}", flush=True)
    return cpu


def checked(mockup: MockUp, memory: Memory | None = None) -> str:
    """Every gap, and how many boxes that took."""
    gaps = over_cycle(mockup, memory=memory)
    return f"{sum(gap.boxes for gap in gaps)} boxes"


def seconds(mockup: MockUp, memory: Memory, anchor: float) -> None:
    """What a hand turns next, one after another."""
    mockup = with_offset(mockup, mockup.wheel.offset_mm + 1.5)
    timed("second: offset 1.5 mm", lambda: checked(mockup, memory), anchor)
    larger = with_tire(mockup, replace(mockup.tire, overall_diameter_mm=mockup.tire.overall_diameter_mm + 4.0))
    timed("second: tire 4 mm larger", lambda: checked(larger, memory), anchor)
    moved = with_part_moved(larger, larger.parts[0].name, (0.0, 0.0, 2.0))
    timed("second: one part moved", lambda: checked(moved, memory), anchor)


def answers(mockup: MockUp, anchor: float) -> None:
    """The other questions."""
    sizes, plain = standard_sizes(), Terms()

    def sized() -> str:
        found = largest(mockup, sizes, plain)
        return f"{found.combinations} combinations, {len(found.fits)} sizes certified"

    def least(terms: Terms) -> str:
        found = least_change(mockup, terms, sizes)
        return f"{len(found.changes)} single changes, {len(found.combinations)} together"

    timed("largest", sized, anchor)
    timed("window, every rim", lambda: f"{len(window(mockup, plain.limits).widths)} rims", anchor)
    timed("relief", lambda: f"{len(relief(mockup))} parts to move", anchor)
    timed("least change, its [limits]", lambda: least(mockup.terms), anchor)
    timed("least change, no limits", lambda: least(plain), anchor)
    timed("budget", lambda: f"{budget(mockup, plain.uncertainty).confidence:.0%}", anchor)


def main() -> None:
    """Every answer on every corner file of the fixtures, or on those named."""
    for file in sorted(CORNERS.glob("*.toml")):
        if sys.argv[1:] and file.stem not in sys.argv[1:]:
            continue
        mockup = load(file)
        print(f"{file.name}: {len(mockup.parts)} parts, {sum(len(p.triangles_mm) for p in mockup.parts)} triangles")
        timed("first check of the process", lambda: checked(mockup))  # noqa: B023
        memory = Memory()
        # paths and trees stand by now: what is left is the search
        anchor = timed("check", lambda: checked(mockup, memory))  # noqa: B023
        seconds(mockup, memory, anchor)
        answers(mockup, anchor)


if __name__ == "__main__":
    main()
