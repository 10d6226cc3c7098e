"""A corner file that was written from a sheet, as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.facts.open_letters import OPEN, open_facts
from clearance.facts.shape import answer, maybe, one_of, rows, text


def facts(
    sheet: str,
    depth: str,
    corner_file: str,
    answers: str,
    left_out: Sequence[str],
    doubts: Sequence[str],
    still_open: Sequence[Any] = (),
) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": "clearance-new/1",
        "sheet": sheet,
        "depth": depth,
        "corner_file": corner_file,
        "answers": answers,
        "left_out": list(left_out),
        "doubts": list(doubts),
        "open": open_facts(still_open),
        "other_side": None,
        "car_file": None,
        "other_side_lacks": None,
    }


SHAPE = answer(
    "clearance-new/1",
    "a corner file written from a measuring sheet",
    sheet=text("the sheet, as `measure` takes it"),
    depth=one_of("how much was measured", "standing", "travel", "links"),
    corner_file=text("the file that was written"),
    answers=text("the filled sheet beside it"),
    left_out=rows("what was not answered", text("a letter of the sheet")),
    doubts=rows("what should be looked at again", text("letters and why")),
    open=OPEN,
    other_side=maybe(text("the corner file of the other side that was written"), "where none was"),
    car_file=maybe(text("the car file of both sides that was written"), "where the other side has no file"),
    other_side_lacks=maybe(
        rows("what the other side still needs before its file can be written", text("a letter and what it is")),
        "where nothing was said of the other side",
    ),
)
