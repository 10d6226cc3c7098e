"""`clearance envelope`: the shape that a tub must stay outside of, and templates to build it to."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import (
    PatternPaper,
    Units,
    Which,
    corner_at,
    folder_ahead,
    in_mm,
    length_of,
    length_option,
    length_within,
    paper_for,
)
from clearance_cli.out import Progress, say, show, write_all

import clearance
from clearance import defaults


def command(
    file: Annotated[Path, typer.Argument(help="The corner file; - reads it from standard input.", show_default=False)],
    required: Annotated[
        str | None,
        typer.Option(help="Grow by this gap; the largest that any part riding on the body must keep if not given."),
    ] = None,
    every: Annotated[str, typer.Option(help="From one template to the next.")] = in_mm(defaults.TEMPLATE_EVERY_MM),
    cut: Annotated[
        str, typer.Option(help='Across the car: "station"; flat: "level"; along it: "upright".')
    ] = "station",
    tub_from: Annotated[
        str, typer.Option(help="The floor or sill line, above the axle: where templates and tub end.")
    ] = "0 mm",
    tub_sheet: Annotated[str, typer.Option(help="Thickness of the tub's sheet.")] = in_mm(defaults.TUB_SHEET_MM),
    flange: Annotated[str, typer.Option(help="Width of the tub's weld flanges, lap and feet; none at 0.")] = "0 mm",
    tabs: Annotated[
        str | None, typer.Option(help="Turn the crown's outer edge up in tabs of this width, as long as --flange.")
    ] = None,
    arch: Annotated[
        str | None,
        typer.Option(help='Let the tub end at angles from straight up, ahead and behind: "30 deg, 50 deg".'),
    ] = None,
    longest: Annotated[
        str | None, typer.Option(help="Longest piece of the crown as it lies flat; whole if not given.")
    ] = None,
    ends_at: Annotated[
        str | None,
        typer.Option(
            help="How far the tub goes, as measured on the car, where a scan does not trim it:"
            ' "110 mm outboard, 400 mm ahead, 380 mm behind", or some of them.'
        ),
    ] = None,
    untrimmed: Annotated[
        bool, typer.Option("--untrimmed", help="Do not cut the tub where a lip begins and where a box is.")
    ] = False,
    as_step: Annotated[
        bool, typer.Option("--step", help='Also envelope.step and tub.step (needs the extra "cad").')
    ] = False,
    as_usdz: Annotated[
        bool, typer.Option("--usdz", help='Also envelope.usdz and tub.usdz, for a phone (needs the extra "phone").')
    ] = False,
    slack: Annotated[str, typer.Option(help="How far outside the truth the envelope may lie.")] = in_mm(
        defaults.SLACK_MM
    ),
    paper: PatternPaper = None,
    out: Annotated[Path, typer.Option(callback=folder_ahead, help="Folder for the files.")] = Path("envelope"),
    which: Which = None,
    units: Units = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """Everything that the tire and wheel reach in the whole travel and steering, as a solid and as templates.

    Writes the envelope and the envelope grown by the required gap as STL, 3MF and GLB, cuts of the grown one as DXF and
    1:1 PDF with lines at round distances from hub face and axle, and a tub to go round it: a flat inner panel and a
    crown that unrolls, in sheet, as flat patterns and as closed solids, put back into the check.
    """
    corner = corner_at(file, units, which)
    progress = Progress(quiet=as_json)
    files, found = clearance.templates_of(
        corner,
        required_mm=None if required is None else length_within(required, "--required", 0.0, 300.0),
        every_mm=length_of(every, "--every"),
        cut=cut,
        tub_from_mm=length_of(tub_from, "--tub-from"),
        making=clearance.tub_making(
            sheet_mm=length_of(tub_sheet, "--tub-sheet"),
            flange_mm=length_of(flange, "--flange"),
            tabs_mm=length_option(tabs, "--tabs"),
            arch=arch,
            longest_mm=length_option(longest, "--longest"),
            trimmed=not untrimmed,
            ends=ends_at,
        ),
        step=as_step,
        usdz=as_usdz,
        slack_mm=length_within(slack, "--slack", 0.2, 10.0),
        paper=paper_for(paper, corner.units),
        folder=out,
        progress=progress,
    )
    progress.close()
    write_all(out, files, of="envelope")
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
