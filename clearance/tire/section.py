"""The outline of a tire above its rim, as a chain of lines and arcs.

Points are (across, radius): across from the tire's centre plane, outboard positive; lengths are millimetres. The chain
runs from the outer foot, where the rubber leaves the rim flange, over the tread to the inner foot, with the solid on
its left.

* foot - where the sidewall leaves the flange, (+-foot, flange radius)
* widest point - where the sidewall stands upright, half the section width from the centre plane
* shoulder - from the tread's edge down to the upper sidewall
* crown drop - how much lower the tread's edge is than its middle

The widest point and the crown are exact; what lies between them is a pair of tangent arcs, a stated assumption unless
the section was traced. Derivation of the pair (a biarc): two tangent legs d1 and d2 that meet a common tangent satisfy
|p1 - p0 - d1 t0 - d2 t1| = d1 + d2, which is linear in d2 once d1 is chosen.
"""

from __future__ import annotations

import math

from clearance.errors import TireError
from clearance.geom.profile import Arc, Element, Line, Point
from clearance.tire.tire import Tire

DEFAULT_TREAD = {"road": 0.80, "square": 0.90, "round": 0.50}
"""Tread width over section width where none is given (assumed; a tire gauge or tape beats it)."""
CROWN_DROP = {"road": 0.020, "square": 0.010, "round": 0.060}
"""Crown drop over tread width (assumed)."""
SHOULDER_FULLNESS = {"road": 0.75, "square": 0.97, "round": 0.50}
"""Where in its possible range the shoulder's tangent leg lies: near 1 a tight corner, small a wide curve (assumed)."""
WIDEST_AT = 0.5
"""Height of the widest point over section height (common practice: mid height)."""
LEAST_SIDEWALL_MM = 3.0
"""A tire must stand at least this far out of its rim flange."""


def widest_radius_mm(tire: Tire, flange_radius_mm: float) -> float:
    """Radius of the widest point: mid height, but always clear of the rim flange."""
    crown_mm = tire.full_diameter_mm / 2
    middle_mm = tire.rim_radius_mm + WIDEST_AT * (crown_mm - tire.rim_radius_mm)
    return max(middle_mm, flange_radius_mm + 0.2 * (crown_mm - flange_radius_mm))


def outline(tire: Tire, foot_mm: float, flange_radius_mm: float) -> tuple[Element, ...]:
    """The chain from the outer foot to the inner foot of a tire on a rim whose flanges reach `flange_radius_mm`.

    `foot_mm` is where the rubber leaves the flange, from the centre plane; a tire narrower than that leans inward.
    Raises TireError where the tire does not stand out of the rim.
    """
    if tire.shape == "traced":
        from clearance.tire.traced import traced_outline

        return traced_outline(tire, flange_radius_mm)
    half = half_outline(tire, foot_mm, flange_radius_mm)
    return (*half, _crown(tire, _widest(tire, flange_radius_mm)), *(mirrored(e) for e in reversed(half)))


def half_outline(tire: Tire, foot_mm: float, flange_radius_mm: float) -> tuple[Element, ...]:
    """The outer half: from the foot to the edge of the tread. Raises TireError where it stays within the rim."""
    if tire.overall_diameter_mm / 2 - flange_radius_mm < LEAST_SIDEWALL_MM:
        raise TireError(
            f"a tire of {tire.overall_diameter_mm:g} mm overall diameter does not stand out of a rim whose flanges are"
            f" {2 * flange_radius_mm:g} mm across. Check the overall diameter and the rim code."
        )
    widest, foot = _widest(tire, flange_radius_mm), (foot_mm, flange_radius_mm)
    crown = _crown(tire, widest)
    lower = _leaning(foot, widest) if foot_mm > widest[0] else _lower_sidewall(foot, widest)
    return (*lower, *_shoulder(crown.start, _heading(crown), widest, SHOULDER_FULLNESS[tire.shape]))


def mirrored(element: Element) -> Element:
    """The same element on the other side of the centre plane, run backwards: the solid stays on its left."""

    def flip(p: Point) -> Point:
        return (-p[0], p[1])

    label = element.label.replace("outer", "inner")
    if isinstance(element, Line):
        return Line(start=flip(element.end), end=flip(element.start), label=label)
    return Arc(
        start=flip(element.end), end=flip(element.start), centre=flip(element.centre), ccw=element.ccw, label=label
    )


def _widest(tire: Tire, flange_radius_mm: float) -> Point:
    return (tire.full_width_mm / 2, widest_radius_mm(tire, flange_radius_mm))


