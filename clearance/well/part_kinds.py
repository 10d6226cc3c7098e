"""Every kind of part by the corner file's word, and what is known of a kind: a new one is its line here.

The gaps that parts must keep where the file does not say are common practice: no published source, editable.

* 25 mm (1 in)    - beside a tire, the least that is quoted for a live axle; taken for every fixed sheet, body and scan
* 13 mm (1/2 in)  - to the lip, and between a moving and a fixed part ("a finger", 10 to 15 mm): lips and bars
* 6 mm (1/4 in)   - to what moves with the wheel: brakes, arms, springs
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

BESIDE_MM = 25.0
FINGER_MM = 13.0
WITH_THE_WHEEL_MM = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PartKind:
    """What is known of every part of one kind."""

    required_mm: float = BESIDE_MM
    """The gap that it must keep where the file does not say."""
    moved: Mapping[str, str] = field(default_factory=dict)
    """What a shop calls moving it, by the way it goes."""
    whole: bool = False
    """Is it drawn from the side as it is seen? The others are drawn where the view's plane cuts them."""
    stands_free: bool = False
    """Is its touch at ride height found from its shape alone? Walls, tubs and lips are looked at by their numbers."""


PART_KINDS: Mapping[str, PartKind] = {
    "wall": PartKind(moved={"inboard": "move the wall inboard", "outboard": "move the wall outboard"}),
    "plate": PartKind(stands_free=True),
    "box": PartKind(
        moved={"inboard": "notch it inboard", "up": "notch it upward", "outboard": "move it outboard"},
        whole=True,
        stands_free=True,
    ),
    "bar": PartKind(
        required_mm=FINGER_MM,
        moved={"inboard": "move or bend it inboard", "up": "move it up"},
        whole=True,
        stands_free=True,
    ),
    "cylinder": PartKind(moved={"inboard": "move it inboard", "up": "move it up"}, whole=True, stands_free=True),
    "tub": PartKind(
        moved={"inboard": "move the inner wall inboard", "up": "raise the crown", "outboard": "move it outboard"}
    ),
    "lip": PartKind(
        required_mm=FINGER_MM,
        moved={"outboard": "flare or pull the lip outboard, edge and all", "up": "trim the lip upward"},
        whole=True,
    ),
    "mesh": PartKind(stands_free=True),
}
