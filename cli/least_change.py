"""`clearance least-change`: the smallest single change that clears, and what it costs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Units, Which, corner_at
from clearance_cli.out import Progress, say, show

import clearance


def command(
    file: Annotated[Path, typer.Argument(help="The corner file; - reads it from standard input.", show_default=False)],
    which: Which = None,
    units: Units = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """The smallest change that clears: spacer, backspace, bump stop, steering stop, ride height, camber, lip, tire
    size.

    Each is the exact minimum over the whole cycle, then rounded up to what is sold. Where no single change does it, the
    least pairs. How far each may go is in [limits] of the corner file, what is sold in [sold]. Exit code 0: it clears
    as it is; 1: something must change.
    """
    progress = Progress(quiet=as_json)
    found = clearance.least_change(corner_at(file, units, which), progress=progress)
    progress.close()
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return 0 if found.value.clear_as_is else 1
