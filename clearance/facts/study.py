"""A study of many wheels on many corners, as facts: the columns of its table, and what is said of the whole."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from clearance.answers.candidates import NotAnswered
from clearance.facts.columns import heads_of, rows_text
from clearance.facts.shape import (
    CORNER,
    FILES,
    VERDICT,
    answer,
    count,
    deg,
    inch,
    maybe,
    mm,
    number,
    one_of,
    rows,
    share,
    table,
    text,
)
from clearance.many.rows import Line
from clearance.mockup.mockup import MockUp
from clearance.plain import csv_row
from clearance.pose import car_steer_deg

FORMAT = "clearance-study/1"
_UNSAID = "where that is not known"


def line_facts(file: str, mockup: MockUp, one: Line) -> dict[str, Any]:
    """One wheel and tire on one corner, as the table has it; steering as the real car has it."""
    at = one.position
    steer = None if at is None else car_steer_deg(at.steer_deg, right_hand=mockup.right_hand)
    return {
        "car": file,
        "corner": one.corner,
        "line": one.row.line,
        "tire": one.row.tire.size,
        "width_in": one.row.width_in,
        "backspace": round(one.backspace_mm, 2),
        "offset": round(one.offset_mm, 2),
        "overall_diameter": round(one.overall_mm, 2),
        "section_width": round(one.section_mm, 2),
        "price": one.row.price,
        "note": one.row.note,
        "verdict": one.verdict,
        "part": one.part,
        "at_least": _rounded(one.at_least_mm, 3),
        "at_most": _rounded(one.at_most_mm, 3),
        "required": round(one.required_mm, 3),
        "margin": _rounded(one.margin_mm, 3),
        "bump": None if at is None else _rounded(at.bump_mm, 2),
        "other_bump": None if at is None else _rounded(at.other_bump_mm, 2),
        "steer": _rounded(steer, 2),
        "confidence": _rounded(one.confidence, 4),
        "measured": one.measured,
        "offset_change": _rounded(one.offset_change_mm, 1),
    }


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits) + 0.0


_LINE = table(
    "one wheel and tire on one corner",
    car=text("its file, from the folder of cars"),
    corner=CORNER,
    line=count("of the list"),
    tire=text("its marking"),
    width_in=inch("the rim's width"),
    backspace=mm("inner flange edge to mounting face"),
    offset=mm("mounting face outboard of the rim's middle"),
    overall_diameter=mm("tread to tread"),
    section_width=mm("on this rim"),
    price=maybe(number("in the list's own money"), "where none is given"),
    note=text("of the list"),
    verdict=VERDICT,
    part=text("the part that binds"),
    at_least=maybe(mm("its gap is no less; below zero it is a depth"), _UNSAID),
    at_most=maybe(mm("its gap is no more"), "where it stays further away than was looked"),
    required=mm("the gap that it must keep"),
    margin=maybe(mm("at_least less required: what is left over, or missing"), _UNSAID),
    bump=maybe(mm("this wheel where the gap is least, up from ride height"), _UNSAID),
    other_bump=maybe(mm("the other wheel of the axle there"), _UNSAID),
    steer=maybe(deg("of the car there, positive to the left"), _UNSAID),
    confidence=maybe(share("that this part keeps its required gap, by what the measurements are worth"), _UNSAID),
    measured=one_of("how it was told: by the corner's outlines, or by the search that check uses", "outline", "search"),
    offset_change=maybe(
        mm("the least change of the offset that was proven to clear; less offset is a spacer"),
        "where none was looked for, or none found",
    ),
)
_MISSING = table(
    "what nothing can be said of",
    file=text("the list, or the car's file"),
    line=maybe(count("in it"), "where the whole file is meant"),
    column=text("of the list"),
    corner=text("of the car; empty where the row cannot be put on any"),
    why=text("what is wrong with it"),
)
COLUMNS: Mapping[str, str] = heads_of(_LINE)
MISSING_COLUMNS: Mapping[str, str] = heads_of(_MISSING)
KINDS: Mapping[str, Any] = {key: _LINE["properties"][key].get("type") for key in COLUMNS}
"""JSON's word for what stands in each column."""


def heading(columns: Mapping[str, str]) -> str:
    """The first line of a table."""
    return csv_row(list(columns.values()))


def table_rows(rows: Iterable[Mapping[str, Any]]) -> str:
    """Lines of the table."""
    return rows_text(list(COLUMNS), rows)


def missing_facts(file: str, one: NotAnswered, corner: str = "") -> dict[str, Any]:
    """A row, or a car, that nothing can be said of."""
    return {"file": file, "line": one.line or None, "column": one.column, "corner": corner, "why": one.why}


def missing_rows(rows: Iterable[Mapping[str, Any]]) -> str:
    """Lines of the list of what was not answered."""
    return rows_text(list(MISSING_COLUMNS), rows)


def facts(
    list_: str,
    cars: Sequence[Mapping[str, Any]],
    missing: Sequence[Mapping[str, Any]],
    files: Sequence[str],
) -> dict[str, Any]:
    """Everything that is said of a study; its rows are in its files."""
    counted = {word: sum(car["counts"][word] for car in cars) for word in _VERDICTS}
    return {
        "format": FORMAT,
        "list": list_,
        "rows": sum(counted.values()),
        "counts": counted,
        "cars": [dict(car) for car in cars],
        "not_answered": [dict(one) for one in missing],
        "files": list(files),
    }


_VERDICTS = ("clears", "tight", "hits", "undecided")
_COUNTS = table("how many rows of each verdict", **{word: count(f"{word}") for word in _VERDICTS})

SHAPE = answer(
    FORMAT,
    "wheels and tires of a list on the corners of many cars",
    list=text("its file"),
    rows=count("wheel, tire and corner together"),
    counts=_COUNTS,
    cars=rows(
        "each car of the folder, by its file",
        table(
            "a car",
            car=text("its file"),
            title=text("of the car"),
            counts=_COUNTS,
            sizes=rows(
                "each size of the list on it",
                table(
                    "a size",
                    tire=text("its marking"),
                    verdict=one_of("of the best row of this size, at its worst corner", *_VERDICTS),
                    margin=maybe(mm("of that row at that corner"), _UNSAID),
                    line=count("of the list: that row"),
                ),
            ),
            best=rows("what clears here at every corner that it is for, the most left over first", _LINE),
            near=rows("the near misses with the least change of their offset, the nearest first", _LINE),
        ),
    ),
    not_answered=rows("what nothing can be said of", _MISSING),
    files=FILES,
)
