"""Wheels on one arm that swings about a line of the car."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from clearance.ends import families as ends
from clearance.errors import SuspensionError
from clearance.suspension.hinged import Hinged, TieRod
from clearance.suspension.independent import point, points_of, steered_end
from clearance.suspension.kinds.key import CAMBER, KINGPIN, TOE, Key, hardpoint
from clearance.suspension.kinds.kind import Builder, Kind, Steer
from clearance.suspension.kinds.upright import STEERED_END
from clearance.suspension.linkage import Racked, Swung
from clearance.suspension.position import Cycle, Suspension
from clearance.suspension.soundness import refuse_slips, refuse_tie_rod_through_axis
from clearance.suspension.steering import Kingpin, kingpin_through


def _hinged(kind: str, first: str, second: str, direction: tuple[float, float, float]) -> Builder:
    """An arm about the line through two keys, or through the first along `direction`."""

    def build_hinged(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
        refuse_slips(points_of(values))
        pivot = point(values, first)
        other = point(values, second) if second in values else pivot + 100.0 * np.array(direction)
        kingpin, tie = steer.kingpin, None
        if "kingpin_lower" in values:
            kingpin = kingpin_through(point(values, "kingpin_lower"), point(values, "kingpin_upper"))
            tie = _tie_rod(values, kingpin)
        return Hinged(
            kind=kind,
            cycle=cycle,
            first_mm=pivot,
            second_mm=other,
            camber_deg=float(values.get("camber", 0.0)),
            toe_deg=float(values.get("toe", 0.0)),
            kingpin=kingpin,
            tie_rod=tie,
            title=steer.title,
        )

    return build_hinged


def _tie_rod(values: Mapping[str, Any], kingpin: Kingpin) -> TieRod | None:
    if "tie_inner" not in values and "tie_outer" not in values:
        return None
    for name in ("tie_inner", "tie_outer"):
        if name not in values:
            raise SuspensionError(f'a tie rod has two ends; "{name}" is missing.')
    inner, outer = steered_end(values), point(values, "tie_outer")
    assert isinstance(inner, Racked | Swung)
    refuse_tie_rod_through_axis(kingpin, inner.point, outer)
    return TieRod(kingpin=kingpin, inner=inner, outer_mm=outer)


TRAILING_ARM = Kind(
    name="trailing-arm",
    help="an arm about a line straight across the car",
    keys=(
        hardpoint("pivot", "a point of the arm's hinge line"),
        hardpoint("pivot_2", "another, where the line is not straight across", required=False),
        CAMBER,
        TOE,
    ),
    build=_hinged("trailing-arm", "pivot", "pivot_2", (0.0, 1.0, 0.0)),
)

SEMI_TRAILING_ARM = Kind(
    name="semi-trailing-arm",
    help="an arm about a slanting line",
    keys=(
        hardpoint("outer_pivot", "the outer pivot on the car"),
        hardpoint("inner_pivot", "the inner pivot on the car"),
        CAMBER,
        TOE,
    ),
    build=_hinged("semi-trailing-arm", "outer_pivot", "inner_pivot", (0.0, 1.0, 0.0)),
)

SWING_AXLE = Kind(
    name="swing-axle",
    help="a half axle about its inner joint, with or without a trailing arm",
    keys=(
        hardpoint("inner_joint", "the centre of the inner universal joint"),
        hardpoint(
            "arm_front",
            "the trailing arm's front pivot; without one the axle swings about a line along the car",
            required=False,
        ),
        CAMBER,
        TOE,
    ),
    build=_hinged("swing-axle", "inner_joint", "arm_front", (1.0, 0.0, 0.0)),
)

TWIN_BEAM = Kind(
    name="twin-beam",
    help="a beam for each wheel, its pivot across the car, held by a radius arm; steered about a kingpin",
    keys=(
        hardpoint("beam_pivot", "the beam's pivot on the car"),
        hardpoint("arm_pivot_on_car", "the radius arm's pivot on the car"),
        *KINGPIN,
        *STEERED_END,
        CAMBER,
        TOE,
    ),
    own_axis=True,
    build=_hinged("twin-beam", "beam_pivot", "arm_pivot_on_car", (1.0, 0.0, 0.0)),
)


def _swing_arm(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    length, height = float(values["swing_arm"]), float(values.get("centre_above", 0.0))
    centre = np.array([0.0, -length, height])
    return Hinged(
        kind="swing-arm",
        cycle=cycle,
        first_mm=centre,
        second_mm=centre + np.array([100.0, 0.0, 0.0]),
        camber_deg=float(values.get("camber", 0.0)),
        toe_deg=float(values.get("toe", 0.0)),
        kingpin=steer.kingpin,
        notes=("The instant centre is taken to stay where it was measured, which is right for small travel only.",),
        title=steer.title,
    )


SWING_ARM = Kind(
    name="swing-arm",
    help="tape numbers of any independent corner: how long its swing arm is and how high its centre",
    keys=(
        Key(
            name="swing_arm",
            dimension="length",
            ends=ends.SWING_ARM,
            required=True,
            help="hub face to instant centre, inboard",
        ),
        Key(
            name="centre_above",
            dimension="length",
            ends=ends.CENTRE_ABOVE,
            help="how high the instant centre is above the hub",
        ),
        CAMBER,
        TOE,
    ),
    build=_swing_arm,
)
