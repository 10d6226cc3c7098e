"""`clearance measure`: the blank measuring sheet, to print and take to the car."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.options import Paper, folder_ahead, paper_for
from clearance_cli.out import say, show, write_all

import clearance


def command(
    sheet: Annotated[
        str,
        typer.Argument(
            metavar="KIND", help="What carries the wheel: rear-leaf, front-strut... Left out: a picture of each."
        ),
    ] = "",
    depth: Annotated[str, typer.Option(help="How much is measured: standing, travel or links.")] = "",
    links: Annotated[str, typer.Option(help="With --depth links: the kind of suspension whose points are taken.")] = "",
    unit: Annotated[str, typer.Option(help="What the tape is marked in: in, mm or cm.")] = "in",
    paper: Paper = None,
    out: Annotated[Path, typer.Option(callback=folder_ahead, help="The folder to write into.")] = Path("."),
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """Print the blank measuring sheet of one kind of corner, as a PDF and as a CSV to fill in.

    The drawing letters every dimension; `clearance new` asks for the same letters in the same order. Without a kind: a
    page with a picture of everything that can carry a wheel.
    """
    found: clearance.Answer[Any]
    if sheet:
        files, found = clearance.sheet_files(sheet, depth=depth, links=links, unit=unit, paper=paper_for(paper, unit))
    else:
        files, found = clearance.carrier_files(paper=paper_for(paper, unit))
    written = write_all(out, files)
    if as_json:
        show(found.to_dict())
        return
    for path in written:
        say(str(path))
    say(found.words())
