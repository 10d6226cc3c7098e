"""Poses enclosed: where a suspension's frames are, as polynomials with a proven remainder.

`Suspension.pose` gives a pose at a position. Here the same is given for all positions of a box at once: a polynomial,
and a bound on how far the true pose can be from it anywhere between. It is stated anew from what holds the wheel, and
not from how `pose` computes it: rods keep their lengths, a hinge keeps its line, bushings take the least energy.

Closed forms (a hinge, a kingpin, a tie rod) are evaluated in models. Where rods must be solved for, the polynomial
through solved positions is put into the rows of the linkage, and what is left of them bounds how far the solution is:
with A near the inverse of the slopes S, the map x - A F(x) takes the box x0 +- r into itself where

    |A F(x0)| + |I - A S(x0 +- r)| r <= r

and then there is one solution in it for every position (R. Krawczyk, Computing 4, 1969). Rows held by bushings are the
stationary place of their energy under the exact ones, with a multiplier for each of those.

A turn is nine numbers that keep six equations, so that all rows but one are quadratic.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from clearance.geom.model import Unproven
from clearance.homes import Homes
from clearance.suspension.enclosed.pose import At, ModelPose, still
from clearance.suspension.position import BODY, Suspension

__all__ = ["At", "ModelPose", "enclosed"]

Way = Callable[[Any, At, str], ModelPose]

_WAYS: Mapping[str, Way] = Homes(
    __name__,
    {
        "straight.Straight": ("carried", "straight"),
        "table.Table": ("carried", "table"),
        "by_travel.WheelByTravel": ("carried", "wheel_by_travel"),
        "by_travel.AxleByTravel": ("carried", "axle_by_travel"),
        "hinged.Hinged": ("tied", "hinged"),
        "live_axle.LiveAxle": ("rods", "live_axle"),
        "adjusted.Adjusted": ("adjusted", "adjusted"),
        "linked.Linked": ("rods", "linked"),
    },
)
"""Where the motion of each class is enclosed: by the very class, for what inherits from one may move otherwise."""


def enclosed(suspension: Suspension, at: At, frame: str) -> ModelPose:
    """Where `frame` is over a box of positions. Raises Unproven for a kind, a frame or a box that is not bounded."""
    if frame == BODY:
        return still(at.grid)
    sort = type(suspension)
    way = _WAYS.get(f"{sort.__module__}.{sort.__qualname__}".removeprefix("clearance.suspension."))
    if way is None:
        raise Unproven(f"nothing bounds the motion of {suspension.kind}")
    return way(suspension, at, frame)
