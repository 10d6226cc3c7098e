"""The least change as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.combined import Combination
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


def _combination(mockup: MockUp, one: Combination) -> dict[str, Any]:

    return {
        "changes": [
            {
                "change": change.knob,
                "unit": change.unit,
                "amount": round(change.amount, 3),
                "said": change.said,
                "cost": change.cost,
                "hours": change.work.hours,
                "money": change.work.money,
                "reversible": change.work.reversible,
            }
            for change in one.changes
        ],
        "work_hours": round(one.work_hours, 2),
        "money": round(one.money, 2),
        "reversible": one.reversible,
        "cost_hours": round(one.hours, 2),
        "effort": round(one.effort, 4),
        "after": [gap_json(mockup, gap) for gap in one.gaps],
    }


def facts(mockup: MockUp, found: LeastChange) -> dict[str, Any]:
    """Everything that the page says."""

    smaller = found.smaller
    return {
        "format": "clearance-least-change/2",
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
        "combinations": [_combination(mockup, one) for one in found.combinations],
        "not_enough": list(found.tried),
    }
