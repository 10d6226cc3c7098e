"""What a marking means, as facts."""

from __future__ import annotations

from typing import Any

from clearance.facts.shape import (
    WARNINGS,
    Shape,
    answer,
    count,
    ends,
    inch,
    maybe,
    mm,
    named,
    number,
    one_of,
    rows,
    several,
    table,
    text,
)
from clearance.tire.basis import Basis
from clearance.tire.dimensions import Dimensions
from clearance.tire.rated import load_at_own_speed_kg, rim_warnings
from clearance.tire.room import CHAIN_ROOM_MM
from clearance.tire.size import understood


def facts(found: Dimensions, rim_in: float) -> dict[str, Any]:
    """Everything that the page says, as numbers in mm, inches of rim, kg and km/h."""

    mark = found.marking
    width = found.width_on(rim_in)
    grown = {
        "section_width": round(found.greatest_width_on(rim_in), 1),
        "overall_diameter": round(found.greatest_diameter_mm, 1),
    }
    return {
        "format": "clearance-tire/1",
        "marking": mark.text,
        "understood": list(understood(mark)),
        "rim_diameter_in": round(mark.rim_in, 3),
        "rim_width_in": round(rim_in, 3),
        "measuring_rim_in": round(found.measuring_rim_in, 3),
        "permitted_rims_in": [round(value, 3) for value in found.rims_in],
        "section_width": round(width, 1),
        "section_width_on_measuring_rim": round(found.section_width_mm, 1),
        "section_height": round(found.section_height_mm, 1),
        "overall_diameter": round(found.overall_diameter_mm, 1),
        "overall_diameter_new": [
            None if found.least_diameter_mm is None else round(found.least_diameter_mm, 1),
            round(found.greatest_diameter_mm, 1),
        ],
        "stands_on": {"section_width": str(found.section_from), "overall_diameter": str(found.overall_from)},
        "in_service_at_most": grown,
        "rolling_circumference": round(found.rolling_mm, 1),
        "turns_per_km": round(found.turns_per_km, 1),
        "load_index": mark.load_index,
        "load_kg": mark.load_kg,
        "load_at_speed_kg": load_at_own_speed_kg(found),
        "load_index_dual": mark.load_index_dual,
        "load_dual_kg": mark.load_dual_kg,
        "load_range": mark.load_range,
        "speed_symbol": mark.speed,
        "speed_kmh": mark.speed_kmh,
        "chain_room": {name: {"tread": room[0], "side": room[1]} for name, room in CHAIN_ROOM_MM.items()},
        "sources": found.sources,
        "warnings": [*found.warnings, *rim_warnings(found, rim_in)],
    }


_LEAST: Shape = {"type": ["number", "null"], "description": "mm"}


def _marked(shape: Shape) -> Shape:
    return maybe(shape, "where it is not marked")


SHAPE = answer(
    "clearance-tire/1",
    "what a tire marking means",
    marking=text("as it was read"),
    understood=rows("what its letters mean", text("one of them")),
    rim_diameter_in=inch("the rim's diameter"),
    rim_width_in=inch("the rim that it is looked at on"),
    measuring_rim_in=inch("the rim that its width is measured on"),
    permitted_rims_in=ends("narrowest and widest permitted rim", inch("one of them")),
    section_width=mm("on the rim that it is looked at on"),
    section_width_on_measuring_rim=mm("on the measuring rim"),
    section_height=mm("rim to tread"),
    overall_diameter=mm("as it is reckoned with"),
    overall_diameter_new=several("least and most of a new one; the least is null where it is not known", _LEAST, 2),
    stands_on=table(
        "what each is founded on",
        section_width=one_of("of the width", *Basis),
        overall_diameter=one_of("of it", *Basis),
    ),
    in_service_at_most=table("grown", section_width=mm("at most"), overall_diameter=mm("at most")),
    rolling_circumference=mm("once round"),
    turns_per_km=number("turns to a kilometre"),
    load_index=_marked(count("of a single tire")),
    load_kg=_marked(number("of a single tire, kg")),
    load_at_speed_kg=_marked(number("of a single tire at the speed that it is marked for, kg")),
    load_index_dual=_marked(count("of one of a pair")),
    load_dual_kg=_marked(number("of one of a pair, kg")),
    load_range=_marked(text("its letter")),
    speed_symbol=_marked(text("its letter")),
    speed_kmh=_marked(number("km/h")),
    chain_room=named(
        "class of chain: room for it",
        table("one class", tread=mm("over the tread"), side=mm("over each side wall")),
    ),
    sources=named("number: where it comes from", text("in words")),
    warnings=WARNINGS,
)
