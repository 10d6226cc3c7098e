"""`clearance rotate`: wheels that change places on a car, and the spare where it stands in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Csv, Units, Which, car_at, table_at
from clearance_cli.out import Progress, say, show, write_places

import clearance


def command(
    file: Annotated[
        Path, typer.Argument(help="The car or corner file; - reads it from standard input.", show_default=False)
    ],
    which: Which = None,
    units: Units = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Wheels that change places (side to side, front to rear, crosswise): does each clear where it would go?

    And the spare of [spare] at every corner, with how much higher the hub stands and how much further it rolls. Exit
    code 0: everything clears; 1: something does not, or does not bolt on; 3: undecided.
    """
    car = car_at(file, units, which)
    progress = Progress(quiet=as_json)
    found = clearance.rotate(car, progress=progress)
    progress.close()
    write_places(table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    if any(verdict in ("refused", "hits", "tight") for verdict in found.verdicts):
        return 1
    return 0 if all(verdict == "clears" for verdict in found.verdicts) else 3
