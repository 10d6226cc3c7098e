"""Rods, slides and hinges between rigid bodies: the rows that an assembled linkage keeps at zero, and their slopes.

* body  - the upright, the axle, a lever: six unknowns each, where its origin is and how it is turned
* point - a place that a row speaks of: fixed to the car, riding on a body, or moved by the steering
* row   - one number, in millimetres, that is zero when the linkage is assembled
* soft  - a row held by a bushing and not exactly: over-constrained axles squash rubber, and take the least energy

The chassis stands still, the wheels move. Corner axes, millimetres. The unknowns of a body are its origin (mm) and a
small turn dt applied from the left, turn <- exp(dt) turn, written as `ARM_MM` dt so that all slopes are of the order
of one. A rod is (d.d - L^2) / 2L and not |d| - L: it has the same slope at zero, is smooth everywhere and never
divides by a length that vanishes. A wishbone with two pivots and a ball joint is, to the upright, exactly two rods.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import numpy.typing as npt

from clearance.pose import Array

Truth = npt.NDArray[np.bool_]

ARM_MM = 300.0
"""The lever arm at which a turn counts as a length."""
SOLVED_MM = 1e-6
"""The largest residual of an answer: 1e-9 m."""
_STOP_MM = 1e-11
_MOST_TURN_RAD = 0.3
_MOST_ROUNDS = 14
_MOST_SOFT_ROUNDS = 80
"""Energy under exact rows is followed by Gauss-Newton, which needs more rounds the further bushings give."""
_SOFT_STOP_MM = 1e-10


@dataclass(slots=True, eq=False)
class State:
    """Where every body is, for n positions at once, and what is asked of it."""

    origin: Array
    """(n, bodies, 3)."""
    turn: Array
    """(n, bodies, 3, 3)."""
    asked: Array
    """(n, 3): bump_mm, other_bump_mm, steer_deg."""
    drive: Array
    """(n,): how far the steering has moved what it moves, mm."""

    def moved(self, step: Array) -> State:
        """The state after a step of the unknowns (n, 6 bodies)."""
        count, bodies = self.origin.shape[:2]
        parts = step.reshape(count, bodies, 6)
        turn = turn_by(parts[..., 3:] / ARM_MM) @ self.turn
        return State(origin=self.origin + parts[..., :3], turn=turn, asked=self.asked, drive=self.drive)

    def only(self, which: Array) -> State:
        """Some of the positions."""
        return State(origin=self.origin[which], turn=self.turn[which], asked=self.asked[which], drive=self.drive[which])


def at_ride_height(count: int, bodies: int) -> State:
    """`count` states with every body as it was measured."""
    return State(
        origin=np.zeros((count, bodies, 3)),
        turn=np.broadcast_to(np.eye(3), (count, bodies, 3, 3)).copy(),
        asked=np.zeros((count, 3)),
        drive=np.zeros(count),
    )


def turn_by(vector_rad: Array) -> Array:
    """The turns (..., 3, 3) by rotation vectors (..., 3)."""
    angle = np.linalg.norm(vector_rad, axis=-1)[..., None, None]
    cross = np.zeros((*vector_rad.shape, 3))
    x, y, z = vector_rad[..., 0], vector_rad[..., 1], vector_rad[..., 2]
    cross[..., 0, 1], cross[..., 0, 2], cross[..., 1, 2] = -z, y, -x
    cross[..., 1, 0], cross[..., 2, 0], cross[..., 2, 1] = z, -y, x
    # sinc keeps both factors smooth through zero
    first = np.sinc(angle / np.pi)
    second = 0.5 * np.sinc(angle / (2.0 * np.pi)) ** 2
    turn: Array = np.eye(3) + first * cross + second * (cross @ cross)
    return turn


def vector_of(turn: Array) -> Array:
    """The rotation vectors (..., 3), in radians, of turns of less than half a turn."""
    skew = np.stack(
        [
            turn[..., 2, 1] - turn[..., 1, 2],
            turn[..., 0, 2] - turn[..., 2, 0],
            turn[..., 1, 0] - turn[..., 0, 1],
        ],
        axis=-1,
    )
    sine = 0.5 * np.linalg.norm(skew, axis=-1)
    cosine = 0.5 * (np.trace(turn, axis1=-2, axis2=-1) - 1.0)
    angle = np.arctan2(sine, cosine)
    factor = np.where(sine > 1e-12, 0.5 * angle / np.where(sine > 1e-12, sine, 1.0), 0.5)
    vector: Array = skew * factor[..., None]
    return vector


class Point(Protocol):
    """A place that a row speaks of."""

    def at(self, state: State) -> Array:
        """(n, 3): where it is."""

    def push(self, state: State, gradient: Array, out: Array) -> None:
        """Add to the slopes `out` (n, unknowns + 1) of a row whose gradient with respect to this place is (n, 3)."""


@dataclass(frozen=True, slots=True, eq=False)
class Fixed:
    """A point of the car."""

    point: Array

    def at(self, state: State) -> Array:
        """It stays."""
        return np.broadcast_to(self.point, (len(state.drive), 3))

    def push(self, state: State, gradient: Array, out: Array) -> None:
        """Nothing moves it."""


@dataclass(frozen=True, slots=True, eq=False)
class Riding:
    """A point of a body, where it is at ride height."""

    point: Array
    body: int = 0

    def at(self, state: State) -> Array:
        """Carried by the body."""
        carried: Array = state.origin[:, self.body] + state.turn[:, self.body] @ self.point
        return carried

    def push(self, state: State, gradient: Array, out: Array) -> None:
        """The body's origin moves it, and so does its turn."""
        first = 6 * self.body
        arm = state.turn[:, self.body] @ self.point
        out[:, first : first + 3] += gradient
        out[:, first + 3 : first + 6] += cross(arm, gradient) / ARM_MM


