"""`clearance inspect`: the wheels in their boxes against the order, before a tire is mounted."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Units, Which, corner_at
from clearance_cli.out import say, show

import clearance

EXIT_CODES = {"accept": 0, "re-measure": 3, "return": 1}


def command(
    file: Annotated[
        Path,
        typer.Argument(
            help="The corner file that the wheels were ordered by; - reads it from standard input.", show_default=False
        ),
    ],
    measured: Annotated[Path | None, typer.Option("--measured", help="What was read: a .toml or .csv file.")] = None,
    wheel: Annotated[
        list[str] | None,
        typer.Option("--wheel", help="Or a wheel on the command line: 'name=front left, width=178 mm, ...'; repeat."),
    ] = None,
    which: Which = None,
    units: Units = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Every wheel against the order and against the others: accept, re-measure or return.

    Each difference is judged together with how well it was read. Exit code 0: accept all; 1: something goes back;
    2: the input is wrong; 3: something must be measured again.
    """
    corner = corner_at(file, units, which)
    rows = [] if measured is None else clearance.boxes_at(measured)
    rows += [clearance.box_of(text) for text in wheel or ()]
    wheels = clearance.boxes(rows, name="--wheel" if measured is None else str(measured))
    found = clearance.inspect(corner, wheels)
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return EXIT_CODES[found.value.verdict]
