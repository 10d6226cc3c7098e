"""`clearance gauge`: what to print or cut and hold against the car."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.options import (
    Paper,
    Units,
    Which,
    corner_at,
    folder_ahead,
    in_mm,
    length_of,
    length_option,
    paper_for,
)
from clearance_cli.out import Progress, say, show, write_all

import clearance
from clearance import defaults


def command(
    file: Annotated[Path, typer.Argument(help="The corner file; - reads it from standard input.", show_default=False)],
    bed: Annotated[str, typer.Option(help='The printer\'s bed and height: mm, or as "10 x 10 x 12 in".')] = defaults.by(
        defaults.BED_MM
    ),
    fit: Annotated[str, typer.Option(help="Left between two printed faces, per side.")] = in_mm(defaults.FIT_MM),
    plate: Annotated[str, typer.Option(help="Thickness of the printed blade.")] = in_mm(defaults.PLATE_MM),
    stud: Annotated[
        str | None, typer.Option(help="Diameter of the hub's studs; of [order] thread if not given, else 1/2 in.")
    ] = None,
    nut: Annotated[str, typer.Option(help="Room round a lug nut, its washer and its socket.")] = in_mm(defaults.NUT_MM),
    over: Annotated[str, typer.Option(help="How much thicker than the required gap a no-go end is.")] = in_mm(
        defaults.OVER_MM
    ),
    flat: Annotated[str | None, typer.Option(help='Patterns for sheet instead of prints: "rings" or "blade".')] = None,
    sheet: Annotated[
        str, typer.Option(help='With --flat: width x height of a sheet: mm, or as "24 in x 48 in".')
    ] = defaults.by(defaults.SHEET_MM),
    thickness: Annotated[str, typer.Option(help="With --flat: of the sheet, as measured.")] = in_mm(
        defaults.SHEET_THICKNESS_MM
    ),
    kerf: Annotated[str, typer.Option(help="With --flat: width of the cut.")] = in_mm(defaults.KERF_MM),
    also: Annotated[
        str, typer.Option(help='With --flat rings: other thicknesses at hand, as "6 mm, 12 mm", for the last layers.')
    ] = "",
    ends: Annotated[
        str, typer.Option(help='With --flat rings: last layers "planed" to the tire\'s end, "whole", or left "short".')
    ] = "planed",
    as_step: Annotated[
        bool, typer.Option("--step", help='Also gauge.step, for a CAD program; needs the extra "cad".')
    ] = False,
    paper: Paper = None,
    out: Annotated[Path, typer.Option(callback=folder_ahead, help="Folder for the files.")] = Path("gauge"),
    which: Which = None,
    units: Units = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """A mock-up of the wheel and tire on order, to bolt to the hub and cycle the suspension with.

    Printed: a hub plate, a ring that turns on it, and a blade with the tire's and rim's half section, split to the bed,
    with step, lip and rim blocks; STL, 3MF, a bill of what to buy and an assembly drawing. With --flat: patterns for
    plywood, foam board or sheet metal as DXF and 1:1 PDF. A gauge carries no load: car on stands, springs out.
    """
    making = clearance.making_of(
        bed=bed,
        fit_mm=length_of(fit, "--fit"),
        plate_mm=length_of(plate, "--plate"),
        stud_mm=length_option(stud, "--stud"),
        nut_mm=length_of(nut, "--nut"),
    )
    over_mm = length_of(over, "--over")
    thickness_mm, kerf_mm = length_of(thickness, "--thickness"), length_of(kerf, "--kerf")
    also_mm = [length_of(text, "--also") for text in also.split(",")] if also.strip() else []
    if flat is not None and as_step:
        raise clearance.InputError("--step is of the printed gauge. Flat patterns are DXF, which a CAD program reads.")
    progress = Progress(quiet=as_json)
    progress(0, 2, "reading")
    corner = corner_at(file, units, which)
    progress(1, 2, "drawing")
    files: dict[str, bytes]
    found: clearance.Answer[Any]
    if flat is None:
        files, found = clearance.printed_gauge(
            corner, making=making, over_mm=over_mm, step=as_step, paper=paper_for(paper, corner.units), folder=out
        )
    else:
        files, found = clearance.flat_gauge(
            corner,
            flat,
            making=making,
            sheet=sheet,
            thickness_mm=thickness_mm,
            kerf_mm=kerf_mm,
            also_mm=also_mm,
            ends=ends,
            paper=paper_for(paper, corner.units),
            folder=out,
        )
    progress.close()
    write_all(out, files, of="gauge")
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