@dataclass(frozen=True, slots=True, eq=False)
class Racked:
    """A point of a steering rack, which slides straight along `direction`."""

    point: Array
    direction: Array = field(default_factory=lambda: np.array([0.0, 1.0, 0.0]))

    def at(self, state: State) -> Array:
        """Slid by the drive."""
        return self.point + state.drive[:, None] * self.direction

    def push(self, state: State, gradient: Array, out: Array) -> None:
        """The drive moves it."""
        out[:, -1] += gradient @ self.direction


@dataclass(frozen=True, slots=True, eq=False)
class Swung:
    """A point of a steering arm, which turns about an axis; the drive is the length of its arc."""

    point: Array
    pivot: Array
    axis: Array

    @property
    def _spoke(self) -> Array:
        spoke = self.point - self.pivot
        out: Array = spoke - self.axis * (self.axis @ spoke)
        return out

    @property
    def radius_mm(self) -> float:
        """From the axis to the point."""
        return float(np.linalg.norm(self._spoke))

    def at(self, state: State) -> Array:
        """Turned by the drive."""
        angle = state.drive[:, None] / self.radius_mm
        spoke = self._spoke
        moved: Array = self.point - spoke + np.cos(angle) * spoke + np.sin(angle) * np.cross(self.axis, spoke)
        return moved

    def push(self, state: State, gradient: Array, out: Array) -> None:
        """The drive moves it along its arc."""
        angle = state.drive[:, None] / self.radius_mm
        spoke = self._spoke
        along = (np.cos(angle) * np.cross(self.axis, spoke) - np.sin(angle) * spoke) / self.radius_mm
        out[:, -1] += np.sum(gradient * along, axis=1)


