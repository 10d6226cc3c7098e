"""Every check of every wheel as facts."""

from __future__ import annotations

from typing import Any

from clearance.facts.shape import maybe, mm, of_corner, one_of, rows, table, text
from clearance.mockup.mockup import MockUp
from clearance.wheel.inspection import Inspection


def facts(mockup: MockUp, found: Inspection) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": "clearance-inspect/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "verdict": found.verdict,
        "checks": [
            {
                "wheel": c.wheel,
                "item": c.item,
                "ordered": c.ordered,
                "measured": c.measured,
                "difference": None if c.difference_mm is None else round(c.difference_mm, 3),
                "read_to": None if c.reading_mm is None else round(c.reading_mm, 3),
                "tolerance": c.tolerance_mm,
                "verdict": c.verdict,
                "why": c.why,
            }
            for c in found.checks
        ],
        "cautions": list(found.cautions),
    }


_SAID = ("accept", "re-measure", "return")

SHAPE = of_corner(
    "clearance-inspect/1",
    "every wheel against the order and against the others",
    verdict=one_of("of all of them", *_SAID),
    checks=rows(
        "every check of every wheel",
        table(
            "one check",
            wheel=text('its name; "all" is of all together'),
            item=text("what was measured"),
            ordered=text("with its unit"),
            measured=text("with its unit; empty where it was not measured"),
            difference=maybe(mm("measured less ordered"), "where there is none to tell"),
            read_to=maybe(mm("plus or minus of the reading"), "where there is none to tell"),
            tolerance=maybe(mm("plus or minus that was ordered"), "where there is none"),
            verdict=one_of("of this check", *_SAID),
            why=text("in words"),
        ),
    ),
    cautions=rows("what to know before a tire is mounted", text("one of them")),
)
