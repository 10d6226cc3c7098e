"""Live axles on links."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from clearance.suspension.kinds.key import Key, hardpoint, optional
from clearance.suspension.kinds.kind import Builder, Kind, Steer
from clearance.suspension.kinds.live_axle import BAR, BASICS, LOWER, ONE_OR_TWO, UPPER, WATTS
from clearance.suspension.live_axle import link_axle
from clearance.suspension.position import Cycle, Suspension


def _required(keys: tuple[Key, ...]) -> tuple[Key, ...]:
    return tuple(key if key.name == "lever_on" else replace(key, required=True) for key in keys)


def _on_links(kind: str) -> Builder:
    def build_axle(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
        return link_axle(kind, values, cycle, steer.title, steer.kingpin)

    return build_axle


def _axle(name: str, help: str, *keys: Key) -> Kind:
    return Kind(name=name, help=help, keys=(*keys, *BASICS), live_axle=True, build=_on_links(name))


FOUR_LINK = _axle(
    "four-link", "two lower and two upper links, parallel with a track bar or splayed without", *LOWER, *UPPER, *BAR
)

THREE_LINK = _axle(
    "three-link",
    "two lower links, one upper link and a track bar; or an upper arm with two legs and no bar",
    *LOWER,
    *UPPER,
    hardpoint("upper_body_2", "UC2: the car end of the upper arm's second leg", required=False),
    *BAR,
)

WATTS_LINK = _axle(
    "watts-link",
    "lower and upper links, held sideways by a watts linkage",
    *LOWER,
    *UPPER,
    ONE_OR_TWO,
    *_required(WATTS),
)

TORQUE_ARM = _axle(
    "torque-arm",
    "two lower links and a torque arm, held sideways by a track bar or a watts linkage",
    *LOWER,
    hardpoint("arm_front", "AF: the torque arm's front bush, which slides fore and aft", one_to_axle=True),
    *BAR,
    *WATTS,
)

TRUCK_ARM = _axle(
    "truck-arm",
    "two long arms fixed to the axle, and a track bar",
    hardpoint("arm_body", "AF: this side's arm, its front pivot on the car; the other side is its mirror image"),
    *_required(BAR),
)

DE_DION = _axle(
    "de-dion",
    "a tube between the hubs, on a central front ball or on links, with a track bar or a watts linkage",
    hardpoint("arm_body", "AF: the central front ball, where there is one", required=False, one_to_axle=True),
    *optional(LOWER),
    *optional(UPPER),
    ONE_OR_TWO,
    *BAR,
    *WATTS,
)
