"""The path of the wheel as facts."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from clearance.answers.motion import give_of
from clearance.facts.shape import CORNER, deg, mm, named, of_corner, rows, table, text
from clearance.mockup.mockup import MockUp
from clearance.suspension.path import Step


def facts(mockup: MockUp, tables: dict[str, tuple[Step, ...]]) -> dict[str, Any]:
    """What --json prints: millimetres and degrees."""
    suspension = mockup.suspension
    return {
        "format": "clearance-motion/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "corner": mockup.corner,
        "kind": suspension.kind,
        "uncertainty_mm": suspension.uncertainty_mm,
        "notes": list(getattr(suspension, "notes", ())),
        "bushings_give_mm": dict(give_of(mockup)),
        "tables": {heading: [asdict(row) for row in rows] for heading, rows in tables.items()},
    }


SHAPE = of_corner(
    "clearance-motion/1",
    "how the wheel moves",
    corner=CORNER,
    kind=text("of suspension"),
    uncertainty_mm=mm("how far measured rows lie from these at most, at the tread"),
    notes=rows("what to know about this kind", text("one of them")),
    bushings_give_mm=named("link: how far its bushing gives", mm("at most")),
    tables=named(
        "heading: positions in order",
        rows(
            "one table",
            table(
                "one position",
                bump_mm=mm("this wheel up from ride height"),
                other_bump_mm=mm("the other wheel up from ride height"),
                steer_deg=deg("of the car, positive to the left"),
                across_mm=mm("hub face outboard since ride height"),
                along_mm=mm("hub face ahead since ride height"),
                rise_mm=mm("hub face up since ride height"),
                camber_deg=deg("positive top outboard"),
                toe_deg=deg("positive toe-in"),
                turned_deg=deg("road wheel to the left, bump steer included"),
            ),
        ),
    ),
)
