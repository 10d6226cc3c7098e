"""A list of what can be had, answered, as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.candidates import ORDERS, Candidates, Tried
from clearance.answers.stance import stance_of
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import CORNER, answer, count, flag, inch, maybe, mm, number, one_of, rows, table, text
from clearance.facts.stance import STANCE, car_facts, corner_facts
from clearance.mockup.car import Car

FORMAT = "clearance-candidates/1"


def facts(car: Car, found: Candidates) -> dict[str, Any]:
    """Everything that the page says, and every row."""
    return {
        "format": FORMAT,
        "title": car.title,
        "by": found.by,
        "rows": [_row(car, one) for one in found.tried],
        "not_reached": [row.line for row in found.not_reached],
        "not_answered": [{"line": one.line, "column": one.column, "why": one.why} for one in found.not_answered],
    }


def _row(car: Car, one: Tried) -> dict[str, Any]:
    return {
        "line": one.row.line,
        "tire": one.row.tire.size,
        "width_in": one.row.width_in,
        "backspace": round(one.backspace_mm, 2),
        "offset": round(one.offset_mm, 2),
        "overall_diameter": round(one.overall_mm, 2),
        "section_width": round(one.section_mm, 2),
        "price": one.row.price,
        "note": one.row.note,
        "clears": one.clears,
        "certified": one.certified,
        "corner": one.corner,
        "spare": round(one.spare_mm, 2),
        "binds": None if one.binds is None else gap_json(car.at(one.corner), one.binds),
        "speedometer_percent": None if one.swap is None else round(100 * one.swap.speed, 3),
        "against_now": _against_now(car, one),
    }


def _against_now(car: Car, one: Tried) -> dict[str, Any] | None:
    found = stance_of(one.on_car(car))
    if not found.anything:
        return None
    return {"corners": [corner_facts(side) for side in found.corners.values()], **car_facts(found)}


SHAPE = answer(
    FORMAT,
    "tires on wheels that can be had, on every corner of a car that they are for",
    title=text("of the car"),
    by=one_of("what they are ranked by", *ORDERS),
    rows=rows(
        "what clears first, in that order; then what does not",
        table(
            "one row of the list",
            line=count("its line in the list"),
            tire=text("its marking"),
            width_in=inch("the rim's width"),
            backspace=mm("inner flange edge to mounting face"),
            offset=mm("mounting face outboard of the rim's middle"),
            overall_diameter=mm("tread to tread"),
            section_width=mm("on this rim"),
            price=maybe(number("in the list's own money"), "where none is given"),
            note=text("of the list"),
            clears=flag("whether it keeps every required gap at every corner that it is for"),
            certified=flag("whether it was measured over the whole cycle; else a real point refused it"),
            corner=CORNER,
            spare=mm("what is left at the tightest place; of a row that was refused, at most that"),
            binds=maybe(gap_shape("the tightest part"), "of a row that was refused"),
            speedometer_percent=maybe(
                number("true speed against what is on the car now, percent"), "where nothing says what is on it"
            ),
            against_now=maybe(STANCE, "where nothing says what is on it"),
        ),
    ),
    not_reached=rows("may clear, and were not measured", count("a line of the list")),
    not_answered=rows(
        "what nothing can be said of",
        table("one row", line=count("its line"), column=text("of the list"), why=text("what is wrong with it")),
    ),
)
