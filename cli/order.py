"""`clearance order`: the order card, with how each number is measured."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.out import say, show


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """The order card: what to tell the wheel maker, with tolerances and how each number is measured.

    The wheel is the corner file's; quantity, center bore, lug seat, thread and tolerances come from its [order].
    """
    from clearance_cli.answer_text import read_corner

    from clearance.answers.boxes import order_card
    from clearance.wheel.fasteners import CAUTION
    from clearance.words.text import notes

    mockup = read_corner(file)
    card = order_card(mockup, mockup.terms.order)
    if as_json:
        said = {"format": "clearance-order/1", "title": mockup.title, "warnings": list(mockup.warnings)}
        rows = [{"item": c.item, "value": c.value, "tolerance": c.tolerance, "how": c.how} for c in card]
        show({**said, "corner": mockup.corner, "lines": rows})
        return 0
    width = max(len(line.item) for line in card)
    lines = [f"Order card: {mockup.title or 'wheel'} ({mockup.corner})", "", *notes(mockup)]
    for line in card:
        lines.append(f"  {line.item:<{width}}  {line.value}{'   ' + line.tolerance if line.tolerance else ''}")
        if line.how:
            lines.append(f"  {'':<{width}}    {line.how}")
    lines += ["", CAUTION, "Check the wheel and tire as mounted on paper first: `clearance check`, then `budget`."]
    say("\n".join(lines))
    return 0
