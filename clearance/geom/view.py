"""What boxes look like from the hub: everything about them that more than one bound of a gap needs.

* view - places, distances and rates at the middle of boxes, and a bound on what is not linear about them
* lean - the linear part of a distance over boxes
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.geom.boxes import Boxes
from clearance.geom.limit import Limit, least_linear
from clearance.geom.path import Path, Rates
from clearance.geom.profile import Array
from clearance.geom.revolve import Solid
from clearance.geom.tree import Tree

Ints = np.ndarray

_LEAN = 0.3
"""How much a linear part counts when choosing what to split."""
_BEND_MM = 60.0
"""Radius of curvature guessed when choosing what to split; it steers the search and proves nothing."""
_VIEWED = (
    "half", "middle", "axis", "axis_by", "offset", "along", "radial", "outward", "remainder", "furthest", "drift",
    "half_moves", "remainder_by", "size", "turned",
)  # fmt: skip
"""What of a view some of its rows take along."""


class View:
    """Everything about boxes that more than one bound needs, at their middles."""

    def __init__(self, boxes: Boxes, path: Path, solid: Solid, tree: Tree, limits: tuple[Limit, ...]) -> None:
        self._boxes, self._tree = boxes, tree
        rates = path.rates(boxes.middle)
        self.half, self.middle, self.limits = boxes.half, boxes.middle, limits
        self.rates = rates
        self.axis = rates.axis
        self.centre_by, self.axis_by = rates.centre_by, rates.axis_by
        self._place(boxes, rates, tree)
        self.offset = self.place - rates.centre
        self.along = np.einsum("ij,ij->i", self.offset, self.axis)
        radial = self.offset - self.along[:, None] * self.axis
        self.radial = np.sqrt(np.einsum("ij,ij->i", radial, radial))
        self.outward = radial / np.maximum(self.radial, 1e-12)[:, None]
        near = solid.hull_chain.near(self.along, self.radial)
        self.distance, self.across, self.away, self.element = near.distance, near.across, near.away, near.element
        self.gradient = near.across[:, None] * self.axis + near.away[:, None] * self.outward
        self._motion(boxes, path)

    def _place(self, boxes: Boxes, rates: Rates, tree: Tree) -> None:
        """Middle of each set of points where it is at the middle setting, and its shape about that."""
        if boxes.node[0] >= 0:
            self.place = tree.middle[boxes.node]
            self.extent = tree.half[boxes.node]
            self.corners = None
            least, greatest = boxes.weights[:, 0], boxes.weights[:, 1]
            if greatest.any():
                self.place = self.place + ((least + greatest) / 2)[:, None] * rates.far
                self.extent = self.extent + ((greatest - least) / 2)[:, None] * np.abs(rates.far)
            self.share, self.share_half = (least + greatest) / 2, (greatest - least) / 2
            self.size = np.sqrt(np.einsum("ij,ij->i", self.extent, self.extent))
        else:
            corners = boxes.corners
            weights = boxes.weights
            self.share = weights.mean(axis=1)
            self.share_half = np.abs(weights - self.share[:, None]).max(axis=1)
            if weights.any():
                corners = corners + weights[:, :, None] * rates.far[:, None, :]
            self.place = corners.mean(axis=1)
            self.extent = None
            self.corners = corners - self.place[:, None]
            self.size = np.sqrt(np.einsum("nij,nij->ni", self.corners, self.corners).max(axis=1))

    def slabs(self, rows: Ints) -> tuple[Array, Array, Array] | None:
        """Between which planes the points of some tree nodes lie (see `Tree.slabs`), about the middle place; None where
        boxes are triangles."""
        if self.extent is None:
            return None
        normal, low, high = self._tree.slabs(self._boxes.node[rows])
        moved = self.share_half[rows] * np.abs(np.einsum("ij,ij->i", normal, self.rates.far[rows]))
        return normal, low - moved, high + moved

    def _motion(self, boxes: Boxes, path: Path) -> None:
        """How the middle place moves as seen from the hub: linear part by number, and a bound on the rest."""
        half, rates = boxes.half, self.rates
        self.far_by = rates.far_by
        carries = bool(self.share.any() or self.share_half.any())
        drift = self.centre_by - self.share[:, None, None] * self.far_by if carries else self.centre_by
        self.drift = drift
        reach = np.sqrt(self.along**2 + self.radial**2)
        centre_step = np.sqrt(np.einsum("nki,nki->nk", drift, drift)) * half
        axis_step = np.sqrt(np.einsum("nki,nki->nk", self.axis_by, self.axis_by)) * half
        centre_bend = 0.5 * half * (half @ path.centre_bend)
        if carries:
            centre_bend = centre_bend + 0.5 * self.share[:, None] * half * (half @ path.far_bend)
        axis_bend = 0.5 * half * (half @ path.axis_bend)
        self.turned = (axis_step + axis_bend).sum(axis=1)
        # only what bends the axis sideways turns the hub otherwise than straight on
        sideways = 0.5 * half * (half @ path.axis_turn) + self.turned[:, None] * axis_bend
        shifted = (centre_step + centre_bend).sum(axis=1)
        bends = centre_bend + reach[:, None] * sideways
        remainder = bends.sum(axis=1)
        remainder = remainder + 0.5 * self.turned**2 * reach + self.turned * (self.size + shifted)
        self.furthest = self.size + shifted + reach * self.turned
        if carries:
            far_step = np.sqrt(np.einsum("nki,nki->nk", self.far_by, self.far_by)) * half
            stretched = self.share_half * (far_step + 0.5 * half * (half @ path.far_bend)).sum(axis=1)
            remainder = remainder + stretched
            self.furthest = self.furthest + stretched
        self.remainder = remainder
        self.axis_bent = sideways.sum(axis=1)
        self.centre_bent = centre_bend.sum(axis=1)
        self.shifted = shifted
        self.half_moves = centre_step + reach[:, None] * axis_step
        self.bent_by = bends + (axis_step + axis_bend) * (0.5 * self.turned * reach)[:, None]
        self.remainder_by = self.bent_by + (axis_step + axis_bend) * shifted[:, None]
        self.remainder_by = self.remainder_by + self.turned[:, None] * centre_step + axis_step * self.size[:, None]

    def lean(self, across: Array, gradient: Array) -> Lean:
        """The linear part of a distance with this gradient, over the set of points and along the path."""
        lever = across[:, None] * self.offset - self.along[:, None] * gradient
        slope = np.einsum("nki,ni->nk", self.axis_by, lever) - np.einsum("nki,ni->nk", self.drift, gradient)
        if self.corners is None:
            assert self.extent is not None
            spread = -np.einsum("ij,ij->i", np.abs(gradient), self.extent)
            corner = np.zeros(len(gradient), dtype=np.intp)
        else:
            rise = np.einsum("nij,nj->ni", self.corners, gradient)
            corner = np.argmin(rise, axis=1)
            spread = rise[np.arange(len(rise)), corner]
        steep, ends = least_linear(slope.T, self.half.T, self.middle.T, self.limits)
        return Lean(slope=slope, ends=ends.T, spread=spread, corner=corner, least=spread + steep - self.remainder)

    def score(self, lean: Lean) -> Array:
        """(n, k + 1): what each number, and the set of points, leaves uncertain."""
        # what is linear is exact at a corner of the box, and that corner is measured: only what bends needs splitting.
        # The corners of a tree node's box are no points of the part, so there all of the spread counts.
        by_number = _LEAN * np.abs(lean.slope) * self.half + self.half_moves**2 / _BEND_MM + self.remainder_by
        spread = -lean.spread if self.corners is None else -_LEAN * lean.spread
        by_place = spread + self.size**2 / _BEND_MM + self.turned * self.size
        return np.column_stack([by_number, by_place])

    def take(self, rows: Ints) -> View:
        """These boxes alone."""
        some: View = object.__new__(View)
        some.limits = self.limits
        for name in _VIEWED:
            setattr(some, name, getattr(self, name)[rows])
        some.corners = None if self.corners is None else self.corners[rows]
        some.extent = None if self.extent is None else self.extent[rows]
        return some


@dataclass(slots=True, kw_only=True, eq=False)
class Lean:
    """The linear part of a distance over boxes."""

    slope: Array
    """(n, k) by each number."""
    ends: Array
    """(n, k) where it is least, from the middle."""
    spread: Array
    """(n,) least over the set of points, at the middle setting."""
    corner: Ints
    """(n,) the corner of a triangle where it is least."""
    least: Array
    """(n,) least over the whole box, what is not linear taken off."""

    def where(self, which: Ints, other: Lean) -> Lean:
        """The other where `which` says so."""
        return Lean(
            slope=np.where(which[:, None], other.slope, self.slope),
            ends=np.where(which[:, None], other.ends, self.ends),
            spread=np.where(which, other.spread, self.spread),
            corner=np.where(which, other.corner, self.corner),
            least=np.where(which, other.least, self.least),
        )

    def put(self, rows: Ints, other: Lean) -> None:
        """Put another's rows in these."""
        self.slope[rows], self.ends[rows], self.spread[rows] = other.slope, other.ends, other.spread
        self.corner[rows], self.least[rows] = other.corner, other.least

    def take(self, rows: Ints) -> Lean:
        """These rows alone."""
        return Lean(
            slope=self.slope[rows],
            ends=self.ends[rows],
            spread=self.spread[rows],
            corner=self.corner[rows],
            least=self.least[rows],
        )
