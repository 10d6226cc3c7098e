"""What every live axle is asked for, and the parts of those on links."""

from __future__ import annotations

from clearance.ends import families as ends
from clearance.suspension.kinds.key import CAMBER, TOE, Key, hardpoint

TRACK = Key(
    name="track", dimension="length", ends=ends.TRACK, required=True, help="hub face to hub face, across the axle"
)
LIMIT = Key(
    name="bushing_limit",
    dimension="length",
    ends=ends.BUSHING,
    help="the most that a bushing may give before it counts as binding",
)
FLEX = Key(
    name="sideways_flex",
    dimension="length",
    ends=ends.FLEX,
    help="how far the axle gives sideways under load; leaf springs 1 to 2 mm per kN (from memory), measure yours",
)
LOWER = (
    hardpoint("lower_axle", "LA: this side's lower link, its end on the axle; the other side is its mirror image"),
    hardpoint("lower_body", "LC: its end on the car"),
)
UPPER = (
    hardpoint("upper_axle", "UA: the upper link's end on the axle"),
    hardpoint("upper_body", "UC: its end on the car"),
)
BAR = (
    hardpoint("bar_axle", "BA: the track bar's end on the axle", required=False, one_to_axle=True),
    hardpoint("bar_body", "BC: its end on the car", required=False, one_to_axle=True),
)
WATTS = (
    hardpoint("lever_pivot", "WP: the pivot of the lever", required=False, one_to_axle=True),
    hardpoint("lever_end_1", "W1: one end of the lever", required=False, one_to_axle=True),
    hardpoint("lever_end_2", "W2: its other end", required=False, one_to_axle=True),
    hardpoint("watts_end_1", "V1: the far end of the link from W1", required=False, one_to_axle=True),
    hardpoint("watts_end_2", "V2: the far end of the link from W2", required=False, one_to_axle=True),
    Key(name="lever_on", dimension="text", help="what the lever's pivot is on", choices=("axle", "body")),
)
ONE_OR_TWO = Key(name="upper_links", dimension="text", help="how many upper links", choices=("one", "two"))
BASICS = (TRACK, CAMBER, TOE, LIMIT, FLEX)