class Row(Protocol):
    """One or more numbers that are zero when the linkage is assembled."""

    @property
    def name(self) -> str:
        """What a person calls it: "upper arm, front leg"."""

    @property
    def letters(self) -> tuple[str, ...]:
        """The hardpoints that it stands on."""

    @property
    def count(self) -> int:
        """How many numbers."""

    @property
    def stiffness(self) -> float | None:
        """None where it is exact; else how stiff its bushing is beside the others."""

    def value(self, state: State) -> Array:
        """(n, count), mm."""

    def slope(self, state: State, out: Array) -> None:
        """Add the slopes to `out` (n, count, unknowns + 1)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rod:
    """Two points keep their distance."""

    name: str
    letters: tuple[str, ...]
    a: Point
    b: Point
    length_mm: float
    stiffness: float | None = None
    count: int = 1

    def value(self, state: State) -> Array:
        """(d.d - L^2) / 2L."""
        d = self.b.at(state) - self.a.at(state)
        left: Array = (np.sum(d * d, axis=1, keepdims=True) - self.length_mm**2) / (2.0 * self.length_mm)
        return left

    def slope(self, state: State, out: Array) -> None:
        """Along the rod."""
        d = (self.b.at(state) - self.a.at(state)) / self.length_mm
        self.b.push(state, d, out[:, 0])
        self.a.push(state, -d, out[:, 0])


def rod(name: str, letters: tuple[str, str], a: Point, b: Point, *, stiffness: float | None = None) -> Rod:
    """The rod between two points, as long as it is at ride height."""
    still = at_ride_height(1, 2)
    length = float(np.linalg.norm(b.at(still)[0] - a.at(still)[0]))
    return Rod(name=name, letters=letters, a=a, b=b, length_mm=length, stiffness=stiffness)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slide:
    """A point stays on a line of a body, such as a strut's top on the strut's axis."""

    name: str
    letters: tuple[str, ...]
    point: Point
    line: Riding
    direction: Array
    """(3,): unit, at ride height."""
    stiffness: float | None = None
    count: int = 2

    def _squares(self, state: State) -> tuple[Array, Array]:
        first = square_to(self.direction)
        second = np.cross(self.direction, first)
        turn = state.turn[:, self.line.body]
        return turn @ first, turn @ second

    def value(self, state: State) -> Array:
        """Off the line, in the two directions square to it."""
        d = self.point.at(state) - self.line.at(state)
        return np.stack([np.sum(n * d, axis=1) for n in self._squares(state)], axis=1)

    def slope(self, state: State, out: Array) -> None:
        """The point moves, the line moves, and the line turns."""
        d = self.point.at(state) - self.line.at(state)
        first = 6 * self.line.body
        for row, n in enumerate(self._squares(state)):
            self.point.push(state, n, out[:, row])
            self.line.push(state, -n, out[:, row])
            out[:, row, first + 3 : first + 6] += cross(n, d) / ARM_MM


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plane:
    """A point stays on a plane of the car: a slip joint, a bush that is free two ways."""

    name: str
    letters: tuple[str, ...]
    point: Point
    normal: Array
    height_mm: float
    """normal . point at ride height."""
    stiffness: float | None = None
    count: int = 1

    def value(self, state: State) -> Array:
        """Off the plane."""
        return (self.point.at(state) @ self.normal)[:, None] - self.height_mm

    def slope(self, state: State, out: Array) -> None:
        """Along the normal."""
        self.point.push(state, np.broadcast_to(self.normal, (len(out), 3)), out[:, 0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ball:
    """Two points stay together."""

    name: str
    letters: tuple[str, ...]
    a: Point
    b: Point
    stiffness: float | None = None
    count: int = 3

    def value(self, state: State) -> Array:
        """From a to b."""
        return self.b.at(state) - self.a.at(state)

    def slope(self, state: State, out: Array) -> None:
        """Each direction by itself."""
        for row in range(3):
            along = np.zeros((len(out), 3))
            along[:, row] = 1.0
            self.b.push(state, along, out[:, row])
            self.a.push(state, -along, out[:, row])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Square:
    """A direction of a body stays square to a direction of another, or of the car: with a ball, half of a hinge."""

    name: str
    letters: tuple[str, ...]
    body: int
    direction: Array
    other: int | None
    other_direction: Array
    stiffness: float | None = None
    count: int = 1

    def _directions(self, state: State) -> tuple[Array, Array]:
        mine = state.turn[:, self.body] @ self.direction
        if self.other is None:
            return mine, np.broadcast_to(self.other_direction, mine.shape)
        return mine, state.turn[:, self.other] @ self.other_direction

    def value(self, state: State) -> Array:
        """The cosine between them, at the arm."""
        mine, theirs = self._directions(state)
        left: Array = ARM_MM * np.sum(mine * theirs, axis=1, keepdims=True)
        return left

    def slope(self, state: State, out: Array) -> None:
        """Either one turns."""
        mine, theirs = self._directions(state)
        turned = cross(mine, theirs)
        out[:, 0, 6 * self.body + 3 : 6 * self.body + 6] += turned
        if self.other is not None:
            out[:, 0, 6 * self.other + 3 : 6 * self.other + 6] -= turned


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Height:
    """A hub stands as high as asked."""

    name: str
    letters: tuple[str, ...]
    point: Riding
    column: int
    """0 for this wheel's bump, 1 for the other's."""
    stiffness: float | None = None
    count: int = 1

    def value(self, state: State) -> Array:
        """Too high."""
        left: Array = (self.point.at(state)[:, 2] - self.point.point[2] - state.asked[:, self.column])[:, None]
        return left

    def slope(self, state: State, out: Array) -> None:
        """Upward."""
        up = np.zeros((len(out), 3))
        up[:, 2] = 1.0
        self.point.push(state, up, out[:, 0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoadAngle:
    """The wheel points where it is asked to, seen from above."""

    name: str
    letters: tuple[str, ...]
    spin: Array
    """(3,): the spin axis at ride height."""
    toe_deg: float
    stiffness: float | None = None
    count: int = 1

    def _square(self, state: State) -> Array:
        toe = np.radians(self.toe_deg - state.asked[:, 2])
        return np.stack([np.cos(toe), -np.sin(toe), np.zeros_like(toe)], axis=1)

    def value(self, state: State) -> Array:
        """How far the spin axis points aside, at the arm."""
        left: Array = ARM_MM * np.sum(self._square(state) * (state.turn[:, 0] @ self.spin), axis=1, keepdims=True)
        return left

    def slope(self, state: State, out: Array) -> None:
        """The body turns."""
        out[:, 0, 3:6] += cross(state.turn[:, 0] @ self.spin, self._square(state))


def cross(a: Array, b: Array) -> Array:
    """The cross product of rows (n, 3); numpy's own is many times slower on short rows."""
    out = np.empty(np.broadcast_shapes(a.shape, b.shape))
    out[..., 0] = a[..., 1] * b[..., 2] - a[..., 2] * b[..., 1]
    out[..., 1] = a[..., 2] * b[..., 0] - a[..., 0] * b[..., 2]
    out[..., 2] = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return out


