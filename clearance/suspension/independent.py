"""Double wishbone, strut and multi-link, from their hardpoints.

Letters, as on the sketch in docs/suspensions.md; all points [ahead, outboard, above] from the centre of the hub's face:

* UF, UB, UU - upper arm: front pivot, rear pivot, ball joint
* LF, LB, LU - lower arm: front pivot, rear pivot, ball joint
* TI, TO     - tie rod (or toe link): inner end, outer end
* ST, SB     - strut: top mount, and any lower point of the strut's axis

Topology as in Dixon, *Suspension Geometry and Computation* (from memory), and the templates of Project Chrono (BSD-3).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from clearance.errors import SuspensionError
from clearance.pose import Array, spin_axis
from clearance.suspension.linkage import (
    Fixed,
    Height,
    Linkage,
    Point,
    Racked,
    Riding,
    RoadAngle,
    Row,
    Slide,
    Swung,
    rod,
)
from clearance.suspension.linked import Linked
from clearance.suspension.links import Arm, Link, Strut
from clearance.suspension.position import Cycle
from clearance.suspension.soundness import (
    refuse_bad_rods,
    refuse_slips,
    refuse_tie_rod_through_axis,
    refuse_unlocated,
)
from clearance.suspension.steering import Kingpin, kingpin_through

HUB_HEIGHT = Height(name="the hub's height", letters=(), point=Riding(np.zeros(3)), column=0)
NO_TIE_ROD = (
    "No tie rod is given: the wheel is taken to point where the steering points it at every height, without bump steer."
)


def point(values: Mapping[str, Any], name: str) -> Array:
    """The point of that key, (3,)."""
    return np.array(values[name], dtype=float)


def points_of(values: Mapping[str, Any]) -> dict[str, Array]:
    """Every key that is a point."""
    found = {}
    for name, value in values.items():
        if not isinstance(value, str) and np.shape(value) == (3,):
            found[name] = np.array(value, dtype=float)
    return found


def steered_end(values: Mapping[str, Any], inner: str = "tie_inner") -> Point:
    """The end of a rod that the steering moves: on a rack, or on an arm about an axis.

    Raises SuspensionError where one point of the axis is missing, or the arm is too short.
    """
    end = point(values, inner)
    if "arm_pivot" not in values and "arm_axis" not in values:
        return Racked(end)
    if "arm_pivot" not in values or "arm_axis" not in values:
        missing = "arm_axis" if "arm_pivot" in values else "arm_pivot"
        raise SuspensionError(
            f'a steering arm needs two points of its axis, arm_pivot and arm_axis; "{missing}" is missing.'
        )
    pivot, other = point(values, "arm_pivot"), point(values, "arm_axis")
    length = float(np.linalg.norm(other - pivot))
    if length < 1.0:
        raise SuspensionError("arm_pivot and arm_axis are the same point. Write two points of the arm's axis.")
    arm = Swung(end, pivot, (other - pivot) / length)
    if arm.radius_mm < 20.0:
        raise SuspensionError(
            f"{inner} is {arm.radius_mm:.1f} mm from the steering arm's axis. Check the three points."
        )
    return arm


def double_wishbone(values: Mapping[str, Any], cycle: Cycle, title: str) -> Linked:
    """Two arms and a tie rod: five rods to the upright."""
    refuse_slips(points_of(values))
    upper, lower = point(values, "upper_ball"), point(values, "lower_ball")
    rows = (*_arm_rods(values, "upper", "U"), *_arm_rods(values, "lower", "L"))
    links: tuple[Link, ...] = (
        _arm(values, "upper"),
        _arm(values, "lower"),
    )
    return _upright("double-wishbone", values, cycle, title, rows, links, kingpin_through(lower, upper), Riding(lower))


def strut(values: Mapping[str, Any], cycle: Cycle, title: str) -> Linked:
    """One arm, a tie rod, and a strut whose top stays on its axis.

    Raises SuspensionError for points that cannot be, and travel out of reach.
    """
    refuse_slips(points_of(values))
    top, bottom, lower = point(values, "strut_top"), point(values, "strut_bottom"), point(values, "lower_ball")
    length = float(np.linalg.norm(top - bottom))
    if length < 50.0:
        raise SuspensionError(
            f"strut_top and strut_bottom are {length:.0f} mm apart, too near to show the strut's axis. Take"
            " strut_bottom"
            f" further down the damper."
        )
    slide = Slide(
        name="strut",
        letters=("ST", "SB"),
        point=Fixed(top),
        line=Riding(bottom),
        direction=(top - bottom) / length,
    )
    rows = (*_arm_rods(values, "lower", "L"), slide)
    links: tuple[Link, ...] = (_arm(values, "lower"), Strut(name="strut", inner=Fixed(top), outer=Riding(bottom)))
    return _upright("strut", values, cycle, title, rows, links, kingpin_through(lower, top), Riding(lower))


def multi_link(values: Mapping[str, Any], cycle: Cycle, title: str) -> Linked:
    """Five links from the car to the upright, or four and a tie rod.

    Raises SuspensionError for another number of links, points that cannot be, and travel out of reach.
    """
    table = np.array(values["links"], dtype=float)
    has_tie = "tie_inner" in values
    needed = 4 if has_tie else 5
    if len(table) != needed:
        raise SuspensionError(
            f"multi-link has {len(table)} links {'beside its tie rod' if has_tie else 'and no tie rod'}; an"
            " upright needs five"
            f" rods in all. Write {needed} rows in links."
        )
    refuse_slips({f"links row {i + 1}": row for i, row in enumerate(table)})
    rows = tuple(
        rod(f"link {i}", (f"{i} inner", f"{i} outer"), Fixed(row[:3].copy()), Riding(row[3:].copy()))
        for i, row in enumerate(table, start=1)
    )
    links: tuple[Link, ...] = tuple(
        Strut(name=f"link {i}", inner=Fixed(row[:3].copy()), outer=Riding(row[3:].copy()))
        for i, row in enumerate(table, start=1)
    )
    if not has_tie and cycle.steer_deg != (0.0, 0.0):
        raise SuspensionError(
            "a multi-link that steers needs its tie rod by itself: tie_inner and tie_outer, and the other four"
            " links in links."
        )
    return _upright("multi-link", values, cycle, title, rows, links, None, None)


def _arm_rods(values: Mapping[str, Any], which: str, letter: str) -> tuple[Row, Row]:
    ball = Riding(point(values, f"{which}_ball"))
    return (
        rod(f"{which} arm, front leg", (f"{letter}F", f"{letter}U"), Fixed(point(values, f"{which}_front")), ball),
        rod(f"{which} arm, rear leg", (f"{letter}B", f"{letter}U"), Fixed(point(values, f"{which}_rear")), ball),
    )


def _arm(values: Mapping[str, Any], which: str) -> Arm:
    return Arm(
        name=f"{which} arm",
        first_mm=point(values, f"{which}_front"),
        second_mm=point(values, f"{which}_rear"),
        joint=Riding(point(values, f"{which}_ball")),
    )


def _upright(
    kind: str,
    values: Mapping[str, Any],
    cycle: Cycle,
    title: str,
    rows: tuple[Row, ...],
    links: tuple[Link, ...],
    kingpin: Kingpin | None,
    standing: Riding | None,
) -> Linked:
    """The upright on its rods, with whatever holds its toe."""
    camber, toe = float(values.get("camber", 0.0)), float(values.get("toe", 0.0))
    notes: tuple[str, ...] = ()
    steers = False
    if "tie_inner" in values or "tie_outer" in values:
        for name in ("tie_inner", "tie_outer"):
            if name not in values:
                raise SuspensionError(f'a tie rod has two ends; "{name}" is missing.')
        inner, outer = steered_end(values), Riding(point(values, "tie_outer"))
        if kingpin is not None:
            refuse_tie_rod_through_axis(kingpin, point(values, "tie_inner"), point(values, "tie_outer"))
        rows = (*rows, rod("tie rod", ("TI", "TO"), inner, outer))
        links = (*links, Strut(name="tie rod", inner=inner, outer=outer))
        steers = True
    elif kingpin is not None:
        notes = (NO_TIE_ROD,)
        rows = (
            *rows,
            RoadAngle(name="the wheel's direction", letters=(), spin=spin_axis(camber, toe), toe_deg=toe),
        )
    linkage = Linkage(bodies=1, rows=(*rows, HUB_HEIGHT))
    refuse_bad_rods(linkage)
    refuse_unlocated(linkage, "upright")
    return Linked(
        kind=kind,
        cycle=cycle,
        linkage=linkage,
        links=links,
        camber_deg=camber,
        toe_deg=toe,
        steers=steers,
        standing=standing,
        kingpin=kingpin,
        notes=notes,
        title=title,
    )
