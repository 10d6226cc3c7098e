"""Straight up and down, by tape and angle finder."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clearance.ends import families as ends
from clearance.suspension.kinds.key import CAMBER, TOE, Key
from clearance.suspension.kinds.kind import Kind, Steer
from clearance.suspension.position import Cycle, Suspension
from clearance.suspension.straight import Straight


def _straight(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    return Straight(
        cycle=cycle,
        camber_deg=values.get("camber", 0.0),
        toe_deg=values.get("toe", 0.0),
        camber_deg_per_mm=values.get("camber_per_100mm", 0.0) / 100.0,
        toe_deg_per_mm=values.get("toe_per_100mm", 0.0) / 100.0,
        across_mm_per_mm=values.get("across_per_100mm", 0.0) / 100.0,
        along_mm_per_mm=values.get("along_per_100mm", 0.0) / 100.0,
        kingpin=steer.kingpin,
    )


STRAIGHT = Kind(
    name="straight",
    help="straight up and down, with what changes per 100 mm of bump: all by tape and angle finder",
    keys=(
        CAMBER,
        TOE,
        Key(
            name="camber_per_100mm",
            dimension="angle",
            ends=ends.CAMBER_PER_100,
            help="camber gained in 100 mm of bump",
        ),
        Key(name="toe_per_100mm", dimension="angle", ends=ends.TOE_PER_100, help="toe-in gained in 100 mm of bump"),
        Key(
            name="across_per_100mm",
            dimension="length",
            ends=ends.MOVE_PER_100,
            help="move outboard in 100 mm of bump",
        ),
        Key(name="along_per_100mm", dimension="length", ends=ends.MOVE_PER_100, help="move ahead in 100 mm of bump"),
    ),
    build=_straight,
)
