"""`clearance inspect`: the wheels in their boxes against the order, before a tire is mounted."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.options import Csv, Paper, Units, Which, corner_or_car, paper_for, place_ahead, table_at
from clearance_cli.out import Progress, say, show, write_places

import clearance

EXIT_CODES = {"keep": 0, "return": 1, "read again": 3, "not told": 3}


def command(
    file: Annotated[
        Path,
        typer.Argument(
            help="The corner or car file that the wheels were ordered by; - reads it from standard input.",
            show_default=False,
        ),
    ],
    measured: Annotated[Path | None, typer.Option("--measured", help="What was read: a .toml or .csv file.")] = None,
    wheel: Annotated[
        list[str] | None,
        typer.Option("--wheel", help="Or a wheel on the command line: 'name=front left, width=178 mm, ...'; repeat."),
    ] = None,
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", callback=place_ahead, help="Write the sheet to print here, a page a wheel."),
    ] = None,
    blank: Annotated[
        Path | None, typer.Option("--blank", callback=place_ahead, help="Write a CSV to fill here, a row a wheel.")
    ] = None,
    paper: Paper = None,
    which: Which = None,
    units: Units = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Every wheel against its order and the corner: keep, read again, return or not told.

    One word for each wheel, and the number that decided it: what the error of the reading leaves open is judged by the
    order's tolerance and by the room that the corner has. Of a car: every box of its order, which wheel goes to which
    corner, and what to write to the seller of one that goes back.

    Exit code 0: keep all; 1: one goes back; 2: the input is wrong; 3: something must be read, or read again. With
    --sheet or --blank and no wheel, only those are written.
    """
    asked = corner_or_car(file, units, which)
    files, answer = _sheets(asked, str(sheet or ""), str(blank or ""), paper_for(paper, asked.units))
    rows = [*_rows_of(measured), *(clearance.box_of(text) for text in wheel or ())]
    code = 0
    if rows or not files:
        answer = _answer(asked, rows, "--wheel" if measured is None else str(measured))
        code = EXIT_CODES[answer.value.verdict]
    written = write_places({Path(name): content for name, content in files.items()} | table_at(csv, answer))
    if as_json:
        show(answer.to_dict())
    else:
        say("\n".join([*map(str, written), answer.words()]))
    return code


def _sheets(
    asked: clearance.MockUp | clearance.Car, sheet: str, blank: str, paper: str
) -> tuple[dict[str, bytes], clearance.Answer[Any]]:
    if isinstance(asked, clearance.Car):
        return clearance.car_box_sheets(asked, sheet=sheet, blank=blank, paper=paper)
    return clearance.box_sheets(asked, sheet=sheet, blank=blank, paper=paper)


def _answer(asked: clearance.MockUp | clearance.Car, rows: list[Any], name: str) -> clearance.Answer[Any]:
    wheels = clearance.boxes(rows, name=name)
    if not isinstance(asked, clearance.Car):
        return clearance.inspect(asked, wheels)
    progress = Progress()
    try:
        found = clearance.inspect_car(asked, wheels, progress=progress)
    except clearance.WheelError as wrong:
        raise clearance.WheelError(f"{name}: {wrong}") from None
    progress.close()
    return found


def _rows_of(measured: Path | None) -> list[Any]:
    return [] if measured is None else clearance.boxes_at(measured)
