"""Suspensions that turn about one line: trailing arm, semi-trailing arm, swing axle, twin beam, swing arm.

Everything is in closed form. A point r from the line's foot turns to r_k + r_p cos t + (k x r) sin t; the hub stands
at the asked height where a cos t + b sin t = c, and there is no such t once the arm stands straight up or down.

A tie rod to a knuckle on such an arm is closed too: in the arm's own axes its far end is at a known place, and the
rotation about the kingpin that keeps its length solves the same kind of equation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.errors import SuspensionError
from clearance.pose import Array, Pose, about
from clearance.suspension.carried import Carried
from clearance.suspension.linkage import Racked, State, Swung, at_ride_height
from clearance.suspension.position import Cycle
from clearance.suspension.steering import Kingpin, rotation_deg


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TieRod:
    """A rod from the steering to a knuckle that turns about a kingpin, which is itself carried."""

    kingpin: Kingpin
    inner: Racked | Swung
    outer_mm: Array
    """(3,): its end on the knuckle."""

    @property
    def length_mm(self) -> float:
        """As measured."""
        return float(np.linalg.norm(self.outer_mm - self.inner.point))

    def drive_mm(self, rotation: Array) -> Array:
        """How far the steering must move the inner end, at ride height, for rotations (n,) about the kingpin,
        degrees. Raises SuspensionError where the tie rod is too short for one of them."""
        outer = self.kingpin.turn(rotation).carry(self.outer_mm)
        drive = np.zeros(len(rotation))
        for _ in range(12):
            # two circles or a circle and a line: from nearby, Newton needs four rounds
            state = _driven(drive)
            d = outer - self.inner.at(state)
            slope = np.zeros((len(rotation), 1))
            self.inner.push(state, -d / self.length_mm, slope)
            left = (np.sum(d * d, axis=1) - self.length_mm**2) / (2.0 * self.length_mm)
            step = -left / np.where(np.abs(slope[:, 0]) > 1e-9, slope[:, 0], 1e-9)
            drive = drive + np.clip(step, -30.0, 30.0)
        if np.abs(left).max(initial=0.0) > 1e-9:
            worst = float(rotation[np.argmax(np.abs(left))])
            raise SuspensionError(
                f"the tie rod is too short to turn the knuckle by {worst:.1f} deg. Check tie_inner and"
                " tie_outer, or the lock"
                f" angle."
            )
        return drive

    def rotation_deg(self, axle: Pose, drive_mm: Array) -> Array:
        """The rotations (n,) about the carried kingpin that keep the rod's length.

        Raises SuspensionError where the rod cannot reach.
        """
        inner = axle.back(self.inner.at(_driven(drive_mm)))
        return rotation_keeping(self.kingpin, inner, self.outer_mm, self.inner.point)


def rotation_keeping(kingpin: Kingpin, ends_mm: Array, on_knuckle_mm: Array, first_mm: Array) -> Array:
    """The rotations (n,) of a knuckle, degrees, that keep the length of a rod whose other end is at `ends_mm` (n, 3).

    At ride height the rod runs from `first_mm` to `on_knuckle_mm`. Raises SuspensionError where it cannot reach.
    """
    ends, first = ends_mm - kingpin.through_mm, first_mm - kingpin.through_mm
    arm = on_knuckle_mm - kingpin.through_mm
    length = float(np.linalg.norm(first - arm))
    along, square = kingpin.axis * (kingpin.axis @ arm), np.cross(kingpin.axis, arm)
    a, b = ends @ (arm - along), ends @ square
    c = 0.5 * (np.sum(ends * ends, axis=1) + arm @ arm - length**2) - ends @ along
    size = np.hypot(a, b)
    if np.any(np.abs(c) >= size):
        raise SuspensionError(
            "the tie rod cannot reach the knuckle over the whole travel and steering: it is pulled straight with the"
            " steering arm. Check its two ends, or reduce travel or lock."
        )
    side = np.sign(first @ square)
    turned: Array = np.degrees(np.arctan2(b, a) - side * np.arccos(c / size))
    return (turned + 180.0) % 360.0 - 180.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CrossSteer:
    """A drag link to the other wheel's knuckle, and a track rod from there to this one; both knuckles on one axle."""

    kingpin: Kingpin
    drag: TieRod
    """To the other knuckle, with that one's kingpin."""
    here_mm: Array
    """(3,): the track rod's end on this knuckle."""
    there_mm: Array
    """(3,): its end on the other."""

    def drive_mm(self, rotation: Array) -> Array:
        """How far the steering must move for rotations (n,) of this knuckle at ride height."""
        ends = self.kingpin.turn(rotation).carry(self.here_mm)
        return self.drag.drive_mm(rotation_keeping(self.drag.kingpin, ends, self.there_mm, self.here_mm))

    def rotation_deg(self, axle: Pose, drive_mm: Array) -> Array:
        """The rotations (n,) of this knuckle."""
        ends = self.drag.kingpin.turn(self.drag.rotation_deg(axle, drive_mm)).carry(self.there_mm)
        return rotation_keeping(self.kingpin, ends, self.here_mm, self.there_mm)


