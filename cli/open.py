"""`clearance open`: a page on this machine to measure, choose and take away."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

import clearance

NEEDS = ("starlette", "uvicorn", "websockets", "segno")


def command(
    opened: Annotated[
        Path, typer.Argument(metavar="[FILE]", help="A corner or car file, or the folder to begin in.")
    ] = Path("."),
    which: Annotated[
        str | None, typer.Option("--corner", metavar="NAME", help="Which corner of a car file lies on the bench first.")
    ] = None,
    phone: Annotated[
        bool, typer.Option("--phone", help="Let one phone on this network in too; shows a code to scan.")
    ] = False,
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Open the browser too.")] = True,
) -> None:
    """Open a page in the browser: drag the backspace and watch the gaps move; leave with order, report and gauge.

    The page is served to this machine alone, at an address that ends with the command; with --phone to this network
    too, for one phone with the key. What it saves are plain corner files. Ctrl-C ends it.
    """
    _refuse_without()
    from clearance_cli.page.serve import loopback, on_network, run
    from clearance_cli.page.start import house_of

    house = house_of(opened, which)
    place = loopback()
    run(house, place, phone=on_network(place.keys) if phone else None, browser=browser)


def _refuse_without() -> None:
    from importlib.util import find_spec

    if missing := [name for name in NEEDS if find_spec(name) is None]:
        raise clearance.InputError(
            f"the page needs {', '.join(missing)}: pip install 'wheelwell-clearance[page]'. All other verbs do without."
        )
