"""Poses enclosed: where a suspension's frames are, as polynomials with a proven remainder.

`Suspension.pose` gives a pose at a position. Here the same is given for all positions of a box at once: a polynomial,
and a bound on how far the true pose can be from it anywhere between. It is stated anew from what holds the wheel, and
not from how `pose` computes it: rods keep their lengths, a hinge keeps its line, bushings take the least energy.

Closed forms (a hinge, a kingpin, a tie rod) are evaluated in models. Where rods must be solved for, the polynomial
through solved positions is put into the rows of the linkage, and what is left of them bounds how far the solution is:
with A near the inverse of the slopes S, the map x - A F(x) takes the box x0 +- r into itself where

    |A F(x0)| + |I - A S(x0 +- r)| r <= r

and then there is one solution in it for every position (R. Krawczyk, Computing 4, 1969). Rows held by bushings are the
stationary place of their energy under the exact ones, with a multiplier for each of those.

A turn is nine numbers that keep six equations, so that all rows but one are quadratic.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.polynomial import chebyshev

from clearance.geom.model import (
    Grid,
    Model,
    Unproven,
    cosine_and_sine,
    inverse_guess,
    polynomial,
    product,
    reciprocal,
    reciprocal_root,
    root,
    series_of,
    stacked,
)
from clearance.pose import Array, spin_axis, turn_onto
from clearance.suspension.adjusted import Adjusted
from clearance.suspension.by_travel import AxleByTravel, WheelByTravel
from clearance.suspension.carried import Carried
from clearance.suspension.hinged import CrossSteer, Hinged, TiedKnuckle, TieRod
from clearance.suspension.leaf import ClampTurn
from clearance.suspension.linkage import (
    ARM_MM,
    Ball,
    Fixed,
    Height,
    Linkage,
    Plane,
    Point,
    Racked,
    Riding,
    RoadAngle,
    Rod,
    Row,
    Slide,
    Square,
    Swung,
    square_to,
)
from clearance.suspension.linked import Linked
from clearance.suspension.links import Arm, Link
from clearance.suspension.live_axle import LiveAxle
from clearance.suspension.position import AXLE, BODY, HUB, KNUCKLE, Suspension
from clearance.suspension.steering import Kingpin
from clearance.suspension.straight import Straight
from clearance.suspension.table import Table
from clearance.suspension.travel import Travel

_UNKNOWNS = 12
"""Of a body: its origin and the nine numbers of its turn, row by row."""
_INFLATIONS = 6
_SMALLEST = 1e-11


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModelPose:
    """Where a frame has gone, as models; as `pose.Pose`."""

    origin: Model
    """(3,)"""
    turn: Model
    """(3, 3)"""

    def carry(self, point: Model | Array) -> Model:
        """A point fixed to the frame, in the axes that it moves in."""
        return self.turn @ point + self.origin

    def back(self, point: Model | Array) -> Model:
        """A point of the axes that it moves in, as the frame sees it."""
        return self.turn.transposed @ (point - self.origin)

    def after(self, first: ModelPose) -> ModelPose:
        """This pose applied to what `first` has already moved."""
        return ModelPose(origin=self.carry(first.origin), turn=self.turn @ first.turn)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class At:
    """A box of positions: each of the three numbers as a model, one of the grid's own or a constant."""

    grid: Grid
    bump: Model
    other: Model
    steer: Model
    solved: dict[tuple[Travel, bool], list[ModelPose]] = field(default_factory=dict, repr=False)
    """Bodies of a linkage that were enclosed over this box before, with and without steering."""

    @property
    def straight(self) -> At:
        """The same without steering."""
        return replace(self, steer=self.grid.constant(0.0))

    def rows(self) -> Array:
        """(n, 3): positions at every point of the grid."""
        counts = tuple(2 * d + 1 for d in self.grid.degrees)
        return np.stack([np.broadcast_to(m.values, counts).ravel() for m in (self.bump, self.other, self.steer)], 1)

    def cut(self, needed: Sequence[Model]) -> At:
        """The same positions on a grid that is no larger than some models need."""
        counts = np.max([m.values.shape for m in needed], axis=0)
        degrees = tuple(d if count > 1 else 0 for d, count in zip(self.grid.degrees, counts, strict=True))
        grid = Grid(box=self.grid.box, degrees=degrees)
        return At(grid=grid, bump=_on(grid, self.bump), other=_on(grid, self.other), steer=_on(grid, self.steer))


