"""`clearance motion`: the path of the wheel, to hold against what was measured on the car."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from clearance_cli.out import say, show, write_places

if TYPE_CHECKING:
    pass


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    step: Annotated[str, typer.Option(help="From height to height.")] = "25 mm",
    csv: Annotated[Path | None, typer.Option(help="Write the rows as a CSV file.")] = None,
    picture: Annotated[Path | None, typer.Option(help="Draw the path: a .svg or .png file; needs matplotlib.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """How the wheel moves: camber, toe, across and along against bump, and at both locks.

    The rows are where the suspension of the corner file puts the hub. Jack the hub to the same heights with the spring
    out, read tape and angle finder, and compare.
    """

    from clearance.answers.motion import tables_of
    from clearance.description.load import load
    from clearance.errors import SuspensionError
    from clearance.export.motion import as_csv, drawn
    from clearance.facts.motion import facts
    from clearance.units import length_mm
    from clearance.words.motion import page

    mockup = load(file)
    step_mm = length_mm(step)
    if not 1.0 <= step_mm <= 200.0:
        raise SuspensionError(f"a step of {step} from height to height is of no use. Write between 1 mm and 200 mm.")
    tables = tables_of(mockup, step_mm)
    files: dict[Path, bytes] = {}
    if csv is not None:
        files[csv] = as_csv(tables).encode()
    if picture is not None:
        files[picture] = drawn(mockup.title, tables, picture)
    written = write_places(files)
    if as_json:
        show(facts(mockup, tables))
        return
    say(page(mockup, tables))
    for place in written:
        say(f"wrote {place}")
