"""A suspension that has been adjusted: another cycle, camber or place, and otherwise the one that it was."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from clearance.pose import Pose, about
from clearance.suspension.position import BODY, HUB, KNUCKLE, Cycle, Suspension
from clearance.suspension.unmeasured import Unmeasured, unmeasured_of

_AHEAD = np.array([1.0, 0.0, 0.0])
_RIDE = np.zeros((1, 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjusted:
    """A suspension with another cycle, camber or place, and otherwise the one that it was."""

    base: Suspension
    cycle: Cycle
    camber_deg: float = 0.0
    """Added to the hub's own, about its centre."""
    axle_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """(ahead, outboard, above): how far everything but the body has been moved."""

    @property
    def kind(self) -> str:
        """The kind of what was adjusted."""
        return self.base.kind

    @property
    def frames(self) -> tuple[str, ...]:
        """The frames of what was adjusted."""
        return self.base.frames

    @property
    def uncertainty_mm(self) -> float:
        """The uncertainty of what was adjusted."""
        return self.base.uncertainty_mm

    @property
    def unmeasured(self) -> Unmeasured | None:
        """What was not measured of what was adjusted."""
        return unmeasured_of(self.base)

    def as_given(self) -> Adjusted:
        """The same with nothing in it that was not measured, play as it was stated."""
        base: Any = self.base
        given = base.as_given()
        return replace(self, base=given, cycle=replace(self.cycle, shift=given.cycle.shift))

    def pose(self, positions: npt.ArrayLike, frame: str = HUB) -> Pose:
        """Where `frame` has gone; see `Suspension.pose`."""
        pose = self.base.pose(positions, frame)
        if self.camber_deg and frame in (HUB, KNUCKLE):
            pose = pose.after(self.tilt(frame))
        if frame == BODY or self.axle_mm == (0.0, 0.0, 0.0):
            return pose
        return Pose(origin_mm=pose.origin_mm + np.array(self.axle_mm), turn=pose.turn)

    def tilt(self, frame: str) -> Pose:
        """What the added camber does to the hub or the knuckle before the travel carries it."""
        # Camber is positive with the top outboard; a positive turn about the axis ahead takes the top inboard.
        own = about(np.zeros(3), _AHEAD, -self.camber_deg)
        if frame == HUB:
            return own
        ride = self.base.pose(_RIDE)
        hub = Pose(origin_mm=ride.origin_mm[0], turn=ride.turn[0])
        # The upright tilts with its hub: carried to hub axes, tilted, and carried back.
        return hub.after(own).after(hub.inverse())


def adjusted(suspension: Suspension) -> Adjusted:
    """The same suspension, ready to be adjusted; adjusting twice does not wrap twice."""
    return suspension if isinstance(suspension, Adjusted) else Adjusted(base=suspension, cycle=suspension.cycle)
