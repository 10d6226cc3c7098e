"""`clearance room`: what a corner could take before it touches, where its travel was not measured."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Csv, Units, Which, corner_at, table_at
from clearance_cli.out import Progress, note, say, show, write_places

import clearance


def command(
    file: Annotated[Path, typer.Argument(help="The corner file; - reads it from standard input.", show_default=False)],
    answers: Annotated[
        Path | None, typer.Option("--answers", help="The filled sheet that it was made from: says what is still open.")
    ] = None,
    which: Which = None,
    units: Units = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """How much bump, droop, tilt and lock a corner could take before it touches, and what it meets first.

    For a corner whose travel or links were not measured. Each way is alone and holds whatever such links may do. With
    --answers, how far each letter that is still open could move the answer, most first.
    """
    corner = corner_at(file, units, which)
    progress = Progress(quiet=as_json)
    still_open = None
    if answers is not None:
        sheet = clearance.measuring(filled=answers, note=note)
        still_open = clearance.still_open(sheet, progress=progress).value
    found = clearance.room(corner, still_open=still_open, progress=progress)
    progress.close()
    write_places(table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return 0
