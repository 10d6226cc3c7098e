"""The edge of an arch opening: the return flange that a rear tire meets first.

Lengths are millimetres, angles degrees, in corner axes. Seen from the side of the car the opening is an arc or an
outline; the flange turns inboard from it.

* edge         - where the body side ends and the flange begins, `outboard_mm` of the hub face
* return depth - how far the flange reaches from the edge
* return angle - 0 where it goes straight inboard, positive where it is rolled up and away from the tire (90: folded
  flat against the body side), negative where it hangs toward the tire
* trim         - a rubber or plastic edge, whose thickness stands off the flange all round
* around       - an angle around the arch, from straight up, positive ahead
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from clearance.errors import PartError
from clearance.pose import Array
from clearance.sound import an_array
from clearance.well.part import Part
from clearance.well.parts import Tag, tagged

CHORD_MM = 0.002
"""How far a chord may stand off the arc: toward a tire inside the arch, and away from one outside it."""
EDGE_MM = 1e-3
"""A flange shallower than this is a plain edge: a curve of triangles without area."""


def lip(
    tag: Tag,
    *,
    outboard_mm: float,
    centre_mm: tuple[float, float] = (0.0, 0.0),
    radius_mm: float | None = None,
    outline_mm: Sequence[tuple[float, float]] | None = None,
    from_deg: float = -90.0,
    to_deg: float = 90.0,
    return_depth_mm: float = 0.0,
    return_angle_deg: float = 0.0,
    trim_thickness_mm: float = 0.0,
) -> Part:
    """The return flange of an arch about a point (ahead, above), of a radius or along an outline of such points.

    `from_deg` and `to_deg` bound an arc; an outline is taken whole.

    Raises PartError where both or neither of radius and outline are given, or a number is out of its range.
    """
    if (radius_mm is None) == (outline_mm is None):
        also = "" if radius_mm is None else "outline"
        raise PartError("an arch has a radius or an outline: write one of the two.", key="radius", also=also)
    if return_depth_mm < 0:
        raise PartError(
            f"the return depth is {return_depth_mm:g} mm; it cannot be negative. A flange that hangs toward the tire"
            " has a negative return_angle.",
            key="return_depth",
        )
    if abs(return_angle_deg) > 180:
        raise PartError(f"the return angle is {return_angle_deg:g} deg; -180 to 180 are.", key="return_angle")
    centre = np.array(centre_mm, dtype=float)
    if radius_mm is not None:
        edge, away = _arc(centre, radius_mm, from_deg, to_deg)
    else:
        edge, away = _along(np.array(outline_mm, dtype=float).reshape(-1, 2), centre)
    flange = _flange(edge, away, outboard_mm, return_depth_mm, return_angle_deg)
    # a flange that is rolled outward lies on a larger circle, and its chords stand off it by as much more
    reach = 1.0 if radius_mm is None else 1.0 + return_depth_mm / radius_mm
    drawn_mm = 0.0 if radius_mm is None else CHORD_MM * reach
    return tagged(tag, "lip", flange, skin_mm=trim_thickness_mm, drawn_mm=drawn_mm)


def _arc(centre: Array, radius_mm: float, from_deg: float, to_deg: float) -> tuple[Array, Array]:
    """Points (n, 2) of an arc and the directions (n, 2) away from its centre."""
    if radius_mm <= 0:
        raise PartError(f"the radius of an arch must be more than zero; found {radius_mm:g} mm.", key="radius")
    if not from_deg < to_deg <= from_deg + 360:
        raise PartError(
            f"the arch goes from {from_deg:g} deg to {to_deg:g} deg: to must be the greater, by at most a whole turn."
            " Angles are from straight up, positive ahead.",
            key="to",
            also="from",
        )
    step = 2 * math.acos(max(0.0, 1.0 - CHORD_MM / radius_mm))
    # an even number, so that the top of an arch that is centred on it lies on the arc
    pieces = 2 * math.ceil(math.radians(to_deg - from_deg) / step / 2)
    angle = np.radians(np.linspace(from_deg, to_deg, pieces + 1))
    away = np.stack([np.sin(angle), np.cos(angle)], axis=-1)
    return centre + radius_mm * away, away


def _along(outline: Array, centre: Array) -> tuple[Array, Array]:
    """An outline (n, 2) and, at each of its points, the direction (n, 2) square to it and away from the centre."""
    if len(outline) < 2:
        raise PartError(f"an outline has two points or more; found {len(outline)}.", key="outline")
    an_array(outline, (None, 2), "the outline", PartError, key="outline")
    steps = np.diff(outline, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    if lengths.min() < 1e-3:
        twice = int(lengths.argmin()) + 1
        raise PartError(
            f"points {twice} and {twice + 1} of the outline are the same point: leave one out.", key="outline"
        )
    _refuse_crossing(outline)
    square = np.stack([-steps[:, 1], steps[:, 0]], axis=-1) / lengths[:, None]
    # an outline may run either way round: what faces away from the centre on the whole is away
    middles = (outline[:-1] + outline[1:]) / 2 - centre
    if float(np.sum(lengths[:, None] * square * middles)) < 0:
        square = -square
    both = np.concatenate([square[:1], square]) + np.concatenate([square, square[-1:]])
    size = np.linalg.norm(both, axis=1)
    if size.min() < 1e-6:
        raise PartError("the outline doubles back on itself: give its points in order along the arch.", key="outline")
    return outline, both / size[:, None]


def _refuse_crossing(outline: Array) -> None:
    """An arch that crosses or touches itself has no side that faces the tire."""
    from shapely import LineString

    line = LineString(outline)
    # an arch may close on itself, end to end
    if not line.is_simple:
        raise PartError("the outline crosses itself: give its points in order along the arch.", key="outline")


def _flange(edge: Array, away: Array, outboard_mm: float, depth_mm: float, angle_deg: float) -> Array:
    start = np.stack([edge[:, 0], np.full(len(edge), outboard_mm), edge[:, 1]], axis=-1)
    if depth_mm < EDGE_MM:
        return np.stack([start[:-1], start[1:], start[1:]], axis=1)
    angle = math.radians(angle_deg)
    inboard, up = -math.cos(angle) * depth_mm, math.sin(angle) * depth_mm
    end = start + np.stack([up * away[:, 0], np.full(len(edge), inboard), up * away[:, 1]], axis=-1)
    a, b, c, d = start[:-1], start[1:], end[1:], end[:-1]
    return np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
