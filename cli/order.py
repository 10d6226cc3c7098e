"""`clearance order`: the order card, with how each number is measured."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Units, Which, corner_at
from clearance_cli.out import say, show

import clearance


def command(
    file: Annotated[Path, typer.Argument(help="The corner file; - reads it from standard input.", show_default=False)],
    which: Which = None,
    units: Units = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """The order card: what to tell the wheel maker, with tolerances and how each number is measured.

    The wheel and its center bore are those of [wheel]; quantity, lug seat, thread and tolerances come from [order].
    """
    found = clearance.order(corner_at(file, units, which))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return 0
