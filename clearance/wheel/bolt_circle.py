"""The bolt circle of a wheel: studs evenly spaced on a circle, and how to measure it with calipers.

Lengths are millimetres. The distance between two stud centres, `on` places apart, is a chord: D sin(on pi / n).

* adjacent - to the next stud
* across - to the stud opposite; only an even number of studs has one
* trap - two circles so close that a tape cannot tell them apart, and that do not interchange
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from clearance.errors import UnitError, WheelError
from clearance.plain import echoed
from clearance.sound import a_number
from clearance.units import length_mm

KNOWN: tuple[tuple[int, float], ...] = (
    (4, 98.0),
    (4, 100.0),
    (4, 108.0),
    (4, 110.0),
    (4, 114.3),
    (5, 98.0),
    (5, 100.0),
    (5, 108.0),
    (5, 110.0),
    (5, 112.0),
    (5, 114.3),
    (5, 115.0),
    (5, 120.0),
    (5, 120.65),
    (5, 127.0),
    (5, 130.0),
    (5, 135.0),
    (5, 139.7),
    (5, 150.0),
    (5, 165.1),
    (5, 205.0),
    (6, 114.3),
    (6, 127.0),
    (6, 135.0),
    (6, 139.7),
    (8, 165.1),
    (8, 170.0),
    (8, 200.0),
    (8, 210.0),
)
"""Studs and diameter of the circles in common use (trade tables, millimetres and inches agreeing)."""

NEAR_MM = 2.1
"""Circles of one stud count closer than this are taken for each other."""

_WRITTEN = re.compile(r"\s*(\d{1,2})\s*(?:x|X|\u00d7|\*|on)\s*(.+?)\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltCircle:
    """`studs` evenly spaced on a circle through their centres.

    Raises WheelError where no wheel has such a circle.
    """

    studs: int
    diameter_mm: float

    def __post_init__(self) -> None:
        a_number(self.studs, "the number of studs", WheelError, key="bolt_circle")
        a_number(self.diameter_mm, "the bolt circle", WheelError, key="bolt_circle")
        if not 3 <= self.studs <= 12 or self.studs != int(self.studs):
            raise WheelError(f"a bolt circle of {self.studs} studs is not known; 3 to 12 are.")
        if not 50 <= self.diameter_mm <= 500:
            raise WheelError(f"a bolt circle of {self.diameter_mm:g} mm is not believable; 50 to 500 mm is.")

    def __str__(self) -> str:
        return f"{self.studs} x {self.diameter_mm:g} mm"

    @classmethod
    def parse(cls, text: str) -> BoltCircle:
        """A bolt circle as people write it, its unit included.

        Raises WheelError with examples; a circle without a unit is refused, since 5 x 4.5 and 5 x 114.3 are one.

        >>> BoltCircle.parse("5 x 4.5 in") == BoltCircle.parse("5x114.3 mm")
        True
        """
        match = _WRITTEN.fullmatch(text)
        if match is None:
            raise WheelError(f'{echoed(text)} is not a bolt circle. Write "5 x 4.5 in" or "5 x 114.3 mm".')
        try:
            # to the micrometre, so that an inch circle equals its millimetre twin
            diameter_mm = round(length_mm(match[2]), 6)
        except UnitError as trouble:
            raise WheelError(
                f'{echoed(text)} is not a bolt circle: {trouble} A whole one reads "5 x 4.5 in" or "5 x 114.3 mm".'
            ) from None
        return cls(studs=int(match[1]), diameter_mm=diameter_mm)

    def chord_mm(self, on: int = 1) -> float:
        """Centre to centre of two studs `on` places apart, mm: D sin(on pi / n). Raises WheelError past half a turn.

        >>> round(BoltCircle(studs=5, diameter_mm=114.3).chord_mm(), 3)
        67.184
        """
        if not 1 <= on <= self.studs // 2:
            raise WheelError(f"of {self.studs} studs another is 1 to {self.studs // 2} places on, not {on}.")
        return self.diameter_mm * math.sin(on * math.pi / self.studs)


def from_chord(studs: int, chord_mm: float, on: int = 1) -> BoltCircle:
    """The circle whose studs, `on` places apart, measure `chord_mm` centre to centre.

    Raises WheelError for a chord that cannot be.
    """
    unit = math.sin(on * math.pi / studs) if 3 <= studs <= 12 and 1 <= on <= studs // 2 else 0.0
    if unit == 0.0:
        raise WheelError(f"of {studs} studs another cannot be {on} places on.")
    return BoltCircle(studs=studs, diameter_mm=chord_mm / unit)


def traps(circle: BoltCircle) -> tuple[BoltCircle, ...]:
    """Other circles in use that this one is easily taken for: none of them may be bolted to its hub.

    >>> [str(other) for other in traps(BoltCircle(studs=5, diameter_mm=120))]
    ['5 x 120.65 mm']
    """
    return tuple(
        BoltCircle(studs=studs, diameter_mm=diameter_mm)
        for studs, diameter_mm in KNOWN
        if studs == circle.studs and 0.05 < abs(diameter_mm - circle.diameter_mm) < NEAR_MM
    )


def nearest_known(circle: BoltCircle) -> BoltCircle | None:
    """The circle in common use that a measured one most likely is; None where none is within 2 mm."""
    near = [BoltCircle(studs=s, diameter_mm=d) for s, d in KNOWN if s == circle.studs]
    best = min(near, key=lambda known: abs(known.diameter_mm - circle.diameter_mm), default=None)
    return best if best is not None and abs(best.diameter_mm - circle.diameter_mm) < NEAR_MM else None