def _on(grid: Grid, model: Model) -> Model:
    """A model that is constant along what the grid no longer holds."""
    window = tuple(slice(0, 1) if degree == 0 else slice(None) for degree in grid.degrees)
    return Model(grid=grid, values=model.values[window], rest=model.rest)


def enclosed(suspension: Suspension, at: At, frame: str) -> ModelPose:
    """Where `frame` is over a box of positions. Raises Unproven for a kind, a frame or a box that is not bounded."""
    if frame == BODY:
        return still(at.grid)
    if type(suspension) is Adjusted:
        return _adjusted(suspension, at, frame)
    # by the very class: what inherits from one of these may move otherwise
    if type(suspension) is Linked:
        return _on_rods(suspension, at, frame)
    if type(suspension) is LiveAxle and any(link.name == frame for link in suspension.links):
        return _link(suspension.links, frame, suspension.travel, at.straight)
    if type(suspension) is Table and suspension.steer_fit is not None and frame != AXLE:
        return _measured(suspension, at, frame)
    if isinstance(suspension, Carried) and type(suspension) in _CARRIED:
        return _carried(suspension, at, frame)
    raise Unproven(f"nothing bounds the motion of {suspension.kind}")


def _adjusted(suspension: Adjusted, at: At, frame: str) -> ModelPose:
    pose = enclosed(suspension.base, at, frame)
    if suspension.camber_deg and frame in (HUB, KNUCKLE):
        tilt = suspension.tilt(frame)
        pose = ModelPose(origin=pose.carry(tilt.origin_mm), turn=pose.turn @ tilt.turn)
    return replace(pose, origin=pose.origin + np.array(suspension.axle_mm))


_CARRIED: tuple[type, ...] = (Straight, Table, Hinged, LiveAxle, AxleByTravel, WheelByTravel)


def still(grid: Grid) -> ModelPose:
    """The pose of what does not move."""
    return ModelPose(origin=grid.constant(np.zeros(3)), turn=grid.constant(np.eye(3)))


# ---- a knuckle on something that carries it


def _carried(suspension: Carried, at: At, frame: str) -> ModelPose:
    axle = _axle(suspension, at)
    if frame == AXLE:
        return axle
    if frame not in (KNUCKLE, HUB):
        raise Unproven(f"nothing bounds the motion of {frame}")
    return _hub(suspension, axle.after(_steered(suspension, at, axle)), frame)


def _hub(suspension: Carried | Linked, knuckle: ModelPose, frame: str) -> ModelPose:
    if frame == KNUCKLE:
        return knuckle
    return replace(knuckle, turn=knuckle.turn @ turn_onto(spin_axis(suspension.camber_deg, suspension.toe_deg)))


def _axle(suspension: Carried, at: At) -> ModelPose:
    if isinstance(suspension, Straight):
        return _straight(suspension, at.bump)
    if isinstance(suspension, Table):
        return _placed(suspension, at, _change(suspension, at.bump), at.grid.constant(0.0))
    if isinstance(suspension, Hinged):
        return _swung(suspension, at.bump)
    if isinstance(suspension, WheelByTravel):
        return ModelPose(origin=stacked([0.0, 0.0, at.bump]), turn=at.grid.constant(np.eye(3)))
    if isinstance(suspension, AxleByTravel):
        return _tilted(suspension, at)
    assert isinstance(suspension, LiveAxle)
    return _bodies(suspension.travel, at.straight)[0]


def _straight(suspension: Straight, bump: Model) -> ModelPose:
    origin = stacked([suspension.along_mm_per_mm * bump, suspension.across_mm_per_mm * bump, bump])
    axis = _spin(
        bump * suspension.camber_deg_per_mm + suspension.camber_deg,
        bump * suspension.toe_deg_per_mm + suspension.toe_deg,
    )
    return ModelPose(origin=origin, turn=_turn_from(spin_axis(suspension.camber_deg, suspension.toe_deg), axis))


