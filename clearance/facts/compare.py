"""Before and after as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.compare import LeftRight, Measure, PartChange, Side
from clearance.answers.swap import Swap
from clearance.facts.swap import facts as swap_facts


def facts(
    first: Measure,
    second: Measure,
    rows: tuple[PartChange, ...],
    sides: LeftRight | None,
    swap: Swap | None,
    now: tuple[Swap, ...],
) -> dict[str, Any]:
    """Everything that the page says."""

    def side(one: Side | None) -> dict[str, Any] | None:
        if one is None:
            return None
        return {
            "gap": round(one.gap_mm, 3),
            "required": one.required_mm,
            "verdict": one.verdict,
            "position": one.position,
            "where": one.where,
            "tire_region": one.region,
        }

    return {
        "format": "clearance-compare/1",
        "before": {"title": first.title, "corner": first.corner, "warnings": list(first.warnings)},
        "after": {"title": second.title, "corner": second.corner, "warnings": list(second.warnings)},
        "parts": [
            {
                "part": row.part,
                "before": side(row.before),
                "after": side(row.after),
                "change": None if row.change_mm is None else round(row.change_mm, 3),
            }
            for row in rows
        ],
        "after_against_before": None if swap is None else swap_facts(swap),
        "against_now": [swap_facts(one) for one in now],
        "left_right": None
        if sides is None
        else {
            "axle_to_left": round(sides.axle_to_left_mm, 2),
            "panel": round(sides.panel_mm, 2),
            "doubt": round(sides.doubt_mm, 2),
            "verdict": sides.verdict,
        },
    }
