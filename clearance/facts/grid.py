"""One corner over a grid of changes, as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.grid import CHANGES, Cell, Grid
from clearance.facts.columns import heads_of, rows_text
from clearance.facts.shape import answer, count, deg, inch, maybe, mm, one_of, rows, table, text
from clearance.mockup.mockup import MockUp
from clearance.plain import csv_row
from clearance.pose import car_steer_deg

FORMAT = "clearance-grid/1"
_UNSAID = "of a cell that cannot be made"
_UNITS = {"mm": mm, "deg": deg, "in": inch}
_SAID = {True: "clears", False: "does not", None: "not told"}


def facts(corner: MockUp, found: Grid) -> dict[str, Any]:
    """Every cell."""
    cells = [_cell(corner, found, cell) for cell in found.cells]
    return {
        "format": FORMAT,
        "title": corner.title,
        "over": [
            {"name": over.name, "unit": over.unit, "values": [round(value, 4) for value in over.values]}
            for over in found.overs
        ],
        "counts": {key: sum(cell["said"] == said for cell in cells) for key, said in _COUNTED.items()},
        "cells": cells,
    }


_COUNTED = {"clear": "clears", "do_not": "does not", "not_told": "not told"}


def _cell(corner: MockUp, found: Grid, cell: Cell) -> dict[str, Any]:
    given = {over.name: round(value, 4) for over, value in zip(found.overs, cell.at, strict=True)}
    gap = cell.gap
    steer = None if gap is None else car_steer_deg(gap.position.steer_deg, right_hand=corner.right_hand)
    return {
        **{name: given.get(name) for name in CHANGES},
        "said": _SAID[cell.clears],
        "spare_at_least": _rounded(cell.low_mm, 3),
        "spare_at_most": _rounded(cell.high_mm, 3),
        "part": "" if gap is None else gap.part,
        "required": None if gap is None else round(gap.required_mm, 3),
        "bump": None if gap is None else _rounded(gap.position.bump_mm, 2),
        "other_bump": None if gap is None else _rounded(gap.position.other_bump_mm, 2),
        "steer": _rounded(steer, 2),
        "why": cell.why,
    }


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits) + 0.0


_CELL = table(
    "one combination",
    **{
        name: maybe(_UNITS[unit](f"{name.replace('_', ' ')} that it was measured with"), "where it is not changed")
        for name, (unit, _) in CHANGES.items()
    },
    said=one_of("what is proven of it: every part keeps its required gap, or one does not", *_SAID.values()),
    spare_at_least=maybe(mm("the least that any part has beyond what it must keep is no less"), _UNSAID),
    spare_at_most=maybe(mm("and no more"), _UNSAID),
    part=text("the part that binds"),
    required=maybe(mm("the gap that it must keep"), _UNSAID),
    bump=maybe(mm("this wheel where its gap is least, up from ride height"), _UNSAID),
    other_bump=maybe(mm("the other wheel of the axle there"), _UNSAID),
    steer=maybe(deg("of the car there, positive to the left"), _UNSAID),
    why=text("why it cannot be made; empty of any other"),
)


def csv_text(said: dict[str, Any]) -> str:
    """The cells as a table: what is changed first, and no column of what is not."""
    changed = [over["name"] for over in said["over"]]
    heads = {key: head for key, head in heads_of(_CELL).items() if key in changed or key not in CHANGES}
    return csv_row(list(heads.values())) + rows_text(list(heads), said["cells"])


SHAPE = answer(
    FORMAT,
    "one corner over a grid of changes",
    title=text("of the corner"),
    over=rows(
        "what is changed, in the order in which it was named",
        table(
            "one number",
            name=one_of("what it is", *CHANGES),
            unit=one_of("of its values", *_UNITS),
            values=rows("what it takes", {"type": "number", "description": "one value, in that unit"}),
        ),
    ),
    counts=table("how many cells", **{key: count(f"that are said to be: {said}") for key, said in _COUNTED.items()}),
    cells=rows("every combination, the first number changing fastest", _CELL),
)
