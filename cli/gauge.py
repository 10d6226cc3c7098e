"""`clearance gauge`: what to print or cut and hold against the car."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, show, write_all

if TYPE_CHECKING:
    from clearance.export.pdf import Page, Paper
    from clearance.gauge.flat import FlatGauge, Sheet
    from clearance.gauge.making import Making
    from clearance.gauge.mock_gauge import Gauge
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

    from clearance.corner_file.load import load
    from clearance.export.pdf import paper_named
    from clearance.units import length_mm

    chosen = paper_named(paper)
    making = _making(bed, fit, plate, stud, nut)
    progress = Progress(quiet=as_json)
    progress(0, 2, "reading")
    mockup = load(file)
    progress(1, 2, "drawing")
    if flat is None:
        from clearance.gauge.mock_gauge import gauge_for

        gauge = gauge_for(mockup, making, over_mm=length_mm(over))
        files, said = printed_files(gauge, mockup, chosen), printed_said(gauge)
    else:
        found = _flat(flat, mockup, _sheet(sheet, thickness, kerf), making)
        files, said = flat_files(found, chosen), flat_said(found)
    progress.close()
    written = write_all(out, files, of="gauge")
    said["files"] = [path.name for path in written]
    said["warnings"] = [*mockup.warnings, *said["warnings"]]
    if as_json:
        show(said)
        return
    for row in _told(said, out):
        say(row)


def printed_files(gauge: Gauge, mockup: MockUp, paper: Paper) -> dict[str, bytes]:
    """Every file of the printed gauge by its name."""
    from clearance.export.pdf import pdf
    from clearance.export.stl import stl
    from clearance.export.three_mf import Mesh, three_mf

    files: dict[str, bytes] = {}
    meshes, across = [], 0.0
    for piece in gauge.pieces:
        vertices, faces = piece.mesh()
        name = f"{piece.number:02d}-{piece.name.replace(', ', '-').replace(' ', '-')}"
        if piece.count > 1:
            name += f"-x{piece.count}"
        files[f"{name}.stl"] = stl([(vertices, faces)], name=name)
        for _ in range(piece.count):
            meshes.append(Mesh(name=name, vertices_mm=vertices, faces=faces, place_mm=(across, 0.0, 0.0)))
            across += piece.extent_mm[0] + 10.0
    files["gauge.3mf"] = three_mf(meshes, title=gauge.title)
    files["assembly.pdf"] = pdf(assembly_pages(gauge, mockup, paper), title=f"{gauge.title}: gauge")
    files["bill.csv"] = _bill_csv(gauge)
    return files


def assembly_pages(gauge: Gauge, mockup: MockUp, paper: Paper) -> list[Page]:
    """Section, view from outboard, and the words."""
    from clearance.export.pdf import MARGIN_MM, Page, centred
    from clearance.gauge.sheets import section_sheet, view_sheet, words_drawing, words_sheet

    pages = [
        centred(section_sheet(gauge, mockup.wheel), paper=paper, title=f"{gauge.title}: gauge, section"),
        centred(view_sheet(gauge), paper=paper, title=f"{gauge.title}: gauge, seen from outboard"),
    ]
    rows = words_sheet(gauge, paper.width_mm - 2 * MARGIN_MM)
    room = int((paper.height_mm - 2 * MARGIN_MM) / 4.6)
    for start in range(0, len(rows), room):
        words = words_drawing(rows[start : start + room], paper.height_mm - MARGIN_MM, MARGIN_MM)
        pages.append(Page(drawing=words, paper=paper))
    return pages


def printed_said(gauge: Gauge) -> dict[str, Any]:
    """What was made, as plain values."""
    return {
        "gauge": "printed",
        "title": gauge.title,
        "size": gauge.size,
        "bed_mm": [gauge.fit.making.bed.x_mm, gauge.fit.making.bed.y_mm, gauge.fit.making.bed.z_mm],
        "fit_mm": gauge.fit.making.fit_mm,
        "pieces": [
            {
                "number": p.number,
                "name": p.name,
                "count": p.count,
                "size": p.size,
                "extent_mm": [round(x, 1) for x in p.extent_mm],
            }
            for p in gauge.pieces
        ],
        "bill": [{"count": b.count, "what": b.what, "where": b.where} for b in gauge.bill],
        "warnings": list(gauge.warnings),
        "notes": list(gauge.notes),
    }


def flat_files(found: FlatGauge, paper: Paper) -> dict[str, bytes]:
    """Every file of the flat patterns by its name."""
    from clearance.export.dxf import dxf
    from clearance.export.pdf import pdf, tiled

    files: dict[str, bytes] = {}
    for number, drawing in enumerate(found.sheets, start=1):
        files[f"sheet-{number:02d}.dxf"] = dxf(drawing)
        pages = tiled(drawing, paper=paper, title=f"sheet {number} of {len(found.sheets)}")
        files[f"sheet-{number:02d}.pdf"] = pdf(pages, title=f"{found.title}: sheet {number}")
    return files


def flat_said(found: FlatGauge) -> dict[str, Any]:
    """What was laid out, as plain values."""
    return {
        "gauge": "flat",
        "title": found.title,
        "size": found.size,
        "sheet_mm": [found.sheet.width_mm, found.sheet.height_mm, found.sheet.thickness_mm],
        "kerf_mm": found.sheet.kerf_mm,
        "sheets": len(found.sheets),
        "pieces": [
            {
                "number": p.number,
                "name": p.name,
                "count": 1,
                "size": " ".join(p.label[1:2]),
                "extent_mm": [
                    round(high - low, 1) for low, high in zip(p.shape.bounds, p.shape.bounds[2:], strict=False)
                ],
            }
            for p in found.patterns
        ],
        "bill": [],
        "warnings": [],
        "notes": list(found.notes),
    }


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


def _bill_csv(gauge: Gauge) -> bytes:
    from clearance.plain import csv_row

    rows: list[tuple[object, ...]] = [("count", "what", "where")]
    rows += [(p.count, f"print: {p.number} {p.name}", p.size) for p in gauge.pieces]
    rows += [(b.count, b.what, b.where) for b in gauge.bill]
    return "".join(map(csv_row, rows)).encode("utf-8")


def _told(said: Mapping[str, Any], out: Path) -> Sequence[str]:
    from clearance.gauge.mock_gauge import CAUTIONS

    rows = [said["title"], said["size"], "", *(f"warning: {w}" for w in said["warnings"])]
    for p in said["pieces"]:
        extent = " x ".join(f"{x:.0f}" for x in p["extent_mm"])
        rows.append(f"  {p['number']:>2}  {p['count']} x {p['name']}, {extent} mm   {p['size']}")
    if said["bill"]:
        rows += ["", "to buy"] + [f"  {b['count']:>3} x {b['what']}: {b['where']}" for b in said["bill"]]
    if "sheets" in said:
        rows += ["", f"on {said['sheets']} sheets"]
    rows += ["", *said["notes"], "", *CAUTIONS, ""]
    rows.append(f"{len(said['files'])} files in {out}")
    return rows
