"""Axles on two leaf springs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clearance.ends import families as ends
from clearance.suspension.kinds.key import Key, hardpoint
from clearance.suspension.kinds.kind import Kind, Steer
from clearance.suspension.kinds.live_axle import BASICS
from clearance.suspension.leaf import leaf_arc, leaf_spring
from clearance.suspension.position import Cycle, Suspension

LEAF = (
    hardpoint("front_eye", "FE: the spring's front eye, on the car"),
    hardpoint("front_clamp", "FC: the front edge of the U-bolts, on the main leaf"),
    hardpoint("rear_clamp", "RC: their rear edge"),
    hardpoint("rear_eye", "RE: the rear eye, on the shackle"),
    hardpoint("shackle_hanger", "SH: where the shackle hangs from the car"),
)


def _leaf(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    return leaf_spring("leaf-spring", values, cycle, steer.title, steering_axis=steer.kingpin)


def _leaf_arc(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    return leaf_arc("leaf-arc", values, cycle, steer.title, steering_axis=steer.kingpin)


LEAF_SPRING = Kind(
    name="leaf-spring",
    help="an axle on two leaf springs, from the points of this side's spring",
    keys=(*LEAF, *BASICS),
    live_axle=True,
    build=_leaf,
)

LEAF_ARC = Kind(
    name="leaf-arc",
    help="an axle on two leaf springs, by tape: the front half's length and arch",
    keys=(
        Key(
            name="half_length",
            dimension="length",
            ends=ends.HALF_LEAF,
            required=True,
            help="front edge of the U-bolts to the front eye",
        ),
        Key(
            name="rear_half_length",
            dimension="length",
            ends=ends.HALF_LEAF,
            help="rear edge of the U-bolts to the rear eye",
        ),
        Key(
            name="arch",
            dimension="length",
            ends=ends.ARCH,
            help="how high the front eye stands over the main leaf at the clamp",
        ),
        Key(name="clamp_length", dimension="length", ends=ends.CLAMP, help="front to rear edge of the U-bolts"),
        Key(
            name="spring_inboard",
            dimension="length",
            ends=ends.SPRING_INBOARD,
            required=True,
            help="hub face to the spring's middle",
        ),
        Key(
            name="spring_above",
            dimension="length",
            ends=ends.SPRING_ABOVE,
            help="how high the main leaf at the clamp is above the hub",
        ),
        *BASICS,
    ),
    live_axle=True,
    build=_leaf_arc,
)
