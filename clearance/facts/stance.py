"""What is on the car now against what is next, as facts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clearance.answers.stance import AtCorner, OnAxle, Rating, Stance
from clearance.answers.swap import Rolls, Swap
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import CORNER, Shape, answer, count, deg, maybe, mm, number, one_of, rows, table, text
from clearance.gap.found import Gap
from clearance.mockup.car import AXLES, Car
from clearance.units import KMH_PER_MPH

FORMAT = "clearance-now-next/1"
ODOMETER = 10_000.0

Gaps = Mapping[str, tuple[Gap | None, Gap | None]]


def facts(car: Car, found: Stance, gaps: Gaps) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": FORMAT,
        "title": car.title,
        "cautions": list(car.cautions),
        "corners": [
            {**corner_facts(one), **_gaps(car, name, *gaps.get(name, (None, None)))}
            for name, one in found.corners.items()
        ],
        **car_facts(found),
    }


def car_facts(found: Stance) -> dict[str, Any]:
    """What changes of the car: its axles and its rake."""
    return {
        "axles": [_axle(one) for one in found.axles.values()],
        "rake": _rounded(found.rake_mm),
        "rake_deg": _rounded(found.rake_deg, 4),
        "driven": list(found.driven),
        "speedometer_by": found.counted,
        "rear_rolls_further_percent": _rounded(None if found.apart is None else 100 * found.apart, 3),
        "rear_rolls_further_now_percent": _rounded(None if found.apart_now is None else 100 * found.apart_now, 3),
        "not_said": list(found.not_said),
    }


def corner_facts(one: AtCorner) -> dict[str, Any]:
    """What changes at one wheel."""
    swap = one.swap
    return {
        "corner": one.corner,
        "now": None if swap is None else _rolls(swap.old, one.now_rating),
        "next": _rolls(one.next, one.next_rating),
        **_against(swap),
        "middle_outboard": _rounded(one.middle_mm),
        "must_carry_kg": one.load.corner_kg,
        "must_go_kmh": one.load.speed_kmh,
        "scrub_radius_now": None if one.now_scrub is None else _rounded(one.now_scrub.radius_mm),
        "scrub_radius_next": None if one.next_scrub is None else _rounded(one.next_scrub.radius_mm),
        "not_said": list(one.not_said),
    }


def _against(swap: Swap | None) -> dict[str, float | None]:
    """What one swap changes; all of it unknown where what is on now is."""
    keys = ("reach_inboard", "reach_outboard", "hub_height", "ride_height", "reads_at_60_mph", "reads_at_100_kmh")
    if swap is None:
        return dict.fromkeys((*keys, "odometer_after_10000", "speedometer_percent"))
    at_60 = swap.shown(60 * KMH_PER_MPH) / KMH_PER_MPH
    values = (swap.inboard_mm, swap.outboard_mm, swap.hub_mm, swap.hub_mm, at_60, swap.shown(100.0))
    return {
        **{key: _rounded(value) for key, value in zip(keys, values, strict=True)},
        "odometer_after_10000": round(swap.shown(ODOMETER), 1),
        "speedometer_percent": round(100 * swap.speed, 3),
    }


def _gaps(car: Car, name: str, now: Gap | None, after: Gap | None) -> dict[str, Any]:
    pair = {"tightest_now": now, "tightest_next": after}
    return {key: None if gap is None else gap_json(car.at(name), gap) for key, gap in pair.items()}


def _axle(one: OnAxle) -> dict[str, Any]:
    return {
        "axle": one.axle,
        "corners": list(one.corners),
        "ride_height": _rounded(one.hub_mm),
        "track_now": _rounded(one.track_now_mm),
        "track_next": _rounded(one.track_next_mm),
        "track_change": _rounded(one.track_change_mm),
        "not_said": list(one.not_said),
    }


def _rolls(one: Rolls, rating: Rating) -> dict[str, Any]:
    return {
        "name": one.name,
        "overall_diameter": round(one.overall_mm, 2),
        "rolling_circumference": round(one.rolling_mm, 1),
        "reach_inboard": _rounded(one.inboard_mm),
        "reach_outboard": _rounded(one.outboard_mm),
        "load_index": rating.load_index,
        "load_kg": rating.load_kg,
        "speed_symbol": rating.speed,
        "speed_kmh": rating.speed_kmh,
    }


def _rounded(value: float | None, digits: int = 2) -> float | None:
    # adding zero turns a negative zero into a plain one
    return None if value is None else round(value, digits) + 0.0


_UNSAID = "where nothing says it"
_NO = "where one of the two is not said"


def _wheel(words: str) -> Shape:
    return table(
        words,
        name=text("its marking or what it is, on its rim"),
        overall_diameter=mm("tread to tread"),
        rolling_circumference=mm("one turn under load"),
        reach_inboard=maybe(mm("inboard of the hub face"), _UNSAID),
        reach_outboard=maybe(mm("outboard of the hub face"), _UNSAID),
        load_index=maybe(count("of a single tire"), _UNSAID),
        load_kg=maybe(number("what it may carry, kg"), _UNSAID),
        speed_symbol=maybe(text("its letter"), _UNSAID),
        speed_kmh=maybe(number("how fast it may go, km/h"), _UNSAID),
    )


NOT_SAID = rows("what no key says, and what is therefore left out", text("a key or what would say it"))
CORNER_KEYS: dict[str, Shape] = {
    "corner": CORNER,
    "now": maybe(_wheel("what is on it"), "where no [now] says it"),
    "next": _wheel("what the file describes"),
    "reach_inboard": maybe(mm("more reach inboard"), _NO),
    "reach_outboard": maybe(mm("more reach outboard"), _NO),
    "middle_outboard": maybe(mm("the tire's middle further outboard"), _NO),
    "hub_height": maybe(mm("the hub rises"), _NO),
    "ride_height": maybe(mm("the body rises there"), _NO),
    "reads_at_60_mph": maybe(number("the speedometer at a true 60 mph, mph, where it was right before"), _NO),
    "reads_at_100_kmh": maybe(number("the speedometer at a true 100 km/h, km/h, where it was right before"), _NO),
    "odometer_after_10000": maybe(number("what the odometer shows after a true 10,000, in its own unit"), _NO),
    "speedometer_percent": maybe(number("true speed over indicated, percent more"), _NO),
    "must_carry_kg": maybe(number("what stands on it by [load], kg"), _UNSAID),
    "must_go_kmh": maybe(number("how fast it goes by [load], km/h"), _UNSAID),
    "scrub_radius_now": maybe(mm("road contact outboard of the steering axis, unloaded"), _NO),
    "scrub_radius_next": maybe(mm("the same with what is next"), "where the steering axis is not known"),
    "not_said": NOT_SAID,
}
CAR_KEYS: dict[str, Shape] = {
    "axles": rows(
        "each axle of which a corner is described, front first",
        table(
            "one axle",
            axle=one_of("which", *AXLES),
            corners=rows("its sides that are described", CORNER),
            ride_height=maybe(mm("its hubs rise, the middle of both sides"), _NO),
            track_now=maybe(mm("tire middle to tire middle at hub height, now"), _NO),
            track_next=maybe(mm("the same next"), "where the track or one side is not said"),
            track_change=maybe(mm("wider"), _NO),
            not_said=NOT_SAID,
        ),
    ),
    "rake": maybe(mm("the rear rises more than the front"), "where one axle's change is not known"),
    "rake_deg": maybe(deg("the nose goes down"), "where the wheelbase or an axle's change is not known"),
    "driven": rows("the axles that the engine drives; none where that is not said", one_of("which", *AXLES)),
    "speedometer_by": maybe(one_of("the axle that the speedometer goes by", *AXLES), "where nothing says it"),
    "rear_rolls_further_percent": maybe(
        number("how much further a turn of a rear wheel rolls than one of a front wheel, percent"),
        "where one axle is not there",
    ),
    "rear_rolls_further_now_percent": maybe(number("the same with what is on it now, percent"), _UNSAID),
    "not_said": NOT_SAID,
}
STANCE = table(
    "against what is on the car now", corners=rows("each wheel", table("one wheel", **CORNER_KEYS)), **CAR_KEYS
)
SHAPE = answer(
    FORMAT,
    "what is on the car now against what the file describes",
    title=text("of the car"),
    cautions=rows("what applies to this car", text("one of them")),
    corners=rows(
        "each wheel",
        table(
            "one wheel",
            **CORNER_KEYS,
            tightest_now=maybe(
                gap_shape("the tightest part with what is on it now"),
                "where [now] is not whole or nothing was measured",
            ),
            tightest_next=maybe(gap_shape("the tightest part with what is next"), "where nothing was measured"),
        ),
    ),
    **CAR_KEYS,
)
