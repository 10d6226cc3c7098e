"""Steering about an inclined axis: the kingpin, or the line through two ball joints.

* inclination - how far the top of the axis leans inboard, seen from ahead (kingpin inclination), degrees
* caster      - how far the top of the axis leans back, seen from the side, degrees
* steer       - the angle of the road wheel seen from above, positive to the left, as a turn plate reads it

The steer angle that a turn plate reads is not the rotation about the kingpin: an inclined axis also tips the wheel, so
the rotation that gives a steer angle is solved for, in closed form. Corner axes of a left corner, millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.errors import SuspensionError
from clearance.pose import Array, Pose, about, spin_axis
from clearance.sound import an_array

UNIT = 1e-6
"""How far the length of a unit vector may be from one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kingpin:
    """The axis that a knuckle turns about, at ride height. Raises SuspensionError where it does not stand up."""

    through_mm: Array
    """(3,): a point of the axis."""
    axis: Array
    """(3,): unit vector, upward."""

    def __post_init__(self) -> None:
        an_array(self.through_mm, (3,), "a point of the steering axis", SuspensionError, key="axis")
        an_array(self.axis, (3,), "the steering axis", SuspensionError, key="axis")
        if abs(float(np.linalg.norm(self.axis)) - 1.0) > UNIT or self.axis[2] <= 0.0:
            raise SuspensionError("the steering axis is no direction that stands up, of length one.", key="axis")

    @property
    def inclination_deg(self) -> float:
        """Kingpin inclination, positive with the top inboard (ISO 8855)."""
        return float(np.degrees(np.arctan2(-self.axis[1], self.axis[2])))

    @property
    def caster_deg(self) -> float:
        """Caster, positive with the top behind (ISO 8855)."""
        return float(np.degrees(np.arctan2(-self.axis[0], self.axis[2])))

    def turn(self, rotation_deg: Array) -> Pose:
        """What a rotation about the axis does to the knuckle."""
        return about(self.through_mm, self.axis, rotation_deg)


def kingpin_by_angles(through_mm: Array, inclination_deg: float, caster_deg: float) -> Kingpin:
    """The axis through a point with these angles, each as seen from ahead and from the side.

    Raises SuspensionError for angles at which it would not stand up.
    """
    for name, angle in (("inclination", inclination_deg), ("caster", caster_deg)):
        if abs(angle) > 45.0:
            raise SuspensionError(
                f"a steering axis with {name} {angle:g} deg does not stand up. Write an angle between -45 deg"
                " and 45 deg; both are measured from upright.",
                key=f"axis.{name}",
            )
    up = np.array([-np.tan(np.radians(caster_deg)), -np.tan(np.radians(inclination_deg)), 1.0])
    return Kingpin(through_mm=np.array(through_mm, dtype=float), axis=up / np.linalg.norm(up))


def kingpin_through(lower_mm: Array, upper_mm: Array) -> Kingpin:
    """The axis through a lower and an upper ball joint.

    Raises SuspensionError where the upper one is not above the lower one.
    """
    up = np.asarray(upper_mm, dtype=float) - np.asarray(lower_mm, dtype=float)
    length = float(np.linalg.norm(up))
    if up[2] <= 0.5 * length:
        raise SuspensionError(
            f"the steering axis does not stand up: its upper end is {up[2]:.0f} mm above its lower end,"
            f" {length:.0f} mm away. Check both points; the third number of each is its height."
        )
    return Kingpin(through_mm=np.array(lower_mm, dtype=float), axis=up / np.linalg.norm(up))


def rotation_deg(kingpin: Kingpin, steer_deg: Array, *, camber_deg: float = 0.0, toe_deg: float = 0.0) -> Array:
    """The rotations about the kingpin that turn the road wheel by `steer_deg`, seen from above.

    `camber_deg` and `toe_deg` are those of the wheel straight ahead. Turning the spin axis s about k by t gives
    s_k + s_p cos t + (k x s) sin t, and its plan view points along toe T where it is square to n = (cos T, -sin T, 0):
    one equation a cos t + b sin t + c = 0, whose root near zero is the answer.

    Raises SuspensionError for an angle that no rotation about this axis gives.
    """
    steer = np.asarray(steer_deg, dtype=float)
    spin = spin_axis(camber_deg, toe_deg)
    along = kingpin.axis * (kingpin.axis @ spin)
    across = np.cross(kingpin.axis, spin)
    toe_rad = np.radians(toe_deg - steer)
    square = np.stack([np.cos(toe_rad), -np.sin(toe_rad), np.zeros_like(toe_rad)], axis=-1)
    a, b, c = square @ (spin - along), square @ across, square @ along
    size = np.hypot(a, b)
    if np.any(np.abs(c) >= size):
        worst = float(steer.flat[np.argmax(np.abs(c) - size)])
        raise SuspensionError(
            f"no turn about a steering axis with inclination {kingpin.inclination_deg:.1f} deg and caster"
            f" {kingpin.caster_deg:.1f} deg steers the wheel to {worst:g} deg. Check the axis and the lock angles."
        )
    # Of the two roots, the one with b cos t - a sin t on the side of the straight-ahead wheel is reached first; for an
    # axis that stands up, that side is positive or negative once for all angles.
    straight = np.array([np.cos(np.radians(toe_deg)), -np.sin(np.radians(toe_deg)), 0.0])
    side = np.sign(straight @ across)
    root = np.arctan2(b, a) + side * -np.arccos(np.clip(-c / size, -1.0, 1.0))
    turned: Array = np.degrees((root + np.pi) % (2.0 * np.pi) - np.pi)
    return turned