def square_to(direction: Array) -> Array:
    """A unit vector square to a unit vector."""
    least = np.eye(3)[np.argmin(np.abs(direction))]
    out = np.cross(direction, least)
    result: Array = out / np.linalg.norm(out)
    return result


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Linkage:
    """Bodies, and the rows that hold them. Exact rows and soft ones."""

    bodies: int
    rows: tuple[Row, ...]

    @property
    def unknowns(self) -> int:
        """Six for each body."""
        return 6 * self.bodies

    @property
    def exact(self) -> tuple[Row, ...]:
        """The rows that are kept exactly."""
        return tuple(row for row in self.rows if row.stiffness is None)

    @property
    def soft(self) -> tuple[Row, ...]:
        """The rows that bushings hold."""
        return tuple(row for row in self.rows if row.stiffness is not None)

    @property
    def weights(self) -> Array:
        """The stiffness of every number of the soft rows."""
        return np.array([row.stiffness for row in self.soft for _ in range(row.count)], dtype=float)

    def ride_height(self, count: int = 1) -> State:
        """As measured."""
        return at_ride_height(count, self.bodies)


def values_of(rows: tuple[Row, ...], state: State) -> Array:
    """(n, numbers): what is left of every row."""
    if not rows:
        return np.zeros((len(state.drive), 0))
    return np.concatenate([row.value(state) for row in rows], axis=1)


def slopes_of(rows: tuple[Row, ...], state: State) -> Array:
    """(n, numbers, unknowns + 1): how each number changes; the last column is the drive."""
    count, bodies = state.origin.shape[:2]
    out = np.zeros((count, sum(row.count for row in rows), 6 * bodies + 1))
    first = 0
    for row in rows:
        row.slope(state, out[:, first : first + row.count])
        first += row.count
    return out


