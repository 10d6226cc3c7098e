"""The place of a point on the car, in the words a fabricator would use across a shop.

* o'clock   - the direction from the axle as seen from outboard, standing beside the car and looking at the wheel:
              12 is up. On a left corner the car's nose is to the viewer's left, so ahead is 9 o'clock; on a right
              corner ahead is 3 o'clock.
* the axle  - the line through the hub's centre at ride height, straight ahead: what can be found on the parked car
* hub face  - the hub's wheel-mounting face at ride height

Points are corner axes (see `pose`): a right corner arrives here mirrored, and only the clock has to know.
Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from clearance.pose import car_steer_deg, rightward
from clearance.suspension.position import Cycle, Position

NEAR_MM = 15.0
"""Closer to the axle's line than this, a clock direction says nothing."""


def where_text(point_mm: npt.ArrayLike, *, right_hand: bool = False) -> str:
    """The place of one point (3,) of corner axes, from the axle at ride height.

    >>> where_text((40.0, -60.0, 310.0))
    "12 o'clock, 40 mm ahead of the axle, 310 mm above it, 60 mm inboard of the hub face"
    >>> where_text((300.0, 12.0, 0.2), right_hand=True)
    "3 o'clock, 300 mm ahead of the axle, level with it, 12 mm outboard of the hub face"
    """
    ahead, outboard, above = (float(value) for value in _row(point_mm))
    words = [
        _along(ahead, "ahead of the axle", "behind the axle", "in line with the axle"),
        _along(above, "above it", "below it", "level with it"),
        _along(outboard, "outboard of the hub face", "inboard of the hub face", "at the hub face"),
    ]
    if math.hypot(ahead, above) > NEAR_MM:
        words.insert(0, clock_text(ahead, above, right_hand=right_hand))
    return ", ".join(words)


def clock_text(ahead_mm: float, above_mm: float, *, right_hand: bool = False) -> str:
    """The direction from the axle to the nearest hour, seen from outboard.

    >>> clock_text(100.0, 0.0), clock_text(100.0, 0.0, right_hand=True), clock_text(0.0, -5.0)
    ("9 o'clock", "3 o'clock", "6 o'clock")
    """
    hour = round(clock_deg(ahead_mm, above_mm, right_hand=right_hand) / 30.0) % 12
    return f"{hour or 12} o'clock"


def clock_deg(ahead_mm: float, above_mm: float, *, right_hand: bool = False) -> float:
    """The direction from the axle as a clock's hand has it seen from outboard: 0 straight up, 90 at 3 o'clock."""
    return math.degrees(math.atan2(ahead_mm * rightward(right_hand=right_hand), above_mm))


def position_text(
    bump_mm: float,
    other_bump_mm: float,
    steer_deg: float,
    *,
    other_moves: bool,
    steers: bool,
    length: Callable[[float], str] | None = None,
) -> str:
    """A position of the corner in words: all of it that the cycle has. `steer_deg` is the car's own.

    >>> position_text(-40.0, 90.0, 0.0, other_moves=True, steers=False)
    '40 mm droop, the other side 90 mm bump'
    >>> position_text(0.0, 0.0, -28.04, other_moves=False, steers=True)
    'ride height, 28.0 deg right'
    """
    written = length or (lambda mm: f"{mm:.0f} mm")
    small_mm = 0.5 if length is None else 0.05

    def height(mm: float, level: str) -> str:
        return level if abs(mm) < small_mm else f"{written(abs(mm))} {'bump' if mm > 0 else 'droop'}"

    words = [height(bump_mm, "ride height")]
    if other_moves:
        words.append(f"the other side {height(other_bump_mm, 'at ride height')}")
    if steers:
        words.append(steer_text(steer_deg))
    return ", ".join(words)


def steer_text(steer_deg: float) -> str:
    """A steer angle of the car in words.

    >>> steer_text(-28.0), steer_text(0.0)
    ('28.0 deg right', 'straight ahead')
    """
    if abs(steer_deg) < 0.05:
        return "straight ahead"
    return f"{abs(steer_deg):.1f} deg {steer_side(steer_deg)}"


def steer_side(steer_deg: float) -> str:
    """Which way the car turns: "left" where its steer is positive.

    >>> steer_side(3.0), steer_side(-3.0)
    ('left', 'right')
    """
    return "left" if steer_deg > 0 else "right"


def held_text(position: str, *, every: bool, others: bool) -> str:
    """A position, and whether the gap is as small far from it too.

    >>> held_text("76.2 mm droop", every=False, others=True)
    '76.2 mm droop, among others'
    """
    if every:
        return "every position"
    return f"{position}, among others" if others else position


def words_of(position: Position, cycle: Cycle, *, right_hand: bool) -> str:
    """A position of a cycle, in words."""
    return position_text(
        position.bump_mm,
        position.other_bump_mm,
        car_steer_deg(position.steer_deg, right_hand=right_hand),
        other_moves=cycle.other_bump_mm != (0.0, 0.0),
        steers=cycle.steer_deg != (0.0, 0.0),
    )


def _row(point_mm: npt.ArrayLike) -> list[float]:
    return [float(value) for value in np.asarray(point_mm, dtype=float).reshape(3)]


def _along(length_mm: float, positive: str, negative: str, neither: str) -> str:
    whole = round(abs(length_mm))
    if whole == 0:
        return neither
    return f"{whole} mm {positive if length_mm > 0 else negative}"
