"""What the simple suspensions share: something carries the knuckle, the knuckle turns about its kingpin.

The axle's pose depends on the travel; the knuckle's is the axle's after a rotation about the kingpin; the hub's is the
knuckle's with the static camber and toe. Steer is the road-wheel angle that this rotation gives at ride height: the
same rotation is kept through the travel, as it is when the steering wheel is held.
"""

from __future__ import annotations

from abc import ABC, abstractmethod

import numpy as np
import numpy.typing as npt

from clearance.errors import SuspensionError
from clearance.pose import Array, Pose, spin_axis, still, turn_onto
from clearance.suspension.position import AXLE, BODY, HUB, KNUCKLE, Cycle
from clearance.suspension.steering import Kingpin, rotation_deg


class Carried(ABC):
    """A knuckle on something that carries it; subclasses say how that moves."""

    __slots__ = ()

    cycle: Cycle
    camber_deg: float
    toe_deg: float
    kingpin: Kingpin | None

    @property
    def frames(self) -> tuple[str, ...]:
        """What a part can ride on."""
        return (BODY, AXLE, KNUCKLE)

    @abstractmethod
    def axle(self, positions: Array) -> Pose:
        """Where what carries the knuckle has gone at positions (n, 3); the identity at ride height."""

    def pose(self, positions: npt.ArrayLike, frame: str = HUB) -> Pose:
        """Where `frame` has gone at positions (n, 3); see `position.Suspension`."""
        rows = rows_of(positions)
        if frame == BODY:
            return still(len(rows))
        if frame not in (AXLE, KNUCKLE, HUB):
            raise unknown_frame(frame, self.frames)
        axle = self.axle(rows)
        if frame == AXLE:
            return axle
        knuckle = axle.after(self.steered(rows))
        return knuckle if frame == KNUCKLE else set_up(knuckle, self.camber_deg, self.toe_deg)

    def steered(self, positions: Array) -> Pose:
        """What the steering does to the knuckle before the travel carries it.

        Raises SuspensionError where a corner without a steering axis is to steer, or further than its axis can.
        """
        steer = positions[:, 2]
        if self.kingpin is None:
            if np.any(steer):
                raise SuspensionError(
                    "this corner has no steering axis, so it cannot steer. Add [steering] with an axis."
                )
            return still(len(positions))
        return self.kingpin.turn(rotation_deg(self.kingpin, steer, camber_deg=self.camber_deg, toe_deg=self.toe_deg))

    def check_steering(self) -> None:
        """Raise SuspensionError where the cycle steers further than the axis can."""
        self.steered(np.array([[0.0, 0.0, steer] for steer in self.cycle.steer_deg]))


def set_up(knuckle: Pose, camber_deg: float, toe_deg: float) -> Pose:
    """The hub on a knuckle, with its static camber and toe."""
    return Pose(origin_mm=knuckle.origin_mm, turn=knuckle.turn @ turn_onto(spin_axis(camber_deg, toe_deg)))


def rows_of(positions: npt.ArrayLike) -> Array:
    """Positions as rows (n, 3)."""
    rows = np.asarray(positions, dtype=float)
    return rows.reshape(-1, 3)


def unknown_frame(frame: str, frames: tuple[str, ...]) -> SuspensionError:
    """The refusal of a frame that a suspension does not have."""
    known = ", ".join(f'"{name}"' for name in frames)
    return SuspensionError(f'nothing here is called "{frame}". A part can ride on {known}.')
