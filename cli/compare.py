"""`clearance compare`: before and after, part by part; left against right; on a car now against what is next."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import (
    Csv,
    PlainUnits,
    Which,
    car_at,
    corner_at,
    picture_at,
    place_ahead,
    table_at,
    units_option,
)
from clearance_cli.out import Progress, say, show, write_places

import clearance


def command(
    before: Annotated[
        Path, typer.Argument(help="A corner file, or a findings.json; alone, a car or corner file.", show_default=False)
    ],
    after: Annotated[Path | None, typer.Argument(help="Another.", show_default=False)] = None,
    picture: Annotated[
        Path | None, typer.Option(callback=place_ahead, help="Draw every gap side by side: an .svg file.")
    ] = None,
    which: Which = None,
    units: PlainUnits = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Every part before and after, and what changed.

    Given one car or corner file: what its [now] says is on the car against what it describes. Reach in and out, hub and
    ride height, rake, track, speedometer and odometer, load and speed, scrub radius, and the tightest gap of both at
    every corner. Given the left and the right corner of one car, each with [tape] hub_to_spring and hub_to_lip, it also
    says whether the axle stands to one side or a panel is out. Exit code 0: everything clears after; 1: something is
    tight or hits; 2: the input is wrong; 3: undecided.
    """
    if after is None:
        return _now(before, which, picture, units, csv, as_json)
    if which is not None:
        raise clearance.InputError("--corner names a corner of one car file, and two files are given. Leave it out.")
    if str(before) == str(after) == "-":
        raise clearance.InputError("only one of the two can come from standard input. Name a file for the other.")
    first_unit = units_option(units)
    progress = Progress(quiet=as_json)
    progress(0, 2, f"measuring {before.name}")
    first = _side(before)
    progress(1, 2, f"measuring {after.name}")
    second = _side(after)
    progress.close()
    found = clearance.compare(first, second)
    write_places(picture_at(picture, found.pictures, "gaps are") | table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words(first_unit))
    return exit_code([side.verdict for side in second.sides.values()])


def _now(
    file: Path, which: str | None, picture: Path | None, units: str | None, csv: Path | None, as_json: bool
) -> int:
    """What is on the car now against what is next."""
    if picture is not None:
        raise clearance.InputError(
            "--picture draws the gaps of two files. Of one, `clearance draw` draws what is on it now and what is next."
        )
    car = car_at(file, units, which)
    progress = Progress(quiet=as_json)
    found = clearance.now_next(car, progress=progress)
    progress.close()
    write_places(table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return exit_code(found.verdicts)


def exit_code(verdicts: list[str]) -> int:
    """Of what is there after; where nothing was measured, nothing clears."""
    if any(verdict in ("tight", "hits") for verdict in verdicts):
        return 1
    return 0 if verdicts and all(verdict == "clears" for verdict in verdicts) else 3


def _side(file: Path) -> clearance.Measure:
    if str(file) == "-":
        return clearance.measured(corner_at(file), title="standard input")
    return clearance.measured_at(file)
