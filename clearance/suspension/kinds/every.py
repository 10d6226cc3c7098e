"""Every kind of suspension, in the order in which they are told: a new one is a file here, and its line."""

from __future__ import annotations

from clearance.suspension.kinds import (
    axle_on_links,
    double_wishbone,
    leaves,
    multi_link,
    steered_axle,
    straight,
    strut,
    swinging_arms,
    table,
    track_bar,
    unmeasured,
)
from clearance.suspension.kinds.kind import Kind

_EVERY = (
    straight.STRAIGHT,
    table.TABLE,
    double_wishbone.DOUBLE_WISHBONE,
    strut.STRUT,
    multi_link.MULTI_LINK,
    swinging_arms.TRAILING_ARM,
    swinging_arms.SEMI_TRAILING_ARM,
    swinging_arms.SWING_AXLE,
    swinging_arms.TWIN_BEAM,
    swinging_arms.SWING_ARM,
    axle_on_links.FOUR_LINK,
    axle_on_links.THREE_LINK,
    axle_on_links.WATTS_LINK,
    axle_on_links.TORQUE_ARM,
    axle_on_links.TRUCK_ARM,
    axle_on_links.DE_DION,
    leaves.LEAF_SPRING,
    leaves.LEAF_ARC,
    steered_axle.SOLID_STEER_AXLE,
    track_bar.TRACK_BAR,
    unmeasured.AXLE_BY_TRAVEL,
    unmeasured.WHEEL_BY_TRAVEL,
    unmeasured.STANDING,
)
KINDS: dict[str, Kind] = {kind.name: kind for kind in _EVERY}
"""Every kind by its word."""
