"""Where rigid things stand on the car: a place and a unit quaternion, each with its rates.

* quaternion - (w, x, y, z): a turn by the angle t about the unit axis a is (cos t/2, a sin t/2)
* carry      - a point fixed to the thing, given as at ride height, to where it is now
* back       - a point of the car as the thing sees it, in the axes of ride height
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .moving import Array, Moving, cross, dot, fixed, length, sine_cosine


def _turning_table() -> Array:
    """(9, 4, 4): each element of the turn is a product of the quaternion with itself, weighted so."""
    table = np.zeros((3, 3, 4, 4))
    for i in range(3):
        # b (ww - v.v) + 2 (v.b) v + 2 w v x b
        table[i, i, 0, 0] += 1.0
        for j in range(3):
            table[i, i, 1 + j, 1 + j] -= 1.0
            table[i, j, 1 + i, 1 + j] += 1.0
            table[i, j, 1 + j, 1 + i] += 1.0
    for i, j, k, sign in ((0, 1, 2, 1), (1, 2, 0, 1), (2, 0, 1, 1), (0, 2, 1, -1), (1, 0, 2, -1), (2, 1, 0, -1)):
        # (v x b)_i = v_j b_k - ...
        table[i, k, 0, 1 + j] += sign
        table[i, k, 1 + j, 0] += sign
    return table.reshape(9, 4, 4)


_TABLE = _turning_table()


@dataclass(frozen=True, slots=True, eq=False)
class Placing:
    """Where a rigid thing has gone, at n settings."""

    at: Moving
    """(n, 3): where its origin is."""
    turn: Moving
    """(n, 3, 3): its axes as columns."""

    def carry(self, points: Array | Moving) -> Moving:
        """Points (k, 3) fixed to the thing, or (n, k, 3) that move on it: (n, k, 3) of the car."""
        moved = points if isinstance(points, Moving) else fixed(points)
        return self.at.of_each() + turned(self.turn, moved)

    def back(self, points: Moving) -> Moving:
        """Points (n, k, 3) of the car, as the thing sees them."""
        upright = Moving(np.swapaxes(self.turn.value, 1, 2), np.swapaxes(self.turn.rate, 1, 2))
        return turned(upright, points - self.at.of_each())

    def carry_direction(self, direction: Array) -> Moving:
        """A direction (3,) of the thing, on the car: (n, 3)."""
        return turned(self.turn, fixed(direction[None])).point(0)

    def after(self, first: Placing) -> Placing:
        """This placing of what another has placed."""
        at = self.carry(first.at.of_each()).point(0)
        columns = Moving(np.swapaxes(first.turn.value, 1, 2), np.swapaxes(first.turn.rate, 1, 2))
        turn = turned(self.turn, columns)
        return Placing(at, Moving(np.swapaxes(turn.value, 1, 2), np.swapaxes(turn.rate, 1, 2)))

    def only(self, which: Array) -> Placing:
        """At some of the settings."""
        return Placing(self.at.only(which), self.turn.only(which))


STILL = Placing(fixed(np.zeros(3)), fixed(np.eye(3)))
"""What does not move."""


def turned(turn: Moving, vectors: Moving) -> Moving:
    """Turns (n, 3, 3) of vectors (n, k, 3)."""
    matrix, shape = turn.value, vectors.rate.shape
    rate = np.broadcast_to(turn.rate, (len(turn.rate), 3, 3, turn.rate.shape[-1]))
    value = vectors.value @ np.swapaxes(matrix, 1, 2)
    # laid out so that both products are plain ones of matrices
    rows = np.swapaxes(rate, 1, 2).reshape(len(rate), 3, 3 * rate.shape[-1])
    of_turn = vectors.value @ rows
    of_turn = of_turn.reshape(*of_turn.shape[:2], 3, rate.shape[-1])
    if not np.any(vectors.rate):
        return Moving(value, of_turn)
    return Moving(value, of_turn + matrix[:, None] @ np.broadcast_to(vectors.rate, (*shape[:2], 3, shape[3])))


def turn_of(quaternion: Moving) -> Moving:
    """The turns (n, 3, 3) of quaternions (n, 4); of one that is not unit, the turn times its length squared."""
    half = np.einsum("rab,nb->nra", _TABLE, quaternion.value)
    value = np.einsum("nra,na->nr", half, quaternion.value).reshape(-1, 3, 3)
    rate = (2.0 * (half @ quaternion.rate)).reshape(len(half), 3, 3, quaternion.rate.shape[-1])
    return Moving(value, rate)


def about(through: Array, axis: Array, angle_rad: Moving) -> Placing:
    """Turned about a line of the car by angles (n,)."""
    sine, cosine = sine_cosine(angle_rad.times(0.5))
    vector = [sine.times(component) for component in axis]
    quaternion = Moving(
        np.stack([cosine.value, *(v.value for v in vector)], axis=1),
        np.stack(np.broadcast_arrays(cosine.rate, *(v.rate for v in vector)), axis=1),
    )
    turn = turn_of(quaternion)
    return Placing(fixed(through) - turned(turn, fixed(through[None])).point(0), turn)


def least_turn(start: Moving, end: Moving) -> Moving:
    """The least turns (n, 3, 3) that bring unit vectors (n, 3) onto others that are not opposite to them.

    The quaternion halfway: (1 + start.end, start x end), made unit.
    """
    scalar, vector = dot(start, end), cross(start, end)
    scalar = Moving(scalar.value + 1.0, scalar.rate)
    count, rates = len(vector.value), vector.rate.shape[-1]
    whole = Moving(
        np.concatenate([np.broadcast_to(scalar.value[:, None], (count, 1)), vector.value], axis=1),
        np.concatenate([np.broadcast_to(scalar.rate[:, None], (len(vector.rate), 1, rates)), vector.rate], axis=1),
    )
    size = np.linalg.norm(whole.value, axis=1)
    growth = np.sum((whole.value / size[:, None])[..., None] * whole.rate, axis=1)
    unit = whole.value / size[:, None]
    return turn_of(Moving(unit, (whole.rate - unit[..., None] * growth[:, None]) / size[:, None, None]))


def unit(vectors: Moving) -> Moving:
    """Vectors (n, 3) made one long."""
    size = length(vectors)
    return vectors.over(Moving(size.value[:, None], size.rate[:, None]))
