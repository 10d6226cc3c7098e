"""Positions of a corner, the cycle of all of them, and what every suspension answers.

* position - one setting of the corner: bump, the other side's bump, steer
* cycle    - the whole box of positions, droop to bump, lock to lock
* frame    - what a part rides on: "body", "axle" (moves with bump), "knuckle" (with bump and steer), or a named link

Everything here is a left corner (see `pose`). Arrays of positions have shape (n, 3): bump_mm, other_bump_mm, steer_deg,
measured from ride height, straight ahead. Steer is positive to the left.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import numpy.typing as npt

from clearance.pose import Array, Pose

HUB = "hub"
BODY = "body"
AXLE = "axle"
KNUCKLE = "knuckle"

Range = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """One setting of the corner."""

    bump_mm: float = 0.0
    other_bump_mm: float = 0.0
    steer_deg: float = 0.0

    def row(self) -> Array:
        """(3,): as a row of an array of positions."""
        return np.array([self.bump_mm, self.other_bump_mm, self.steer_deg])


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """Play and flex: how far the wheel can be pushed, from any position, in each direction."""

    inboard_mm: float = 0.0
    outboard_mm: float = 0.0
    ahead_mm: float = 0.0
    behind_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """The box of all positions, each range from its least to its greatest."""

    bump_mm: Range = (0.0, 0.0)
    other_bump_mm: Range = (0.0, 0.0)
    steer_deg: Range = (0.0, 0.0)
    articulation_mm: float | None = None
    """The most that bump and the other side's bump can differ; None where nothing limits it."""
    shift: Shift = field(default_factory=Shift)

    @property
    def box(self) -> Array:
        """(3, 2): least and greatest of each number of a position."""
        return np.array([self.bump_mm, self.other_bump_mm, self.steer_deg])


class Suspension(Protocol):
    """What every kind of suspension answers. All of it is a smooth function of the position."""

    @property
    def kind(self) -> str:
        """The word that the corner file uses for it."""

    @property
    def cycle(self) -> Cycle:
        """Every position that it can take."""

    @property
    def frames(self) -> tuple[str, ...]:
        """What a part can ride on, "body" first."""

    @property
    def uncertainty_mm(self) -> float:
        """How far the hub may really be from the pose given, as measured rows scatter about a fit; 0 where exact."""

    def __hash__(self) -> int:
        """By identity: what is fitted to a suspension is kept for it."""

    def pose(self, positions: npt.ArrayLike, frame: str = HUB) -> Pose:
        """Where `frame` has gone at positions (n, 3): n poses, in corner axes.

        The pose of "hub" carries hub axes: at ride height its origin is (0, 0, 0) and its axis shows the static camber
        and toe. The pose of every other frame is the identity at ride height, straight ahead: it carries points given
        in corner axes. Only the origin and the axis of the hub matter: it may spin about its axis freely.

        Raises SuspensionError for a frame that it does not have, or positions that it cannot reach.
        """
