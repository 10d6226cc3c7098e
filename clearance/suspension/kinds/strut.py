"""A strut that carries the upright."""

from __future__ import annotations

from clearance.suspension.independent import strut
from clearance.suspension.kinds.key import CAMBER, TOE, hardpoint
from clearance.suspension.kinds.kind import Kind
from clearance.suspension.kinds.upright import LOWER_ARM, STEERED_END, upright

STRUT = Kind(
    name="strut",
    help="a lower arm, a tie rod, and a strut that carries the upright",
    keys=(
        *LOWER_ARM,
        hardpoint("strut_top", "ST: the centre of the strut's top mount"),
        hardpoint("strut_bottom", "SB: any point low on the strut's axis"),
        *STEERED_END,
        CAMBER,
        TOE,
    ),
    own_axis=True,
    rack=True,
    build=upright(strut),
)
