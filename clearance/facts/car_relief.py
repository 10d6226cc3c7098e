"""What must move at each corner of a car, as facts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clearance.answers.relief import Relief, ReliefMap
from clearance.defaults import STEP_MM
from clearance.facts.relief import CORNERS_OWN, parts_and_maps
from clearance.facts.shape import CORNER, FILES, answer, mm, rows, table, text
from clearance.mockup.car import Car

FORMAT = "clearance-car-relief/1"


def facts(
    car: Car,
    found: Mapping[str, Sequence[Relief]],
    maps: Mapping[str, Sequence[ReliefMap]],
    files: Sequence[str],
) -> dict[str, Any]:
    """Everything that the page says, corner by corner."""
    corners = [{"corner": name, **parts_and_maps(car.at(name), own, maps[name])} for name, own in found.items()]
    return {
        "format": FORMAT,
        "title": car.title,
        "cautions": list(car.cautions),
        "step": STEP_MM,
        "corners": corners,
        "files": list(files),
    }


SHAPE = answer(
    FORMAT,
    "how far each part must move at each corner of a car, and which way",
    title=text("of the car"),
    cautions=rows("what applies to this car", text("one of them")),
    step=mm("to which moves are exact"),
    corners=rows("each corner", table("one corner", corner=CORNER, **CORNERS_OWN)),
    files=FILES,
)
