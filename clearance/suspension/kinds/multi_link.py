"""Five links, or four and a tie rod."""

from __future__ import annotations

from clearance.ends import families as ends
from clearance.suspension.independent import multi_link
from clearance.suspension.kinds.key import CAMBER, TOE, Column, Key
from clearance.suspension.kinds.kind import Kind
from clearance.suspension.kinds.upright import STEERED_END, upright

MULTI_LINK = Kind(
    name="multi-link",
    help="five links to the upright, or four and a tie rod",
    keys=(
        Key(
            name="links",
            dimension="rows",
            required=True,
            help="each link: its end on the car, then its end on the upright; a two-legged arm is two links",
            columns=tuple(
                Column(f"{end} {axis}", "length", own)
                for end in ("inner", "outer")
                for axis, own in ends.HARDPOINT.axes.items()
            ),
        ),
        *STEERED_END,
        CAMBER,
        TOE,
    ),
    own_axis=True,
    rack=True,
    build=upright(multi_link),
)
