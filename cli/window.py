"""`clearance window`: the backspace and offset that keep every required gap, for each rim width."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Csv, Units, Which, corner_or_car, picture_at, place_ahead, rims_in, table_at
from clearance_cli.out import Progress, say, show, write_places

import clearance


def command(
    file: Annotated[
        Path, typer.Argument(help="The corner or car file; - reads it from standard input.", show_default=False)
    ],
    width: Annotated[
        list[str] | None, typer.Option("--width", help='Rim width, as "7 in"; repeat for more. Default: all permitted.')
    ] = None,
    picture: Annotated[Path | None, typer.Option(callback=place_ahead, help="Draw it: an .svg file.")] = None,
    which: Which = None,
    units: Units = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Which backspace and offset clear, for the tire on each permitted rim width, and what binds each end.

    Ends are exact to 0.1 mm: that offset clears and 0.1 mm further does not, both over the whole cycle. Exit code 0:
    the wheel given is inside; 1: it is not.
    """
    asked = corner_or_car(file, units, which)
    widths = rims_in(width, "--width")
    progress = Progress(quiet=as_json)
    if isinstance(asked, clearance.Car):
        return _car(asked, widths, picture, csv, as_json)
    found = clearance.window(asked, widths_in=widths, progress=progress)
    progress.close()
    write_places(picture_at(picture, found.pictures, "the window is") | table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    past = found.value.given_past_mm()
    return 0 if past is not None and past <= 0 else 1


def _car(car: clearance.Car, widths: list[float] | None, picture: Path | None, csv: Path | None, as_json: bool) -> int:
    """Both sides of each axle, and all corners."""
    if picture is not None:
        raise clearance.InputError("a picture is of one corner's window. Name it: --corner rear-left.")
    progress = Progress(quiet=as_json)
    found = clearance.window_car(car, widths_in=widths, progress=progress)
    progress.close()
    write_places(table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    axles = [one.given_past_mm() for one in found.value if one.what.endswith("axle")]
    return 0 if all(past is not None and past <= 0 for past in axles) else 1
