"""A gap between two true ends, from what earlier searches of other wheels proved: sooner than a search, and wider.

Where that is enough to tell, nothing need be searched. Ends are as those of `over_cycle` at worst: skin, what a part is
drawn off by and what unmeasured links may do are taken off.
"""

from __future__ import annotations

import math

from clearance.gap.measure import swallows
from clearance.gap.memory import Entry, Memory
from clearance.geom.foreseen import foreseen
from clearance.geom.passing import Passing
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import posed
from clearance.pose import Array
from clearance.steady import steady
from clearance.suspension.position import HUB
from clearance.well.part import Part

Ends = tuple[float, float]
"""At least and at most, mm."""


@steady
def foreseen_gap(mockup: MockUp, part: Part, memory: Memory) -> Ends | None:
    """Two true ends of a part's gap over the cycle; None where nothing is kept of it."""
    if not memory.knows(mockup, part):
        return None
    with memory.lent(mockup, part) as entry:
        off_mm = _off_mm(mockup, part, entry)
        return None if off_mm is None else _ends(mockup, part, entry, off_mm)


def _ends(mockup: MockUp, part: Part, entry: Entry, off_mm: float) -> Ends:
    seen = entry.seen
    passing = Passing(
        triangles=part.triangles_mm,
        share=None if part.far_end is None else part.far_end.share,
        path=seen.path,
        solid=mockup.solid,
        limits=seen.limits,
        tree=entry.tree,
    )
    found = foreseen(entry.kept, passing)
    at_least = found.at_least_mm - part.skin_mm - part.drawn_mm - off_mm
    if part.holes or part.unseen or (found.at_most_mm > 0.0 and _swallowed(mockup, part, entry, found.setting)):
        # from below this takes more than places that were measured
        at_least = -math.inf
    return at_least, found.at_most_mm - part.skin_mm - off_mm


def _off_mm(mockup: MockUp, part: Part, entry: Entry) -> float | None:
    """What unmeasured links may take off; None where that is told from the position alone."""
    unmeasured = mockup.unmeasured
    if unmeasured is None:
        return 0.0
    if unmeasured.travel or not entry.seen.moving:
        return None
    return unmeasured.off_mm(part.rides_on, mockup.solid.reach_mm)


def _swallowed(mockup: MockUp, part: Part, entry: Entry, setting: Array) -> bool:
    hub = posed(mockup.suspension, entry.seen.position(setting).row()[None], HUB)
    shift = entry.seen.shift_mm(setting)
    return swallows(part, part.triangles_mm[0, 0], hub.origin_mm[0] + (*shift, 0.0))
