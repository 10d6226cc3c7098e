"""What must move, as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.answers.relief import Relief, ReliefMap
from clearance.defaults import STEP_MM
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import FILES, mm, number, of_corner, rows, several, table, text
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, found: Sequence[Relief], maps: Sequence[ReliefMap], files: Sequence[str]) -> dict[str, Any]:
    """Everything that the page says."""

    return {
        "format": "clearance-relief/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "step": STEP_MM,
        **parts_and_maps(mockup, found, maps),
        "files": list(files),
    }


def parts_and_maps(mockup: MockUp, found: Sequence[Relief], maps: Sequence[ReliefMap]) -> dict[str, Any]:
    """What must move at one corner, and what comes off."""
    return {
        "parts": [
            {
                "part": one.before.part,
                "kind": one.kind,
                "before": gap_json(mockup, one.before),
                "moves": [
                    {
                        "way": move.way,
                        "direction": _direction(mockup, move.direction),
                        "distance": round(move.distance_mm, 1),
                        "words": move.words,
                        "after": gap_json(mockup, move.gap),
                    }
                    for move in one.moves
                ],
            }
            for one in found
        ],
        "maps": [
            {
                "part": one.part,
                "most": round(one.most_mm, 2),
                "area_cm2": round(one.area_mm2 / 100, 1),
                "volume_cm3": round(one.volume_mm3 / 1000, 1),
            }
            for one in maps
        ],
    }


def _direction(mockup: MockUp, direction: tuple[float, float, float]) -> list[float]:
    # ahead, outboard, above: outboard is outboard on either side of the car
    return [round(v, 4) + 0.0 for v in direction]


CORNERS_OWN = {
    "parts": rows(
        "every part that is under its required gap",
        table(
            "one part",
            part=text("its name"),
            kind=text("of part"),
            before=gap_shape("as it is"),
            moves=rows(
                "those that clear, least first",
                table(
                    "one move",
                    way=text("its name"),
                    direction=several("ahead, outboard, above: a unit vector", number("without unit"), 3),
                    distance=mm("the least that clears"),
                    words=text("how to move it, lengths in mm"),
                    after=gap_shape("moved so"),
                ),
            ),
        ),
    ),
    "maps": rows(
        "what to take off, square to the surface",
        table(
            "one part",
            part=text("its name"),
            most=mm("to take off at most"),
            area_cm2=number("over what surface, cm2"),
            volume_cm3=number("how much in all, cm3"),
        ),
    ),
}
SHAPE = of_corner(
    "clearance-relief/1",
    "how far each part must move, and which way",
    step=mm("to which moves are exact"),
    **CORNERS_OWN,
    files=FILES,
)
