"""Every kind of suspension, in the order in which they are told: a new one is a file here, and its line.

A corner has one kind, so the file of a kind is imported when that kind is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping

from clearance.homes import Homes
from clearance.suspension.kinds.kind import Kind

KINDS: Mapping[str, Kind] = Homes(
    "clearance.suspension.kinds",
    {
        "straight": ("straight", "STRAIGHT"),
        "table": ("table", "TABLE"),
        "double-wishbone": ("double_wishbone", "DOUBLE_WISHBONE"),
        "strut": ("strut", "STRUT"),
        "multi-link": ("multi_link", "MULTI_LINK"),
        "trailing-arm": ("swinging_arms", "TRAILING_ARM"),
        "semi-trailing-arm": ("swinging_arms", "SEMI_TRAILING_ARM"),
        "swing-axle": ("swinging_arms", "SWING_AXLE"),
        "twin-beam": ("swinging_arms", "TWIN_BEAM"),
        "swing-arm": ("swinging_arms", "SWING_ARM"),
        "four-link": ("axle_on_links", "FOUR_LINK"),
        "three-link": ("axle_on_links", "THREE_LINK"),
        "watts-link": ("axle_on_links", "WATTS_LINK"),
        "torque-arm": ("axle_on_links", "TORQUE_ARM"),
        "truck-arm": ("axle_on_links", "TRUCK_ARM"),
        "de-dion": ("axle_on_links", "DE_DION"),
        "leaf-spring": ("leaves", "LEAF_SPRING"),
        "leaf-arc": ("leaves", "LEAF_ARC"),
        "solid-steer-axle": ("steered_axle", "SOLID_STEER_AXLE"),
        "track-bar": ("track_bar", "TRACK_BAR"),
        "axle-by-travel": ("unmeasured", "AXLE_BY_TRAVEL"),
        "wheel-by-travel": ("unmeasured", "WHEEL_BY_TRAVEL"),
        "standing": ("unmeasured", "STANDING"),
    },
)
"""Every kind by its word."""
