"""One wheel for several corners, as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.answers.shared import SharedEnd, SharedOnWidth, SharedWindow
from clearance.defaults import STEP_MM
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import CORNER, Shape, answer, inch, maybe, mm, rows, table, text
from clearance.facts.window import SHAPE as SHAPE_OF_ONE
from clearance.facts.window import facts as window_facts
from clearance.mockup.car import Car

FORMAT = "clearance-car-window/1"
_HEAD = ("$schema", "title")


def facts(car: Car, found: Sequence[SharedWindow]) -> dict[str, Any]:
    """Everything that the page says, in mm and inches of rim."""
    past = [one.given_past_mm() for one in found]
    return {
        "format": FORMAT,
        "title": car.title,
        "step": STEP_MM,
        "groups": [
            {
                "what": one.what,
                "corners": list(one.windows),
                "given_outside_by": None if mm_past is None else round(mm_past, 2) + 0.0,
                "widths": [_row(car, row) for row in one.widths],
            }
            for one, mm_past in zip(found, past, strict=True)
        ],
        "corners": [
            window_facts(car.at(name), window)
            for name, window in {name: window for one in found for name, window in one.windows.items()}.items()
        ],
    }


def _row(car: Car, row: SharedOnWidth) -> dict[str, Any]:
    return {
        "width_in": row.width_in,
        "stretches": [
            {
                "least": _end(car, stretch.least),
                "most": _end(car, stretch.most),
                "middle_offset": round(stretch.middle_offset_mm, 2),
                "middle_backspace": round(stretch.middle_backspace_mm, 2),
                "middle_spare": round(stretch.middle_spare_mm, 2),
                "middle_corner": stretch.middle_corner,
            }
            for stretch in row.stretches
        ],
        "axle_off_to_left": None if row.off_mm is None else round(row.off_mm, 2) + 0.0,
        "centred": None
        if row.centred is None
        else {
            "to_left": round(row.centred.to_left_mm, 2),
            "least_offset": round(row.centred.least_offset_mm, 2),
            "most_offset": round(row.centred.most_offset_mm, 2),
        },
    }


def _end(car: Car, one: SharedEnd) -> dict[str, Any]:
    return {
        "corner": one.corner,
        "offset": round(one.end.offset_mm, 1),
        "backspace": round(one.end.backspace_mm, 2),
        "binds": None if one.end.binds is None else gap_json(car.at(one.corner), one.end.binds),
    }


def _end_shape(words: str) -> Shape:
    return table(
        words,
        corner=CORNER,
        offset=mm("mounting face outboard of the rim's middle"),
        backspace=mm("inner flange edge to mounting face"),
        binds=maybe(gap_shape("what stops it there"), "where only the limit of what may be ordered does"),
    )


SHAPE = answer(
    FORMAT,
    "the backspace and offset that clear at both sides of each axle, and at all corners where one wheel fits all",
    title=text("of the car"),
    step=mm("to which ends are exact"),
    groups=rows(
        "corners that one wheel is to serve",
        table(
            "one group",
            what=text("which: an axle, or all corners"),
            corners=rows("their names", CORNER),
            given_outside_by=maybe(
                mm("how far the worst of the given wheels stands outside; below zero inside"),
                "where nothing clears at all of them",
            ),
            widths=rows(
                "each rim width that all of them permit",
                table(
                    "one of them",
                    width_in=inch("the rim's width"),
                    stretches=rows(
                        "what clears at all of them",
                        table(
                            "one stretch",
                            least=_end_shape("its shallow end, and who binds it"),
                            most=_end_shape("its deep end, and who binds it"),
                            middle_offset=mm("half way"),
                            middle_backspace=mm("half way"),
                            middle_spare=mm("what the tightest part has left there over its required gap"),
                            middle_corner=CORNER,
                        ),
                    ),
                    axle_off_to_left=maybe(
                        mm("how far the axle stands to the left of where both sides would have the same window"),
                        "where that cannot be said",
                    ),
                    centred=maybe(
                        table(
                            "the axle moved across the car, measured so",
                            to_left=mm("how far it is moved; below zero to the right"),
                            least_offset=mm("of what both sides share then"),
                            most_offset=mm("of what both sides share then"),
                        ),
                        "where it would not help or was not proven",
                    ),
                ),
            ),
        ),
    ),
    corners=rows("each corner's own window", {key: SHAPE_OF_ONE[key] for key in SHAPE_OF_ONE if key not in _HEAD}),
)
