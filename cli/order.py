"""`clearance order`: the order card, with how each number is measured."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.options import Units, Which, corner_or_car
from clearance_cli.out import Progress, say, show

import clearance


def command(
    file: Annotated[
        Path, typer.Argument(help="The corner or car file; - reads it from standard input.", show_default=False)
    ],
    which: Which = None,
    units: Units = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """The order card: what to tell the wheel maker, with tolerances and how each number is measured.

    The wheel and its center bore are those of [wheel]; quantity, lug seat, thread and tolerances come from [order].
    Of a car: a card for each kind of wheel, with the backspaces that clear at all of its corners.
    """
    asked = corner_or_car(file, units, which)
    found: clearance.Answer[Any]
    if isinstance(asked, clearance.Car):
        progress = Progress(quiet=as_json)
        found = clearance.order_car(asked, progress=progress)
        progress.close()
    else:
        found = clearance.order(asked)
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return 0
