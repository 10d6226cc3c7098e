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

from clearance.errors import SuspensionError
from clearance.pose import Array, Pose
from clearance.sound import a_number, a_range, shown

HUB = "hub"
BODY = "body"
AXLE = "axle"
KNUCKLE = "knuckle"

Range = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """One setting of the corner. Raises SuspensionError where it is nowhere."""

    bump_mm: float = 0.0
    other_bump_mm: float = 0.0
    steer_deg: float = 0.0

    def __post_init__(self) -> None:
        for name in self.__slots__:
            a_number(getattr(self, name), f"{_words(name)} of a position", SuspensionError)

    def row(self) -> Array:
        """(3,): as a row of an array of positions."""
        return np.array([self.bump_mm, self.other_bump_mm, self.steer_deg])


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """Play and flex: how far the wheel can be pushed, from any position, in each direction.

    Raises SuspensionError for what is below zero or without end.
    """

    inboard_mm: float = 0.0
    outboard_mm: float = 0.0
    ahead_mm: float = 0.0
    behind_mm: float = 0.0

    def __post_init__(self) -> None:
        for name in self.__slots__:
            a_number(getattr(self, name), f"the play {_words(name)}", SuspensionError, least=0.0, key="shift")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """The box of all positions, each range from its least to its greatest.

    A range need not hold zero: a wheel can be asked about standing at its bump stop. Raises SuspensionError for a range
    that is none.
    """

    bump_mm: Range = (0.0, 0.0)
    other_bump_mm: Range = (0.0, 0.0)
    steer_deg: Range = (0.0, 0.0)
    articulation_mm: float | None = None
    """The most that bump and the other side's bump can differ; None where nothing limits it."""
    shift: Shift = field(default_factory=Shift)

    def __post_init__(self) -> None:
        for name in ("bump_mm", "other_bump_mm", "steer_deg"):
            a_range(getattr(self, name), f"the range of {_words(name)}", SuspensionError)
        if self.articulation_mm is not None:
            a_number(self.articulation_mm, "the articulation", SuspensionError, least=0.0, key="articulation")
        if not isinstance(self.shift, Shift):
            raise SuspensionError(f"play and flex is {shown(self.shift)}; it must be a Shift.", key="shift")

    @property
    def box(self) -> Array:
        """(3, 2): least and greatest of each number of a position."""
        return np.array([self.bump_mm, self.other_bump_mm, self.steer_deg])


def _words(field_name: str) -> str:
    """A field as a person says it.

    >>> _words("other_bump_mm")
    'other bump'
    """
    return field_name.rsplit("_", 1)[0].replace("_", " ")


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
