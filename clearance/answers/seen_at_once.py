"""Every ring of a corner laid against one outline at once: for lists of thousands of tires on wheels.

Only the rings that could be the tightest are looked at: an outline lies within its bounds, so no ring is nearer to it,
nor deeper in it, than to its bounds. The answer is the one that all rings give (see `seen`), to the last bit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from clearance.pose import Array

if TYPE_CHECKING:
    from clearance.answers.seen import Seen
    from clearance.geom.chain import Chain
    from clearance.geom.revolve import Solid

Places = npt.NDArray[np.intp]
"""Which of the rings."""
_FIRST = 64
"""So many rings, the nearest to the bounds, say what the others have to beat."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """Of tire and rim as mounted: what a look needs of their solid."""

    chain: Chain
    bounds: tuple[float, float, float, float]
    """Least and greatest along the axis, least and greatest radius."""
    reach_mm: float


def outline_of(solid: Solid) -> Outline:
    """The outline of a solid."""
    return Outline(chain=solid.chain, bounds=solid.profile.bounds, reach_mm=solid.reach_mm)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rings:
    """The rings of every part of one corner."""

    along_mm: Array
    radius_mm: Array
    skin_mm: Array
    required_mm: Array

    def spare_mm(self, outline: Outline, shifted_mm: float) -> float:
        """The least that any part has beyond its required gap, the outline moved outboard; never below the truth."""
        along, radius = self.along_mm - shifted_mm, self.radius_mm
        if not len(along):
            return math.inf
        hopes = self._spare(_from_bounds(outline.bounds, along, radius), np.arange(len(along)))
        first = np.argpartition(hopes, _FIRST)[:_FIRST] if len(hopes) > _FIRST else np.arange(len(hopes))
        least = self._least(outline.chain, along, first)
        rest = np.flatnonzero(hopes < least)
        return min(least, self._least(outline.chain, along, rest)) if len(rest) else least

    def _least(self, chain: Chain, along: Array, which: Places) -> float:
        return float(self._spare(chain.near(along[which], self.radius_mm[which]).distance, which).min())

    def _spare(self, distance_mm: Array, which: Places) -> Array:
        left: Array = (distance_mm - self.skin_mm[which]) - self.required_mm[which]
        return left


def rings_of(seen: Sequence[Seen]) -> Rings:
    """All parts together."""
    counts = [len(one.along_mm) for one in seen]
    return Rings(
        along_mm=np.concatenate([np.empty(0), *(one.along_mm for one in seen)]),
        radius_mm=np.concatenate([np.empty(0), *(one.radius_mm for one in seen)]),
        skin_mm=np.repeat([one.skin_mm for one in seen], counts),
        required_mm=np.repeat([one.required_mm for one in seen], counts),
    )


def _from_bounds(bounds: tuple[float, float, float, float], along: Array, radius: Array) -> Array:
    """Signed distance to the bounds, negative inside: never above that to what lies within them."""
    low, high, near, far = bounds
    across, away = np.maximum(low - along, along - high), np.maximum(near - radius, radius - far)
    outside = np.hypot(np.maximum(across, 0.0), np.maximum(away, 0.0))
    # a little less, for what is rounded on the way
    found: Array = outside + np.minimum(np.maximum(across, away), 0.0) - 1e-9
    return found
