"""Axes and signs, written down once, and where a carried thing has gone.

* corner axes - origin at the centre of the hub's wheel-mounting face at ride height; x ahead, y outboard, z up.
  For a left corner this is ISO 8855:2011. A right corner is its mirror image: everything inside the package is a
  left corner, and the mirror is crossed once on the way in and once on the way out (`mirrored`).
* hub axes - the same axes carried by the hub; y is the spin axis. A profile point is (y, r).
* camber positive with the top outboard; toe-in positive; steer positive to the left.

Lengths are millimetres, angles degrees.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from clearance.errors import InputError, SuspensionError

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pose:
    """Where a rigid thing has gone: one pose, or an array of them.

    A point fixed to the thing at `p` (shape (3,)) is found at ``turn @ p + origin_mm``. Raises InputError for arrays of
    another shape; poses are made by the thousand, so their numbers are not looked at one by one.
    """

    origin_mm: Array
    """(..., 3): where the thing's own origin has gone."""
    turn: Array
    """(..., 3, 3): its axes as columns."""

    def __post_init__(self) -> None:
        place, turn = getattr(self.origin_mm, "shape", ()), getattr(self.turn, "shape", ())
        if place[-1:] != (3,) or turn[-2:] != (3, 3):
            raise InputError(f"a pose is an origin (3,) and a turn (3, 3); found {place} and {turn}.")

    @property
    def axis(self) -> Array:
        """(..., 3): the carried y axis; of a hub, the spin axis."""
        axis: Array = self.turn[..., :, 1]
        return axis

    def carry(self, points_mm: Array) -> Array:
        """Points (..., 3) fixed to the thing, in the axes that it moves in; broadcasts against the poses."""
        carried: Array = np.einsum("...ij,...j->...i", self.turn, points_mm) + self.origin_mm
        return carried

    def back(self, points_mm: Array) -> Array:
        """Points (..., 3) of the axes that it moves in, as the thing sees them; broadcasts."""
        seen: Array = np.einsum("...ji,...j->...i", self.turn, points_mm - self.origin_mm)
        return seen

    def after(self, first: Pose) -> Pose:
        """This pose applied to what `first` has already moved."""
        return Pose(origin_mm=self.carry(first.origin_mm), turn=self.turn @ first.turn)

    def inverse(self) -> Pose:
        """The pose that undoes this one."""
        turn = np.swapaxes(self.turn, -1, -2)
        return Pose(origin_mm=-np.einsum("...ij,...j->...i", turn, self.origin_mm), turn=turn)


OPPOSITE = 1e-9
"""Nearer than this to the opposite axis (0.003 degrees) the least turn is rounding and nothing else."""


def still(count: int | None = None) -> Pose:
    """The pose of what does not move; `count` of them where given."""
    if count is None:
        return Pose(origin_mm=np.zeros(3), turn=np.eye(3))
    return Pose(origin_mm=np.zeros((count, 3)), turn=np.broadcast_to(np.eye(3), (count, 3, 3)).copy())


def rotation(axis: Array, angle_deg: Array | float) -> Array:
    """The rotation matrices (..., 3, 3) about a unit axis (3,) by angles (...); Rodrigues' formula."""
    angle_rad = np.radians(np.asarray(angle_deg, dtype=float))[..., None, None]
    x, y, z = np.asarray(axis, dtype=float)
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turn: Array = np.eye(3) + np.sin(angle_rad) * cross + (1.0 - np.cos(angle_rad)) * (cross @ cross)
    return turn


def about(through_mm: Array, axis: Array, angle_deg: Array | float) -> Pose:
    """A turn by `angle_deg` about the unit `axis` through a point."""
    turn = rotation(axis, angle_deg)
    through = np.asarray(through_mm, dtype=float)
    return Pose(origin_mm=through - turn @ through, turn=turn)


def spin_axis(camber_deg: Array | float, toe_deg: Array | float) -> Array:
    """The outboard unit spin axis (..., 3) of a left wheel with this camber and toe.

    ISO 8855 defines both angles about the vehicle's axes, not one after the other: camber = asin(-s_z) and
    toe = atan2(s_x, s_y), so the vector is built from the two directly. Raises SuspensionError where the wheel would
    lie on its side: from 90 degrees on, another camber has the same axis.
    """
    if not np.all(np.abs(camber_deg) < 90.0):
        worst = float(np.max(np.abs(camber_deg)))
        raise SuspensionError(f"a wheel with {worst:.0f} deg of camber lies on its side.", key="camber")
    camber_rad = np.radians(np.asarray(camber_deg, dtype=float))
    toe_rad = np.radians(np.asarray(toe_deg, dtype=float))
    flat = np.cos(camber_rad)
    return np.stack(np.broadcast_arrays(flat * np.sin(toe_rad), flat * np.cos(toe_rad), -np.sin(camber_rad)), axis=-1)


def camber_deg(axis: Array) -> Array:
    """Camber of spin axes (..., 3): positive with the top outboard."""
    return np.degrees(np.arcsin(np.clip(-axis[..., 2], -1.0, 1.0)))


def toe_deg(axis: Array) -> Array:
    """Toe of spin axes (..., 3): positive toe-in; of a left wheel, a turn to the right."""
    return np.degrees(np.arctan2(axis[..., 0], axis[..., 1]))


def turn_onto(axis: Array) -> Array:
    """The least turns (..., 3, 3) that carry the y axis onto unit axes (..., 3).

    Raises SuspensionError for the opposite axis, which half a turn any way round carries it onto.
    """
    axis = np.asarray(axis, dtype=float)
    x, y, z = axis[..., 0], axis[..., 1], axis[..., 2]
    if not np.all(y > -1.0 + OPPOSITE):
        raise SuspensionError("the spin axis points straight inboard: the wheel would have turned inside out.")
    k = 1.0 / (1.0 + y)
    rows = [
        np.stack([1.0 - k * x * x, x, -k * x * z], axis=-1),
        np.stack([-x, y, -z], axis=-1),
        np.stack([-k * x * z, z, 1.0 - k * z * z], axis=-1),
    ]
    return np.stack(rows, axis=-2)


def mirrored(points_mm: Array) -> Array:
    """Points (..., 3) of a right corner's car axes as corner axes, and back: y changes sign."""
    other: Array = points_mm * np.array([1.0, -1.0, 1.0])
    return other


def car_steer_deg(steer_deg: float, *, right_hand: bool) -> float:
    """A turn of the left corner inside the package as the car's own, or back: positive to the left.

    A right corner is its mirror image, in which a turn to the left is one to the right.

    >>> car_steer_deg(28.0, right_hand=False), car_steer_deg(28.0, right_hand=True)
    (28.0, -28.0)
    """
    return (-steer_deg if right_hand else steer_deg) + 0.0


def rightward(*, right_hand: bool) -> float:
    """1 where what lies ahead is to the right of somebody who stands beside the wheel, and what lies outboard to the
    right of somebody behind or above it, as on a right corner; -1 where to the left."""
    return 1.0 if right_hand else -1.0


def read_only(values: npt.ArrayLike) -> Array:
    """A float copy that refuses to be written to."""
    array = np.array(values, dtype=float)
    array.setflags(write=False)
    return array
