"""A knuckle that a tie rod holds, whatever carries it."""

from __future__ import annotations

import numpy as np

from clearance.geom.model import Model, root
from clearance.pose import Array
from clearance.suspension.enclosed.carried import carried, kingpin_turn
from clearance.suspension.enclosed.pose import At, ModelPose, Turned, about, dot, root_turn, scaled
from clearance.suspension.hinged import CrossSteer, Hinged, TiedKnuckle, TieRod
from clearance.suspension.linkage import Racked
from clearance.suspension.steering import Kingpin


def hinged(suspension: Hinged, at: At, frame: str) -> ModelPose:
    """Where a frame of an arm about one line is."""
    square, both, _ = suspension._arm
    a, b = float(square[2]), float(both[2])
    grid = at.bump.grid
    turn = root_turn(grid.constant(a), grid.constant(b), at.bump + a, float(np.sign(b)))
    return on_tie_rod(suspension, at, frame, about(suspension.first_mm, suspension.axis, turn))


def on_tie_rod(suspension: TiedKnuckle, at: At, frame: str, axle: ModelPose) -> ModelPose:
    """Where a frame is of a knuckle that this axle carries and a tie rod holds, where it has one."""
    tie = suspension.tie_rod
    if suspension.kingpin is None or tie is None:
        return carried(suspension, at, frame, axle)

    def steered(axle: ModelPose) -> ModelPose:
        wanted = kingpin_turn(tie.kingpin, at.steer, suspension.camber_deg, suspension.toe_deg)
        turn = _tied(tie, axle, wanted) if isinstance(tie, TieRod) else _crossed(tie, axle, wanted)
        return about(tie.kingpin.through_mm, tie.kingpin.axis, turn)

    return carried(suspension, at, frame, axle, steered)


def _tied(tie: TieRod, axle: ModelPose, wanted: Turned) -> Turned:
    """The knuckle's turn on the carried kingpin, the steering standing where it gives `wanted` at ride height."""
    inner = axle.back(_inner(tie, wanted))
    return _keeping(tie.kingpin, inner, tie.outer_mm, tie.inner.point)


def _crossed(tie: CrossSteer, axle: ModelPose, wanted: Turned) -> Turned:
    drag = tie.drag
    here = about(tie.kingpin.through_mm, tie.kingpin.axis, wanted).carry(tie.here_mm)
    there = _tied(drag, axle, _keeping(drag.kingpin, here, tie.there_mm, tie.here_mm))
    ends = about(drag.kingpin.through_mm, drag.kingpin.axis, there).carry(tie.there_mm)
    return _keeping(tie.kingpin, ends, tie.here_mm, tie.there_mm)


def _inner(tie: TieRod, turned: Turned) -> Model:
    """Where the steering has moved the rod's inner end when the knuckle has turned so far at ride height."""
    outer = about(tie.kingpin.through_mm, tie.kingpin.axis, turned).carry(tie.outer_mm)
    if isinstance(tie.inner, Racked):
        point, way = tie.inner.point, tie.inner.direction
        away = outer - point
        along = dot(away, way)
        side = float(np.sign((tie.outer_mm - point) @ way)) or 1.0
        drive = along - root(along * along - dot(away, away) + tie.length_mm**2) * side
        return scaled(drive, way) + point
    spoke = tie.inner._spoke
    middle, square = tie.inner.point - spoke, np.cross(tie.inner.axis, spoke)
    away = outer - middle
    c = (dot(away, away) + float(spoke @ spoke) - tie.length_mm**2) * 0.5
    side = float(np.sign((tie.outer_mm - middle) @ square)) or 1.0
    cosine, sine = root_turn(dot(away, spoke), dot(away, square), c, side)
    return scaled(cosine, spoke) + scaled(sine, square) + middle


def _keeping(kingpin: Kingpin, ends: Model, on_knuckle_mm: Array, first_mm: Array) -> Turned:
    """As `hinged.rotation_keeping`."""
    first, arm = first_mm - kingpin.through_mm, on_knuckle_mm - kingpin.through_mm
    length2 = float((first - arm) @ (first - arm))
    along, square = kingpin.axis * (kingpin.axis @ arm), np.cross(kingpin.axis, arm)
    ends = ends - kingpin.through_mm
    c = (dot(ends, ends) + float(arm @ arm) - length2) * 0.5 - dot(ends, along)
    return root_turn(dot(ends, arm - along), dot(ends, square), c, float(np.sign(first @ square)))
