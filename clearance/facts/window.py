"""The window as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.window import End, Window
from clearance.facts.gap import gap_json
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, found: Window) -> dict[str, Any]:
    """Everything that the page says, in mm and inches of rim."""

    def end(one: End) -> dict[str, Any]:
        return {
            "offset": round(one.offset_mm, 1),
            "backspace": round(one.backspace_mm, 2),
            "binds": None if one.binds is None else gap_json(mockup, one.binds),
        }

    return {
        "format": "clearance-window/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "given": {
            "width_in": found.given_width_in,
            "offset": round(found.given_offset_mm, 2),
            "backspace": round(found.given_backspace_mm, 2),
            "outside_by": None if found.given_past_mm() is None else round(float(found.given_past_mm() or 0.0), 2),
        },
        "searched_offset": [round(v, 2) for v in found.searched_mm],
        "step": 0.1,
        "widths": [
            {
                "width_in": row.width_in,
                "section_width": round(row.section_width_mm, 1),
                "stretches": [
                    {
                        "least": end(s.least),
                        "most": end(s.most),
                        "best_offset": round(s.best_offset_mm, 1),
                        "best_spare": round(s.best_spare_mm, 2),
                    }
                    for s in row.stretches
                ],
                "closest_offset": round(row.closest_offset_mm, 1),
                "closest_spare": round(row.closest_spare_mm, 2),
                "closest_binds": None if row.closest_binds is None else gap_json(mockup, row.closest_binds),
            }
            for row in found.widths
        ],
    }
