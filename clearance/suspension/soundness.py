"""What is wrong with hardpoints before anything is solved: said in words, at ride height.

* slip    - a length that no car has: a unit was mistaken
* located - held in every direction but the ones in which it must travel
"""

from __future__ import annotations

import numpy as np

from clearance.errors import SuspensionError
from clearance.pose import Array
from clearance.suspension.linkage import Ball, Linkage, Rod, slopes_of
from clearance.suspension.steering import Kingpin

LEAST_ROD_MM = 20.0
GREATEST_ROD_MM = 4000.0
FURTHEST_POINT_MM = 6000.0
LEAST_STEERING_ARM_MM = 15.0
_RANK = 1e-3


def refuse_slips(points: dict[str, Array]) -> None:
    """Raise SuspensionError for a point that is nowhere near the hub."""
    for name, point in points.items():
        far = float(np.abs(point).max())
        if far > FURTHEST_POINT_MM:
            raise SuspensionError(
                f'"{name}" is {far / 1000:.1f} m from the hub. Check its unit: points are [ahead, outboard,'
                " above] from the"
                f' centre of the hub\'s face, such as ["-120 mm", "-300 mm", "85 mm"].'
            )
    sizes = [float(np.abs(point).max()) for point in points.values()]
    if len(sizes) >= 3 and 0.0 < max(sizes) < LEAST_ROD_MM:
        raise SuspensionError(
            f"all hardpoints lie within {max(sizes):g} mm of the hub. Check their unit: were metres or inches"
            " written as mm?"
        )


def refuse_bad_rods(linkage: Linkage) -> None:
    """Raise SuspensionError for a rod without length, one out of all scale, or two between the same points."""
    seen: dict[tuple[float, ...], str] = {}
    state = linkage.ride_height()
    for row in linkage.rows:
        if not isinstance(row, Rod):
            continue
        points = " and ".join(row.letters)
        if row.length_mm < LEAST_ROD_MM:
            raise SuspensionError(
                f"{row.name} is {row.length_mm:.2g} mm long, from {points}. The two points must differ; check them and"
                f" their unit."
            )
        if row.length_mm > GREATEST_ROD_MM:
            raise SuspensionError(
                f"{row.name} is {row.length_mm / 1000:.2f} m long, from {points}. Check the unit of both points."
            )
        key = tuple(np.round(np.concatenate([row.a.at(state)[0], row.b.at(state)[0]]), 3))
        if key in seen:
            raise SuspensionError(f"{row.name} and {seen[key]} run between the same two points. Check {points}.")
        seen[key] = row.name


def refuse_unlocated(linkage: Linkage, what: str) -> None:
    """Raise SuspensionError where the rows leave a direction free, and say which, or hold more than can move."""
    slopes = slopes_of(linkage.rows, linkage.ride_height())[0, :, :-1]
    sizes, directions = np.linalg.svd(slopes)[1:]
    if len(sizes) < linkage.unknowns or sizes[-1] < _RANK * sizes[0]:
        raise SuspensionError(f"nothing locates the {what} {_direction(directions[-1][:6])}.")
    if not linkage.soft and len(slopes) > linkage.unknowns:
        raise SuspensionError(
            f"the {what} is held {len(slopes) - linkage.unknowns} times too often: it cannot move without"
            " bending something."
            f" Leave out a rod."
        )


def refuse_tie_rod_through_axis(kingpin: Kingpin, inner_mm: Array, outer_mm: Array) -> None:
    """Raise SuspensionError where pulling the tie rod would not turn the knuckle."""
    length = float(np.linalg.norm(inner_mm - outer_mm))
    if length < LEAST_ROD_MM:
        raise SuspensionError(f"the tie rod is {length:.2g} mm long. Check its two ends and their unit.")
    along = (inner_mm - outer_mm) / length
    arm = float(abs(along @ np.cross(kingpin.axis, outer_mm - kingpin.through_mm)))
    if arm < LEAST_STEERING_ARM_MM:
        raise SuspensionError(
            f"the tie rod passes {arm:.1f} mm from the steering axis, so it cannot turn the knuckle. Check"
            " tie_inner and"
            f" tie_outer: a steering arm is usually 100 mm to 180 mm long (common practice)."
        )


def largest_give(linkage: Linkage, values: Array) -> list[tuple[str, Array]]:
    """For each soft row by name, how far its bushing gives at each position (n,), mm."""
    given, first = [], 0
    for row in linkage.soft:
        part = values[:, first : first + row.count]
        size: Array = np.linalg.norm(part, axis=1) if isinstance(row, Ball) else np.abs(part).max(axis=1)
        given.append((row.name, size))
        first += row.count
    return given


def _direction(free: Array) -> str:
    move, turn = free[:3], free[3:]
    words = (
        ("fore and aft", "sideways", "up and down")
        if np.abs(move).max() >= np.abs(turn).max()
        else ("against rolling", "against winding up", "against turning about the upright (steering by itself)")
    )
    most = int(np.argmax(np.abs(move) if np.abs(move).max() >= np.abs(turn).max() else np.abs(turn)))
    remedy = {
        "sideways": ": add a track bar, a watts linkage, or links that are splayed",
        "fore and aft": ": add trailing links",
        "against winding up": ": add an upper link or a torque arm",
        "against turning about the upright (steering by itself)": ": add a tie rod or toe link, or a second"
        " trailing link",
    }
    return words[most] + remedy.get(words[most], ". Check that no two links lie on one line")