def _tilted(suspension: AxleByTravel, at: At) -> ModelPose:
    sine = (at.bump - at.other) * (1.0 / suspension.track_mm)
    cosine = root(1.0 - sine * sine)
    origin = stacked([0.0, (cosine - 1.0) * (0.5 * suspension.track_mm), at.bump])
    zero = 0.0 * cosine
    turn = stacked([stacked([zero + 1.0, zero, zero]), stacked([zero, cosine, -sine]), stacked([zero, sine, cosine])])
    return ModelPose(origin=origin, turn=turn)


def _spin(camber_deg: Model, toe_deg: Model) -> Model:
    flat, rise = cosine_and_sine(camber_deg * float(np.radians(1.0)))
    outward, ahead = cosine_and_sine(toe_deg * float(np.radians(1.0)))
    return stacked([flat * ahead, flat * outward, -rise])


def _turn_from(first: Array, then: Model) -> Model:
    return _turn_onto(then) @ turn_onto(first).T


def _turn_onto(axis: Model) -> Model:
    """As `pose.turn_onto`."""
    x, y, z = axis[0], axis[1], axis[2]
    k = reciprocal(y + 1.0)
    kx, kz = k * x, k * z
    rows = [[1.0 - kx * x, x, -(kx * z)], [-x, y, -z], [-(kx * z), z, 1.0 - kz * z]]
    return stacked([stacked(row) for row in rows])


def _change(table: Table, bump: Model) -> list[Model]:
    """Change of across, along, camber and toe from ride height."""
    powers = [bump]
    for _ in range(len(table.fit) - 1):
        powers.append(powers[-1] * bump)
    return [
        sum((p * float(c) for p, c in zip(powers, column, strict=True)), start=0.0 * bump) for column in table.fit.T
    ]


def _placed(table: Table, at: At, change: list[Model], steer: Model) -> ModelPose:
    across, along, camber, toe = change
    axis = _spin(camber + table.camber_deg, toe + table.toe_deg - steer)
    origin = stacked([along, across, at.bump])
    return ModelPose(origin=origin, turn=_turn_from(spin_axis(table.camber_deg, table.toe_deg), axis))


def _measured(suspension: Table, at: At, frame: str) -> ModelPose:
    """As its steer rows have it."""
    assert suspension.steer_fit is not None
    change = _change(suspension, at.bump)
    heights = [at.grid.constant(1.0), at.bump, at.bump * at.bump]
    for column in range(3):
        for power, steered in enumerate((at.steer, at.steer * at.steer)):
            for j, height in enumerate(heights):
                change[column] = change[column] + steered * height * float(suspension.steer_fit[power, j, column])
    return _hub(suspension, _placed(suspension, at, change, at.steer), frame)


def _swung(hinged: Hinged, bump: Model) -> ModelPose:
    square, both, _ = hinged._arm
    a, b = float(square[2]), float(both[2])
    grid = bump.grid
    turned = _turned(grid.constant(a), grid.constant(b), bump + a, float(np.sign(b)))
    return _about(hinged.first_mm, hinged.axis, turned)


Turned = tuple[Model, Model]
"""The cosine and the sine of an angle."""


def _turned(a: Model, b: Model, c: Model, side: float) -> Turned:
    """The root of a cos t + b sin t = c that is arctan2(b, a) less `side` times an arc cosine."""
    size = a * a + b * b
    leg = root(size - c * c) * side
    over = reciprocal(size)
    return (a * c + b * leg) * over, (b * c - a * leg) * over


def _about(through_mm: Array, axis: Array, turned: Turned) -> ModelPose:
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    cosine, sine = turned
    turn = _scaled(sine, cross) + _scaled(1.0 - cosine, cross @ cross) + np.eye(3)
    return ModelPose(origin=through_mm - turn @ through_mm, turn=turn)


def _scaled(model: Model, array: Array) -> Model:
    return product("...,...ij->...ij" if array.ndim == 2 else "...,...i->...i", model, array)


# ---- steering


