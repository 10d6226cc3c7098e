"""`clearance candidates`: what can be had, put on the car, ranked by what matters."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Csv, Units, Which, car_at, table_at
from clearance_cli.out import Progress, say, show, write_places

import clearance


def command(
    file: Annotated[
        Path, typer.Argument(help="The corner or car file; - reads it from standard input.", show_default=False)
    ],
    list_: Annotated[
        Path,
        typer.Argument(
            metavar="LIST", help="A CSV with the columns tire, width, and backspace or offset.", show_default=False
        ),
    ],
    by: Annotated[str, typer.Option(help="Rank by: fill, rubber, speedometer, price or room.")] = "fill",
    enough: Annotated[int, typer.Option(help="Stop after so many that clear.", min=1, max=500)] = 10,
    which: Which = None,
    units: Units = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Tires on wheels that can be had, each with its worst gap at every corner that it is for, best first.

    Further columns: axle (front, rear), overall_diameter and section_width where measured, price, note. Exit code 0:
    something clears; 1: nothing on the list does.
    """
    car = car_at(file, units, which)
    progress = Progress(quiet=as_json)
    found = clearance.candidates(car, list_, by=by, enough=enough, progress=progress)
    progress.close()
    write_places(table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return 0 if any(one.clears for one in found.value.tried) else 1
