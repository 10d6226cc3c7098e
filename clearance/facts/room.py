"""What a corner could take, as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.answers.room import Most, Room
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.open_letters import OPEN, open_facts
from clearance.facts.shape import Shape, maybe, number, of_corner, one_of, rows, table, text
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, found: Room, still_open: Sequence[Any] = ()) -> dict[str, Any]:
    """Everything that the page says, in mm and deg."""

    def most(one: Most) -> dict[str, Any]:
        return {"amount": one.amount, "meets": None if one.meets is None else gap_json(mockup, one.meets)}

    return {
        "format": "clearance-room/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "carried_by": found.carried_by,
        "standing": [gap_json(mockup, gap) for gap in found.standing],
        "ways": [
            {
                "way": way.name,
                "unit": way.unit,
                "keeps": most(way.keeps),
                "touches_nothing": most(way.touches),
                "straight_touches_nothing": most(way.straight),
            }
            for way in found.ways
        ],
        "open": open_facts(still_open),
    }


def _most(words: str) -> Shape:
    return table(
        words,
        amount=number("the most, in the way's unit"),
        meets=maybe(gap_shape("what is met one step further"), "where nothing is before the way's end"),
    )


SHAPE = of_corner(
    "clearance-room/1",
    "what a corner could take, where its travel was not measured",
    carried_by=text("what carries the wheel"),
    standing=rows("each part where the corner stands", gap_shape("one of them")),
    ways=rows(
        "each way from there, alone",
        table(
            "one of them",
            way=text("bump, droop, one wheel above the other, or a lock"),
            unit=one_of("of the amounts", "mm", "deg"),
            keeps=_most("every required gap is kept this far, whatever the links do"),
            touches_nothing=_most("nothing is touched this far, whatever the links do"),
            straight_touches_nothing=_most("nothing is touched this far, were it to go straight"),
        ),
    ),
    open=OPEN,
)