def assembled(linkage: Linkage, state: State, *, with_drive: bool = False) -> tuple[State, Truth]:
    """Newton's method from `state`: the assembled states, and which of them are assembled (n,).

    Exact rows alone are solved as they stand; soft rows by the least energy that the exact ones allow. With
    `with_drive` the drive is one more unknown.
    """
    exact, soft = linkage.exact, linkage.soft
    stop = _SOFT_STOP_MM if soft else _STOP_MM
    for _ in range(_MOST_SOFT_ROUNDS if soft else _MOST_ROUNDS):
        left = values_of(exact, state)
        if soft:
            step, pull = _softly(linkage, state, left, with_drive=with_drive)
            quiet = max(float(np.abs(left).max(initial=0.0)), pull) <= stop
        else:
            quiet = float(np.abs(left).max(initial=0.0)) <= stop
            if not quiet:
                slopes = slopes_of(exact, state)
                step = _solve(slopes if with_drive else slopes[:, :, :-1], -left)
        if quiet:
            break
        step = _capped(step, linkage.bodies)
        if with_drive:
            state = state.moved(step[:, :-1])
            state.drive = state.drive + step[:, -1]
        else:
            state = state.moved(step)
        if float(np.abs(step).max(initial=0.0)) <= stop:
            break
    left = np.abs(values_of(exact, state)).max(axis=1, initial=0.0)
    good = np.isfinite(state.origin).all(axis=(1, 2)) & (left <= SOLVED_MM)
    if soft:
        step, _ = _softly(linkage, state, values_of(exact, state), with_drive=with_drive)
        good &= np.abs(step).max(axis=1) <= SOLVED_MM
    return state, good


def _softly(linkage: Linkage, state: State, left: Array, *, with_drive: bool) -> tuple[Array, float]:
    """A Gauss-Newton step of the bushings' energy under the exact rows, and its greatest size."""
    last = None if with_drive else -1
    hard = slopes_of(linkage.exact, state)[:, :, :last]
    give = slopes_of(linkage.soft, state)[:, :, :last]
    weighted = give * linkage.weights[:, None]
    unknowns, rows = give.shape[2], hard.shape[1]
    matrix = np.zeros((len(left), unknowns + rows, unknowns + rows))
    matrix[:, :unknowns, :unknowns] = np.swapaxes(weighted, 1, 2) @ give
    matrix[:, :unknowns, unknowns:] = np.swapaxes(hard, 1, 2)
    matrix[:, unknowns:, :unknowns] = hard
    pull = np.einsum("nri,nr->ni", weighted, values_of(linkage.soft, state))
    step = _solve(matrix, -np.concatenate([pull, left], axis=1))[:, :unknowns]
    return step, float(np.abs(step).max())


def _solve(matrix: Array, right: Array) -> Array:
    try:
        return np.asarray(np.linalg.solve(matrix, right[..., None])[..., 0], dtype=float)
    except np.linalg.LinAlgError:
        # one position of the batch is exactly at a fold: the others must not suffer for it
        nudged = matrix + 1e-9 * np.eye(matrix.shape[1])
        return np.asarray(np.linalg.solve(nudged, right[..., None])[..., 0], dtype=float)


def _capped(step: Array, bodies: int) -> Array:
    """No body turns by more than 0.3 rad at a time."""
    parts = step[:, : 6 * bodies].reshape(len(step), bodies, 6)
    turn = np.linalg.norm(parts[..., 3:], axis=2).max(axis=1) / ARM_MM
    factor = np.minimum(1.0, _MOST_TURN_RAD / np.maximum(turn, 1e-30))
    left: Array = np.nan_to_num(step * factor[:, None], nan=0.0, posinf=0.0, neginf=0.0)
    return left


def sense(linkage: Linkage, state: State) -> Array:
    """(n,): the sign of the determinant of the exact slopes; it flips where a linkage has folded through.

    Zero for linkages with bushings, whose slopes are not square.
    """
    slopes = slopes_of(linkage.exact, state)[:, :, :-1]
    if slopes.shape[1] != slopes.shape[2]:
        return np.zeros(len(slopes))
    sign: Array = np.linalg.slogdet(slopes)[0]
    return sign
