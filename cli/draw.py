"""`clearance draw`: the corner to scale, from behind, from the side and from above."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import corner_at
from clearance_cli.out import say, write_all

import clearance


def command(
    file: Annotated[Path, typer.Argument(help="The corner file; - reads it from standard input.")],
    out: Annotated[Path, typer.Option("--out", "-o", help="The folder to write into.")] = Path("drawings"),
    paper: Annotated[str, typer.Option(help="A4 or Letter.")] = "letter",
    full_size: Annotated[
        str, typer.Option("--full-size", metavar="VIEW", help="Also print behind, side or plan at 1:1, in tiles.")
    ] = "",
) -> None:
    """Draw the corner to scale as SVG and PDF, with what the wheel sweeps and the tightest places.

    Printed at 100 %, the bar on each sheet measures 100 mm. Full-size tiles are laid together by their crosses.
    """
    corner = corner_at(file)
    files = clearance.drawings_of(clearance.check(corner), paper=paper, full_size=full_size)
    for warning in corner.warnings:
        say(f"Note: {warning}")
    for path in write_all(out, files, of="draw"):
        say(str(path))
