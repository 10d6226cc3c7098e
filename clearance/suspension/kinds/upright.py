"""Uprights on links: wheels that have their steering axis in their hardpoints, and may have a rack."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from clearance.errors import SuspensionError
from clearance.suspension.kinds.key import hardpoint
from clearance.suspension.kinds.kind import Builder, Steer
from clearance.suspension.linked import Linked
from clearance.suspension.position import Cycle, Suspension

STEERED_END = (
    hardpoint("tie_inner", "TI: the tie rod's inner end, on the rack or the steering arm", required=False),
    hardpoint("tie_outer", "TO: the tie rod's outer end, on the knuckle", required=False),
    hardpoint(
        "arm_pivot", "a point of the axis of the steering arm, where the inner end is not on a rack", required=False
    ),
    hardpoint("arm_axis", "another point of that axis", required=False),
)

LOWER_ARM = (
    hardpoint("lower_front", "LF: the lower arm's front pivot on the car"),
    hardpoint("lower_rear", "LB: the lower arm's rear pivot on the car"),
    hardpoint("lower_ball", "LU: the lower ball joint"),
)

Uprights = Callable[[Mapping[str, Any], Cycle, str], Linked]


def upright(maker: Uprights) -> Builder:
    """A builder that turns rack travel into lock angles where that is what was measured."""

    def build_upright(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
        if steer.rack_mm is None:
            return maker(values, cycle, steer.title)
        if "tie_inner" not in values:
            raise SuspensionError("rack travel needs the tie rod that it moves: tie_inner and tie_outer.")
        travel = maker(values, replace(cycle, bump_mm=(0.0, 0.0), steer_deg=(0.0, 0.0)), steer.title).travel
        left_mm, right_mm = steer.rack_mm
        to_left = 1.0 if travel.steer_at(1.0) > 0.0 else -1.0
        locks = travel.steer_at(-to_left * right_mm), travel.steer_at(to_left * left_mm)
        return maker(values, replace(cycle, steer_deg=locks), steer.title)

    return build_upright
