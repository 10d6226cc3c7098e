"""`clearance other`: load states, chains, the spare in its well, duals, the body's cover."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import Csv, Units, Which, corner_at, table_at
from clearance_cli.out import say, show, write_places

import clearance


def command(
    file: Annotated[Path, typer.Argument(help="The corner file; - reads it from standard input.", show_default=False)],
    which: Which = None,
    units: Units = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Other clearances of the same tire, for whichever of these sections the corner file has:

    [load_states], [chains], [spare_well], [duals], [coverage]. Exit code 0: all of them have room enough; 1: one has
    not.
    """
    corner = corner_at(file, units, which)
    try:
        found = clearance.other(corner)
    except clearance.InputError as nothing:
        raise clearance.InputError(f"{file}: {nothing}") from None
    write_places(table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return 0 if found.value.enough else 1
