"""Where a placed scan stands, and what speaks against it."""

from __future__ import annotations

from typing import Any

from clearance.well.scan import PlacedScan
from clearance.well.scan_doubt import arch_span_mm, doubts_of_place, near_metal


def stands_of(placed: PlacedScan, tire_mm: float, stated: bool) -> dict[str, Any]:
    """Where a placed scan stands, and what speaks against it."""

    low, high = placed.vertices_mm.min(axis=0), placed.vertices_mm.max(axis=0)
    span = arch_span_mm(near_metal(placed.triangles_mm, tire_mm / 2.0), tire_mm / 2.0)
    return {
        "reach_mm": {
            name: [round(float(low[way]), 3), round(float(high[way]), 3)]
            for way, name in enumerate(("ahead", "outboard", "above"))
        },
        "arch_span_mm": None if span is None else round(span, 1),
        "placing_uncertainty_mm": round(placed.uncertainty_mm, 3),
        "notes": list(placed.notes),
        "judged_by_tire_mm": tire_mm,
        "tire_stated": stated,
        "doubts": list(doubts_of_place("scan", placed.triangles_mm, tire_radius_mm=tire_mm / 2.0)),
    }
