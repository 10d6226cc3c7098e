"""The gap of every part over the whole continuous cycle, certified."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from clearance.defaults import TOLERANCE_MM
from clearance.gap.found import ROUNDING_MM, Gap
from clearance.gap.held import with_held
from clearance.gap.measure import as_known, measured
from clearance.gap.memory import Entry, Memory
from clearance.geom.witness import Roughly
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import Seen, seen_by
from clearance.steady import steady
from clearance.well.part import Part

_CLOSER = 0.1
"""Of the tolerance, where that may tell on which side of a line a gap is."""


@steady
def over_cycle(
    mockup: MockUp,
    *,
    tolerance_mm: float = TOLERANCE_MM,
    work: int | None = None,
    progress: Callable[[int, int, str], None] | None = None,
    parts: Sequence[str] | None = None,
    at_worst: bool = False,
    memory: Memory | None = None,
    roughly: Roughly | None = None,
) -> tuple[Gap, ...]:
    """The gap of each part (of those named, or of all), in the order of the mock-up.

    Every true gap lies between the two ends of its bracket, which are no further apart than `tolerance_mm` (a depth:
    0.5 mm or 2 %), unless `work`, the number of boxes that may be looked at for one part, ran out: then the bracket is
    still true and `finished` is False. Of a corner whose links were not measured both ends hold whatever they do; with
    `at_worst` the bracket is that of the worst they may do, which is what has to clear. `progress` is called with
    (parts done, parts in all, what). With a `memory` the search begins with what that has: the brackets are as true and
    as narrow, and may be others within the tolerance. `roughly` says how closely a deep hit is to be told.

    Raises PartError for a name that is not there, SuspensionError for positions that cannot be reached.
    """
    chosen = [mockup.part(name) for name in parts] if parts is not None else list(mockup.parts)
    gaps = []
    for done, part in enumerate(chosen):

        def tell(boxes: int, low: float, high: float, done: int = done, name: str = part.name) -> None:
            if progress is not None:
                progress(done, len(chosen), f"measuring {name}: between {low:.1f} and {high:.1f} mm")

        gap = _measured(mockup, part, memory, tolerance_mm=tolerance_mm, work=work, progress=tell, roughly=roughly)
        gaps.append(with_held(mockup, part, gap if at_worst else as_known(mockup, part, gap)))
    return tuple(gaps)


def _measured(
    mockup: MockUp,
    part: Part,
    memory: Memory | None,
    *,
    tolerance_mm: float,
    work: int | None,
    progress: Callable[[int, float, float], None],
    roughly: Roughly | None = None,
) -> Gap:
    def found(seen: Seen, entry: Entry | None, closely_mm: float = tolerance_mm) -> Gap:
        return measured(
            mockup, part, seen, tolerance_mm=closely_mm, work=work, progress=progress, entry=entry, roughly=roughly
        )

    def within(memory: Memory, closely_mm: float = tolerance_mm) -> Gap:
        with memory.lent(mockup, part) as entry:
            return replace(found(entry.seen, entry, closely_mm), tolerance_mm=tolerance_mm)

    def as_check(memory: Memory) -> Gap:
        gap = within(memory)
        if _on_a_line(gap, tolerance_mm) and not _on_a_line(_at_its_upper_end(gap), tolerance_mm):
            # from what is kept a closer look costs less than a search from nothing, and here it may tell
            gap = within(memory, tolerance_mm * _CLOSER)
        # where another bracket could be another verdict, it is the one that a check gives
        return found(seen_by(mockup, part), None) if _on_a_line(gap, tolerance_mm) else gap

    if memory is None:
        return found(seen_by(mockup, part), None)
    if tolerance_mm > TOLERANCE_MM:
        return within(memory)
    asked = (tolerance_mm, math.inf if work is None else work, roughly)
    return memory.told(mockup, part, asked, lambda: as_check(memory))


def _at_its_upper_end(gap: Gap) -> Gap:
    """The narrowest that a bracket could become with this upper end."""
    return replace(gap, at_least_mm=gap.at_most_mm)


def _on_a_line(gap: Gap, tolerance_mm: float) -> bool:
    """Could another bracket, as true and as narrow, stand otherwise to the required gap or to touching?"""
    return any(
        gap.at_least_mm < line + tolerance_mm + ROUNDING_MM and gap.at_most_mm >= line - ROUNDING_MM
        for line in (0.0, gap.required_mm)
    )
