"""Axles on two leaf springs.

* half  - of a spring, from an edge of its clamp to the eye there; it swings as a link of three quarters of its length,
          pivoted on the clamp a quarter of it out from the edge, level with the edge at ride height
* clamp - what the U-bolts hold; its middle rises with the axle, and it turns front up by an angle of its own

How far a clamp turns as it rises is what bends both halves least: a half of length a resists a turn of its link against
the clamp by 1/a, and the squares of both turns, so weighted, are least in all. The front link fixes where the clamp
stands fore and aft; the rear link ends at the shackle, or slides on a level pad where there is none. The axle turns by
the mean of its two clamps, and the middle between them keeps its place across the car.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from .assembly import Reach, Rows
from .bonds import UP, Rod, in_plane, rods
from .errors import CannotStand
from .moving import Array, Moving
from .stances import Travel
from .tape import Table, length_of, point_of

_AHEAD, _ACROSS = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
_BEYOND_MM = 20.0
_STEP_MM = 2.0
_SLIGHT_RAD = 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class Spring:
    """A spring in its own plane: [ahead, above] from the middle of the clamp."""

    front_joint: Array
    front_eye: Array
    rear_joint: Array
    rear_eye: Array
    hanger: Array | None
    weights: tuple[float, float]

    def turn_rad(self, rise_mm: Array) -> Array:
        """How far the clamp turns, front up, when its middle has risen so far (n,)."""
        # for a short travel, and without a shackle, it would be this
        turn = rise_mm * (self.weights[1] - self.weights[0])
        for _ in range(20):
            uphill = self._uphill(rise_mm, turn)
            steeper = self._uphill(rise_mm, turn + _SLIGHT_RAD) - self._uphill(rise_mm, turn - _SLIGHT_RAD)
            change = -uphill * 2.0 * _SLIGHT_RAD / steeper
            turn = turn + change
        if not np.abs(change).max() < 1e-12:
            raise CannotStand("a spring's half or its shackle is pulled straight")
        return turn

    def _uphill(self, rise: Array, turn: Array) -> Array:
        """The slope of the bending with the turn."""
        step = 1e-30
        front, rear = self._turns(rise, turn + 1j * step)
        return sum(
            weight * bent.real * bent.imag / step for weight, bent in zip(self.weights, (front, rear), strict=True)
        )

    def _turns(self, rise: Array, turn: Array) -> tuple[Array, Array]:
        """How far each link has turned against the clamp since ride height, front up."""
        ahead = self._ahead(rise, turn)
        x, z = _turned(self.front_joint, turn)
        front = _slope(self.front_eye[0] - x - ahead, self.front_eye[1] - z - rise)
        rear = self._rear_slope(rise, turn, ahead)
        still = np.zeros(1) + 0j
        return (
            front - _slope(*(self.front_eye - self.front_joint + 0j)) - turn,
            rear - self._rear_slope(still, still, still) - turn,
        )

    def _ahead(self, rise: Array, turn: Array) -> Array:
        """How far the clamp's middle has moved ahead, as the front link's length says."""
        x, z = _turned(self.front_joint, turn)
        size = np.linalg.norm(self.front_eye - self.front_joint)
        up = self.front_eye[1] - z - rise
        with np.errstate(invalid="ignore"):
            return self.front_eye[0] - x - np.sqrt(size**2 - up * up)

    def _rear_slope(self, rise: Array, turn: Array, ahead: Array) -> Array:
        """The rear link's slope, from its eye up to its joint on the clamp."""
        x, z = _turned(self.rear_joint, turn)
        x, z = x + ahead, z + rise
        size = float(np.linalg.norm(self.rear_eye - self.rear_joint))
        if self.hanger is None:
            up = z - self.rear_eye[1]
            with np.errstate(invalid="ignore"):
                return _slope(np.sqrt(size**2 - up * up), up)
        shackle = float(np.linalg.norm(self.rear_eye - self.hanger))
        dx, dz = self.hanger[0] - x, self.hanger[1] - z
        apart = np.sqrt(dx * dx + dz * dz)
        # the law of cosines, at the joint; the eye stays on its side of the line to the hanger
        cosine = (size**2 + apart * apart - shackle**2) / (2.0 * size * apart)
        with np.errstate(invalid="ignore"):
            sine = np.sqrt(1.0 - cosine * cosine) * self._side
        to_eye_x, to_eye_z = (dx * cosine - dz * sine) / apart, (dz * cosine + dx * sine) / apart
        return _slope(-to_eye_x, -to_eye_z)

    @property
    def _side(self) -> float:
        assert self.hanger is not None
        hanger, eye = self.hanger - self.rear_joint, self.rear_eye - self.rear_joint
        return 1.0 if hanger[0] * eye[1] - hanger[1] * eye[0] > 0 else -1.0


def _turned(at: Array, turn: Array) -> tuple[Array, Array]:
    cosine, sine = np.cos(turn), np.sin(turn)
    return at[0] * cosine - at[1] * sine, at[0] * sine + at[1] * cosine