def _steered(suspension: Carried, at: At, axle: ModelPose) -> ModelPose:
    if suspension.kingpin is None:
        return still(at.grid)
    tie = suspension.tie_rod if isinstance(suspension, TiedKnuckle) else None
    kingpin = suspension.kingpin if tie is None else tie.kingpin
    wanted = _kingpin_turn(kingpin, at.steer, suspension.camber_deg, suspension.toe_deg)
    if tie is None:
        return _about(kingpin.through_mm, kingpin.axis, wanted)
    turned = _tied(tie, axle, wanted) if isinstance(tie, TieRod) else _crossed(tie, axle, wanted)
    return _about(kingpin.through_mm, kingpin.axis, turned)


def _kingpin_turn(kingpin: Kingpin, steer_deg: Model, camber_deg: float, toe_deg: float) -> Turned:
    """As `steering.rotation_deg`: where the spin axis is square to (cos T, -sin T, 0) seen from above."""
    spin = spin_axis(camber_deg, toe_deg)
    along = kingpin.axis * (kingpin.axis @ spin)
    across = np.cross(kingpin.axis, spin)
    cosine, sine = cosine_and_sine((toe_deg - steer_deg) * float(np.radians(1.0)))
    square = stacked([cosine, -sine, 0.0])
    straight = np.array([np.cos(np.radians(toe_deg)), -np.sin(np.radians(toe_deg)), 0.0])
    side = float(np.sign(straight @ across))
    return _turned(_dot(square, spin - along), _dot(square, across), -_dot(square, along), side)


def _dot(one: Model, other: Model | Array) -> Model:
    return product("...i,...i->...", one, other)


def _tied(tie: TieRod, axle: ModelPose, wanted: Turned) -> Turned:
    """The knuckle's turn on the carried kingpin, the steering standing where it gives `wanted` at ride height."""
    inner = axle.back(_inner(tie, wanted))
    return _keeping(tie.kingpin, inner, tie.outer_mm, tie.inner.point)


def _crossed(tie: CrossSteer, axle: ModelPose, wanted: Turned) -> Turned:
    drag = tie.drag
    here = _about(tie.kingpin.through_mm, tie.kingpin.axis, wanted).carry(tie.here_mm)
    there = _tied(drag, axle, _keeping(drag.kingpin, here, tie.there_mm, tie.here_mm))
    ends = _about(drag.kingpin.through_mm, drag.kingpin.axis, there).carry(tie.there_mm)
    return _keeping(tie.kingpin, ends, tie.here_mm, tie.there_mm)


def _inner(tie: TieRod, turned: Turned) -> Model:
    """Where the steering has moved the rod's inner end when the knuckle has turned so far at ride height."""
    outer = _about(tie.kingpin.through_mm, tie.kingpin.axis, turned).carry(tie.outer_mm)
    if isinstance(tie.inner, Racked):
        point, way = tie.inner.point, tie.inner.direction
        away = outer - point
        along = _dot(away, way)
        side = float(np.sign((tie.outer_mm - point) @ way)) or 1.0
        drive = along - root(along * along - _dot(away, away) + tie.length_mm**2) * side
        return _scaled(drive, way) + point
    spoke = tie.inner._spoke
    middle, square = tie.inner.point - spoke, np.cross(tie.inner.axis, spoke)
    away = outer - middle
    c = (_dot(away, away) + float(spoke @ spoke) - tie.length_mm**2) * 0.5
    side = float(np.sign((tie.outer_mm - middle) @ square)) or 1.0
    cosine, sine = _turned(_dot(away, spoke), _dot(away, square), c, side)
    return _scaled(cosine, spoke) + _scaled(sine, square) + middle


def _keeping(kingpin: Kingpin, ends: Model, on_knuckle_mm: Array, first_mm: Array) -> Turned:
    """As `hinged.rotation_keeping`."""
    first, arm = first_mm - kingpin.through_mm, on_knuckle_mm - kingpin.through_mm
    length2 = float((first - arm) @ (first - arm))
    along, square = kingpin.axis * (kingpin.axis @ arm), np.cross(kingpin.axis, arm)
    ends = ends - kingpin.through_mm
    c = (_dot(ends, ends) + float(arm @ arm) - length2) * 0.5 - _dot(ends, along)
    return _turned(_dot(ends, arm - along), _dot(ends, square), c, float(np.sign(first @ square)))


# ---- bodies on rods


def _on_rods(suspension: Linked, at: At, frame: str) -> ModelPose:
    if frame == AXLE:
        return _bodies(suspension.travel, at.straight)[0]
    if frame in (KNUCKLE, HUB):
        return _hub(suspension, _bodies(suspension.travel, at)[0], frame)
    return _link(suspension.links, frame, suspension.travel, at)


