"""What of a corner's motion was not measured, and how far the wheel may be from where it is given for that.

What is not known widens an answer. Moves along and across the car are added to the play, so that every one of them is
among the positions; turns have no number of their own in a position and are bounded by what they do to the farthest
point of the wheel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from clearance.suspension.position import AXLE, BODY, Shift


@dataclass(frozen=True, slots=True, kw_only=True)
class Unmeasured:
    """Bounds on what was not measured, over the whole cycle; nothing of it is there at ride height, straight ahead."""

    ahead_mm: float = 0.0
    behind_mm: float = 0.0
    inboard_mm: float = 0.0
    outboard_mm: float = 0.0
    """How far the wheel may be from where it is given, each way along the body's axes."""
    turn_deg: float = 0.0
    """How far its axle may be turned from where it is given."""
    steered_mm: float = 0.0
    """How far the steering may carry the wheel from where it is given."""
    steered_deg: float = 0.0
    """How far the steering may turn its axle from where it is given, the steer angle itself being known."""
    travel: bool = False
    """True where nothing of the travel was measured: the corner is known at ride height only."""
    words: tuple[str, ...] = ()
    """What was bounded, and what would narrow it."""

    def off_mm(self, frame: str, reach_mm: float) -> float:
        """How far a point of the wheel may be from every place that the cycle gives it, as `frame` sees it.

        `reach_mm` is that of the wheel's farthest point from the hub. Play along and across is in the cycle.
        """
        steered = self.steered_mm + swung_mm(self.steered_deg, reach_mm)
        if frame == BODY:
            return steered + swung_mm(self.turn_deg, reach_mm)
        return steered if frame == AXLE else 0.0

    def moved_mm(self, frame: str, reach_mm: float) -> float:
        """How far a point of the wheel may be from the place that the nominal motion gives it."""
        along, across = max(self.ahead_mm, self.behind_mm), max(self.inboard_mm, self.outboard_mm)
        return self.off_mm(frame, reach_mm) + (math.hypot(along, across) if frame == BODY else 0.0)

    def with_play(self, play: Shift) -> Shift:
        """The play with these moves added."""
        return Shift(
            inboard_mm=play.inboard_mm + self.inboard_mm,
            outboard_mm=play.outboard_mm + self.outboard_mm,
            ahead_mm=play.ahead_mm + self.ahead_mm,
            behind_mm=play.behind_mm + self.behind_mm,
        )


def swung_mm(turn_deg: float, reach_mm: float) -> float:
    """The chord that a turn moves a point through, `reach_mm` from where it turns.

    >>> round(swung_mm(60.0, 350.0), 6)
    350.0
    """
    return 2.0 * math.sin(math.radians(min(turn_deg, 180.0)) / 2.0) * reach_mm


def unmeasured_of(suspension: Any) -> Unmeasured | None:
    """What of a suspension's motion was not measured; None where all of it is given."""
    found = getattr(suspension, "unmeasured", None)
    return found if isinstance(found, Unmeasured) else None
