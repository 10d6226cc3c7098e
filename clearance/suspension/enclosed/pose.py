"""A pose over a box of positions, and what turns are made of there.

Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from clearance.geom.model import Grid, Model, cosine_and_sine, product, reciprocal, root, stacked
from clearance.pose import Array, turn_onto

if TYPE_CHECKING:
    from clearance.suspension.travel import Travel

Turned = tuple[Model, Model]
"""The cosine and the sine of an angle."""


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


def still(grid: Grid) -> ModelPose:
    """The pose of what does not move."""
    return ModelPose(origin=grid.constant(np.zeros(3)), turn=grid.constant(np.eye(3)))


def root_turn(a: Model, b: Model, c: Model, side: float) -> Turned:
    """The root of a cos t + b sin t = c that is arctan2(b, a) less `side` times an arc cosine."""
    size = a * a + b * b
    leg = root(size - c * c) * side
    over = reciprocal(size)
    return (a * c + b * leg) * over, (b * c - a * leg) * over


def about(through_mm: Array, axis: Array, turned: Turned) -> ModelPose:
    """The pose of what has turned about a line."""
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    cosine, sine = turned
    turn = scaled(sine, cross) + scaled(1.0 - cosine, cross @ cross) + np.eye(3)
    return ModelPose(origin=through_mm - turn @ through_mm, turn=turn)


def scaled(model: Model, array: Array) -> Model:
    """A constant array times a model."""
    return product("...,...ij->...ij" if array.ndim == 2 else "...,...i->...i", model, array)


def dot(one: Model, other: Model | Array) -> Model:
    """The dot product of two vectors."""
    return product("...i,...i->...", one, other)


def spinning(camber_deg: Model, toe_deg: Model) -> Model:
    """As `pose.spin_axis`."""
    flat, rise = cosine_and_sine(camber_deg * float(np.radians(1.0)))
    outward, ahead = cosine_and_sine(toe_deg * float(np.radians(1.0)))
    return stacked([flat * ahead, flat * outward, -rise])


def turn_from(first: Array, then: Model) -> Model:
    """The turn that takes a constant direction onto another."""
    return turning_onto(then) @ turn_onto(first).T


def turning_onto(axis: Model) -> Model:
    """As `pose.turn_onto`."""
    x, y, z = axis[0], axis[1], axis[2]
    k = reciprocal(y + 1.0)
    kx, kz = k * x, k * z
    rows = [[1.0 - kx * x, x, -(kx * z)], [-x, y, -z], [-(kx * z), z, 1.0 - kz * z]]
    return stacked([stacked(row) for row in rows])
