"""Every check of every wheel as facts."""

from __future__ import annotations

from typing import Any

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
