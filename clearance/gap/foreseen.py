"""A gap between two true ends, from what earlier searches of other wheels proved: sooner than a search, and wider.

Where that is enough to tell, nothing need be searched. Ends are as those of `over_cycle` at worst: skin, what a part is
drawn off by and what unmeasured links may do are taken off.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from clearance.gap.measure import swallows
from clearance.gap.memory import Entry, Memory
from clearance.geom.foreseen import Foreseen
from clearance.geom.passing import Passing
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import posed
from clearance.suspension.position import HUB
from clearance.well.part import Part

MOST_TOLD = 8
"""Solids whose foreseen gap is kept until the next search of the part."""


@dataclass(frozen=True, slots=True, eq=False)
class ForeseenGap:
    """Two true ends of a part's gap over the cycle."""

    at_least_mm: float
    _nearer_mm: float
    _drawn_mm: float
    _found: Foreseen | None

    def open_ends(self, other: ForeseenGap, line_mm: float) -> tuple[float, float]:
        """Of the way to another solid (see `geom.foreseen`), of which the same was kept: which share may be nearer than
        a line at this end, and at the other."""
        if self._found is None or other._found is None or math.isinf(self.at_least_mm) or math.isinf(other.at_least_mm):
            return 1.0, 1.0
        nearer_mm = max(one._nearer_mm + one._drawn_mm for one in (self, other))
        return self._found.open_ends(other._found, line_mm + nearer_mm)

    def at_most_mm(self) -> float:
        """The upper end, which takes longer than the lower one; infinite where nothing is kept of the part."""
        return math.inf if self._found is None else self._found.at_most_mm() - self._nearer_mm


def foreseen_gap(mockup: MockUp, part: Part, memory: Memory) -> ForeseenGap:
    """What is kept of a part says this of its gap."""
    if not memory.knows(mockup, part):
        return ForeseenGap(-math.inf, 0.0, 0.0, None)
    with memory.lent(mockup, part) as entry:
        told, asked = entry.kept.told, (part, mockup.solid)
        if asked not in told:
            while len(told) >= MOST_TOLD:
                told.pop(next(iter(told)))
            told[asked] = _foreseen(mockup, part, entry)
        found: ForeseenGap = told[asked]
        return found


def _foreseen(mockup: MockUp, part: Part, entry: Entry) -> ForeseenGap:
    off_mm = _off_mm(mockup, part, entry)
    if off_mm is None:
        return ForeseenGap(-math.inf, 0.0, 0.0, None)
    found = Foreseen(entry.kept, _passing(mockup, part, entry))
    at_least = found.at_least_mm - part.skin_mm - part.drawn_mm - off_mm
    # from below these take more than places that were measured
    unknown = part.holes or part.unseen or _swallowed(mockup, part, entry)
    return ForeseenGap(-math.inf if unknown else at_least, part.skin_mm + off_mm, part.drawn_mm, found)


def _passing(mockup: MockUp, part: Part, entry: Entry) -> Passing:
    return Passing(
        triangles=part.triangles_mm,
        share=None if part.far_end is None else part.far_end.share,
        path=entry.seen.path,
        solid=mockup.solid,
        limits=entry.seen.limits,
        tree=entry.tree,
    )


def _off_mm(mockup: MockUp, part: Part, entry: Entry) -> float | None:
    """What unmeasured links may take off; None where that is told from the position alone."""
    unmeasured = mockup.unmeasured
    if unmeasured is None:
        return 0.0
    if unmeasured.travel or not entry.seen.moving:
        return None
    return unmeasured.off_mm(part.rides_on, mockup.solid.reach_mm)


def _swallowed(mockup: MockUp, part: Part, entry: Entry) -> bool:
    """Does the part hold the wheel's centre inside it, where another wheel was the nearest?"""
    setting = entry.kept.places[-1].setting
    hub = posed(mockup.suspension, entry.seen.position(setting).row()[None], HUB)
    centre = hub.origin_mm[0] + (*entry.seen.shift_mm(setting), 0.0)
    around = entry.tree
    outside = bool(np.any(np.abs(centre - around.middle[0]) > around.half[0]))
    return not outside and swallows(part, part.triangles_mm[0, 0], centre)
