"""`clearance relief`: how far each part must move, and which way; what to take off a scan."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.options import Csv, Units, Which, corner_or_car, folder_ahead, in_mm, length_of, table_at
from clearance_cli.out import Progress, say, show, write_answer

import clearance
from clearance import defaults


def command(
    file: Annotated[
        Path, typer.Argument(help="The corner or car file; - reads it from standard input.", show_default=False)
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            callback=folder_ahead,
            help="Folder for maps of what to take off (PLY, GLB, STL, CSV), cut lines (DXF), the proposed tub (STL).",
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
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """How far each part that is under its required gap must move, and which way.

    Each move is the least, to 0.1 mm, after which that part clears over the whole cycle. Scans are mapped in mm to take
    off. With --out: the maps, and the surface that a new tub must stay outside of: the envelope grown by the required
    gap. Of a car: every corner, worst first, each file with its corner's name in front. Exit code 0: nothing to do; 1:
    something must move.
    """
    asked = corner_or_car(file, units, which)
    slack_mm = length_of(slack, "--slack")
    progress = Progress(quiet=as_json)
    found: clearance.Answer[Any]
    files: dict[str, bytes] = {}
    if isinstance(asked, clearance.Car):
        found = clearance.relief_car(asked, mapped=part or (), progress=progress)
        moves = any(one.parts for one in found.value.values())
        if out is not None:
            files, found = clearance.relief_car_files(asked, found, slack_mm=slack_mm, folder=out, progress=progress)
    else:
        found = clearance.relief(asked, mapped=part or (), progress=progress)
        moves = bool(found.value.parts)
        if out is not None:
            files, found = clearance.relief_files(found, slack_mm=slack_mm, folder=out, progress=progress)
    write_answer(out, files, of="relief", beside=table_at(csv, found))
    progress.close()
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return 1 if moves else 0
