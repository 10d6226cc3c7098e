"""`clearance scan`: what is in a mesh file, and the lines that put it into a corner file.

Nothing is guessed silently. The unit is stated by the user or by a measured distance; where it is not, the sizes in
every unit are shown and the lines for the corner file leave it open.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import PlainUnits, Which, length_option, place_ahead, units_option
from clearance_cli.out import Progress, say, show, write_all

import clearance
from clearance import defaults


def command(
    mesh: Annotated[Path, typer.Argument(help="OBJ, STL, PLY, GLB, glTF, OFF, 3MF, XYZ or CSV.", show_default=False)],
    unit: Annotated[str | None, typer.Option(help='Of its numbers: "mm", "cm", "m", "in" or "ft".')] = None,
    scale: Annotated[
        str | None, typer.Option(help='Instead: { from = [x, y, z], to = [x, y, z], distance = "4 1/2 in" }.')
    ] = None,
    place: Annotated[
        str | None,
        typer.Option(help='As in a corner file: \'{ hub = [x, y, z], up = "+z", ahead = "+x" }\', or "corner axes".'),
    ] = None,
    side: Annotated[str, typer.Option(help='The side of the car that was scanned: "left" or "right".')] = "left",
    tire: Annotated[
        str | None,
        typer.Option(
            help=f"Diameter of the tire, to judge the place by: '26 in'. {defaults.SCAN_TIRE_MM:g} mm if not given."
        ),
    ] = None,
    picture: Annotated[
        Path | None, typer.Option(callback=place_ahead, help="Draw it from three sides: a .png or .svg file.")
    ] = None,
    into: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Put it into this corner or car file, as a part of the well."),
    ] = None,
    name: Annotated[str, typer.Option(help="What the findings call it, with --into.")] = "scanned well",
    which: Which = None,
    units: PlainUnits = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """What is in a scan: its pieces, holes and size in every unit, and the lines to put into a corner file.

    With a unit (or a scale) and a place it also says where the scan would stand on the hub, how far that is uncertain,
    and what speaks against it; then --into puts it into a corner file, or with --corner into that corner of a car file,
    whose own lines and remarks stay as they are.
    Nothing is changed in the scan.
    """
    if into is not None and place is None:
        raise clearance.InputError("--into needs --place, where the scan stands on the hub, and --unit or --scale.")
    first = units_option(units)
    progress = Progress(quiet=as_json)
    tire_mm = length_option(tire, "--tire")
    found = clearance.scan(mesh, unit=unit, scale=scale, place=place, side=side, tire_mm=tire_mm, progress=progress)
    if picture is not None:
        progress(2, 3, "drawing")
        write_all(picture.parent, {picture.name: clearance.scan_picture(found, picture)})
    if into is not None:
        text = clearance.with_scan(into, mesh, name=name, unit=unit, scale=scale, place=place or "", corner=which)
        write_all(into.parent, {into.name: text})
    progress.close()
    if as_json:
        show(found.to_dict())
        return
    say(found.words(first))
    if picture is not None:
        say(f"\npicture: {picture}")
    if into is not None:
        say(f'\n{into}: now has this scan as its part "{name}". Read it through, then: clearance check {into}')