def _slope(ahead: Array, up: Array) -> Array:
    """The angle of a line that goes ahead, front up; numpy's own arctan2 takes no complex step."""
    return np.arctan(up / ahead)


def clamp_turn(spring: Spring, travel: Travel) -> Callable[[Array], tuple[Array, Array]]:
    """The turn of the clamp and its rate, for rises (n,); by a cubic through a table of every 2 mm, which is exact to
    1e-12 rad for springs longer than 300 mm."""
    ends = [end for pair in (travel.bump, travel.other) for end in pair]
    rise = np.arange(min(ends) - _BEYOND_MM, max(ends) + _BEYOND_MM + _STEP_MM, _STEP_MM)
    curve = CubicSpline(rise, spring.turn_rad(rise))
    rate, still = curve.derivative(), float(spring.turn_rad(np.zeros(1))[0])
    return lambda at: (curve(at) - still, rate(at))


def spring_bonds(table: Table, travel: Travel) -> tuple[list[Rows], Rod]:
    """What two such springs hold of an axle, and this side's leaf, from its front eye to the clamp."""
    track = length_of(table, "track")
    across, middle, spring = _by_tape(table) if table["kind"] == "leaf-arc" else _by_points(table)

    def place(at: Array) -> Array:
        return np.array([middle[0] + at[0], across, middle[1] + at[1]])

    def other(at: Array) -> Array:
        return np.array([at[0], -track - at[1], at[2]])

    eye, joint, clamp = place(spring.front_eye), place(spring.front_joint), place(np.zeros(2))
    turn = clamp_turn(spring, travel)
    clamps = np.array([clamp, other(clamp)])

    def turned(reach: Reach) -> Moving:
        """The axle's own turn, front up, less the mean of its clamps'; at an arm of 300 mm."""
        ahead = reach.body.carry_direction(_AHEAD)
        x, z = ahead.along(_AHEAD), ahead.along(UP)
        rise = reach.body.carry(clamps).along(UP)
        wanted, rate = turn(rise.value - clamps[:, 2])
        angle = np.arctan2(z.value, x.value)
        size = (x.value**2 + z.value**2)[:, None]
        slope = (x.value[:, None] * z.rate - z.value[:, None] * x.rate) / size
        value = angle - wanted.mean(axis=1)
        return Moving(300.0 * value, 300.0 * (slope - 0.5 * np.sum(rate[..., None] * rise.rate, axis=1)))

    bonds = [
        rods(np.array([eye, other(eye)]), np.array([joint, other(joint)])),
        in_plane(clamps.mean(axis=0), _ACROSS[None]),
        turned,
    ]
    return bonds, Rod(eye, clamp)


def _by_points(table: Table) -> tuple[float, Array, Spring]:
    eye, edge, back_edge, back_eye, hanger = (
        point_of(table, key) for key in ("front_eye", "front_clamp", "rear_clamp", "rear_eye", "shackle_hanger")
    )
    middle = 0.5 * (edge + back_edge)[[0, 2]]
    front, rear, up = edge[[0, 2]] - middle, back_edge[[0, 2]] - middle, hanger[[0, 2]] - middle
    front_eye, rear_eye = eye[[0, 2]] - middle, back_eye[[0, 2]] - middle
    ahead, behind = _half_length(front, front_eye), _half_length(rear, rear_eye)
    spring = Spring(
        front_joint=front + np.array([0.25 * ahead, 0.0]),
        front_eye=front_eye,
        rear_joint=rear - np.array([0.25 * behind, 0.0]),
        rear_eye=rear_eye,
        hanger=up,
        weights=(1.0 / ahead, 1.0 / behind),
    )
    return float(edge[1]), middle, spring


def _half_length(edge: Array, eye: Array) -> float:
    """The length a of the half whose eye is seen here: (x - a/4)^2 + y^2 = (3a/4)^2, whose root is more than 0."""
    x, y = np.abs(eye - edge)
    return float(max(np.roots([0.5, 0.5 * x, -(x * x + y * y)]).real))


def _by_tape(table: Table) -> tuple[float, Array, Spring]:
    ahead = length_of(table, "half_length")
    behind = length_of(table, "rear_half_length", ahead)
    arch, edge = length_of(table, "arch"), 0.5 * length_of(table, "clamp_length")
    rise = arch * behind / ahead
    front = np.array([edge + 0.25 * ahead, 0.0])
    rear = np.array([-edge - 0.25 * behind, 0.0])
    spring = Spring(
        front_joint=front,
        front_eye=front + np.array([np.sqrt((0.75 * ahead) ** 2 - arch**2), arch]),
        rear_joint=rear,
        rear_eye=rear + np.array([-np.sqrt((0.75 * behind) ** 2 - rise**2), rise]),
        hanger=None,
        weights=(1.0 / ahead, 1.0 / behind),
    )
    return -length_of(table, "spring_inboard"), np.array([0.0, length_of(table, "spring_above")]), spring
