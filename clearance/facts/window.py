"""The window as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.window import End, Window
from clearance.defaults import STEP_MM
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import Shape, ends, inch, maybe, mm, of_corner, rows, table
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, found: Window) -> dict[str, Any]:
    """Everything that the page says, in mm and inches of rim."""

    def end(one: End) -> dict[str, Any]:
        return {
            "offset": round(one.offset_mm, 1),
            "backspace": round(one.backspace_mm, 2),
            "binds": None if one.binds is None else gap_json(mockup, one.binds),
        }

    return {
        "format": "clearance-window/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "given": {
            "width_in": found.given_width_in,
            "offset": round(found.given_offset_mm, 2),
            "backspace": round(found.given_backspace_mm, 2),
            "outside_by": None if found.given_past_mm() is None else round(float(found.given_past_mm() or 0.0), 2),
        },
        "searched_offset": [round(v, 2) for v in found.searched_mm],
        "step": STEP_MM,
        "widths": [
            {
                "width_in": row.width_in,
                "section_width": round(row.section_width_mm, 1),
                "stretches": [
                    {
                        "least": end(s.least),
                        "most": end(s.most),
                        "best_offset": round(s.best_offset_mm, 1),
                        "best_spare": round(s.best_spare_mm, 2),
                    }
                    for s in row.stretches
                ],
                "closest_offset": round(row.closest_offset_mm, 1),
                "closest_spare": round(row.closest_spare_mm, 2),
                "closest_binds": None if row.closest_binds is None else gap_json(mockup, row.closest_binds),
            }
            for row in found.widths
        ],
    }


def _end(words: str) -> Shape:
    return table(
        words,
        offset=mm("mounting face outboard of the rim's middle"),
        backspace=mm("inner flange edge to mounting face"),
        binds=maybe(gap_shape("what stops it there"), "where only the limit of what may be ordered does"),
    )


SHAPE = of_corner(
    "clearance-window/1",
    "the backspace and offset that clear, for each rim width",
    given=table(
        "the wheel of the corner file",
        width_in=inch("its width"),
        offset=mm("mounting face outboard of the rim's middle"),
        backspace=mm("inner flange edge to mounting face"),
        outside_by=maybe(
            mm("how far it stands outside of what clears; below zero inside"), "where nothing clears on its own width"
        ),
    ),
    searched_offset=ends("least and most offset that was looked at", mm("one of them")),
    step=mm("to which ends are exact"),
    widths=rows(
        "each rim width",
        table(
            "one of them",
            width_in=inch("the rim's width"),
            section_width=mm("of the tire on it"),
            stretches=rows(
                "what clears",
                table(
                    "one stretch",
                    least=_end("its shallow end"),
                    most=_end("its deep end"),
                    best_offset=mm("where there is most room"),
                    best_spare=mm("what is left over the required gap there"),
                ),
            ),
            closest_offset=mm("where least is missing, or most is left"),
            closest_spare=mm("what is left over the required gap there; below zero missing"),
            closest_binds=maybe(gap_shape("the tightest part there"), "where nothing was measured there"),
        ),
    ),
)
