"""The order of a car as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.answers.car_card import WheelCard
from clearance.facts.order import LINES, lines_of
from clearance.facts.shape import CORNER, answer, flag, rows, table, text
from clearance.mockup.car import Car

FORMAT = "clearance-car-order/1"


def facts(car: Car, cards: Sequence[WheelCard]) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": FORMAT,
        "title": car.title,
        "cautions": list(car.cautions),
        "cards": [
            {"corners": list(card.corners), "clears": card.clears, "lines": lines_of(card.lines)} for card in cards
        ],
    }


SHAPE = answer(
    FORMAT,
    "what to tell the wheel maker for a car",
    title=text("of the car"),
    cautions=rows("what applies to this car", text("one of them")),
    cards=rows(
        "a card for each kind of wheel",
        table(
            "one card",
            corners=rows("where it goes", CORNER),
            clears=flag("whether it clears at all of them as it is ordered"),
            lines=LINES,
        ),
    ),
)
