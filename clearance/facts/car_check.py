"""A car's check as facts: every corner with its tightest part, worst first. The rest is in each corner's findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import CORNER, VERDICT, WARNINGS, answer, count, maybe, rows, table, text
from clearance.gap.found import Gap
from clearance.mockup.car import Car

FORMAT = "clearance-car-check/1"


def facts(car: Car, findings: Sequence[Mapping[str, Any]], worst: Mapping[str, Gap | None]) -> dict[str, Any]:
    """Everything that the page says; `worst` is each corner's tightest gap by its name."""
    return {
        "format": FORMAT,
        "title": car.title,
        "cautions": list(car.cautions),
        "verdict": findings[0]["verdict"],
        "worst": findings[0]["corner"],
        "corners": [_corner(car, one, worst[one["corner"]]) for one in findings],
    }


def _corner(car: Car, one: Mapping[str, Any], worst: Gap | None) -> dict[str, Any]:
    return {
        "corner": one["corner"],
        "title": one["title"],
        "verdict": one["verdict"],
        "warnings": list(one["warnings"]),
        "parts": len(one["parts"]),
        "tightest": None if worst is None else gap_json(car.at(one["corner"]), worst),
    }


SHAPE = answer(
    FORMAT,
    "does everything clear at every corner of a car",
    title=text("of the car"),
    cautions=rows("what applies to this car", text("one of them")),
    verdict=VERDICT,
    worst=CORNER,
    corners=rows(
        "every corner, worst first; each has its own findings besides",
        table(
            "one corner",
            corner=CORNER,
            title=text("of the corner"),
            verdict=VERDICT,
            warnings=WARNINGS,
            parts=count("parts that were measured"),
            tightest=maybe(gap_shape("the part that decides the verdict"), "where nothing stands around the wheel"),
        ),
    ),
)
