"""A certificate checked: every box and plane of it, with rounding outward, by what knows nothing of how it was found.

Nothing of the search is used here, nor its bounds, its frames or its distances: numbers go in, and a lower bound comes
out for every leaf of a tree that cannot leave anything out.

* motion  - a centre c, an axis u and a far move as Chebyshev sums of a setting s, straight from their coefficients
* place   - a point p of the part with the share w that it has of the far move: d(s) = p + w far(s) - c(s)
* outline - lines and arcs (y, r) of the solid of revolution; its support in a direction n is the greatest n.(y, r)
* plane   - n = (ny, nr), a unit vector, and a unit vector e of space. Along the axis a = d.u, off it r = |d - a u|

      the gap at s of the place  >=  ny a + nr r - support(n)

  for the outline lies on one side of a line of the half plane, and (a, r) beyond it. Where nr is not negative,
  r >= e.(d - a u); where it is, r <= (|d|^2 - a^2 + q^2) / 2q for every q > 0. Both are polynomials of s, and over a
  box of settings a linear part with a remainder bounds them. For a fixed setting what is left is a concave function of
  the place, so it is least at a corner of whatever holds the places.

A solid that is not convex is covered by convex outlines, each with a plane of its own: the least of them counts.

Sums and products are of intervals, every end rounded outward (`interval`). That a tree leaves nothing out is `tree`'s
to see.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.certificate.interval import Array, Interval, dot, down, exactly, length_up, sum_up, up, within
from clearance.certificate.motion import Motion, bends_of, motion_at, pairs_up
from clearance.certificate.outline import Outline
from clearance.certificate.tree import Leaves, Subject, Tree, Unproven, leaves_of

_HALVED_MM = 1e-9
"""What the middles of sides and ranges may be off by for rounding."""


def proven_mm(subject: Subject, tree: Tree) -> float:
    """The least distance that a tree proves. Raises Unproven where it leaves something out or does not fit together."""
    if not np.array_equal(np.sort(tree.order), np.arange(len(subject.triangles))):
        raise Unproven("its groups do not hold every triangle once")
    least = np.inf
    for leaves in leaves_of(subject, tree):
        least = min(least, float(lower_bounds(subject, leaves).min()))
    return least - _HALVED_MM


def lower_bounds(subject: Subject, leaves: Leaves) -> Array:
    """(n,): what the planes of some leaves prove, everywhere in them."""
    seen = _Seen(subject.motion, leaves)
    outlines = (subject.outline,) if leaves.planes.shape[1] == 1 else subject.cover
    missed = 0.0 if leaves.planes.shape[1] == 1 else subject.cover_mm
    least = np.full(len(leaves.middle), np.inf)
    for outline, plane in zip(outlines, leaves.planes.transpose(1, 0, 2), strict=True):
        least = np.minimum(least, seen.beyond(outline, plane, leaves))
    return down(down(least - missed) - leaves.skin)


@dataclass(slots=True)
class _Affine:
    """A number over a box of settings: its value at the middle, its slopes (..., k), and a bound on the rest."""

    value: Interval
    slope: Interval
    rest: Array

    def most(self, half: Array) -> Array:
        """No absolute value is larger."""
        return up(up(self.value.size + sum_up(up(self.slope.size * half))) + self.rest)


def _times(one: _Affine, other: _Affine, half: Array) -> _Affine:
    """The product of two numbers over a box."""
    slope = one.slope * _wide(other.value) + other.slope * _wide(one.value)
    bent = up(sum_up(up(one.slope.size * half)) * sum_up(up(other.slope.size * half)))
    rest = up(up(one.most(half) * other.rest) + up(other.most(half) * one.rest))
    return _Affine(one.value * other.value, slope, up(rest + bent))


def _plus(one: _Affine, other: _Affine) -> _Affine:
    return _Affine(one.value + other.value, one.slope + other.slope, up(one.rest + other.rest))


def _scaled(factor: Interval, one: _Affine) -> _Affine:
    return _Affine(factor * one.value, _wide(factor) * one.slope, up(factor.size * one.rest))


def _wide(number: Interval) -> Interval:
    return Interval(number.low[..., None], number.high[..., None])


class _Seen:
    """The places of some leaves as the wheel sees them: vectors from its centre, and along its axis."""

    def __init__(self, motion: Motion, leaves: Leaves) -> None:
        self.motion = motion
        value, slope = motion_at(motion, leaves.middle)
        bends = bends_of(motion)
        self.half = leaves.half[:, None, :]
        rest = [up(0.5 * pairs_up(bend, leaves.half)) for bend in bends]
        share = exactly(leaves.shares)
        near = [Interval(v.low[:, None], v.high[:, None]) for v in (value[:, :3], value[:, 3:6], value[:, 6:])]
        by = [Interval(v.low[:, None], v.high[:, None]) for v in (slope[..., :3], slope[..., 3:6], slope[..., 6:])]
        # from the centre to the place, (n, q, 3), and how that changes, (n, q, k, 3)
        self.offset = exactly(leaves.points) + _wide(share) * near[2] - near[0]
        self.offset_by = _wide(_wide(share)) * by[2] - by[0]
        self.offset_rest = up(rest[0][:, None] + up(np.abs(leaves.shares) * rest[2][:, None]))
        self.axis, self.axis_by, self.axis_rest = near[1], by[1], rest[1][:, None]
        self.reach = up(length_up(self.offset) + sum_up(up(length_up(self.offset_by) * self.half)))
        self.along = self._along()

    def _along(self) -> _Affine:
        slope = dot(self.offset_by, _row(self.axis)) + dot(_row(self.offset), self.axis_by)
        stretch = up(length_up(self.axis) + sum_up(up(length_up(self.axis_by) * self.half)))
        rest = up(up(self.reach + self.offset_rest) * self.axis_rest)
        rest = up(rest + up(stretch * self.offset_rest))
        return _Affine(dot(self.offset, self.axis), slope, up(rest + self._bent(self.offset_by, self.axis_by)))

    def _bent(self, one: Interval, other: Interval) -> Array:
        """What products of two changes come to, (n, q): sum of |one_i . other_j| h_i h_j."""
        count = one.low.shape[-2]
        total = np.zeros(np.broadcast_shapes(one.low.shape[:-2], other.low.shape[:-2]))
        for i in range(count):
            for j in range(count):
                size = dot(one[..., i, :], other[..., j, :]).size
                total = up(total + up(up(size * self.half[..., i]) * self.half[..., j]))
        return total

    def beyond(self, outline: Outline, plane: Array, leaves: Leaves) -> Array:
        """(n,): how far the places lie beyond a plane of the outline, at least."""
        across, away = _unit(plane[:, 0], plane[:, 1])
        ways = Interval(across.low[:, None], across.high[:, None]), Interval(away.low[:, None], away.high[:, None])
        off = np.where(plane[:, 1] < 0, 1, 0)
        outward = _scaled(ways[1], self._outward(plane[:, 2:5]))
        inward = _scaled(ways[1], self._at_most(plane[:, 5]))
        radial = _chosen(off[:, None], outward, inward)
        total = _plus(_scaled(ways[0], self.along), radial)
        least = total.value.low - up(self._steep(total.slope, leaves) + total.rest)
        # the motion itself may be off: its centre, and its axis at the distance of the place
        error = self.motion.error_mm * (1.0 + self.reach / self.motion.reach_mm)
        least = down(least - up(error * (1 + 1e-12)))
        support = outline.support(across.high, away.high)
        support = np.maximum(support, outline.support(across.low, away.low))
        return np.asarray(down(least.min(axis=1) - up(support * (1 + np.sign(support) * 1e-15))))

    def _outward(self, way: Array) -> _Affine:
        """e.(d - a u): no more than how far off the axis a place is, e being no longer than 1."""
        length = np.maximum(np.sqrt((way**2).sum(axis=1)), 1e-30) * (1 + 1e-15)
        e = exactly((way / length[:, None] * (1 - 4e-16))[:, None])
        toward = _Affine(dot(e, self.offset), dot(_row(e), self.offset_by), self.offset_rest)
        lean = _Affine(dot(e, self.axis), dot(_row(e), self.axis_by), self.axis_rest)
        return _plus(toward, _scaled(exactly(-1.0), _times(self.along, lean, self.half)))

    def _at_most(self, q: Array) -> _Affine:
        """(|d|^2 - a^2 + q^2) / 2q: no less than how far off the axis a place is."""
        q = np.where(q > 0, q, 1.0)[:, None]
        square = _Affine(
            dot(self.offset, self.offset),
            exactly(2.0) * dot(_row(self.offset), self.offset_by),
            up(
                self._bent(self.offset_by, self.offset_by)
                + up(self.offset_rest * up(2.0 * self.reach + self.offset_rest))
            ),
        )
        off = _plus(square, _scaled(exactly(-1.0), _times(self.along, self.along, self.half)))
        off = _Affine(off.value + exactly(q) * exactly(q), off.slope, off.rest)
        share = Interval(down(0.5 / q), up(0.5 / q))
        return _scaled(share, off)

    def _steep(self, slope: Interval, leaves: Leaves) -> Array:
        """(n, q): how far the linear part can fall within the box and its limits.

        With a limit, what is gained beyond it is taken back by any multiplier that is not negative; two are tried.
        """
        plain = sum_up(up(slope.size * self.half))
        for i, j, most in self.motion.limits:
            middle = (leaves.middle[:, i] - leaves.middle[:, j])[:, None]
            for side in (1.0, -1.0):
                room = up(np.maximum(most - side * middle, 0.0) * (1 + 1e-15) + 1e-12)
                for pull in (-side * slope.low[..., i], side * slope.low[..., j]):
                    pull = np.maximum(pull, 0.0)
                    changed = slope.size.copy()
                    changed[..., i] = (slope[..., i] + exactly(side * pull)).size
                    changed[..., j] = (slope[..., j] - exactly(side * pull)).size
                    plain = np.minimum(plain, up(sum_up(up(changed * self.half)) + up(pull * room)))
        return plain


def _row(vector: Interval) -> Interval:
    """The same vector beside every number of a setting."""
    return Interval(vector.low[..., None, :], vector.high[..., None, :])


def _chosen(which: Array, first: _Affine, second: _Affine) -> _Affine:
    def pick(one: Array, other: Array) -> Array:
        choose = which if one.ndim == 2 else which[..., None]
        return np.where(choose == 0, one, other)

    return _Affine(
        Interval(pick(first.value.low, second.value.low), pick(first.value.high, second.value.high)),
        Interval(pick(first.slope.low, second.slope.low), pick(first.slope.high, second.slope.high)),
        pick(first.rest, second.rest),
    )


def _unit(across: Array, away: Array) -> tuple[Interval, Interval]:
    """Directions (n,) of length one, to the last digits."""
    length = np.hypot(across, away)
    if not np.all(length > 1e-6):
        raise Unproven("a plane has no direction")
    return within(across / length, 4e-16), within(away / length, 4e-16)
