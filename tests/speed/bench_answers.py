"""How long the answers take: prints figures, asserts nothing.

Run: python tests/speed/bench_answers.py
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from clearance.answers.budget import budget
from clearance.answers.largest import largest
from clearance.answers.least_change import least_change
from clearance.answers.relief import relief
from clearance.answers.window import window
from clearance.description.load import load
from clearance.terms import Terms
from clearance.tire.catalog import standard_sizes

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"


def timed(what: str, answer: Callable[[], str]) -> None:
    """Print wall and processor seconds and what came out."""
    wall, cpu = time.perf_counter(), time.process_time()
    said = answer()
    print(
        f"  {what:<28} {time.perf_counter() - wall:7.1f} s wall {time.process_time() - cpu:7.1f} s processor   {said}"
    )


def main() -> None:
    """Every answer on every corner file of the fixtures."""
    sizes = standard_sizes()
    plain = Terms()
    for file in sorted(CORNERS.glob("*.toml")):
        mockup = load(file)
        print(f"{file.name}: {len(mockup.parts)} parts, {sum(len(p.triangles_mm) for p in mockup.parts)} triangles")

        def sized() -> str:
            found = largest(mockup, sizes, plain)  # noqa: B023
            return f"{found.combinations} combinations, {len(found.fits)} sizes certified"

        timed("largest", sized)
        timed("window, every rim", lambda: f"{len(window(mockup, plain.limits).widths)} rims")  # noqa: B023
        timed("relief", lambda: f"{len(relief(mockup))} parts to move")  # noqa: B023
        timed("least change", lambda: f"{len(least_change(mockup, plain, sizes).changes)} single changes")  # noqa: B023
        timed("budget", lambda: f"{budget(mockup, plain.uncertainty).confidence:.0%}")  # noqa: B023


if __name__ == "__main__":
    main()
