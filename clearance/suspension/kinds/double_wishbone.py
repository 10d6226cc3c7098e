"""An upper and a lower arm."""

from __future__ import annotations

from clearance.suspension.independent import double_wishbone
from clearance.suspension.kinds.key import CAMBER, TOE, hardpoint
from clearance.suspension.kinds.kind import Kind
from clearance.suspension.kinds.upright import LOWER_ARM, STEERED_END, upright

DOUBLE_WISHBONE = Kind(
    name="double-wishbone",
    help="an upper and a lower arm, and a tie rod",
    keys=(
        hardpoint("upper_front", "UF: the upper arm's front pivot on the car"),
        hardpoint("upper_rear", "UB: the upper arm's rear pivot on the car"),
        hardpoint("upper_ball", "UU: the upper ball joint"),
        *LOWER_ARM,
        *STEERED_END,
        CAMBER,
        TOE,
    ),
    own_axis=True,
    rack=True,
    build=upright(double_wishbone),
)
