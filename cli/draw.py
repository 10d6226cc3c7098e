"""`clearance draw`: the corner to scale, from behind, from the side and from above."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.out import say, write_all

from clearance.plain import echoed


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.")],
    out: Annotated[Path, typer.Option("--out", "-o", help="The folder to write into.")] = Path("drawings"),
    paper: Annotated[str, typer.Option(help="A4 or Letter.")] = "letter",
    full_size: Annotated[
        str, typer.Option("--full-size", metavar="VIEW", help="Also print behind, side or plan at 1:1, in tiles.")
    ] = "",
) -> None:
    """Draw the corner to scale as SVG and PDF, with what the wheel sweeps and the tightest places.

    Printed at 100 %, the bar on each sheet measures 100 mm. Full-size tiles are laid together by their crosses.
    """

    from clearance.description.load import load
    from clearance.errors import InputError
    from clearance.export.pdf import PAPERS
    from clearance.gap.cycle import over_cycle
    from clearance.report import drawings

    if full_size and full_size not in drawings.VIEWS:
        raise InputError(f"{echoed(full_size)} is not a view. Write one of {', '.join(drawings.VIEWS)}.")
    if paper.lower() not in PAPERS:
        raise InputError(f"the paper {echoed(paper)} is not known. Write A4 or Letter.")
    mockup = load(file)
    gaps = over_cycle(mockup)
    files = drawings.drawings(mockup, gaps, paper=paper)
    if full_size:
        files[f"{full_size}-full-size.pdf"] = drawings.full_size(mockup, gaps, full_size, paper=paper)
    for warning in mockup.warnings:
        say(f"Note: {warning}")
    for path in write_all(out, files, of="draw"):
        say(str(path))