def _link(links: tuple[Link, ...], frame: str, travel: Travel, at: At) -> ModelPose:
    link = next((one for one in links if one.name == frame), None)
    if link is None:
        raise Unproven(f"nothing bounds the motion of {frame}")
    bodies = _bodies(travel, at)
    ride = travel.linkage.ride_height()
    drive = _drive(travel, at)
    if isinstance(link, Arm):
        return _arm(link, link.joint.at(ride)[0], _place(link.joint, bodies, drive))
    start, end = link.inner.at(ride)[0], link.outer.at(ride)[0]
    now = _place(link.inner, bodies, drive)
    after = _place(link.outer, bodies, drive) - now
    before = (end - start) / np.linalg.norm(end - start)
    turn = _least_turn(before, _scaled_by(after, reciprocal_root(_dot(after, after))))
    return ModelPose(origin=now - turn @ start, turn=turn)


def _scaled_by(vector: Model, factor: Model) -> Model:
    return product("...i,...->...i", vector, factor)


def _arm(arm: Arm, joint_mm: Array, joint: Model) -> ModelPose:
    axis = (arm.second_mm - arm.first_mm) / np.linalg.norm(arm.second_mm - arm.first_mm)
    before = joint_mm - arm.first_mm
    before = before - axis * (axis @ before)
    after = joint - arm.first_mm
    sine, cosine = _dot(after, np.cross(axis, before)), _dot(after, before)
    over = reciprocal_root(sine * sine + cosine * cosine)
    return _about(arm.first_mm, axis, (cosine * over, sine * over))


def _least_turn(first: Array, then: Model) -> Model:
    """As `links.least_turn`."""
    x, y, z = (then[i] for i in range(3))
    a, b, c = first
    axis = (b * z - c * y, c * x - a * z, a * y - b * x)
    cross = stacked(
        [stacked([0.0, -axis[2], axis[1]]), stacked([axis[2], 0.0, -axis[0]]), stacked([-axis[1], axis[0], 0.0])]
    )
    factor = reciprocal(_dot(then, first) + 1.0)
    return cross + product("...,...ij->...ij", factor, cross @ cross) + np.eye(3)


def _place(point: Point, bodies: list[ModelPose], drive: Model) -> Model:
    """Where a point of a linkage is."""
    if isinstance(point, Riding):
        return bodies[point.body].carry(point.point)
    if isinstance(point, Racked):
        return _scaled(drive, point.direction) + point.point
    if isinstance(point, Swung):
        cosine, sine = cosine_and_sine(drive * (1.0 / point.radius_mm))
        spoke = point._spoke
        return _scaled(cosine, spoke) + _scaled(sine, np.cross(point.axis, spoke)) + (point.point - spoke)
    assert isinstance(point, Fixed)
    return drive.grid.constant(point.point)


def _drive(travel: Travel, at: At) -> Model:
    """How far the steering has moved its point; inside the cycle that is what `Travel.drives` says it is."""
    if not travel.steers or not np.any(at.steer.values):
        return at.grid.constant(0.0)
    return _series(at, at.steer, travel.drives, travel.cycle.steer_deg)


def _asked(travel: Travel, at: At) -> tuple[Model, Model]:
    """What the rows are asked for in heights: this wheel's, the other's."""
    if travel.straight is None:
        return at.bump, at.other
    return _series(at, at.bump, travel.lifts, travel.cycle.bump_mm), at.other


def _series(at: At, number: Model, coefficients: Array, span: tuple[float, float]) -> Model:
    """A Chebyshev series of one of the position's numbers."""
    varies = [i for i, count in enumerate(number.values.shape) if count > 1]
    if varies:
        return polynomial(at.grid, varies[0], coefficients, span)
    scaled = (2.0 * float(number.values.flat[0]) - span[0] - span[1]) / max(span[1] - span[0], 1e-12)
    return at.grid.constant(float(chebyshev.chebval(scaled, coefficients)))


