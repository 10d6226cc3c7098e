"""The sizes that clear as facts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clearance.answers.largest import Largest
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import CORNER, Shape, count, flag, inch, maybe, mm, number, of_corner, rows, table, text
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, found: Largest) -> dict[str, Any]:
    """Everything that the page says."""

    return {
        "format": "clearance-largest/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        **looked_json({mockup.corner: mockup}, found),
    }


def looked_json(corners: Mapping[str, MockUp], found: Largest) -> dict[str, Any]:
    """The answer for one wheel; `corners` are those that it goes on."""
    return {
        "combinations": found.combinations,
        "screened_out": found.screened_out,
        "certified": found.certified,
        "fits": fits_json(corners, found),
        "not_reached": list(found.not_reached),
        "unknown": list(found.unknown),
        "load_index_needed": found.needed_index,
    }


def fits_json(corners: Mapping[str, MockUp], found: Largest) -> list[dict[str, Any]]:
    """The sizes that clear; `corners` are those that the wheel goes on."""
    return [
        {
            "size": fit.size,
            "overall_diameter": round(fit.tire.overall_diameter_mm, 1),
            "section_width": round(fit.tire.section_width_mm, 1),
            "rim_diameter_in": fit.wheel.diameter_in,
            "rim_width_in": fit.wheel.width_in,
            "backspace": round(fit.wheel.backspace_mm, 2),
            "offset": round(fit.wheel.offset_mm, 2),
            "spare": round(fit.spare_mm, 2),
            "corner": fit.corner,
            "binds": gap_json(corners[fit.corner], fit.binds),
            "speedometer_percent": None if fit.swap is None else round(100 * fit.swap.speed, 2),
            "ride_height": None if fit.swap is None else round(fit.swap.hub_mm, 1),
            "load_index": fit.load_index,
            "carries": fit.carries,
            "source": fit.source,
        }
        for fit in found.fits
    ]


FITS = rows(
    "what clears",
    table(
        "one size",
        size=text("as it is marked"),
        overall_diameter=mm("of the tire, nominal"),
        section_width=mm("of the tire on this rim, nominal"),
        rim_diameter_in=inch("the rim's diameter"),
        rim_width_in=inch("the rim's width"),
        backspace=mm("inner flange edge to mounting face"),
        offset=mm("mounting face outboard of the rim's middle"),
        spare=mm("what is left over the required gap of the tightest part"),
        corner=CORNER,
        binds=gap_shape("the tightest part"),
        speedometer_percent=maybe(
            number("how much faster the car really goes at one reading than with what is on it now, percent"),
            "where [now] says nothing of that",
        ),
        ride_height=maybe(mm("how much higher the hub stands than now"), "where [now] says nothing of that"),
        load_index=maybe(count("the size's usual load index, from memory"), "where it is not known"),
        carries=maybe(flag("whether it carries what is asked for"), "where nothing is asked, or it is not known"),
        source=text("where its dimensions come from"),
    ),
)
LOOKED: dict[str, Shape] = {
    "combinations": count("of tire, rim and backspace"),
    "screened_out": count("tires on rims that hit or are tight at every backspace"),
    "certified": count("measured over the whole cycle"),
    "fits": FITS,
    "not_reached": rows("sizes that may clear and were not looked at", text("as marked")),
    "unknown": rows("sizes that cannot be looked up", text("as marked")),
    "load_index_needed": maybe(count("what [load] asks for"), "where it asks for nothing"),
}
SHAPE = of_corner("clearance-largest/1", "the tire sizes that clear, each at its best backspace, best first", **LOOKED)
