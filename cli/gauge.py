"""`clearance gauge`: what to print or cut and hold against the car."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from clearance_cli.out import Progress, say, show, write_all

if TYPE_CHECKING:
    from clearance.gauge.flat import FlatGauge, Sheet
    from clearance.gauge.making import Making
    from clearance.mockup.mockup import MockUp


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    bed: Annotated[str, typer.Option(help="The printer's bed and height in mm.")] = "220x220x250",
    fit: Annotated[str, typer.Option(help="Left between two printed faces, per side.")] = "0.25 mm",
    plate: Annotated[str, typer.Option(help="Thickness of the printed blade.")] = "5 mm",
    stud: Annotated[str, typer.Option(help="Diameter of the hub's studs.")] = "1/2 in",
    nut: Annotated[str, typer.Option(help="Room round a lug nut, its washer and its socket.")] = "30 mm",
    over: Annotated[str, typer.Option(help="How much thicker than the required gap a no-go end is.")] = "3 mm",
    flat: Annotated[str | None, typer.Option(help='Patterns for sheet instead of prints: "rings" or "blade".')] = None,
    sheet: Annotated[str, typer.Option(help="With --flat: width x height of a sheet in mm.")] = "1220x610",
    thickness: Annotated[str, typer.Option(help="With --flat: of the sheet, as measured.")] = "12 mm",
    kerf: Annotated[str, typer.Option(help="With --flat: width of the cut.")] = "0 mm",
    paper: Annotated[str, typer.Option(help='Of the drawings: "A4" or "Letter".')] = "A4",
    out: Annotated[Path, typer.Option(help="Folder for the files.")] = Path("gauge"),
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> None:
    """A mock-up of the wheel and tire on order, to bolt to the hub and cycle the suspension with.

    Printed: a hub plate, a ring that turns on it, and a blade with the tire's and rim's half section, split to the bed,
    with step, lip and rim blocks; STL, 3MF, a bill of what to buy and an assembly drawing. With --flat: patterns for
    plywood, foam board or sheet metal as DXF and 1:1 PDF. A gauge carries no load: car on stands, springs out.
    """

    from clearance.description.load import load
    from clearance.export.gauge_files import flat_files, printed_files
    from clearance.export.pdf import paper_named
    from clearance.facts.gauge import laid_flat, printed
    from clearance.units import length_mm
    from clearance.words.gauge import page

    chosen = paper_named(paper)
    making = _making(bed, fit, plate, stud, nut)
    progress = Progress(quiet=as_json)
    progress(0, 2, "reading")
    mockup = load(file)
    progress(1, 2, "drawing")
    if flat is None:
        from clearance.gauge.mock_gauge import gauge_for

        gauge = gauge_for(mockup, making, over_mm=length_mm(over))
        files, said = printed_files(gauge, mockup, chosen), printed(gauge)
    else:
        found = _flat(flat, mockup, _sheet(sheet, thickness, kerf), making)
        files, said = flat_files(found, chosen), laid_flat(found)
    progress.close()
    written = write_all(out, files, of="gauge")
    said["files"] = [path.name for path in written]
    said["warnings"] = [*mockup.warnings, *said["warnings"]]
    if as_json:
        show(said)
        return
    for row in page(said, out):
        say(row)


def _making(bed: str, fit: str, plate: str, stud: str, nut: str) -> Making:
    from clearance.gauge.making import Making, bed_of
    from clearance.units import length_mm

    return Making(
        bed=bed_of(bed),
        fit_mm=length_mm(fit),
        plate_mm=length_mm(plate),
        stud_mm=length_mm(stud),
        nut_mm=length_mm(nut),
    )


def _sheet(size: str, thickness: str, kerf: str) -> Sheet:
    import re

    from clearance.errors import ShapeError
    from clearance.gauge.flat import Sheet
    from clearance.units import length_mm

    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*[x×*]\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*", size)
    if not found:
        raise ShapeError(f'"{size}" is not a sheet. Write width x height in mm: "1220x610".')
    return Sheet(
        width_mm=float(found[1]),
        height_mm=float(found[2]),
        thickness_mm=length_mm(thickness),
        kerf_mm=length_mm(kerf),
    )


def _flat(kind: str, mockup: MockUp, sheet: Sheet, making: Making) -> FlatGauge:
    from clearance.errors import ShapeError
    from clearance.gauge.flat import blade_flat, ring_stack

    kinds = {"rings": ring_stack, "blade": blade_flat}
    if kind not in kinds:
        raise ShapeError(f'--flat "{kind}" is not known. Write "rings" for a laminated tire or "blade" for a section.')
    return kinds[kind](mockup, sheet, making)
