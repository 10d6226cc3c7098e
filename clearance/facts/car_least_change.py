"""The least change of each axle of a car, as facts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clearance.answers.axle_change import AxleChange, Off
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.least_change import change_json, changed_shapes, combination_json, smaller_json
from clearance.facts.shape import CORNER, Shape, answer, flag, maybe, mm, number, one_of, rows, table, text
from clearance.gap.found import Gap
from clearance.mockup.car import AXLES, Car

FORMAT = "clearance-car-least-change/1"


def facts(car: Car, found: Mapping[str, AxleChange]) -> dict[str, Any]:
    """Everything that the page says; `found` by axle."""
    return {
        "format": FORMAT,
        "title": car.title,
        "cautions": list(car.cautions),
        "axles": [_axle(car, axle, one) for axle, one in found.items()],
        "all_corners": _all_corners(found),
    }


def _axle(car: Car, axle: str, one: AxleChange) -> dict[str, Any]:
    def after(gaps: Sequence[Gap]) -> list[Any]:
        return _by_corner(car, one.by_corner(gaps))

    smaller = one.smaller
    return {
        "axle": axle,
        "corners": list(one.before),
        "before": _by_corner(car, one.before),
        "changes": [change_json(change, after(change.gaps)) for change in one.changes],
        "smaller_tire": smaller_json(smaller, [] if smaller is None else after(smaller.gaps)),
        "combinations": [combination_json(each, after(each.gaps)) for each in one.combinations],
        "not_enough": list(one.tried),
        "off": None if one.off is None else _off(car, one.off),
        "centring": one.centring,
    }


def _by_corner(car: Car, gaps: Mapping[str, Sequence[Gap]]) -> list[Any]:
    return [{"corner": name, "parts": [gap_json(car.at(name), gap) for gap in own]} for name, own in gaps.items()]


def _off(car: Car, off: Off) -> dict[str, Any]:
    return {
        "to_left": round(off.to_left_mm, 2),
        "beam": off.beam,
        "centred": None if off.centred is None else _by_corner(car, off.centred),
    }


def _all_corners(found: Mapping[str, AxleChange]) -> dict[str, Any] | None:
    asked = [one for one in found.values() if not one.clear_as_is]
    if not all(one.combinations for one in asked):
        return None
    first = [one.combinations[0] for one in asked]
    return {
        "work_hours": round(sum(one.work_hours for one in first), 2),
        "money": round(sum(one.money for one in first), 2),
        "reversible": all(one.reversible for one in first),
        "cost_hours": round(sum(one.hours for one in first), 2),
    }


def _gaps(words: str) -> Shape:
    one = table("one corner", corner=CORNER, parts=rows("each of its parts", gap_shape("one part")))
    return rows(words, one)


SHAPE = answer(
    FORMAT,
    "the smallest changes after which both sides of each axle clear: each alone, and one, two or three together",
    title=text("of the car"),
    cautions=rows("what applies to this car", text("one of them")),
    axles=rows(
        "each axle",
        table(
            "one axle",
            axle=one_of("which", *AXLES),
            corners=rows("that are described", CORNER),
            **changed_shapes(_gaps("every corner as it is"), _gaps("every corner with it")),
            off=maybe(
                table(
                    "how the axle stands between its wells",
                    to_left=mm("how far to the left of where both sides would have the same window"),
                    beam=flag("whether the axle can be moved across the car; if not it is the body that stands off"),
                    centred=maybe(_gaps("every corner with the axle moved by that"), "where it cannot be moved"),
                ),
                "where both sides are alike, or where that cannot be said",
            ),
            centring=one_of(
                "whether moving the axle across is the least change", "least", "costs more", "not alone", "not needed"
            ),
        ),
    ),
    all_corners=maybe(
        table(
            "the cheapest of each axle together, after which every corner clears",
            work_hours=number("of work, hours"),
            money=number("of what is bought, in its own unit: the money of [cost]"),
            reversible=flag("whether all of it can be put back"),
            cost_hours=number("all of it counted in hours, as [cost] weighs it"),
        ),
        "where nothing that is sold clears some axle",
    ),
)
