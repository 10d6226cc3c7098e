"""What the boxes that were kept say of another solid before anything is searched: two true ends of its least gap.

* lower end - the boxes hold every place and setting, and each one's plane bounds it for any solid (see `kept`)
* upper end - real places at real settings: those that were the nearest to other solids, and the corner of each of the
              lowest boxes that was its closest

How far apart they are hangs on how much the solid is another. It costs one product for each box, and no box is split.

* way    - from one solid to another through others that reach, along every direction, no further than in proportion to
           the two ends (h convex along the way): so does an outline that slides, with what on it grows or shrinks
* proven - a box's bound g - h is then concave along the way: no less than in proportion to its bounds at the two ends
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from clearance.geom.kept import Kept, bound_by_plane
from clearance.geom.passing import Passing
from clearance.geom.profile import Array
from clearance.geom.witness import Nearest


class Foreseen:
    """Of something that was kept: at_least <= least gap <= at_most. The path's fit error is allowed for."""

    def __init__(self, kept: Kept, passing: Passing) -> None:
        self._passing, self._places = passing, kept.places
        self._at_most_mm: float | None = None
        # how far the outline reaches is how far its hull does
        self._boxes = [
            replace(boxes, bound=bound_by_plane(boxes.plane, passing.solid.chain)) for boxes in kept.frontier
        ]
        least = min((float(boxes.bound.min()) for boxes in self._boxes), default=np.inf)
        self.at_least_mm = least - passing.path.error_mm

    def at_most_mm(self) -> float:
        """The upper end, which takes longer than the lower one."""
        if self._at_most_mm is None:
            self._at_most_mm = self._found_mm()
        return self._at_most_mm

    def _found_mm(self) -> float:
        witness = Nearest(self._passing, tolerance_mm=0.0)
        witness.look_at(self._places)
        for boxes in self._boxes:
            witness.measure_corners(boxes)
        return witness.upper + self._passing.path.error_mm

    def open_ends(self, other: Foreseen, line_mm: float) -> tuple[float, float]:
        """Of the way to another solid, of which the same was kept: how much, in shares of it, may be nearer than a
        line: at this end and at the other. (1, 1) where the bounds of the ends do not tell."""
        here, there = 0.0, 0.0
        for mine, its in zip(self._boxes, other._boxes, strict=True):
            error_mm = self._passing.path.error_mm
            begins, ends = mine.bound - error_mm - line_mm, its.bound - error_mm - line_mm
            if bool(np.any((begins < 0.0) & (ends < 0.0))):
                return 1.0, 1.0
            here = max(here, _open_share(begins, ends))
            there = max(there, _open_share(ends, begins))
        return here, there


def _open_share(begins: Array, ends: Array) -> float:
    """How far the straight lines from `begins` to `ends`, (n,) each, stay below zero at most."""
    rows = begins < 0.0
    shares: Array = -begins[rows] / (ends[rows] - begins[rows])
    return float(shares.max(initial=0.0))
