"""A car's check as facts: the findings of every corner, worst first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clearance.facts.shape import CORNER, VERDICT, answer, rows, text
from clearance.mockup.car import Car

FORMAT = "clearance-car-check/1"


def facts(car: Car, findings: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": FORMAT,
        "title": car.title,
        "cautions": list(car.cautions),
        "verdict": findings[0]["verdict"],
        "worst": findings[0]["corner"],
        "corners": [dict(one) for one in findings],
    }


SHAPE = answer(
    FORMAT,
    "does everything clear at every corner of a car",
    title=text("of the car"),
    cautions=rows("what applies to this car", text("one of them")),
    verdict=VERDICT,
    worst=CORNER,
    corners=rows(
        "the findings of every corner, worst first",
        {
            "type": "object",
            "description": "as in findings.schema.json",
            "required": ["format", "corner", "verdict", "parts"],
        },
    ),
)
