"""`clearance relief`: how far each part must move, and which way; what to take off a scan."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Units, Which, corner_at, in_mm, length_of
from clearance_cli.out import Progress, say, show, write_all

import clearance
from clearance import defaults


def command(
    file: Annotated[Path, typer.Argument(help="The corner file; - reads it from standard input.", show_default=False)],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", help="Folder for maps of what to take off (PLY, GLB, STL, CSV) and the proposed tub (STL)."
        ),
    ] = None,
    part: Annotated[
        list[str] | None,
        typer.Option("--map", help="Also map this part, corner by corner of its mesh; repeat for more."),
    ] = None,
    slack: Annotated[str, typer.Option(help="How far outside the truth the proposed tub may lie.")] = in_mm(
        defaults.RELIEF_SLACK_MM
    ),
    which: Which = None,
    units: Units = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """How far each part that is under its required gap must move, and which way.

    Each move is the least, to 0.1 mm, after which that part clears over the whole cycle. Scans are mapped in mm to take
    off. With --out: the maps, and the surface that a new tub must stay outside of: the envelope grown by the required
    gap. Exit code 0: nothing to do; 1: something must move.
    """
    corner = corner_at(file, units, which)
    slack_mm = length_of(slack, "--slack")
    progress = Progress(quiet=as_json)
    found = clearance.relief(corner, mapped=part or (), progress=progress)
    if out is not None:
        files, found = clearance.relief_files(found, slack_mm=slack_mm, folder=out, progress=progress)
        write_all(out, files, of="relief")
    progress.close()
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return 1 if found.value.parts else 0
