"""The order card, with how each number is measured."""

from __future__ import annotations

from collections.abc import Sequence

from clearance.answers.boxes import CardLine
from clearance.mockup.mockup import MockUp
from clearance.wheel.fasteners import CAUTION
from clearance.words.text import notes


def page(mockup: MockUp, card: Sequence[CardLine]) -> str:
    """Line by line, as the wheel maker reads it."""
    width = max(len(line.item) for line in card)
    lines = [f"Order card: {mockup.title or 'wheel'} ({mockup.corner})", "", *notes(mockup)]
    for line in card:
        lines.append(f"  {line.item:<{width}}  {line.value}{'   ' + line.tolerance if line.tolerance else ''}")
        if line.how:
            lines.append(f"  {'':<{width}}    {line.how}")
    lines += ["", CAUTION, "Check the wheel and tire as mounted on paper first: `clearance check`, then `budget`."]
    return "\n".join(lines)
