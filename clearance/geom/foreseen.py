"""What the boxes that were kept say of another solid before anything is searched: two true ends of its least gap.

* lower end - the boxes hold every place and setting, and each one's plane bounds it for any solid (see `kept`)
* upper end - real places at real settings: those that were the nearest to other solids, and the corner of each of the
              lowest boxes that was its closest

How far apart they are hangs on how much the solid is another. It costs one product for each box, and no box is split.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from clearance.geom.kept import Kept, bound_by_plane
from clearance.geom.passing import Passing
from clearance.geom.witness import Nearest


class Foreseen:
    """Of something that was kept: at_least <= least gap <= at_most. The path's fit error is allowed for."""

    def __init__(self, kept: Kept, passing: Passing) -> None:
        self._passing, self._places = passing, kept.places
        # how far the outline reaches is how far its hull does
        self._boxes = [
            replace(boxes, bound=bound_by_plane(boxes.plane, passing.solid.chain)) for boxes in kept.frontier
        ]
        least = min((float(boxes.bound.min()) for boxes in self._boxes), default=np.inf)
        self.at_least_mm = least - passing.path.error_mm

    def at_most_mm(self) -> float:
        """The upper end, which takes longer than the lower one."""
        witness = Nearest(self._passing, tolerance_mm=0.0)
        witness.look_at(self._places)
        for boxes in self._boxes:
            witness.measure_corners(boxes)
        return witness.upper + self._passing.path.error_mm
