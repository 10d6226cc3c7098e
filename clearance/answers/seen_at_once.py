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
    offset_mm: float = 0.0
    """Of the wheel as it is drawn."""
    disc_mm: tuple[float, float] | None = None
    """Between which radii the disc goes on inboard to the hub's face, however far outboard the rim slides (see
    `slid`); None where the outline is moved as a whole."""
    slides_mm: float = 0.0
    """So far it slides outboard at most, with its disc, until the hub's face would leave the rim."""

    def distance(self, along: Array, radius: Array, shifted_mm: Array | float) -> Array:
        """Signed distance of points (n,) from it, slid so far outboard, which may differ from point to point."""
        found = self.chain.near(along - shifted_mm, radius).distance
        if self.disc_mm is None:
            return found
        closer: Array = np.minimum(found, self.disc_distance(along, radius, shifted_mm))
        return closer

    def disc_distance(self, along: Array, radius: Array, shifted_mm: Array | float) -> Array:
        """Signed distance from what of the disc lies between the hub's face and the disc as drawn and slid."""
        assert self.disc_mm is not None
        hole, tube = self.disc_mm
        across, away = np.maximum(-along, along - shifted_mm), np.maximum(hole - radius, radius - tube)
        outside = np.hypot(np.maximum(across, 0.0), np.maximum(away, 0.0))
        found: Array = np.where(shifted_mm > 0.0, outside + np.minimum(np.maximum(across, away), 0.0), np.inf)
        return found

    def reach_at_mm(self, shifted_mm: float) -> float:
        """How far from the hub's middle it reaches, slid so far."""
        low, high, _, far = self.bounds
        return math.hypot(max(abs(low + shifted_mm), abs(high + shifted_mm)), far)


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
        least = self._least(outline, shifted_mm, first)
        rest = np.flatnonzero(hopes < least)
        return min(least, self._least(outline, shifted_mm, rest)) if len(rest) else least

    def _least(self, outline: Outline, shifted_mm: float, which: Places) -> float:
        distance = outline.distance(self.along_mm[which], self.radius_mm[which], shifted_mm)
        return float(self._spare(distance, which).min())

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
