"""`clearance motion`: the path of the wheel, to hold against what was measured on the car."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Units, Which, corner_at, in_mm, length_of, place_ahead
from clearance_cli.out import say, show, write_places

import clearance
from clearance import defaults


def command(
    file: Annotated[Path, typer.Argument(help="The corner file; - reads it from standard input.", show_default=False)],
    step: Annotated[str, typer.Option(help="From height to height.")] = in_mm(defaults.HEIGHT_STEP_MM),
    csv: Annotated[Path | None, typer.Option(callback=place_ahead, help="Write the rows as a CSV file.")] = None,
    picture: Annotated[
        Path | None, typer.Option(callback=place_ahead, help="Draw the path: a .svg or .png file; needs matplotlib.")
    ] = None,
    which: Which = None,
    units: Units = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """How the wheel moves: camber, toe, across and along against bump, and at both locks.

    The rows are where the suspension of the corner file puts the hub. Jack the hub to the same heights with the spring
    out, read tape and angle finder, and compare.
    """
    corner = corner_at(file, units, which)
    step_mm = length_of(step, "--step")
    found = clearance.motion(corner, step_mm=step_mm)
    files: dict[Path, bytes] = {}
    if csv is not None:
        files[csv] = clearance.motion_csv(found)
    if picture is not None:
        files[picture] = clearance.motion_picture(found, picture)
    written = write_places(files)
    if as_json:
        show(found.to_dict())
        return
    say(found.words())
    for place in written:
        say(f"wrote {place}")
