"""The order card as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.answers.boxes import CardLine
from clearance.facts.shape import CORNER, of_corner, rows, table, text
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, card: Sequence[CardLine]) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": "clearance-order/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "corner": mockup.corner,
        "lines": lines_of(card),
    }


def lines_of(card: Sequence[CardLine]) -> list[dict[str, str]]:
    """The lines of a card."""
    return [{"item": c.item, "value": c.value, "tolerance": c.tolerance, "how": c.how} for c in card]


LINES = rows(
    "of the order card",
    table(
        "one line",
        item=text("what is ordered"),
        value=text("with its unit"),
        tolerance=text("plus or minus, with its unit; empty where there is none"),
        how=text("how it is measured"),
    ),
)
SHAPE = of_corner("clearance-order/1", "what to tell the wheel maker", corner=CORNER, lines=LINES)
