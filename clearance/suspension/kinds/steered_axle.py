"""Beam axles that steer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clearance.errors import SuspensionError
from clearance.suspension.kinds.key import KINGPIN, hardpoint, optional
from clearance.suspension.kinds.kind import Kind, Steer
from clearance.suspension.kinds.leaves import LEAF
from clearance.suspension.kinds.live_axle import BAR, BASICS, LOWER, ONE_OR_TWO, UPPER
from clearance.suspension.leaf import leaf_spring
from clearance.suspension.live_axle import link_axle
from clearance.suspension.position import Cycle, Suspension


def _solid_steer(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    if any(key.name in values for key in LEAF):
        for key in LEAF:
            if key.name not in values:
                raise SuspensionError(f'leaf springs need all of their points; "{key.name}" is missing.')
        return leaf_spring("solid-steer-axle", values, cycle, steer.title)
    return link_axle("solid-steer-axle", values, cycle, steer.title)


SOLID_STEER_AXLE = Kind(
    name="solid-steer-axle",
    help="a steered beam axle, on leaf springs or on links, with kingpins and a drag link",
    keys=(
        *KINGPIN,
        hardpoint("drag_inner", "the drag link's end on the pitman arm", required=False, one_to_axle=True),
        hardpoint("drag_outer", "its end on a knuckle, this one or the other", required=False, one_to_axle=True),
        hardpoint(
            "arm_pivot",
            "a point of the pitman arm's axis; without it the drag link's end slides across",
            required=False,
            one_to_axle=True,
        ),
        hardpoint("arm_axis", "another point of that axis", required=False, one_to_axle=True),
        hardpoint(
            "track_rod_here",
            "the track rod's end on this knuckle, where the drag link goes to the other",
            required=False,
        ),
        hardpoint("track_rod_there", "its end on the other knuckle", required=False),
        *optional(LEAF),
        *optional(LOWER),
        *optional(UPPER),
        ONE_OR_TWO,
        hardpoint("upper_body_2", "UC2: the car end of the upper arm's second leg", required=False),
        *BAR,
        *BASICS,
    ),
    live_axle=True,
    own_axis=True,
    build=_solid_steer,
)
