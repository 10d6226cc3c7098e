"""What turns a knuckle: a kingpin, a rack or a steering arm, a tie rod; and what a turn plate reads of it.

* out    - the road wheel's angle seen from above, its front outboard, from where it points straight ahead
* drive  - how far the steering has moved the rod's end that it moves: along the rack, or along the arm's arc, mm
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from .errors import CannotStand
from .moving import Array, Moving, fixed, swung
from .tape import Table, angle_of, point_of

_OUTBOARD = np.array([0.0, 1.0, 0.0])


def spin_axis(camber_deg: float, toe_deg: float) -> Array:
    """The axle's direction, outboard: camber is its dip, toe its turn ahead, each about the car's own axes."""
    camber, toe = np.radians(camber_deg), np.radians(toe_deg)
    return np.array([np.cos(camber) * np.sin(toe), np.cos(camber) * np.cos(toe), -np.sin(camber)])


def out_deg(spin: Array, toe_deg: float) -> Array:
    """How far wheels with these axles (n, 3) have turned out from a wheel with this toe."""
    return toe_deg - np.degrees(np.arctan2(spin[:, 0], spin[:, 1]))


@dataclass(frozen=True, slots=True, eq=False)
class Kingpin:
    """The axis that a knuckle turns about, on what carries it."""

    through: Array
    axis: Array

    def turned(self, points: Array, turn_rad: Moving) -> Moving:
        """Points (k, 3) of the knuckle, on what carries it."""
        return swung(points, self.through, self.axis, turn_rad)

    def turn_rad_for(self, out: float, *, camber_deg: float, toe_deg: float) -> float:
        """The turn about it that steers the wheel out so far, at ride height."""
        spin = spin_axis(camber_deg, toe_deg)
        along, aside = self.axis * (self.axis @ spin), np.cross(self.axis, spin)

        def missed(turn: float) -> float:
            turned = along + np.cos(turn) * (spin - along) + np.sin(turn) * aside
            return float(out_deg(turned[None], toe_deg)[0]) - out

        return root_from_zero(missed, step=0.02)


def kingpin_through(lower: Array, upper: Array) -> Kingpin:
    """The axis through two ball joints."""
    return Kingpin(lower, (upper - lower) / np.linalg.norm(upper - lower))


def kingpin_by_angles(table: Table) -> Kingpin:
    """The axis of [steering]: through a point, its top inboard by the inclination and back by the caster."""
    lean = [np.tan(np.radians(angle_of(table, key))) for key in ("caster", "inclination")]
    top = np.array([-lean[0], -lean[1], 1.0])
    return Kingpin(point_of(table, "through"), top / np.linalg.norm(top))


@dataclass(frozen=True, slots=True, eq=False)
class Rack:
    """A rod's end that slides straight across the car."""

    end: Array

    def driven(self, drive: Moving) -> Moving:
        """(n, 1, 3): the end."""
        across = Moving(drive.value[:, None, None], drive.rate[:, None, None]) * fixed(_OUTBOARD[None])
        return fixed(self.end[None]) + across


@dataclass(frozen=True, slots=True, eq=False)
class SteeringArm:
    """A rod's end on an arm that turns about an axis of the car."""

    end: Array
    through: Array
    axis: Array

    def driven(self, drive: Moving) -> Moving:
        """(n, 1, 3): the end."""
        spoke = self.end - self.through
        radius = np.linalg.norm(np.cross(self.axis, spoke))
        return swung(self.end[None], self.through, self.axis, drive.times(1.0 / radius))


Steered = Rack | SteeringArm


def steered_end(table: Table, key: str) -> Steered:
    """The end that the steering moves."""
    end = point_of(table, key)
    if "arm_pivot" not in table:
        return Rack(end)
    through = point_of(table, "arm_pivot")
    along = point_of(table, "arm_axis") - through
    return SteeringArm(end, through, along / np.linalg.norm(along))


def root_from_zero(missed: Callable[[float], float], *, step: float, most: int = 400) -> float:
    """The root that is first reached from zero, going the way in which what is missed grows less."""
    start = missed(0.0)
    if abs(start) < 1e-13:
        return 0.0
    way = -step * np.sign(start * (missed(1e-4 * step) - start))
    here, left = 0.0, start
    for _ in range(most):
        there = here + way
        right = missed(there)
        if left * right <= 0.0:
            return float(brentq(missed, here, there, xtol=1e-14, rtol=1e-15))
        here, left = there, right
    raise CannotStand("the steering does not reach so far")
