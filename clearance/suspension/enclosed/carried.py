"""A knuckle on something that carries it, whose motion is said in closed form.

A kingpin without a tie rod turns by what is asked; `tied` has those with one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from clearance.geom.model import Model, Unproven, cosine_and_sine, root, stacked
from clearance.pose import spin_axis, turn_onto
from clearance.suspension.enclosed.pose import At, ModelPose, Turned, about, dot, root_turn, spinning, still, turn_from
from clearance.suspension.position import AXLE, HUB, KNUCKLE
from clearance.suspension.steering import Kingpin

if TYPE_CHECKING:
    # of these only what they hold is read: the file of a kind is imported when that kind is asked for
    from clearance.suspension.by_travel import AxleByTravel, WheelByTravel
    from clearance.suspension.carried import Carried
    from clearance.suspension.linked import Linked
    from clearance.suspension.straight import Straight
    from clearance.suspension.table import Table


def straight(suspension: Straight, at: At, frame: str) -> ModelPose:
    """Where a frame of a straight travel is."""
    bump = at.bump
    origin = stacked([suspension.along_mm_per_mm * bump, suspension.across_mm_per_mm * bump, bump])
    axis = spinning(
        bump * suspension.camber_deg_per_mm + suspension.camber_deg,
        bump * suspension.toe_deg_per_mm + suspension.toe_deg,
    )
    turn = turn_from(spin_axis(suspension.camber_deg, suspension.toe_deg), axis)
    return carried(suspension, at, frame, ModelPose(origin=origin, turn=turn))


def wheel_by_travel(suspension: WheelByTravel, at: At, frame: str) -> ModelPose:
    """Where a frame of a wheel is of which its travel alone is known."""
    axle = ModelPose(origin=stacked([0.0, 0.0, at.bump]), turn=at.grid.constant(np.eye(3)))
    return carried(suspension, at, frame, axle)


def axle_by_travel(suspension: AxleByTravel, at: At, frame: str) -> ModelPose:
    """Where a frame of an axle is of which the travel of both ends is known."""
    sine = (at.bump - at.other) * (1.0 / suspension.track_mm)
    cosine = root(1.0 - sine * sine)
    origin = stacked([0.0, (cosine - 1.0) * (0.5 * suspension.track_mm), at.bump])
    zero = 0.0 * cosine
    turn = stacked([stacked([zero + 1.0, zero, zero]), stacked([zero, cosine, -sine]), stacked([zero, sine, cosine])])
    return carried(suspension, at, frame, ModelPose(origin=origin, turn=turn))


def table(suspension: Table, at: At, frame: str) -> ModelPose:
    """Where a frame of a measured motion is; as its steer rows have it, where there are any."""
    if suspension.steer_fit is not None and frame != AXLE:
        return _measured(suspension, at, frame)
    axle = _placed(suspension, at, _change(suspension, at.bump), at.grid.constant(0.0))
    return carried(suspension, at, frame, axle)


def carried(
    suspension: Carried,
    at: At,
    frame: str,
    axle: ModelPose,
    steered: Callable[[ModelPose], ModelPose] | None = None,
) -> ModelPose:
    """Where a frame is of a knuckle that this axle carries; `steered` turns it first, its own kingpin as a rule.

    Raises Unproven for a frame that is none of its own.
    """
    if frame == AXLE:
        return axle
    if frame not in (KNUCKLE, HUB):
        raise Unproven(f"nothing bounds the motion of {frame}")
    turn = on_kingpin(suspension, at) if steered is None else steered(axle)
    return hub(suspension, axle.after(turn), frame)


def hub(suspension: Carried | Linked, knuckle: ModelPose, frame: str) -> ModelPose:
    """The hub on its knuckle, or the knuckle."""
    if frame == KNUCKLE:
        return knuckle
    return replace(knuckle, turn=knuckle.turn @ turn_onto(spin_axis(suspension.camber_deg, suspension.toe_deg)))


def on_kingpin(suspension: Carried, at: At) -> ModelPose:
    """What the steering does to a knuckle that no tie rod holds."""
    if suspension.kingpin is None:
        return still(at.grid)
    kingpin = suspension.kingpin
    wanted = kingpin_turn(kingpin, at.steer, suspension.camber_deg, suspension.toe_deg)
    return about(kingpin.through_mm, kingpin.axis, wanted)


def kingpin_turn(kingpin: Kingpin, steer_deg: Model, camber_deg: float, toe_deg: float) -> Turned:
    """As `steering.rotation_deg`: where the spin axis is square to (cos T, -sin T, 0) seen from above."""
    spin = spin_axis(camber_deg, toe_deg)
    along = kingpin.axis * (kingpin.axis @ spin)
    across = np.cross(kingpin.axis, spin)
    cosine, sine = cosine_and_sine((toe_deg - steer_deg) * float(np.radians(1.0)))
    square = stacked([cosine, -sine, 0.0])
    straight = np.array([np.cos(np.radians(toe_deg)), -np.sin(np.radians(toe_deg)), 0.0])
    side = float(np.sign(straight @ across))
    return root_turn(dot(square, spin - along), dot(square, across), -dot(square, along), side)


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
    axis = spinning(camber + table.camber_deg, toe + table.toe_deg - steer)
    origin = stacked([along, across, at.bump])
    return ModelPose(origin=origin, turn=turn_from(spin_axis(table.camber_deg, table.toe_deg), axis))


def _measured(suspension: Table, at: At, frame: str) -> ModelPose:
    """As its steer rows have it."""
    assert suspension.steer_fit is not None
    change = _change(suspension, at.bump)
    heights = [at.grid.constant(1.0), at.bump, at.bump * at.bump]
    for column in range(3):
        for power, steered in enumerate((at.steer, at.steer * at.steer)):
            for j, height in enumerate(heights):
                change[column] = change[column] + steered * height * float(suspension.steer_fit[power, j, column])
    return hub(suspension, _placed(suspension, at, change, at.steer), frame)
