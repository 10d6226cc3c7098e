"""The tangent plane of a moving convex hull where a box comes nearest to it.

Seen from the hull, a box of points and settings is, but for what bends, a patch: its points moved along straight lines
by every number of the setting. The hull is convex, so any of its tangent planes bounds the distance from below, and the
one taken where the patch comes nearest bounds it best: there the patch lies wholly beyond the plane. That place is
looked for from the middle, towards the corner that the plane there calls lowest, along each direction as far as the
slope stays downhill.

A tangent plane may be taken anywhere, so how the place was found proves nothing and need not.
Source of the idea: M. Frank and P. Wolfe, An algorithm for quadratic programming, Naval Research Logistics Quarterly 3,
1956; here with a step for each direction.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np

from clearance.geom.chain import Chain
from clearance.geom.limit import Limit, least_linear
from clearance.geom.profile import Array

_NODE = 0.5
"""How much the size of a node counts when choosing what to split: the corners of its box are no points of the part."""


_LEAST_SHARE = 1e-6


class Boxes(Protocol):
    """What is asked of boxes, row by row, seen at their middles; see `bracket`."""

    offset: Array
    axis: Array
    axis_by: Array
    drift: Array
    half: Array
    middle: Array
    limits: tuple[Limit, ...]
    corners: Array | None
    extent: Array | None
    distance: Array
    gradient: Array
    remainder: Array
    bent_by: Array
    size: Array
    turned: Array
    axis_bent: Array
    centre_bent: Array
    shifted: Array


class Touch:
    """Bounds of some boxes, what leaves them uncertain, and where their patches come nearest."""

    bound: Array
    """(n,)"""
    score: Array
    """(n, k + 1): by number, and by the set of points."""
    moved: Array
    """(n, k): the setting of the nearest place, from the middle."""
    weights: Array | None
    """(n, 3): that place in its triangle; None where boxes are not triangles."""

    def __init__(self, view: Boxes, rows: np.ndarray, chain: Chain) -> None:
        self._chain = chain
        self._offset, self._axis, self._half = view.offset[rows], view.axis[rows], view.half[rows]
        self._middle, self._limits = view.middle[rows], view.limits
        self._corners = None if view.corners is None else view.corners[rows]
        self._extent = None if view.extent is None else view.extent[rows]
        self._turn = np.cross(self._axis[:, None], view.axis_by[rows])
        self._moves = -view.drift[rows] - np.cross(self._turn, self._offset[:, None])
        # what turns while it moves, the set of points and the hub, is reckoned plane by plane: what is left is of
        # second order in the turn
        size, turned, shifted = view.size[rows], view.turned[rows], view.shifted[rows]
        twice = view.axis_bent[rows] + 0.5 * turned**2
        rest = view.remainder[rows] - turned * (size + shifted)
        self._rest = rest + twice * (size + shifted) + turned * view.centre_bent[rows]
        self._drift = view.drift[rows] * self._half[:, :, None]
        # a little of every size, so that what has none is never split
        sizes = np.column_stack([np.linalg.norm(self._moves, axis=2) * self._half, size])
        self._rest_by = np.column_stack([view.bent_by[rows], twice * size]) + _LEAST_SHARE * sizes
        self.bound = np.full(len(rows), -np.inf)
        self._nearest = np.full(len(rows), np.inf)
        self.score = np.zeros((len(rows), self._half.shape[1] + 1))
        self.moved = np.zeros_like(self._half)
        self.weights = None if self._corners is None else np.zeros((len(rows), 3))
        count = len(rows)
        middle = np.zeros((count, 3)) if self._corners is None else np.full((count, 3), 1.0 / 3.0)
        self._stand(view.distance[rows], view.gradient[rows], np.zeros_like(self._half), middle)

    def take(self, rows: np.ndarray) -> Touch:
        """These rows alone."""
        some: Touch = object.__new__(Touch)
        for name, value in vars(self).items():
            setattr(some, name, value[rows] if isinstance(value, np.ndarray) else value)
        return some

    def step(self) -> None:
        """Look for a nearer place once more."""
        moved, place = self._moved, self._place
        by_moved, by_place = self._ends - moved, self._lowest - place
        distance, normal = self._look(self._ends, self._lowest)
        # along each direction as far as it stays downhill, or along all of them together: whichever gets nearer
        shift = self._shift(by_place)
        slope = np.einsum("nki,ni->nk", self._moves, normal)
        before, after = self._slope * by_moved, slope * by_moved
        place_before = np.einsum("ij,ij->i", self._normal, shift)
        place_after = np.einsum("ij,ij->i", normal, shift)
        each = _downhill(before, after), _downhill(place_before, place_after)
        whole = _downhill(before.sum(axis=1) + place_before, after.sum(axis=1) + place_after)
        apart = moved + each[0] * by_moved, place + each[1][:, None] * by_place
        joined = moved + whole[:, None] * by_moved, place + whole[:, None] * by_place
        distance, normal = self._look(*apart)
        other_distance, other_normal = self._look(*joined)
        joint = other_distance < distance
        self._stand(
            np.where(joint, other_distance, distance),
            np.where(joint[:, None], other_normal, normal),
            np.where(joint[:, None], joined[0], apart[0]),
            np.where(joint[:, None], joined[1], apart[1]),
        )

    def _shift(self, place: Array) -> Array:
        """Where a place of the set of points is, from its middle."""
        if self._corners is None:
            return place
        shift: Array = np.einsum("ni,nij->nj", place, self._corners)
        return shift

    def _look(self, moved: Array, place: Array) -> tuple[Array, Array]:
        """Distance and normal of the hull at a place of the patch."""
        offset = self._offset + self._shift(place) + np.einsum("nk,nki->ni", moved, self._moves)
        along = np.einsum("ij,ij->i", offset, self._axis)
        off = offset - along[:, None] * self._axis
        away = np.sqrt(np.einsum("ij,ij->i", off, off))
        near = self._chain.near(along, away)
        out = off / np.maximum(away, 1e-12)[:, None]
        return near.distance, near.across[:, None] * self._axis + near.away[:, None] * out

    def _stand(self, distance: Array, normal: Array, moved: Array, place: Array) -> None:
        """Take the tangent plane at a place, and keep its bound where it is better than what there was."""
        half = self._half
        slope = np.einsum("nki,ni->nk", self._moves, normal)
        twist = np.cross(normal[:, None], self._turn)
        rows = np.arange(len(normal))
        here = np.einsum("ij,ij->i", normal, self._shift(place))
        if self._corners is None:
            assert self._extent is not None
            spread = np.einsum("ij,ij->i", np.abs(normal), self._extent)
            across = half * np.einsum("nki,ni->nk", np.abs(twist), self._extent)
            steep, ends = least_linear(slope, half, self._middle, self._limits)
            least = steep - spread - across.sum(axis=1)
            lowest = -np.sign(normal) * self._extent
            by_place = _NODE * spread + across.sum(axis=1)
            by_number = slope * (moved - ends) + across
        else:
            rise = np.einsum("nij,nj->ni", self._corners, normal)
            slopes = slope[:, None, :] - np.einsum("nij,nkj->nik", self._corners, twist)
            steep, all_ends = least_linear(slopes, half, self._middle, self._limits)
            low = rise + steep
            corner = np.argmin(low, axis=1)
            least = low[rows, corner]
            lowest = np.zeros((len(normal), 3))
            lowest[rows, corner] = 1.0
            ends = all_ends[rows, corner]
            by_place = here - rise[rows, corner]
            by_number = slope * moved - slopes[rows, corner] * ends
        for limit in self._limits:
            # where two numbers are tied, what one gains the other loses
            i, j = limit.one, limit.other
            apart = np.abs(self._middle[:, i] + ends[:, i] - self._middle[:, j] - ends[:, j])
            both = (by_number[:, i] + by_number[:, j])[:, None] / 2
            tied = apart >= limit.most - 1e-9
            by_number[:, [i, j]] = np.where(tied[:, None], both, by_number[:, [i, j]])
        crossed = np.abs(np.einsum("nki,nli->nkl", twist, self._drift)).sum(axis=2) * half
        least = least - crossed.sum(axis=1)
        nearer = distance < self._nearest
        self._nearest = np.where(nearer, distance, self._nearest)
        self.moved = np.where(nearer[:, None], moved, self.moved)
        if self.weights is not None:
            self.weights = np.where(nearer[:, None], place, self.weights)
        bound = distance - here - np.einsum("nk,nk->n", slope, moved) + least - self._rest
        better = bound > self.bound
        self.bound = np.where(better, bound, self.bound)
        score = np.column_stack([np.maximum(by_number, 0.0) + crossed, np.maximum(by_place, 0.0)]) + self._rest_by
        self.score = np.where(better[:, None], score, self.score)
        self._normal, self._moved, self._place = normal, moved, place
        self._slope, self._lowest, self._ends = slope, lowest, ends


def _downhill(before: Array, after: Array) -> Array:
    """The share of the way after which a slope that was `before` at the start and is `after` at the end turns up."""
    turns = (before < 0) & (after > 0)
    share: Array = np.where(turns, before / np.where(turns, before - after, 1.0), np.where(before < 0, 1.0, 0.0))
    return share
