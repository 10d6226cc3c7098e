"""`clearance study`: these wheels and tires on these cars, every combination, on this machine or a cluster."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.out import Kept, Progress, say, show, write_answer

import clearance

_BYTES = {"MB": 10**6, "GB": 10**9, "MIB": 2**20, "GIB": 2**30}
_MEMORY = "2 GB"


def command(
    cars: Annotated[Path, typer.Argument(metavar="CARS", help="A folder of car and corner files.", show_default=False)],
    list_: Annotated[
        Path,
        typer.Argument(
            metavar="LIST",
            help="CSV or Parquet with the columns tire, width, and backspace or offset.",
            show_default=False,
        ),
    ],
    out: Annotated[
        Path | None, typer.Option(help="Folder for the table, the page, and what was finished if it is stopped.")
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Let the workers of this Dask scheduler do it.")
    ] = None,
    processes: Annotated[
        int | None, typer.Option(help="At most so many here; one for each core if not given.", min=1, max=512)
    ] = None,
    memory: Annotated[str, typer.Option(help="What all of them together may take.")] = _MEMORY,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Every wheel and tire of a list on every corner of many cars: what clears, by how much, what binds.

    A row is answered as by `check`, between two proven ends. Stopped, it is taken up again from what was finished.
    Exit code 0: something clears; 1: nothing does.
    """
    bytes_ = _bytes(memory)
    kept = None if out is None else Kept(out)
    progress = Progress(quiet=as_json)
    found = clearance.study(
        cars,
        list_,
        kept=kept,
        scheduler=scheduler,
        processes=processes,
        memory_bytes=bytes_,
        folder=out,
        progress=progress,
    )
    progress.close()
    if out is not None and kept is not None:
        write_answer(out, found.value.files, of="study")
        kept.only(found.value.pieces)
    if as_json:
        show(found.to_dict())
    else:
        say(found.words().rstrip("\n"))
    return 0 if found.value.facts["counts"]["clears"] else 1


def _bytes(text: str) -> int:
    read = re.fullmatch(r"\s*(\d{1,6}(?:\.\d{1,3})?)\s*(MB|GB|MiB|GiB)\s*", text, re.IGNORECASE)
    if read is None:
        raise clearance.InputError(f'--memory "{clearance.plain.line(text)}": write a size with its unit: "{_MEMORY}".')
    return int(float(read[1]) * _BYTES[read[2].upper()])
