"""`clearance largest`: the tire sizes that clear at their best backspace, best first."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.options import Csv, Units, Which, corner_or_car, length_option, rims_in, table_at
from clearance_cli.out import Progress, say, show, write_places

import clearance


def command(
    file: Annotated[
        Path, typer.Argument(help="The corner or car file; - reads it from standard input.", show_default=False)
    ],
    by: Annotated[str, typer.Option(help="Sort by: diameter, width or target.")] = "diameter",
    target: Annotated[str | None, typer.Option(help='Wanted diameter, as "28 in"; sorts by closeness to it.')] = None,
    sizes: Annotated[Path | None, typer.Option(help="Your own list: a CSV with a column `size`.")] = None,
    rim: Annotated[
        list[str] | None,
        typer.Option("--rim", help='Rim diameter, as "16 in"; repeat for more. Default: the wheel\'s.'),
    ] = None,
    enough: Annotated[int, typer.Option(help="Stop after so many sizes that clear.", min=1, max=500)] = 10,
    which: Which = None,
    units: Units = None,
    csv: Csv = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """The tire sizes that clear, each on its best rim width at its best backspace, certified, best first.

    With what each does to speedometer and ride height, and whether its load index carries the corner's stated load.
    Of a car: what clears at both sides of each axle. Exit code 0: something clears; 1: nothing on the list does.
    """
    asked = corner_or_car(file, units, which)
    target_mm = length_option(target, "--target")
    rims = rims_in(rim, "--rim")
    listed = None if sizes is None else clearance.listed_sizes(sizes)
    progress = Progress(quiet=as_json)
    by = "target" if target_mm is not None and by == "diameter" else by
    wanted: dict[str, Any] = {"sizes": listed, "by": by, "target_mm": target_mm, "rim_diameters_in": rims}
    found: clearance.Answer[Any]
    if isinstance(asked, clearance.Car):
        found = clearance.largest_car(asked, **wanted, enough=enough, progress=progress)
        each = list(found.value.values())
    else:
        found = clearance.largest(asked, **wanted, enough=enough, progress=progress)
        each = [found.value]
    progress.close()
    write_places(table_at(csv, found))
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return 0 if all(one.fits for one in each) else 1
