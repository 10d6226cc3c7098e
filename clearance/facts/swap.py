"""A tire and wheel for another, as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.swap import Rolls, Swap
from clearance.facts.shape import WARNINGS, Shape, answer, maybe, mm, number, table, text
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


def _side(words: str) -> Shape:
    no = "where nothing says it"
    return table(
        words,
        name=text("its marking or what it is"),
        overall_diameter=mm("tread to tread"),
        rolling_circumference=mm("one turn under load"),
        reach_inboard=maybe(mm("inboard of the hub face"), no),
        reach_outboard=maybe(mm("outboard of the hub face"), no),
        load_kg=maybe(number("what it may carry, kg"), no),
    )


_NO = "where one of the two does not say it"
_KEYS: dict[str, Shape] = {
    "old": _side("what comes off"),
    "new": _side("what goes on"),
    "reach_inboard": maybe(mm("more reach inboard"), _NO),
    "reach_outboard": maybe(mm("more reach outboard"), _NO),
    "hub_height": mm("the hub rises"),
    "ride_height": mm("the car rises at this axle"),
    "speedometer_percent": number("true speed over indicated, percent more"),
    "true_mph_at_60": number("true speed at an indicated 60 mph, mph"),
    "true_kmh_at_100": number("true speed at an indicated 100 km/h, km/h"),
    "load_kg": maybe(number("more that it may carry, kg"), _NO),
}
SWAP = table("a tire and wheel for another", **_KEYS)
SHAPE = answer("clearance-swap/1", "one tire marking for another", **_KEYS, warnings=WARNINGS)
