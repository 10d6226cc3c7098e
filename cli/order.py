"""`clearance order`: the order card, with how each number is measured."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.options import Csv, Paper, Units, Which, corner_or_car, folder_ahead, paper_for, table_at
from clearance_cli.out import Progress, say, show, write_answer

import clearance


def command(
    file: Annotated[
        Path, typer.Argument(help="The corner or car file; - reads it from standard input.", show_default=False)
    ],
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", callback=folder_ahead, help="Folder for the card to print, as PDF, and as text."),
    ] = None,
    paper: Paper = None,
    which: Which = None,
    units: Units = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """The order card: what to tell the wheel maker, with tolerances and how each number is measured.

    The wheel and its center bore are those of [wheel]; quantity, lug seat, thread and tolerances come from [order].
    Of a car: a card for each kind of wheel, with the backspaces that clear at all of its corners. With --out: the
    same to read out on the telephone, one card a page, with what it rests on.
    """
    asked = corner_or_car(file, units, which)
    size = paper_for(paper, asked.units)
    progress = Progress(quiet=as_json)
    found: clearance.Answer[Any]
    if isinstance(asked, clearance.Car):
        found = clearance.order_car(asked, progress=progress)
    else:
        found = clearance.order(asked)
    files = {} if out is None else clearance.order_files(asked, found, paper=size, progress=progress)
    progress.close()
    write_answer(out, files, of="order", beside=table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say("\n".join([found.words(), *([f"Wrote {' and '.join(files)} to {out}."] if files else [])]))
    return 0
