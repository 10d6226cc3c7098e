"""The mock-up: a wheel and tire bolted to a corner, inside its well. Every question is asked of one.

Everything inside is a left corner in corner axes (see `pose`); the real one of a right corner is its mirror image.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from clearance.errors import InputError, PartError, SuspensionError, TireError
from clearance.geom.revolve import Solid
from clearance.mockup.solid import refuse_other_rim, solid_of
from clearance.plain import echoed
from clearance.sound import one_of, shown
from clearance.suspension.position import Suspension
from clearance.suspension.unmeasured import Unmeasured, unmeasured_of
from clearance.terms import Terms
from clearance.tire.tire import Tire
from clearance.units import FIRST
from clearance.well.part import Part
from clearance.wheel.wheel import Wheel

CORNERS = ("front-left", "front-right", "rear-left", "rear-right")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MockUp:
    """Tire, wheel, suspension and what surrounds them.

    Raises InputError for one that cannot be: a corner that no car has, two parts of one name, a part that rides on what
    the suspension does not carry, a tire for another rim.
    """

    title: str
    corner: str
    """front-left, front-right, rear-left or rear-right"""
    tire: Tire
    wheel: Wheel
    suspension: Suspension
    parts: tuple[Part, ...]
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    terms: Terms = field(default_factory=Terms)
    """What may change, what is sold, how sure each number is: what other questions than the main one ask about."""
    units: str = FIRST[0]
    """Which unit its pages and drawings have first, "mm" or "in". No number depends on it, nor any JSON."""

    def __post_init__(self) -> None:
        one_of(self.corner, CORNERS, "a corner", InputError, key="corner")
        one_of(self.units, FIRST, "a unit that a page can have first", InputError, key="units")
        if not isinstance(self.title, str):
            raise InputError(f"{shown(self.title)} is not a title. Write some words.", key="title")
        if not isinstance(self.tire, Tire) or not isinstance(self.wheel, Wheel):
            raise TireError(f"a tire on a wheel belongs here; found {shown(self.tire)} on {shown(self.wheel)}.")
        refuse_other_rim(self.tire, self.wheel)
        frames = getattr(self.suspension, "frames", None)
        if not isinstance(frames, tuple):
            raise SuspensionError(f"a suspension belongs here; found {shown(self.suspension)}.")
        _refuse_parts(self.parts, frames)

    @property
    def right_hand(self) -> bool:
        """Whether the real corner is the mirror image of what is inside."""
        return self.corner.endswith("right")

    @property
    def solid(self) -> Solid:
        """The tire on its wheel as one solid of revolution in hub axes."""
        return _solid(self.tire, self.wheel)

    @property
    def unmeasured(self) -> Unmeasured | None:
        """What of the motion was not measured; None where all of it is given."""
        return unmeasured_of(self.suspension)

    def off_mm(self, frame: str) -> float:
        """How far a point of the wheel may be from every place that the cycle gives it, as this frame sees it."""
        unmeasured = self.unmeasured
        return 0.0 if unmeasured is None else unmeasured.off_mm(frame, self.solid.reach_mm)

    def as_given(self) -> MockUp:
        """The same with its unmeasured links doing nothing: one of the motions that are possible."""
        suspension: Any = self.suspension
        return self if self.unmeasured is None else replace(self, suspension=suspension.as_given())

    def part(self, name: str) -> Part:
        """The part of this name. Raises PartError where there is none."""
        for part in self.parts:
            if part.name == name:
                return part
        names = ", ".join(part.name for part in self.parts)
        raise PartError(f"there is no part {echoed(name)}. The parts are: {names}.")


def _refuse_parts(parts: object, frames: tuple[str, ...]) -> None:
    if not isinstance(parts, tuple) or not all(isinstance(part, Part) for part in parts):
        raise PartError(f"the parts of the well belong here; found {shown(parts)}.")
    names: set[str] = set()
    for part in parts:
        if part.name in names:
            raise PartError(f'the name "{part.name}" is taken twice. Give every part a name of its own.', key="name")
        names.add(part.name)
        ridden = {
            "rides_on": part.rides_on,
            "ends_ride_on": part.rides_on if part.far_end is None else part.far_end.frame,
        }
        for key, frame in ridden.items():
            if frame not in frames:
                raise PartError(
                    f'part "{part.name}": nothing here is called "{frame}" for it to ride on.'
                    f" There is {', '.join(frames)}.",
                    key=key,
                )


@lru_cache(maxsize=64)
def _solid(tire: Tire, wheel: Wheel) -> Solid:
    # tires and wheels compare by identity, so the same pair is the same solid
    return solid_of(tire, wheel)
