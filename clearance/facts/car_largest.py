"""The sizes that clear at both sides of each axle, as facts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clearance.answers.largest import Largest
from clearance.facts.largest import LOOKED, looked_json
from clearance.facts.shape import CORNER, answer, one_of, rows, table, text
from clearance.mockup.car import AXLES, Car

FORMAT = "clearance-car-largest/1"


def facts(car: Car, found: Mapping[str, Largest]) -> dict[str, Any]:
    """Everything that the page says; `found` by axle."""
    axles = []
    for axle, one in found.items():
        corners = {corner.corner: corner for corner in car.sides(axle)}
        axles.append({"axle": axle, "corners": list(corners), **looked_json(corners, one)})
    return {"format": FORMAT, "title": car.title, "cautions": list(car.cautions), "axles": axles}


SHAPE = answer(
    FORMAT,
    "the tire sizes that clear at both sides of each axle, each at its best backspace, best first",
    title=text("of the car"),
    cautions=rows("what applies to this car", text("one of them")),
    axles=rows(
        "each axle",
        table("one axle", axle=one_of("which", *AXLES), corners=rows("that are described", CORNER), **LOOKED),
    ),
)
