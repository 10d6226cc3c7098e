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

import numpy as np

from clearance.geom.chain import Chain
from clearance.geom.limit import least_linear
from clearance.geom.profile import Array
from clearance.geom.view import View

_NODE = 0.5
"""How much the size of a node counts when choosing what to split: the corners of its box are no points of the part."""
_LEAST_SHARE = 1e-6
_UNIT = 1e-9
"""How far the square of a unit vector may be off by rounding."""


class Touch:
    """Bounds of some boxes, what leaves them uncertain, and where their patches come nearest.

    Inside, arrays run along the boxes in their last axis, vectors in their first: long rows are what whole-array
    arithmetic is quick at.
    """

    bound: Array
    """(n,)"""

    def __init__(self, view: View, rows: np.ndarray, chain: Chain) -> None:
        self._chain = chain
        self._offset, self._axis, self._half = view.offset[rows].T, view.axis[rows].T, view.half[rows].T
        self._middle, self._limits = view.middle[rows].T, view.limits
        self._corners = None if view.corners is None else _vectors_first(view.corners[rows])
        self._extent = None if view.extent is None else view.extent[rows].T
        slabs = view.slabs(rows)
        self._slab = None if slabs is None else np.vstack([slabs[0].T, slabs[1:]])
        drift = _vectors_first(view.drift[rows])
        self._turn = _cross(self._axis[:, None], _vectors_first(view.axis_by[rows]))
        self._moves = -drift - _cross(self._turn, self._offset[:, None])
        # what turns while it moves, the set of points and the hub, is reckoned plane by plane: what is left is of
        # second order in the turn
        size, turned, shifted = view.size[rows], view.turned[rows], view.shifted[rows]
        twice = view.axis_bent[rows] + 0.5 * turned**2
        rest = view.remainder[rows] - turned * (size + shifted)
        self._rest = rest + twice * (size + shifted) + turned * view.centre_bent[rows]
        self._drift = drift * self._half
        # a little of every size, so that what has none is never split
        sizes = np.concatenate([np.sqrt(_dot(self._moves, self._moves)) * self._half, size[None]])
        self._rest_by = np.concatenate([view.bent_by[rows].T, (twice * size)[None]]) + _LEAST_SHARE * sizes
        self.bound = np.full(len(rows), -np.inf)
        self._normal = np.zeros((3, len(rows)))
        self._begins = np.full(len(rows), -np.inf)
        self._best_normal = self._normal
        self._nearest = np.full(len(rows), np.inf)
        self._score = np.zeros((len(self._half) + 1, len(rows)))
        self._best_moved = np.zeros_like(self._half)
        count = len(rows)
        middle = np.zeros((3, count)) if self._corners is None else np.full((3, count), 1.0 / 3.0)
        self._best_place = middle
        self._stand(view.distance[rows], view.gradient[rows].T, np.zeros_like(self._half), middle)

    @property
    def score(self) -> Array:
        """(n, k + 1): what is uncertain by number, and by the set of points."""
        return np.asarray(self._score.T)

    @property
    def plane(self) -> Array:
        """(n, 3): of the plane of each bound, where the box begins along its normal, and that normal along and away
        from the axis."""
        across = _dot(self._axis, self._best_normal)
        off = self._best_normal - across * self._axis
        away = np.sqrt(_dot(off, off))
        # on the axis itself there is no way off it, and a shorter normal proves nothing of another hull
        whole = np.abs(across * across + away * away - 1.0) < _UNIT
        return np.column_stack([np.where(whole, self._begins, -np.inf), across, away])

    @property
    def moved(self) -> Array:
        """(n, k): the setting of the nearest place, from the middle."""
        return np.asarray(self._best_moved.T)

    @property
    def weights(self) -> Array | None:
        """(n, 3): that place in its triangle; None where boxes are not triangles."""
        return None if self._corners is None else np.asarray(self._best_place.T)

    def take(self, rows: np.ndarray) -> Touch:
        """These rows alone."""
        some: Touch = object.__new__(Touch)
        for name, value in vars(self).items():
            setattr(some, name, value[..., rows] if isinstance(value, np.ndarray) else value)
        return some

    def step(self) -> None:
        """Look for a nearer place once more."""
        moved, place = self._moved, self._place
        by_moved, by_place = self._ends - moved, self._lowest - place
        _, normal = self._look(self._ends, self._lowest)
        # along each direction as far as it stays downhill, or along all of them together: whichever gets nearer
        shift = self._shift(by_place)
        slope = _dot(self._moves, normal[:, None])
        before, after = self._slope * by_moved, slope * by_moved
        place_before, place_after = _dot(self._normal, shift), _dot(normal, shift)
        each = _downhill(before, after), _downhill(place_before, place_after)
        whole = _downhill(before.sum(axis=0) + place_before, after.sum(axis=0) + place_after)
        apart = moved + each[0] * by_moved, place + each[1] * by_place
        joined = moved + whole * by_moved, place + whole * by_place
        distance, normal = self._look(*apart)
        other_distance, other_normal = self._look(*joined)
        joint = other_distance < distance
        self._stand(
            np.where(joint, other_distance, distance),
            np.where(joint, other_normal, normal),
            np.where(joint, joined[0], apart[0]),
            np.where(joint, joined[1], apart[1]),
        )

    def _shift(self, place: Array) -> Array:
        """Where a place of the set of points is, from its middle."""
        if self._corners is None:
            return place
        corners = self._corners
        shift: Array = corners[:, 0] * place[0] + corners[:, 1] * place[1] + corners[:, 2] * place[2]
        return shift

    def _look(self, moved: Array, place: Array) -> tuple[Array, Array]:
        """Distance (n,) and normal (3, n) of the hull at a place of the patch."""
        offset = self._offset + self._shift(place)
        for number, by in enumerate(moved):
            offset += by * self._moves[:, number]
        axis = self._axis
        along = _dot(offset, axis)
        off = offset - along * axis
        away = np.sqrt(_dot(off, off))
        near = self._chain.near(along, away)
        return near.distance, near.across * axis + (near.away / np.maximum(away, 1e-12)) * off

    def _stand(self, distance: Array, normal: Array, moved: Array, place: Array) -> None:
        """Take the tangent plane at a place, and keep its bound where it is better than what there was."""
        half, turn = self._half, self._turn
        slope = _dot(self._moves, normal[:, None])
        twist = _cross(normal[:, None], turn)
        rows = np.arange(normal.shape[1])
        here = _dot(normal, self._shift(place))
        if self._corners is None:
            assert self._extent is not None
            assert self._slab is not None
            spread = _spread(normal, self._extent, self._slab)
            across = half * _dot(np.abs(twist), self._extent[:, None])
            steep, ends = least_linear(slope, half, self._middle, self._limits)
            least = steep - spread - across.sum(axis=0)
            lowest = _lowest(normal, self._extent, self._slab)
            by_place = _NODE * spread + across.sum(axis=0)
            by_number = slope * (moved - ends) + across
        else:
            rise = _dot(self._corners, normal[:, None])
            slopes = slope[:, None] - _dot(self._corners[:, None], twist[:, :, None])
            steep, all_ends = least_linear(slopes, half, self._middle, self._limits)
            low = rise + steep
            corner = np.where(low[1] < low[0], 1, 0)
            corner = np.where(low[2] < low[corner, rows], 2, corner)
            least = low[corner, rows]
            lowest = np.zeros((3, len(rows)))
            lowest[corner, rows] = 1.0
            ends = all_ends[:, corner, rows]
            by_place = here - rise[corner, rows]
            by_number = slope * moved - slopes[:, corner, rows] * ends
        for limit in self._limits:
            # where two numbers are tied, what one gains the other loses
            i, j = limit.one, limit.other
            apart = np.abs(self._middle[i] + ends[i] - self._middle[j] - ends[j])
            both = (by_number[i] + by_number[j]) / 2
            tied = apart >= limit.most - 1e-9
            by_number[[i, j]] = np.where(tied, both, by_number[[i, j]])
        crossed = np.abs(_dot(twist[:, :, None], self._drift[:, None])).sum(axis=1) * half
        least = least - crossed.sum(axis=0)
        nearer = distance < self._nearest
        self._nearest = np.where(nearer, distance, self._nearest)
        self._best_moved = np.where(nearer, moved, self._best_moved)
        self._best_place = np.where(nearer, place, self._best_place)
        bound = distance - here - (slope * moved).sum(axis=0) + least - self._rest
        better = bound > self.bound
        self.bound = np.where(better, bound, self.bound)
        # what is reckoned from the middle alone holds for this plane and any hull
        self._begins = np.where(better, _dot(normal, self._offset) + least - self._rest, self._begins)
        self._best_normal = np.where(better, normal, self._best_normal)
        score = np.concatenate([np.maximum(by_number, 0.0) + crossed, np.maximum(by_place, 0.0)[None]]) + self._rest_by
        self._score = np.where(better, score, self._score)
        self._normal, self._moved, self._place = normal, moved, place
        self._slope, self._lowest, self._ends = slope, lowest, ends


