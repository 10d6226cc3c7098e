"""A tire and wheel for another, as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.swap import Rolls, Swap
from clearance.units import KMH_PER_MPH


def facts(swap: Swap) -> dict[str, Any]:
    """What changes, in mm, kg, km/h and mph."""
    return {
        "old": _rolls(swap.old),
        "new": _rolls(swap.new),
        "reach_inboard": _rounded(swap.inboard_mm),
        "reach_outboard": _rounded(swap.outboard_mm),
        "hub_height": round(swap.hub_mm, 2),
        "ride_height": round(swap.hub_mm, 2),
        "speedometer_percent": round(100 * swap.speed, 3),
        "true_mph_at_60": round(swap.true_kmh(60 * KMH_PER_MPH) / KMH_PER_MPH, 2),
        "true_kmh_at_100": round(swap.true_kmh(100.0), 2),
        "load_kg": _rounded(swap.load_kg),
    }


def _rolls(one: Rolls) -> dict[str, Any]:
    return {
        "name": one.name,
        "overall_diameter": round(one.overall_mm, 2),
        "rolling_circumference": round(one.rolling_mm, 1),
        "reach_inboard": _rounded(one.inboard_mm),
        "reach_outboard": _rounded(one.outboard_mm),
        "load_kg": one.load_kg,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)
