"""What the boxes that were kept say of another solid before anything is searched: two true ends of its least gap.

* lower end - the boxes hold every place and setting, and each one's plane bounds it for any solid (see `kept`)
* upper end - real places at real settings: those that were the nearest to other solids, and the corner of each of the
              lowest boxes that was its closest

How far apart they are hangs on how much the solid is another. It costs one product for each box, and no box is split.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from clearance.geom.kept import Kept, bound_by_plane
from clearance.geom.passing import Passing
from clearance.geom.profile import Array
from clearance.geom.witness import Nearest


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Foreseen:
    """at_least <= least gap <= at_most, and the setting at which the upper end was found."""

    at_least_mm: float
    at_most_mm: float
    setting: Array
    """(k,)"""


def foreseen(kept: Kept, passing: Passing) -> Foreseen:
    """Two ends from what was kept, which is something; the path's own fit error is taken off the lower one, and added to
    the upper."""
    witness = Nearest(passing, tolerance_mm=0.0)
    witness.look_at(kept.places)
    least = np.inf
    for boxes in kept.frontier:
        # how far the outline reaches is how far its hull does
        again = replace(boxes, bound=bound_by_plane(boxes.plane, passing.solid.chain))
        least = min(least, float(again.bound.min()))
        witness.measure_corners(again)
    error_mm = passing.path.error_mm
    at_most = witness.upper + error_mm
    return Foreseen(at_least_mm=min(least - error_mm, at_most), at_most_mm=at_most, setting=witness.setting)
