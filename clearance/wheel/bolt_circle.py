"""The bolt circle of a wheel: studs on a circle."""

from __future__ import annotations

from dataclasses import dataclass

from clearance.errors import WheelError


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltCircle:
    """`studs` evenly spaced on a circle through their centres."""

    studs: int
    diameter_mm: float

    def __post_init__(self) -> None:
        if not 3 <= self.studs <= 12:
            raise WheelError(f"a bolt circle of {self.studs} studs is not known; 3 to 12 are.")
        if not 50 <= self.diameter_mm <= 500:
            raise WheelError(f"a bolt circle of {self.diameter_mm:g} mm is not believable; 50 to 500 mm is.")