def _bodies(travel: Travel, at: At) -> list[ModelPose]:
    """Every body of a linkage over a box of positions."""
    steered = bool(np.any(at.steer.values))
    known = at.solved.get((travel, steered))
    if known is None:
        known = at.solved[travel, steered] = _solved(travel, at)
    return known


def _solved(travel: Travel, at: At) -> list[ModelPose]:
    small = at.cut((at.bump, at.other, at.steer))
    system = _System(travel.linkage, _asked(travel, small), small.steer, _drive(travel, small))
    state = travel.states(small.rows())
    count, bodies = state.origin.shape[:2]
    known = np.concatenate([state.origin, state.turn.reshape(count, bodies, 9)], axis=2).reshape(count, -1)
    x = system.solved(small.grid.sampled(known))
    x = Model(grid=at.grid, values=x.values, rest=x.rest)
    return [_body(x, body) for body in range(bodies)]


def _body(x: Model, body: int) -> ModelPose:
    first = _UNKNOWNS * body
    rows = [x[first + 3 + 3 * i : first + 6 + 3 * i] for i in range(3)]
    return ModelPose(origin=x[first : first + 3], turn=stacked(rows))


class _Rows:
    """Numbers that are quadratic in the unknowns x: x.H x / 2 + g.x + c, H the same at every position."""

    def __init__(self, grid: Grid, unknowns: int) -> None:
        self.grid, self.unknowns = grid, unknowns
        self._bends: list[Array] = []
        self._slopes: list[Model] = []
        self._constants: list[Model] = []

    def add(self, bend: Array | None, slope: Model | Array, constant: Model | float) -> None:
        """One more number."""
        self._bends.append(np.zeros((self.unknowns, self.unknowns)) if bend is None else (bend + bend.T) / 2)
        self._slopes.append(slope if isinstance(slope, Model) else self.grid.constant(slope))
        self._constants.append(constant if isinstance(constant, Model) else self.grid.constant(constant))

    def __len__(self) -> int:
        return len(self._bends)

    @property
    def bends(self) -> Array:
        """(m, n, n)"""
        return np.array(self._bends).reshape(len(self), self.unknowns, self.unknowns)

    def at(self, x: Model) -> tuple[Model, Model]:
        """Values (m,) and slopes (m, n)."""
        bent = product("...mij,...j->...mi", self.bends, x)
        fixed = stacked(self._slopes)
        half = product("...mi,...i->...m", bent * 0.5 + fixed, x)
        return half + stacked(self._constants), bent + fixed