def _spread(way: Array, extent: Array, slab: Array) -> Array:
    """How far down a way (3, n) nodes reach at most from their middle, by their boxes and by their slabs (5, n)."""
    normal, low, high = slab[:3], slab[3], slab[4]
    # a way is so much of the slab's normal and a rest: what is known of each of them holds of their sum
    lift = _dot(way, normal)
    by_slab = _dot(np.abs(way - lift * normal), extent) - np.where(lift >= 0.0, lift * low, lift * high)
    spread: Array = np.minimum(_dot(np.abs(way), extent), by_slab)
    return spread


def _lowest(way: Array, extent: Array, slab: Array) -> Array:
    """(3, n): about where down a way each node reaches furthest: a corner of its box, brought into its slab."""
    corner = -np.sign(way) * extent
    height = _dot(corner, slab[:3])
    brought: Array = corner + (np.minimum(np.maximum(height, slab[3]), slab[4]) - height) * slab[:3]
    return brought


def _vectors_first(rows: Array) -> Array:
    """(n, k, 3) as (3, k, n)."""
    return np.ascontiguousarray(rows.transpose(2, 1, 0))


def _dot(one: Array, other: Array) -> Array:
    """The dot product along the first axis, of three."""
    product: Array = one[0] * other[0] + one[1] * other[1] + one[2] * other[2]
    return product


def _cross(one: Array, other: Array) -> Array:
    """The cross product along the first axis."""
    return np.stack(
        [
            one[1] * other[2] - one[2] * other[1],
            one[2] * other[0] - one[0] * other[2],
            one[0] * other[1] - one[1] * other[0],
        ]
    )


def _downhill(before: Array, after: Array) -> Array:
    """The share of the way after which a slope that was `before` at the start and is `after` at the end turns up."""
    turns = (before < 0) & (after > 0)
    share: Array = np.where(turns, before / np.where(turns, before - after, 1.0), np.where(before < 0, 1.0, 0.0))
    return share
