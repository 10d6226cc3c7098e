"""What holds a body to the car, each as numbers that are zero where it holds; and the links themselves, as things that
parts can ride on.

A rod that is a little off its length L, with its ends d apart, counts as (d.d - L L) / 2L: to first order the
millimetres that it is too long. Where bushings give, these are the numbers whose squares are least in all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .assembly import Reach, Rows
from .knuckles import Rack, Steered, SteeringArm
from .moving import Array, Moving, dot, fixed, side_by_side, sine_cosine
from .placing import Placing, about, least_turn, turned, unit

UP = np.array([0.0, 0.0, 1.0])


def too_long(start: Moving, end: Moving, length_mm: Array | float) -> Moving:
    """(n, k): of rods from start to end (n, k, 3)."""
    d = end - start
    square = dot(d, d)
    size = np.asarray(length_mm, dtype=float)
    return Moving((square.value - size**2) / (2.0 * size), square.rate / (2.0 * size)[..., None])


def rods(on_car: Array, on_body: Array) -> Rows:
    """Rods from points (k, 3) of the car to points of the body."""
    lengths = np.linalg.norm(on_car - on_body, axis=1)
    return lambda reach: too_long(fixed(on_car), reach.body.carry(on_body), lengths)


def pinned(points: Array) -> Rows:
    """Points (k, 3) of the body stay where they are: ball joints."""
    return lambda reach: _flat(reach.body.carry(points) - fixed(points))


def in_plane(point: Array, normals: Array) -> Rows:
    """A point of the body stays where it is along directions (k, 3) of the car."""

    def rows(reach: Reach) -> Moving:
        off = reach.body.carry(point[None]).point(0) - fixed(point)
        return side_by_side([off.along(normal) for normal in normals])

    return rows


def hinge(first: Array, second: Array) -> Rows:
    """Two points of the body stay where they are, but for sliding along their line, which the first prevents."""
    along = (second - first) / np.linalg.norm(second - first)
    ball, line = pinned(first[None]), in_plane(second, square_to(along))
    return lambda reach: side_by_side([ball(reach), line(reach)])


def height(point: Array, column: int) -> Rows:
    """A point of the body stands as far above its place at ride height as is asked."""
    return lambda reach: reach.body.carry(point[None]).point(0).along(UP) - fixed(point[2]) - reach.asked[column]


def slide(top: Array, bottom: Array) -> Rows:
    """A point of the car stays on a line of the body: a strut's top mount on the strut's axis."""
    across = square_to((top - bottom) / np.linalg.norm(top - bottom))

    def rows(reach: Reach) -> Moving:
        seen = reach.body.back(fixed(top[None])).point(0) - fixed(bottom)
        return side_by_side([seen.along(direction) for direction in across])

    return rows


def steered_by(end: Steered, outer: Array, drive: int | None) -> Rows:
    """A tie rod from the end that the steering moves; the drive is asked for in a column, or is the first unknown
    beyond the body's."""
    size = float(np.linalg.norm(end.end - outer))

    def rows(reach: Reach) -> Moving:
        moved = reach.more[0] if drive is None else reach.asked[drive]
        return too_long(end.driven(moved), reach.body.carry(outer[None]), size)

    return rows


def points_out(spin: Array, toe_deg: float, column: int) -> Rows:
    """The wheel, seen from above, points as far out as is asked, in degrees; at an arm of 300 mm."""

    def rows(reach: Reach) -> Moving:
        wanted = (fixed(toe_deg) - reach.asked[column]).times(np.pi / 180.0)
        sine, cosine = sine_cosine(wanted)
        axle = reach.body.carry_direction(spin)
        ahead, outboard = axle.along(np.array([1.0, 0.0, 0.0])), axle.along(np.array([0.0, 1.0, 0.0]))
        return (ahead * cosine - outboard * sine).times(300.0)

    return rows


def all_of(*some: Rows) -> Rows:
    """Rows one after another."""
    return lambda reach: side_by_side([rows(reach) for rows in some])


def square_to(direction: Array) -> Array:
    """(2, 3): two unit directions square to one, and to each other."""
    ahead = np.eye(3)[int(np.argmin(np.abs(direction)))]
    one = ahead - direction * (direction @ ahead)
    one = one / np.linalg.norm(one)
    return np.array([one, np.cross(direction, one)])


def _flat(vectors: Moving) -> Moving:
    count, each = vectors.value.shape[:2]
    rate = np.broadcast_to(vectors.rate, (count, each, 3, vectors.rate.shape[-1]))
    return Moving(vectors.value.reshape(count, -1), rate.reshape(count, 3 * each, -1))


# ---- links that parts ride on


@dataclass(frozen=True, slots=True, eq=False)
class Arm:
    """An arm that swings about its two pivots on the car and follows one joint of the body."""

    first: Array
    second: Array
    joint: Array

    def placed(self, body: Placing, drive: Moving | None) -> Placing:
        """Where it stands."""
        axis = (self.second - self.first) / np.linalg.norm(self.second - self.first)
        spoke = self.joint - self.first
        spoke = spoke - axis * (axis @ spoke)
        now = body.carry(self.joint[None]).point(0) - fixed(self.first)
        near, aside = now.along(spoke), now.along(np.cross(axis, spoke))
        size = near.value**2 + aside.value**2
        rate = near.value[:, None] * aside.rate - aside.value[:, None] * near.rate
        return about(self.first, axis, Moving(np.arctan2(aside.value, near.value), rate / size[:, None]))


@dataclass(frozen=True, slots=True, eq=False)
class Rod:
    """A rod between two joints: it goes with its inner end and takes the least turn towards its outer one."""

    inner: Array | Rack | SteeringArm
    outer: Array

    def placed(self, body: Placing, drive: Moving | None) -> Placing:
        """Where it stands."""
        start = self.inner if isinstance(self.inner, np.ndarray) else self.inner.end
        if isinstance(self.inner, np.ndarray) or drive is None:
            here = fixed(start)
        else:
            here = self.inner.driven(drive).point(0)
        before = (self.outer - start) / np.linalg.norm(self.outer - start)
        now = unit(body.carry(self.outer[None]).point(0) - here)
        turn = least_turn(fixed(before), now)
        return Placing(here - turned(turn, fixed(start[None])).point(0), turn)


Link = Arm | Rod