class _System:
    """The equations that a linkage keeps, over a box of positions."""

    def __init__(self, linkage: Linkage, asked: tuple[Model, Model], steer: Model, drive: Model) -> None:
        self.grid = drive.grid
        self.bodies = linkage.bodies
        self.unknowns = _UNKNOWNS * linkage.bodies
        self.asked, self.steer, self.drive = asked, steer, drive
        self.exact = _Rows(self.grid, self.unknowns)
        self.soft = _Rows(self.grid, self.unknowns)
        self.clamps: list[ClampTurn] = []
        for row in linkage.exact:
            if isinstance(row, ClampTurn):
                self.clamps.append(row)
            else:
                self._add(self.exact, row)
        for row in linkage.soft:
            self._add(self.soft, row)
        self.weights = linkage.weights
        self._keep_square()
        if self.clamps and len(self.soft):
            raise Unproven("a leaf's clamp among bushings")

    # ---- rows as quadratics

    def _map(self, point: Point) -> tuple[Array, Model]:
        """A point as A x + b: (3, n), (3,)."""
        if isinstance(point, Riding):
            first = _UNKNOWNS * point.body
            matrix = np.zeros((3, self.unknowns))
            for i in range(3):
                matrix[i, first + i] = 1.0
                matrix[i, first + 3 + 3 * i : first + 6 + 3 * i] = point.point
            return matrix, self.grid.constant(np.zeros(3))
        return np.zeros((3, self.unknowns)), _place(point, [], self.drive)

    def _turning(self, body: int, direction: Array) -> Array:
        """A direction of a body as M x: (3, n)."""
        return self._map(Riding(direction, body))[0] - self._map(Riding(np.zeros(3), body))[0]

    def _add(self, rows: _Rows, row: Row) -> None:
        nothing = np.zeros(self.unknowns)
        if isinstance(row, Rod):
            matrix, offset = self._between(row.a, row.b)
            slope = _dot_rows(matrix, offset) * (1.0 / row.length_mm)
            rest = (_dot(offset, offset) - row.length_mm**2) * (0.5 / row.length_mm)
            rows.add(matrix.T @ matrix / row.length_mm, slope, rest)
        elif isinstance(row, Ball):
            matrix, offset = self._between(row.a, row.b)
            for i in range(3):
                rows.add(None, matrix[i], offset[i])
        elif isinstance(row, Plane):
            matrix, offset = self._map(row.point)
            rows.add(None, row.normal @ matrix, _dot(offset, row.normal) - row.height_mm)
        elif isinstance(row, Height):
            matrix, offset = self._map(row.point)
            rows.add(None, matrix[2], offset[2] - float(row.point.point[2]) - self.asked[row.column])
        elif isinstance(row, Square):
            mine = self._turning(row.body, row.direction)
            if row.other is None:
                rows.add(None, ARM_MM * (row.other_direction @ mine), 0.0)
            else:
                rows.add(2.0 * ARM_MM * mine.T @ self._turning(row.other, row.other_direction), nothing, 0.0)
        elif isinstance(row, Slide):
            matrix, offset = self._between(row.line, row.point)
            first = square_to(row.direction)
            for normal in (first, np.cross(row.direction, first)):
                turned = self._turning(row.line.body, normal)
                rows.add(2.0 * turned.T @ matrix, _dot_rows(turned, offset), 0.0)
        elif isinstance(row, RoadAngle):
            cosine, sine = cosine_and_sine((row.toe_deg - self.steer) * float(np.radians(1.0)))
            turned = self._turning(0, row.spin)
            rows.add(None, _dot_rows(turned, stacked([cosine, -sine, 0.0])) * ARM_MM, 0.0)
        else:
            raise Unproven(f"nothing bounds {row.name}")

    def _between(self, a: Point, b: Point) -> tuple[Array, Model]:
        (one, start), (two, end) = self._map(a), self._map(b)
        return two - one, end - start

    def _keep_square(self) -> None:
        """Every turn keeps its lengths and its right angles, at the arm."""
        for body in range(self.bodies):
            columns = [self._turning(body, np.eye(3)[i]) for i in range(3)]
            for i in range(3):
                for j in range(i, 3):
                    bend = 2.0 * ARM_MM * columns[i].T @ columns[j]
                    self.exact.add(bend, np.zeros(self.unknowns), -ARM_MM * float(i == j))

    # ---- solved

    def solved(self, x: Model) -> Model:
        """The unknowns (n,), enclosed about polynomials that nearly keep the rows."""
        if len(self.soft):
            start = stacked([*(x[i] for i in range(self.unknowns)), *self._multipliers(x)])
            solved = _contracted(self._stationary, start)
            return solved[: self.unknowns]
        return _contracted(self._kept, x)

    def _kept(self, x: Model) -> tuple[Model, Model]:
        values, slopes = self.exact.at(x)
        if not self.clamps:
            return values, slopes
        extra = [self._clamped(row, x) for row in self.clamps]
        return _joined(values, [v for v, _ in extra]), _joined(slopes, [s for _, s in extra])

    def _clamped(self, row: ClampTurn, x: Model) -> tuple[Model, Model]:
        """The axle turns by half of what its two clamps would: sin(turn - w) = 0 times the arm."""
        low, high = row.span
        wanted, by = self.grid.constant(0.0), self.grid.constant(np.zeros(self.unknowns))
        derivative = np.asarray(chebyshev.chebder(row.curve) * 2.0 / (high - low), dtype=float)
        for clamp in row.clamps:
            up = self._map(clamp)[0][2]
            rise = _dot(x, up) - float(clamp.point[2])
            scaled = (rise * 2.0 - (low + high)) * (1.0 / (high - low))
            if scaled.most() > 1.0:
                raise Unproven("a clamp beyond the travel that its curve was laid out for")
            wanted = wanted + series_of(row.curve, scaled) * 0.5
            by = by + _scaled(series_of(derivative, scaled) * 0.5, up)
        cosine, sine = cosine_and_sine(wanted)
        ahead, rise_by = self._turning(0, np.eye(3)[0])[0], self._turning(0, np.eye(3)[0])[2]
        level, high_by = _dot(x, ahead), _dot(x, rise_by)
        value = (high_by * cosine - level * sine) * ARM_MM
        slope = _scaled(cosine, rise_by) - _scaled(sine, ahead) - _scaled_by(by, high_by * sine + level * cosine)
        return value, slope * ARM_MM

    def _multipliers(self, x: Model) -> list[Model]:
        """Nearly what each exact row pulls with, so that the bushings' energy is stationary."""
        values, slopes = self.soft.at(x)
        pull = product("...m,...mi->...i", values * 1.0, _weighted(slopes, self.weights))
        _, held = self.exact.at(x)
        numbers = len(self.grid.box)
        counts = np.broadcast_shapes(pull.values.shape[:numbers], held.values.shape[:numbers])
        right = np.broadcast_to(pull.values, counts + pull.shape)[..., None]
        left = np.swapaxes(np.broadcast_to(held.values, counts + held.shape), -1, -2)
        found = -(np.linalg.pinv(left) @ right)[..., 0]
        kept = Model(grid=self.grid, values=found, rest=np.zeros(found.shape[numbers:])).trimmed()
        return [Model(grid=self.grid, values=kept.values[..., i], rest=np.zeros(())) for i in range(len(self.exact))]

    def _stationary(self, z: Model) -> tuple[Model, Model]:
        """What is left of the balance of bushings and of the exact rows (n + m,), and its slopes."""
        x, pulls = z[: self.unknowns], z[self.unknowns :]
        give, give_by = self.soft.at(x)
        held, held_by = self.exact.at(x)
        weighted = _weighted(give_by, self.weights)
        balance = product("...m,...mi->...i", give, weighted) + product("...m,...mi->...i", pulls, held_by)
        bend = product("...mi,...mj->...ij", weighted, give_by)
        bend = bend + product("...m,...mij->...ij", give, self.weights[:, None, None] * self.soft.bends)
        bend = bend + product("...m,...mij->...ij", pulls, self.exact.bends)
        none = self.grid.constant(np.zeros((len(self.exact), len(self.exact))))
        slopes = _beside(_beside(bend, held_by.transposed, 1), _beside(held_by, none, 1), 0)
        return _beside(balance, held, 0), slopes


