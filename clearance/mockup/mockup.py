"""The mock-up: a wheel and tire bolted to a corner, inside its well. Every question is asked of one.

Everything inside is a left corner in corner axes (see `pose`); `right_hand` says that the real one is its mirror image.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from clearance.errors import PartError
from clearance.geom.revolve import Solid
from clearance.mockup.solid import solid_of
from clearance.suspension.position import Suspension
from clearance.tire.tire import Tire
from clearance.well.part import Part
from clearance.wheel.wheel import Wheel


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MockUp:
    """Tire, wheel, suspension and what surrounds them."""

    title: str
    corner: str
    """front-left, front-right, rear-left or rear-right"""
    tire: Tire
    wheel: Wheel
    suspension: Suspension
    parts: tuple[Part, ...]
    right_hand: bool = False
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    extra: Mapping[str, object] = field(default_factory=dict)
    """What other questions than the main one read: limits, load states, uncertainty, order."""

    @property
    def solid(self) -> Solid:
        """The tire on its wheel as one solid of revolution in hub axes."""
        return _solid(self.tire, self.wheel)

    def part(self, name: str) -> Part:
        """The part of this name. Raises PartError where there is none."""
        for part in self.parts:
            if part.name == name:
                return part
        names = ", ".join(part.name for part in self.parts)
        raise PartError(f"there is no part {name!r}. The parts are: {names}.")


@lru_cache(maxsize=64)
def _solid(tire: Tire, wheel: Wheel) -> Solid:
    # tires and wheels compare by identity, so the same pair is the same solid
    return solid_of(tire, wheel)
