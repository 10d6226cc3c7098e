"""The sizes that clear at both sides of each axle, as a buyer reads them."""

from __future__ import annotations

from collections.abc import Mapping

from clearance.answers.largest import Largest
from clearance.mockup.car import Car
from clearance.words.largest import listed
from clearance.words.text import car_head, notes_by_corner


def page(car: Car, found: Mapping[str, Largest]) -> str:
    """Axle by axle."""
    lines = [*car_head(car), *notes_by_corner({name: corner.warnings for name, corner in car.corners.items()})]
    for axle, one in found.items():
        sides = car.sides(axle)
        lines += [f"{axle} axle: {', '.join(side.corner for side in sides)}", *listed(sides[0], one, corners=True), ""]
    return "\n".join(lines).rstrip("\n")
