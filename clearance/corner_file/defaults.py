"""The gaps that parts must keep where the file does not say. All are common practice: no published source, editable.

* 25 mm (1 in)    - beside a tire, the least that is quoted for a live axle; taken for every fixed sheet and scan
* 13 mm (1/2 in)  - to the lip, and between a moving and a fixed part ("a finger", 10 to 15 mm): lips and bars
* 6 mm (1/4 in)   - to what moves with the wheel: brakes, arms, springs
"""

from __future__ import annotations

BESIDE_MM = 25.0
FINGER_MM = 13.0
WITH_THE_WHEEL_MM = 6.0

BY_KIND = {
    "wall": BESIDE_MM,
    "plate": BESIDE_MM,
    "box": BESIDE_MM,
    "tub": BESIDE_MM,
    "mesh": BESIDE_MM,
    "lip": FINGER_MM,
    "bar": FINGER_MM,
}


def required(kind: str, rides_on: str, stated_mm: float | None) -> tuple[float, str]:
    """The gap that a part of this kind must keep, and who says so.

    >>> required("wall", "body", None)
    (25.0, 'default for a wall, common practice')
    >>> required("box", "axle", None)
    (6.0, 'default for what rides on the axle, common practice')
    """
    if stated_mm is not None:
        return stated_mm, "corner file"
    if rides_on != "body":
        return WITH_THE_WHEEL_MM, f"default for what rides on the {rides_on}, common practice"
    return BY_KIND[kind], f"default for a {kind}, common practice"
