"""Every ring of a corner laid against one outline at once: for lists of thousands of tires on wheels.

Only the rings that could be the tightest are looked at: an outline lies within its bounds, so no ring is nearer to it,
nor deeper in it, than to its bounds. The answer is the one that all rings give (see `seen`), to the last bit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
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
_AT_ONCE = 60_000
"""Rings looked at at once: what stays in the processor's cache."""


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
        found = self.chain.distance(along - shifted_mm, radius)
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
        return float(self.spares_mm(outline, np.array([shifted_mm]))[0])

    def spares_mm(self, outline: Outline, shifted_mm: Array) -> Array:
        """(n,): the same for each of n shifts."""
        if not len(self.along_mm):
            return np.full(len(shifted_mm), math.inf)
        step = max(1, _AT_ONCE // len(self.along_mm))
        some = [shifted_mm[at : at + step] for at in range(0, len(shifted_mm), step)]
        return np.concatenate([self._spares(outline, shifts) for shifts in some])

    def _spares(self, outline: Outline, shifted_mm: Array) -> Array:
        along = self.along_mm - shifted_mm[:, None]
        hopes = (_from_bounds(outline.bounds, along, self.radius_mm) - self.skin_mm) - self.required_mm
        rows = np.arange(len(along))
        first = np.argpartition(hopes, _FIRST, axis=1)[:, :_FIRST] if hopes.shape[1] > _FIRST else None
        which = np.tile(np.arange(hopes.shape[1]), len(rows)) if first is None else first.ravel()
        of = np.repeat(rows, len(which) // len(rows))
        least: Array = self._left(outline, shifted_mm, of, which).reshape(len(rows), -1).min(axis=1)
        of, which = np.nonzero(hopes < least[:, None])
        if first is not None and len(of):
            np.minimum.at(least, of, self._left(outline, shifted_mm, of, which))
        return least

    def _left(self, outline: Outline, shifted_mm: Array, of: Places, which: Places) -> Array:
        """Of so many rings, each beside the outline shifted as one row says, what is left of their required gap."""
        distance = outline.distance(self.along_mm[which], self.radius_mm[which], shifted_mm[of])
        return self._spare(distance, which)

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


def least_of_each(seen: Sequence[Seen], solid: Solid, shifted_mm: float) -> dict[str, float]:
    """Of each part the least gap of its rings to a solid moved outboard as a whole (see `Seen.gap_mm`)."""
    if not seen:
        return {}
    rings, counts = rings_of(seen), np.array([len(one.along_mm) for one in seen])
    along, radius = rings.along_mm - shifted_mm, rings.radius_mm
    of = np.repeat(np.arange(len(seen)), counts)
    hopes = _from_bounds(solid.profile.bounds, along, radius)
    least = np.full(len(seen), math.inf)

    def look(which: Places) -> None:
        np.minimum.at(least, of[which], solid.chain.distance(along[which], radius[which]))

    look(np.concatenate([_nearest(hopes, int(end - count), int(end)) for count, end in _ends(counts)]))
    look(np.flatnonzero(hopes < least[of]))
    return {one.part: float(gap) - one.skin_mm for one, gap in zip(seen, least, strict=True)}


def _ends(counts: Places) -> Iterator[tuple[int, int]]:
    return zip(counts.tolist(), np.cumsum(counts).tolist(), strict=True)


def _nearest(hopes: Array, begin: int, end: int) -> Places:
    """The few rings of one part that are the nearest to the bounds."""
    own = hopes[begin:end]
    return begin + (np.argpartition(own, _FIRST)[:_FIRST] if len(own) > _FIRST else np.arange(len(own)))


def _from_bounds(bounds: tuple[float, float, float, float], along: Array, radius: Array) -> Array:
    """Signed distance to the bounds, negative inside: never above that to what lies within them."""
    low, high, near, far = bounds
    across, away = np.maximum(low - along, along - high), np.maximum(near - radius, radius - far)
    outside = np.hypot(np.maximum(across, 0.0), np.maximum(away, 0.0))
    # a little less, for what is rounded on the way
    found: Array = outside + np.minimum(np.maximum(across, away), 0.0) - 1e-9
    return found
