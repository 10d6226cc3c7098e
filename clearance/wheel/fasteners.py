"""What holds a wheel on: threads, seats, and how many turns a nut must take.

Lengths are millimetres.

* thread - "M12x1.5" (metric: diameter and pitch) or "1/2-20" (inch: diameter and threads per inch)
* seat - the face of the wheel that the nut or bolt bears on; nut and wheel must be of one kind
* engagement - how much thread is carrying: turns times pitch

CAUTION: a wheel that comes off kills. At least one stud diameter of thread must engage, the seat must match the nut,
and both must suit the wheel's own instructions; torque in a star, and again after the first 50 to 100 km (common
practice).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from clearance.errors import WheelError
from clearance.plain import echoed
from clearance.units import MM_PER_INCH

LEAST_ENGAGEMENT = 1.0
"""Stud diameters of thread that must engage: what trade pages quote as the SAE's advice (common practice)."""

CAUTION = (
    "Wheel fasteners carry lives: engage at least one stud diameter of thread, match the nut to the wheel's seat,"
    " torque in a star and again after the first 50 to 100 km (common practice); follow the wheel's own instructions."
)

_METRIC = re.compile(r"m\s*(\d+(?:\.\d+)?)\s*[x\u00d7*-]\s*(\d+(?:\.\d+)?)", re.IGNORECASE)
_INCH = re.compile(r"(\d+)\s*/\s*(\d+)\s*(?:in|\")?\s*[-x\u00d7]\s*(\d+)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A stud's or a bolt's thread.

    >>> str(Thread.parse("m12 x 1.5")), str(Thread.parse("1/2-20"))
    ('M12x1.5', '1/2-20')
    >>> round(Thread.parse("M14x1.5").turns, 2)
    9.33
    """

    name: str
    diameter_mm: float
    pitch_mm: float

    def __str__(self) -> str:
        return self.name

    @classmethod
    def parse(cls, text: str) -> Thread:
        """A thread as people write it. Raises WheelError with examples."""
        metric, inch = _METRIC.fullmatch(text.strip()), _INCH.fullmatch(text.strip())
        if metric is not None:
            diameter, pitch = float(metric[1]), float(metric[2])
            return _believable(text, cls(name=f"M{diameter:g}x{pitch:g}", diameter_mm=diameter, pitch_mm=pitch))
        if inch is not None and int(inch[2]) and int(inch[3]):
            name = f"{int(inch[1])}/{int(inch[2])}-{int(inch[3])}"
            diameter = int(inch[1]) / int(inch[2]) * MM_PER_INCH
            return _believable(text, cls(name=name, diameter_mm=diameter, pitch_mm=MM_PER_INCH / int(inch[3])))
        raise WheelError(
            f'{echoed(text)} is not a thread. Write "M12x1.5" (diameter x pitch) or "1/2-20" (inch-threads).'
        )

    @property
    def least_engagement_mm(self) -> float:
        """Thread that must carry: one diameter (common practice)."""
        return LEAST_ENGAGEMENT * self.diameter_mm

    @property
    def turns(self) -> float:
        """Turns of the nut that make the least engagement."""
        return self.least_engagement_mm / self.pitch_mm

    def engaged_mm(self, turns: float) -> float:
        """Engaged thread of a nut that went on by so many turns."""
        return turns * self.pitch_mm


def _believable(text: str, thread: Thread) -> Thread:
    if not (6 <= thread.diameter_mm <= 30 and 0.5 <= thread.pitch_mm <= 3.5):
        raise WheelError(
            f"{echoed(text)} is not a wheel thread: {thread.diameter_mm:.4g} mm across, {thread.pitch_mm:.3g} mm pitch."
            ' Write "M12x1.5" or "1/2-20".'
        )
    return thread
