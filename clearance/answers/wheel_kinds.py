"""The kinds of wheel that are on a car: corners whose wheels are ordered alike have one kind.

* kind - wheels of one drawing with one tire on them, one for each of its corners
* box  - one wheel of a kind as it comes; its name says the kind where the car has several: "rear wheel 1"
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from clearance.answers.boxes import order_of
from clearance.wheel.inspection import Order

if TYPE_CHECKING:
    from clearance.mockup.car import Car
    from clearance.mockup.mockup import MockUp


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WheelKind:
    """One kind of wheel and the corners that it is for."""

    name: str
    """What its boxes begin with: "rear", "rear-left"; empty where every wheel of the car is of one kind."""
    corners: tuple[MockUp, ...]

    @property
    def order(self) -> Order:
        """What was ordered: one wheel for each corner."""
        first = self.corners[0]
        return order_of(first, replace(first.terms.order, quantity=len(self.corners)))

    @property
    def boxes(self) -> tuple[str, ...]:
        """The names of its wheels in their boxes."""
        return tuple(f"{self.name} wheel {number}".strip() for number in range(1, len(self.corners) + 1))

    @property
    def heads(self) -> tuple[str, ...]:
        """What stands over the page of each: which of how many, and where it may go."""
        count = len(self.corners)
        return tuple(f"{box[:1].upper()}{box[1:]} of {count}, for {', '.join(self.corner_names)}" for box in self.boxes)

    @property
    def corner_names(self) -> tuple[str, ...]:
        """Where they go."""
        return tuple(corner.corner for corner in self.corners)


def wheel_kinds(car: Car) -> tuple[WheelKind, ...]:
    """The kinds of wheel of a car, front first."""
    kinds: dict[tuple[object, ...], list[MockUp]] = {}
    for corner in car.corners.values():
        kinds.setdefault(_alike(corner), []).append(corner)
    if len(kinds) == 1:
        return (WheelKind(name="", corners=tuple(car.corners.values())),)
    return tuple(WheelKind(name=_named(car, corners), corners=tuple(corners)) for corners in kinds.values())


def _named(car: Car, corners: Sequence[MockUp]) -> str:
    """The axle where the wheels are all of it, else the corners."""
    names = [corner.corner for corner in corners]
    for axle in car.axles:
        if len(names) > 1 and names == [side.corner for side in car.sides(axle)]:
            return axle
    return " and ".join(names)


def _alike(corner: MockUp) -> tuple[object, ...]:
    """What two corners must have alike to have the same wheel and tire ordered."""
    wheel, tire = corner.wheel, corner.tire
    size = (round(tire.overall_diameter_mm, 2), round(tire.section_width_mm, 2), tire.marking)
    terms = replace(corner.terms.order, quantity=0, tolerances_mm={})
    return (
        wheel.diameter_in,
        wheel.width_in,
        round(wheel.offset_mm, 3),
        wheel.bolt_circle,
        wheel.center_bore_mm,
        *size,
        repr(terms),
        tuple(sorted(corner.terms.order.tolerances_mm.items())),
    )
