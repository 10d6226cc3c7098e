"""A hub that moves straight up and down, with what a tape and an angle finder say of it.

Camber, toe, the move across (positive outboard) and along (positive ahead) each change by so much per millimetre of
bump: enough for a leaf-sprung or coil-sprung axle over small travel, and for a first look at anything.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from clearance.pose import Array, Pose, spin_axis, turn_onto
from clearance.suspension.carried import Carried
from clearance.suspension.position import Cycle
from clearance.suspension.steering import Kingpin


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Straight(Carried):
    """Vertical travel with linear changes."""

    cycle: Cycle = field(default_factory=Cycle)
    camber_deg: float = 0.0
    toe_deg: float = 0.0
    camber_deg_per_mm: float = 0.0
    toe_deg_per_mm: float = 0.0
    across_mm_per_mm: float = 0.0
    along_mm_per_mm: float = 0.0
    kingpin: Kingpin | None = None

    def __post_init__(self) -> None:
        self.check_steering()

    @property
    def kind(self) -> str:
        """The corner file's word."""
        return "straight"

    @property
    def uncertainty_mm(self) -> float:
        """Nothing is fitted."""
        return 0.0

    def axle(self, positions: Array) -> Pose:
        """Up by the bump, with the linear changes."""
        bump = positions[:, 0]
        origin = np.stack([self.along_mm_per_mm * bump, self.across_mm_per_mm * bump, bump], axis=-1)
        axis = spin_axis(self.camber_deg + self.camber_deg_per_mm * bump, self.toe_deg + self.toe_deg_per_mm * bump)
        return Pose(origin_mm=origin, turn=turn_from(spin_axis(self.camber_deg, self.toe_deg), axis))


def turn_from(first: Array, then: Array) -> Array:
    """The turns (n, 3, 3) from one spin axis (3,) to others (n, 3), both within reach of the y axis."""
    turns: Array = turn_onto(then) @ turn_onto(first).T
    return turns
