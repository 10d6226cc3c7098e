"""The sizes that clear as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.largest import Largest
from clearance.facts.gap import gap_json
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, found: Largest) -> dict[str, Any]:
    """Everything that the page says."""

    return {
        "format": "clearance-largest/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "combinations": found.combinations,
        "screened_out": found.screened_out,
        "certified": found.certified,
        "fits": [
            {
                "size": fit.size,
                "overall_diameter": round(fit.tire.overall_diameter_mm, 1),
                "section_width": round(fit.tire.section_width_mm, 1),
                "rim_diameter_in": fit.wheel.diameter_in,
                "rim_width_in": fit.wheel.width_in,
                "backspace": round(fit.wheel.backspace_mm, 2),
                "offset": round(fit.wheel.offset_mm, 2),
                "spare": round(fit.spare_mm, 2),
                "binds": gap_json(mockup, fit.binds),
                "speedometer_percent": None if fit.swap is None else round(100 * fit.swap.speed, 2),
                "ride_height": None if fit.swap is None else round(fit.swap.hub_mm, 1),
                "load_index": fit.load_index,
                "carries": fit.carries,
                "source": fit.source,
            }
            for fit in found.fits
        ],
        "not_reached": list(found.not_reached),
        "unknown": list(found.unknown),
        "load_index_needed": found.needed_index,
    }
