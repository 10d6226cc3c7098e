"""`clearance least-change`: the smallest single change that clears, and what it costs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.options import Csv, Units, Which, corner_or_car, table_at
from clearance_cli.out import Progress, say, show, write_places

import clearance


def command(
    file: Annotated[
        Path, typer.Argument(help="The corner or car file; - reads it from standard input.", show_default=False)
    ],
    each_side: Annotated[
        bool, typer.Option("--each-side", help="Of a car: let a spacer differ from one side to the other.")
    ] = False,
    which: Which = None,
    units: Units = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """The smallest change that clears: spacer, backspace, bump stop, steering stop, ride height, camber, lip, tire
    size.

    Each is the exact minimum over the whole cycle, then rounded up to what is sold. Where no single change does it, the
    least pairs. Of a car: what clears both sides of each axle at once, and whether that is to centre the axle. How far
    each may go is in [limits] of the corner file, what is sold in [sold]. Exit code 0: it clears as it is; 1: something
    must change.
    """
    asked = corner_or_car(file, units, which)
    progress = Progress(quiet=as_json)
    found: clearance.Answer[Any]
    if isinstance(asked, clearance.Car):
        found = clearance.least_change_car(asked, each_side=each_side, progress=progress)
        clear = all(one.clear_as_is for one in found.value.values())
    else:
        found = clearance.least_change(asked, progress=progress)
        clear = found.value.clear_as_is
    progress.close()
    write_places(table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return 0 if clear else 1
