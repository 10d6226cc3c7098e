"""The least change as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.least_change import Change, LeastChange
from clearance.facts.gap import gap_json
from clearance.mockup.mockup import MockUp


def _change(mockup: MockUp, change: Change) -> dict[str, Any]:

    return {
        "change": change.knob,
        "unit": change.unit,
        "exact": round(change.exact, 3),
        "bought": None if change.bought is None else round(change.bought, 3),
        "cost": change.cost,
        "effort": round(change.effort, 4),
        "after": [gap_json(mockup, gap) for gap in change.gaps],
    }


def facts(mockup: MockUp, found: LeastChange) -> dict[str, Any]:
    """Everything that the page says."""

    smaller = found.smaller
    return {
        "format": "clearance-least-change/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "before": [gap_json(mockup, gap) for gap in found.before],
        "changes": [_change(mockup, change) for change in found.changes],
        "smaller_tire": None
        if smaller is None
        else {
            "size": smaller.size,
            "overall_diameter": round(smaller.tire.overall_diameter_mm, 1),
            "section_width": round(smaller.tire.section_width_mm, 1),
            "source": smaller.source,
            "after": [gap_json(mockup, gap) for gap in smaller.gaps],
        },
        "pairs": [[_change(mockup, pair.first), _change(mockup, pair.second)] for pair in found.pairs],
        "not_enough": list(found.tried),
    }
