"""What was drawn, as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.facts.shape import FILES, of_corner
from clearance.mockup.car import Car
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, files: Sequence[str]) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": "clearance-draw/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "files": list(files),
    }


def car_facts(car: Car, files: Sequence[str]) -> dict[str, Any]:
    """The same of a whole car."""
    warnings = dict.fromkeys(warning for corner in car.corners.values() for warning in corner.warnings)
    return {"format": "clearance-draw/1", "title": car.title, "warnings": list(warnings), "files": list(files)}


SHAPE = of_corner("clearance-draw/1", "what was drawn", files=FILES)