def _driven(drive_mm: Array) -> State:
    state = at_ride_height(len(drive_mm), 0)
    state.drive = drive_mm
    return state


class TiedKnuckle(Carried):
    """A carried knuckle whose rotation a tie rod decides, where there is one."""

    __slots__ = ()

    tie_rod: TieRod | CrossSteer | None

    def steered(self, positions: Array) -> Pose:
        """The tie rod's rotation, or the kingpin's alone."""
        tie = self.tie_rod
        if tie is None:
            return Carried.steered(self, positions)
        wanted = rotation_deg(tie.kingpin, positions[:, 2], camber_deg=self.camber_deg, toe_deg=self.toe_deg)
        return tie.kingpin.turn(tie.rotation_deg(self.axle(positions), tie.drive_mm(wanted)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hinged(TiedKnuckle):
    """An arm that turns about one line and carries the hub."""

    kind: str
    cycle: Cycle
    first_mm: Array
    """(3,): a point of the hinge line."""
    second_mm: Array
    """(3,): another."""
    camber_deg: float = 0.0
    toe_deg: float = 0.0
    kingpin: Kingpin | None = None
    tie_rod: TieRod | CrossSteer | None = None
    notes: tuple[str, ...] = ()
    title: str = "this corner"

    def __post_init__(self) -> None:
        if float(np.linalg.norm(self.second_mm - self.first_mm)) < 1.0:
            raise SuspensionError("the two points of the hinge line are the same. Write two different points.")
        reach = float(np.linalg.norm(self._arm[0]))
        if reach < 20.0 or abs(float(self._arm[1][2])) < 1e-6 * reach:
            raise SuspensionError(
                f"the hub is {reach:.1f} mm from the hinge line and cannot rise about it. Check the pivots: the"
                " line must not"
                f" pass through the hub or stand upright beside it."
            )
        box = self.cycle.box
        self.turned_deg(box[0])
        corners = np.array(np.meshgrid(*box, indexing="ij")).reshape(3, -1).T
        self.steered(corners)

    @property
    def uncertainty_mm(self) -> float:
        """Closed form."""
        return 0.0

    @property
    def axis(self) -> Array:
        """(3,): the hinge line's direction."""
        line = self.second_mm - self.first_mm
        out: Array = line / np.linalg.norm(line)
        return out

    @property
    def _arm(self) -> tuple[Array, Array, Array]:
        """The hub from the line: square to it, square to both, and along it."""
        r = -self.first_mm
        along = self.axis * (self.axis @ r)
        return r - along, np.cross(self.axis, r), along

    def turned_deg(self, bump_mm: Array) -> Array:
        """How far the arm has turned about its line at these bumps (n,), degrees.

        Raises SuspensionError where no turn brings the hub there, with the travel at which it stops.
        """
        square, both, _ = self._arm
        a, b = float(square[2]), float(both[2])
        size = float(np.hypot(a, b))
        # a cos t + b sin t = a + bump, and the root that is zero at ride height
        c = (a + np.asarray(bump_mm, dtype=float)) / size
        if np.any(np.abs(c) > 1.0):
            worst = float(np.asarray(bump_mm).flat[np.argmax(np.abs(c))])
            stop = (np.sign(worst) * size) - a
            raise SuspensionError(
                f"{self.title} cannot reach {worst:.1f} mm: its arm stands straight {'up' if worst > 0 else 'down'} at"
                f" {stop:.1f} mm. Check its pivots, or reduce {'bump' if worst > 0 else 'droop'}."
            )
        side = np.sign(b)
        start = np.arctan2(b, a)
        turned = start - side * np.arccos(np.clip(c, -1.0, 1.0))
        out: Array = np.degrees((turned + np.pi) % (2.0 * np.pi) - np.pi)
        return out

    def axle(self, positions: Array) -> Pose:
        """Turned about the line."""
        return about(self.first_mm, self.axis, self.turned_deg(positions[:, 0]))
