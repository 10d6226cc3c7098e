"""What rides on a link: an arm, a tie rod, a track bar, as frames that parts can be fixed to.

An arm turns about its two pivots and follows its ball joint. A rod follows its two ends; how it rolls about its own
length is not defined by ball joints at both ends, so it takes the least turn. Both are the identity at ride height.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.pose import Array, Pose
from clearance.suspension.linkage import Point, State


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arm:
    """A wishbone or other arm between two pivots on the car and one joint that moves."""

    name: str
    first_mm: Array
    second_mm: Array
    joint: Point

    def pose(self, ride: State, state: State) -> Pose:
        """Turned about the line through its pivots until its joint is where the joint is."""
        axis = (self.second_mm - self.first_mm) / np.linalg.norm(self.second_mm - self.first_mm)
        before = _off(self.joint.at(ride) - self.first_mm, axis)
        after = _off(self.joint.at(state) - self.first_mm, axis)
        sine, cosine = np.sum(np.cross(before, after) * axis, axis=1), np.sum(before * after, axis=1)
        angle = np.arctan2(sine, cosine)[:, None, None]
        x, y, z = axis
        cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
        turn = np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * (cross @ cross)
        return Pose(origin_mm=self.first_mm - turn @ self.first_mm, turn=turn)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strut:
    """A rod between two ends, either of which may move."""

    name: str
    inner: Point
    outer: Point

    def pose(self, ride: State, state: State) -> Pose:
        """Moved with its inner end and turned the least way towards its outer end."""
        start, now = self.inner.at(ride)[0], self.inner.at(state)
        before = self.outer.at(ride)[0] - start
        after = self.outer.at(state) - now
        turn = least_turn(before / np.linalg.norm(before), after / np.linalg.norm(after, axis=1, keepdims=True))
        return Pose(origin_mm=now - turn @ start, turn=turn)


Link = Arm | Strut


def least_turn(first: Array, then: Array) -> Array:
    """The least turns (n, 3, 3) that carry a unit vector (3,) onto others (n, 3) that are not opposite to it."""
    axis = np.cross(first, then)
    cross = np.zeros((len(then), 3, 3))
    cross[:, 0, 1], cross[:, 0, 2], cross[:, 1, 2] = -axis[:, 2], axis[:, 1], -axis[:, 0]
    cross -= np.swapaxes(cross, 1, 2)
    factor = 1.0 / (1.0 + then @ first)
    turn: Array = np.eye(3) + cross + factor[:, None, None] * (cross @ cross)
    return turn


def _off(points: Array, axis: Array) -> Array:
    out: Array = points - (points @ axis)[:, None] * axis
    return out
