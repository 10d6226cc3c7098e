"""`clearance compare`: before and after, part by part; or left against right of one car."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import PlainUnits, corner_at, units_option, write_picture
from clearance_cli.out import Progress, say, show

import clearance


def command(
    before: Annotated[Path, typer.Argument(help="A corner file, or a findings.json.", show_default=False)],
    after: Annotated[Path, typer.Argument(help="Another.", show_default=False)],
    picture: Annotated[Path | None, typer.Option(help="Draw every gap side by side: an .svg file.")] = None,
    units: PlainUnits = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Every part before and after, and what changed.

    Given the left and the right corner of one car, each with [tape] hub_to_spring and hub_to_lip, it also says whether
    the axle stands to one side or a panel is out. Exit code 0: everything clears after; 1: something is tight or hits;
    2: the input is wrong; 3: undecided.
    """
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
    if picture is not None:
        write_picture(picture, found.pictures()[0], "gaps are")
    if as_json:
        show(found.to_dict())
    else:
        say(found.words(first_unit))
    return exit_code([side.verdict for side in second.sides.values()])


def exit_code(verdicts: list[str]) -> int:
    """Of what is there after; where nothing was measured, nothing clears."""
    if any(verdict in ("tight", "hits") for verdict in verdicts):
        return 1
    return 0 if verdicts and all(verdict == "clears" for verdict in verdicts) else 3


def _side(file: Path) -> clearance.Measure:
    if str(file) == "-":
        return clearance.measured(corner_at(file), title="standard input")
    return clearance.measured_at(file)
