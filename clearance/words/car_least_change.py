"""The least change of each axle of a car, and what it costs."""

from __future__ import annotations

from collections.abc import Mapping

from clearance.answers.axle_change import AxleChange, Off, is_across
from clearance.answers.combined import Combination
from clearance.mockup.car import Car
from clearance.units import both
from clearance.words.least_change import CAUTION, LEAST, alone, combined
from clearance.words.text import car_head, notes_by_corner, position_words, told


def page(car: Car, found: Mapping[str, AxleChange]) -> str:
    """Axle by axle, and then what clears the whole car."""
    lines = [*car_head(car), *notes_by_corner({name: corner.warnings for name, corner in car.corners.items()})]
    for axle, one in found.items():
        lines += [f"{one.what}: {', '.join(one.before)}", *_axle(car, axle, one), ""]
    lines += _whole(found)
    if all(one.clear_as_is for one in found.values()):
        return "\n".join(lines[:-1])
    return "\n".join([*lines, LEAST, CAUTION])


def _axle(car: Car, axle: str, one: AxleChange) -> list[str]:
    if one.clear_as_is:
        return ["  Every part keeps its required gap: nothing has to change."]
    first = car.sides(axle)[0]
    lines = [
        f"  {name}: {gap.part}: {told(gap)}, must keep {both(gap.required_mm, digits=0)}"
        f" ({position_words(car.at(name), gap)})"
        for name, gaps in one.before.items()
        for gap in gaps
        if gap.verdict != "clears"
    ]
    lines += ["", *alone(first.tire, one.changes, one.smaller, one.tried)]
    lines += ["", *combined(one.combinations, first.terms.cost)[:-1]]
    return [*lines, *(f"  {words}" for words in _centring(one))]


def _centring(one: AxleChange) -> list[str]:
    """How far the axle stands off, what centring it gives, and whether that is the least change."""
    if one.off is None:
        movable = any(is_across(name) for name in (*one.tried, *(change.knob for change in one.changes)))
        return ["", _verdict(one).strip()] if movable else []
    off, way = one.off, _way(one.off.to_left_mm)
    stands = "the axle stands" if off.beam else "the body stands off: the wheels stand"
    words = (
        f"The two sides differ by {both(2 * abs(off.to_left_mm))}: {stands} {both(abs(off.to_left_mm))} to the {way} of"
        " where both would have the same window."
    )
    return ["", words + (_moved(off) + _verdict(one) if off.beam else "")]


def _way(to_left_mm: float) -> str:
    return "left" if to_left_mm > 0 else "right"


def _moved(off: Off) -> str:
    missing = {
        name: min(gaps, key=lambda gap: gap.spare_mm)
        for name, gaps in (off.centred or {}).items()
        if any(gap.verdict != "clears" for gap in gaps)
    }
    where = f" Moved to the {_way(-off.to_left_mm)} by that,"
    if not missing:
        return f"{where} every part keeps its gap at both sides, measured so."
    return f"{where} " + " and ".join(f"{gap.part} at {name} does not clear" for name, gap in missing.items()) + "."


def _verdict(one: AxleChange) -> str:
    return {
        "least": " Moving the axle is the least change.",
        "costs more": " Moving the axle alone clears, and is not the least change.",
        "not alone": " Moving the axle alone is not enough.",
    }[one.centring]


def _whole(found: Mapping[str, AxleChange]) -> list[str]:
    """What clears all corners: the cheapest of each axle."""
    asked = {axle: one for axle, one in found.items() if not one.clear_as_is}
    if len(found) < 2 or not asked:
        return []
    none = [one.what for one in asked.values() if not one.combinations]
    if none:
        return [f"All corners: nothing that is sold clears the {' and the '.join(none)}.", ""]
    each = [f"{one.what}: {_names(one.combinations[0])}" for one in asked.values()]
    hours = sum(one.combinations[0].work_hours for one in asked.values())
    return [f"All corners clear with the cheapest of each axle: {'; '.join(each)}; {hours:g} h of work.", ""]


def _names(one: Combination) -> str:
    return " + ".join(f"{change.knob} {change.said}" for change in one.changes)
