"""The order card, with how each number is measured."""

from __future__ import annotations

from collections.abc import Sequence

from clearance.answers.boxes import CardLine
from clearance.mockup.mockup import MockUp
from clearance.wheel.fasteners import CAUTION
from clearance.words.text import notes


def page(mockup: MockUp, card: Sequence[CardLine]) -> str:
    """Line by line, as the wheel maker reads it."""
    lines = [f"Order card: {mockup.title or 'wheel'} ({mockup.corner})", "", *notes(mockup), *card_lines(card)]
    lines += ["", CAUTION, "Check the wheel and tire as mounted on paper first: `clearance check`, then `budget`."]
    return "\n".join(lines)


def card_lines(card: Sequence[CardLine]) -> list[str]:
    """The lines of a card in two columns, how each is measured below it."""
    width = max(len(line.item) for line in card)
    lines = []
    for line in card:
        lines.append(f"  {line.item:<{width}}  {line.value}{'   ' + line.tolerance if line.tolerance else ''}")
        if line.how:
            lines.append(f"  {'':<{width}}    {line.how}")
    return lines
