"""`clearance draw`: a corner to scale, from behind, from the side and from above; a whole car with both axles."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Paper, Units, Which, corner_or_car, folder_ahead, paper_for
from clearance_cli.out import say, show, write_all

import clearance


def command(
    file: Annotated[Path, typer.Argument(help="The corner or car file; - reads it from standard input.")],
    out: Annotated[Path, typer.Option("--out", "-o", callback=folder_ahead, help="The folder to write into.")] = Path(
        "drawings"
    ),
    paper: Paper = None,
    full_size: Annotated[
        str, typer.Option("--full-size", metavar="VIEW", help="Also print behind, side or plan at 1:1, in tiles.")
    ] = "",
    as_step: Annotated[
        bool, typer.Option("--step", help='Also corner.step, for a CAD program; needs the extra "cad".')
    ] = False,
    which: Which = None,
    units: Units = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """Draw the corner to scale as SVG and PDF, with what the wheel sweeps and the tightest places.

    A car file without --corner: both axles on the ground from the side, from behind and from ahead, what is on the car
    now dashed and what is next in full line, from the car's own numbers alone.
    Printed at 100 %, the bar on each sheet measures 100 mm. Full-size tiles are laid together by their crosses.
    """
    corner = corner_or_car(file, units, which)
    if isinstance(corner, clearance.Car):
        if as_step:
            raise clearance.InputError("--step is of one corner. Name it: --corner rear-left.")
        return _car(corner, out, paper, full_size, as_json)
    files, found = clearance.draw(
        corner, paper=paper_for(paper, corner.units), full_size=full_size, step=as_step, folder=out
    )
    write_all(out, files, of="draw")
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())


def _car(car: clearance.Car, out: Path, paper: str | None, full_size: str, as_json: bool) -> None:
    """Both axles."""
    if full_size:
        raise clearance.InputError("--full-size is of one corner. Name it: --corner rear-left.")
    files, found = clearance.draw_car(car, paper=paper_for(paper, car.units), folder=out)
    write_all(out, files, of="draw")
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