def _crown(tire: Tire, widest: Point) -> Arc:
    """The tread's arc, from its outer edge to its inner one."""
    half_mm, drop_mm = _half_tread(tire), _crown_drop(tire, widest)
    # sagitta: R = (c^2 + s^2) / 2s for half chord c and drop s
    radius_mm = (half_mm**2 + drop_mm**2) / (2 * drop_mm)
    top_mm = tire.full_diameter_mm / 2
    edge = (half_mm, top_mm - drop_mm)
    return Arc(start=edge, end=(-half_mm, edge[1]), centre=(0.0, top_mm - radius_mm), label="tread")


def _half_tread(tire: Tire) -> float:
    # the tread keeps its share of the width when growth or chains widen the tire
    return tire.tread_width_mm / 2 * tire.full_width_mm / tire.section_width_mm


def _crown_drop(tire: Tire, widest: Point) -> float:
    """The crown's drop, flattened where a low section leaves the shoulder no room below the tread's tangent."""
    half_mm = _half_tread(tire)
    room_mm = tire.full_diameter_mm / 2 - widest[1]
    # the tangent at the edge falls 2 drop / half tread: carried on to the side wall it may use half of the room
    return min(2 * CROWN_DROP[tire.shape] * half_mm, room_mm / 2 / (1 + 2 * (widest[0] - half_mm) / half_mm))


def _heading(crown: Arc) -> Point:
    """The direction, outward and down, in which the tread leaves its outer edge."""
    angle_rad = math.asin(crown.start[0] / crown.radius_mm)
    return (math.cos(angle_rad), -math.sin(angle_rad))


def _lower_sidewall(foot: Point, widest: Point) -> tuple[Element, ...]:
    out_mm, up_mm = widest[0] - foot[0], widest[1] - foot[1]
    label = "outer lower sidewall"
    if out_mm <= 1e-3:
        return (Line(start=foot, end=widest, label=label),)
    if out_mm > up_mm:
        # a balloon on a narrow rim: it lies flat over the flange before it turns up
        turn = (widest[0] - up_mm, foot[1])
        return (
            Line(start=foot, end=turn, label=label),
            Arc(start=turn, end=widest, centre=(turn[0], widest[1]), label=label),
        )
    radius_mm = (out_mm**2 + up_mm**2) / (2 * out_mm)
    return (Arc(start=foot, end=widest, centre=(widest[0] - radius_mm, widest[1]), label=label),)


def _leaning(foot: Point, widest: Point) -> tuple[Element, ...]:
    return (Line(start=foot, end=widest, label="outer lower sidewall"),)


def _shoulder(edge: Point, heading: Point, widest: Point, fullness: float) -> tuple[Element, ...]:
    """Two tangent arcs from the widest point up to the tread's edge, upright below and along `heading` above."""
    first_mm, second_mm = _legs(edge, heading, widest, fullness)
    knee = (edge[0] + first_mm * heading[0], edge[1] + first_mm * heading[1])
    above = (widest[0], widest[1] + second_mm)
    share = first_mm / (first_mm + second_mm)
    joint = (knee[0] + share * (above[0] - knee[0]), knee[1] + share * (above[1] - knee[1]))
    return (
        _tangent_arc(widest, (0.0, 1.0), joint, "outer sidewall"),
        _tangent_arc(joint, _unit(above, knee), edge, "outer shoulder"),
    )


def _legs(edge: Point, heading: Point, widest: Point, fullness: float) -> tuple[float, float]:
    """The two tangent legs of a convex biarc from the tread's edge (along `heading`) to the widest point (downward)."""
    across_mm, down_mm = widest[0] - edge[0], edge[1] - widest[1]
    reach_mm = across_mm / heading[0]
    drop_mm = down_mm + reach_mm * heading[1]
    squared = across_mm**2 + down_mm**2
    along, bend = across_mm * heading[0] - down_mm * heading[1], 1 + heading[1]
    # second(first) falls as first grows; both legs must end before the two tangents cross
    least_mm = max(0.0, (squared / 2 - drop_mm * down_mm) / (along + drop_mm * bend))
    most_mm = min(reach_mm, squared / 2 / along)
    first_mm = least_mm + fullness * (most_mm - least_mm)
    return first_mm, (squared / 2 - first_mm * along) / (down_mm + first_mm * bend)


def _tangent_arc(start: Point, heading: Point, end: Point, label: str) -> Element:
    """The arc that leaves `start` along the unit `heading`, turning left, and arrives at `end`."""
    across, up = end[0] - start[0], end[1] - start[1]
    left = (-heading[1], heading[0])
    offset = across * left[0] + up * left[1]
    if offset <= 1e-9 * max(1.0, math.hypot(across, up)):
        return Line(start=start, end=end, label=label)
    radius_mm = (across**2 + up**2) / (2 * offset)
    return Arc(
        start=start, end=end, centre=(start[0] + radius_mm * left[0], start[1] + radius_mm * left[1]), label=label
    )


def _unit(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
