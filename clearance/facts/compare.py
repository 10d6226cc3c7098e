"""Before and after as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.compare import LeftRight, Measure, PartChange, Side
from clearance.answers.swap import Swap
from clearance.facts.shape import CORNER, VERDICT, WARNINGS, Shape, answer, maybe, mm, rows, table, text
from clearance.facts.swap import SWAP
from clearance.facts.swap import facts as swap_facts


def facts(
    first: Measure,
    second: Measure,
    rows: tuple[PartChange, ...],
    sides: LeftRight | None,
    swap: Swap | None,
    now: tuple[Swap, ...],
) -> dict[str, Any]:
    """Everything that the page says."""

    def side(one: Side | None) -> dict[str, Any] | None:
        if one is None:
            return None
        return {
            "gap": round(one.gap_mm, 3),
            "required": one.required_mm,
            "verdict": one.verdict,
            "position": one.position,
            "where": one.where,
            "tire_region": one.region,
        }

    return {
        "format": "clearance-compare/1",
        "before": {"title": first.title, "corner": first.corner, "warnings": list(first.warnings)},
        "after": {"title": second.title, "corner": second.corner, "warnings": list(second.warnings)},
        "parts": [
            {
                "part": row.part,
                "before": side(row.before),
                "after": side(row.after),
                "change": None if row.change_mm is None else round(row.change_mm, 3),
            }
            for row in rows
        ],
        "after_against_before": None if swap is None else swap_facts(swap),
        "against_now": [swap_facts(one) for one in now],
        "left_right": None
        if sides is None
        else {
            "axle_to_left": round(sides.axle_to_left_mm, 2),
            "panel": round(sides.panel_mm, 2),
            "doubt": round(sides.doubt_mm, 2),
            "verdict": sides.verdict,
        },
    }


def _measured(words: str) -> Shape:
    return table(words, title=text("of the corner file, or of the findings"), corner=CORNER, warnings=WARNINGS)


def _side(words: str) -> Shape:
    return maybe(
        table(
            words,
            gap=mm("proven"),
            required=mm("the gap that it must keep"),
            verdict=VERDICT,
            position=text("of the corner where the gap is least, lengths in mm"),
            where=text("the place on the car, lengths in mm"),
            tire_region=text("which surface of the tire or wheel"),
        ),
        "where the part is not there",
    )


SHAPE = answer(
    "clearance-compare/1",
    "every part before and after",
    before=_measured("the first"),
    after=_measured("the second"),
    parts=rows(
        "every part of either",
        table(
            "one part",
            part=text("its name"),
            before=_side("in the first"),
            after=_side("in the second"),
            change=maybe(mm("after less before; positive is more room"), "where it is not in both"),
        ),
    ),
    after_against_before=maybe(SWAP, "where the two corners cannot be held against one another so"),
    against_now=rows("each against what is on the car now", SWAP),
    left_right=maybe(
        table(
            "of the two sides of one axle",
            axle_to_left=mm("how far the axle stands to the left of the middle of its springs"),
            panel=mm("half of how much further out the left panel stands"),
            doubt=mm("plus or minus of each, from the tape"),
            verdict=text("which is out, lengths in mm"),
        ),
        "of any other two",
    ),
)