def _weighted(slopes: Model, weights: Array) -> Model:
    return product("...m,...mi->...mi", weights, slopes)


def _dot_rows(matrix: Array, vector: Model) -> Model:
    """(n,): the vector on every column of a constant matrix (3, n)."""
    return product("...ij,...i->...j", matrix, vector)


def _joined(one: Model, more: list[Model]) -> Model:
    """More rows below."""
    return stacked([*(one[i] for i in range(one.shape[0])), *more])


def _beside(one: Model, other: Model, axis: int) -> Model:
    """Two arrays of models as one, along an axis."""
    numbers = len(one.grid.box)
    counts = np.broadcast_shapes(one.values.shape[:numbers], other.values.shape[:numbers])
    values = [np.broadcast_to(m.values, counts + m.shape) for m in (one, other)]
    return Model(
        grid=one.grid,
        values=np.concatenate(values, axis=numbers + axis),
        rest=np.concatenate([one.rest, other.rest], axis=axis),
    )


def _contracted(equations: Callable[[Model], tuple[Model, Model]], start: Model) -> Model:
    """The one solution near `start` at every place of the box. Raises Unproven where that cannot be shown."""
    left, slopes = equations(start)
    try:
        near = inverse_guess(slopes)
    except np.linalg.LinAlgError:
        raise Unproven("rows that are not independent all over the box") from None
    step = (near @ left).most()
    room = 2.0 * step + _SMALLEST
    for _ in range(_INFLATIONS):
        wide = Model(grid=start.grid, values=start.values, rest=room)
        off = (np.eye(len(room)) - near @ equations(wide)[1]).most()
        reached = step + off @ room
        if np.all(reached <= room):
            return Model(grid=start.grid, values=start.values, rest=reached)
        if not np.all(np.isfinite(reached)) or off.sum(axis=1).max() > 50.0:
            break
        room = np.maximum(1.3 * reached, room)
    raise Unproven("rows that could not be shown to have one solution")
