"""Bodies on rods: a linkage's rows solved for all positions of a box at once."""

from __future__ import annotations

from collections.abc import Callable

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
    series_of,
    stacked,
)
from clearance.pose import Array
from clearance.suspension.enclosed.carried import hub
from clearance.suspension.enclosed.pose import At, ModelPose, about, dot, scaled
from clearance.suspension.enclosed.tied import on_tie_rod
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
from clearance.suspension.position import AXLE, HUB, KNUCKLE
from clearance.suspension.travel import Travel

_UNKNOWNS = 12
"""Of a body: its origin and the nine numbers of its turn, row by row."""
_INFLATIONS = 6
_SMALLEST = 1e-11


def linked(suspension: Linked, at: At, frame: str) -> ModelPose:
    """Where a frame of a knuckle on rods is."""
    if frame == AXLE:
        return _bodies(suspension.travel, at.straight)[0]
    if frame in (KNUCKLE, HUB):
        return hub(suspension, _bodies(suspension.travel, at)[0], frame)
    return _link(suspension.links, frame, suspension.travel, at)


def live_axle(suspension: LiveAxle, at: At, frame: str) -> ModelPose:
    """Where a frame of an axle on rods is."""
    if any(link.name == frame for link in suspension.links):
        return _link(suspension.links, frame, suspension.travel, at.straight)
    return on_tie_rod(suspension, at, frame, _bodies(suspension.travel, at.straight)[0])


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
    turn = _least_turn(before, _scaled_by(after, reciprocal_root(dot(after, after))))
    return ModelPose(origin=now - turn @ start, turn=turn)


def _scaled_by(vector: Model, factor: Model) -> Model:
    return product("...i,...->...i", vector, factor)


def _arm(arm: Arm, joint_mm: Array, joint: Model) -> ModelPose:
    axis = (arm.second_mm - arm.first_mm) / np.linalg.norm(arm.second_mm - arm.first_mm)
    before = joint_mm - arm.first_mm
    before = before - axis * (axis @ before)
    after = joint - arm.first_mm
    sine, cosine = dot(after, np.cross(axis, before)), dot(after, before)
    over = reciprocal_root(sine * sine + cosine * cosine)
    return about(arm.first_mm, axis, (cosine * over, sine * over))


def _least_turn(first: Array, then: Model) -> Model:
    """As `links.least_turn`."""
    x, y, z = (then[i] for i in range(3))
    a, b, c = first
    axis = (b * z - c * y, c * x - a * z, a * y - b * x)
    cross = stacked(
        [stacked([0.0, -axis[2], axis[1]]), stacked([axis[2], 0.0, -axis[0]]), stacked([-axis[1], axis[0], 0.0])]
    )
    factor = reciprocal(dot(then, first) + 1.0)
    return cross + product("...,...ij->...ij", factor, cross @ cross) + np.eye(3)


def _place(point: Point, bodies: list[ModelPose], drive: Model) -> Model:
    """Where a point of a linkage is."""
    if isinstance(point, Riding):
        return bodies[point.body].carry(point.point)
    if isinstance(point, Racked):
        return scaled(drive, point.direction) + point.point
    if isinstance(point, Swung):
        cosine, sine = cosine_and_sine(drive * (1.0 / point.radius_mm))
        spoke = point._spoke
        return scaled(cosine, spoke) + scaled(sine, np.cross(point.axis, spoke)) + (point.point - spoke)
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
            rest = (dot(offset, offset) - row.length_mm**2) * (0.5 / row.length_mm)
            rows.add(matrix.T @ matrix / row.length_mm, slope, rest)
        elif isinstance(row, Ball):
            matrix, offset = self._between(row.a, row.b)
            for i in range(3):
                rows.add(None, matrix[i], offset[i])
        elif isinstance(row, Plane):
            matrix, offset = self._map(row.point)
            rows.add(None, row.normal @ matrix, dot(offset, row.normal) - row.height_mm)
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
            rise = dot(x, up) - float(clamp.point[2])
            at = (rise * 2.0 - (low + high)) * (1.0 / (high - low))
            if at.most() > 1.0:
                raise Unproven("a clamp beyond the travel that its curve was laid out for")
            wanted = wanted + series_of(row.curve, at) * 0.5
            by = by + scaled(series_of(derivative, at) * 0.5, up)
        cosine, sine = cosine_and_sine(wanted)
        ahead, rise_by = self._turning(0, np.eye(3)[0])[0], self._turning(0, np.eye(3)[0])[2]
        level, high_by = dot(x, ahead), dot(x, rise_by)
        value = (high_by * cosine - level * sine) * ARM_MM
        slope = scaled(cosine, rise_by) - scaled(sine, ahead) - _scaled_by(by, high_by * sine + level * cosine)
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
