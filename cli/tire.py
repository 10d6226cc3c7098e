"""`clearance tire`: what a marking means, in millimetres and inches, and where each number comes from."""

from __future__ import annotations

from typing import Annotated, Any

import typer
from clearance_cli.options import PlainUnits, length_of, units_option
from clearance_cli.out import say, show

import clearance


def command(
    size: Annotated[
        list[str],
        typer.Argument(
            help="As on the sidewall: 245/45R17 95W, 31x10.50R15LT, 6.70-15, E70-14; or two.",
            show_default=False,
        ),
    ],
    rim: Annotated[str, typer.Option(help='Rim width that it will stand on, as "7 in" or "135 mm".')] = "",
    units: PlainUnits = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """What a tire marking means: dimensions, rims, tolerances, load, speed, turns per km, room for snow chains.

    Given two, what changes from the first to the second on wheels of the same offset: reach in and out, hub and ride
    height, the true speed at an indicated 60 mph and 100 km/h, load.
    """
    rim_in = length_of(rim, "--rim") / clearance.MM_PER_INCH if rim else None
    pair = clearance.two_markings(size)
    first = units_option(units) or "mm"
    found: clearance.Answer[Any]
    if pair is None:
        found = clearance.marking(" ".join(size), rim_width_in=rim_in, units=first)
    else:
        found = clearance.swapped(*pair, rim_width_in=rim_in, units=first)
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
