"""The printed gauge and the flat patterns as files."""

from __future__ import annotations

from collections.abc import Sequence

from clearance.export.dxf import dxf
from clearance.export.papers import Paper
from clearance.export.pdf import MARGIN_MM, Page, centred, pdf, whole_or_tiled
from clearance.export.stl import stl
from clearance.export.three_mf import Mesh, three_mf
from clearance.gauge.body import mesh_of
from clearance.gauge.flat import FlatGauge, part_drawing
from clearance.gauge.mock_gauge import Gauge
from clearance.gauge.plates import plates_of
from clearance.gauge.sheets import section_sheet, view_sheet, words_drawing, words_sheet
from clearance.gauge.stack_sheet import stack_sheet, stack_words
from clearance.mockup.mockup import MockUp
from clearance.plain import csv_row
from clearance.units import led_by


def printed_files(gauge: Gauge, mockup: MockUp, paper: Paper) -> dict[str, bytes]:
    """Every file of the printed gauge by its name."""

    files: dict[str, bytes] = {}
    for piece in gauge.pieces:
        vertices, faces = piece.mesh()
        name = f"{piece.number:02d}-{piece.name.replace(', ', '-').replace(' ', '-')}"
        if piece.count > 1:
            name += f"-x{piece.count}"
        files[f"{name}.stl"] = stl([(vertices, faces)], name=name)
    files |= plate_files(gauge)
    files["assembly.pdf"] = pdf(assembly_pages(gauge, mockup, paper), title=f"{gauge.title}: gauge")
    files["bill.csv"] = bill_csv(gauge)
    return files


def plate_files(gauge: Gauge) -> dict[str, bytes]:
    """A 3MF to each plate, its pieces where they lie on the bed."""
    bed = gauge.fit.making.bed
    plates = plates_of(gauge.pieces, bed)
    files = {}
    for number, plate in enumerate(plates, start=1):
        meshes = []
        for laid in plate:
            vertices, faces = mesh_of(laid.body)
            name = f"{laid.piece.number:02d} {laid.piece.name}"
            meshes.append(Mesh(name=name, vertices_mm=vertices, faces=faces))
        title = f"{gauge.title}: plate {number} of {len(plates)}, bed {bed}"
        files[f"gauge-plate-{number}.3mf"] = three_mf(meshes, title=title)
    return files


def assembly_pages(gauge: Gauge, mockup: MockUp, paper: Paper) -> list[Page]:
    """Section, view from outboard, and the words."""

    pages = [
        centred(
            section_sheet(gauge, mockup.wheel).led_by(mockup.units), paper=paper, title=f"{gauge.title}: gauge, section"
        ),
        centred(view_sheet(gauge).led_by(mockup.units), paper=paper, title=f"{gauge.title}: gauge, seen from outboard"),
    ]
    rows = [led_by(row, mockup.units) for row in words_sheet(gauge, paper.width_mm - 2 * MARGIN_MM)]
    return pages + _word_pages(rows, paper)


def flat_files(found: FlatGauge, mockup: MockUp, paper: Paper) -> dict[str, bytes]:
    """Every file of the flat patterns by its name; a sheet of another thickness has it in its name."""

    files: dict[str, bytes] = {}
    for number, (drawing, thick) in enumerate(zip(found.sheets, found.stock_mm, strict=True), start=1):
        name = f"sheet-{number:02d}" + ("" if thick == found.sheet.thickness_mm else f"-{thick:g}mm")
        files[f"{name}.dxf"] = dxf(drawing)
    files["parts.pdf"] = pdf(part_pages(found, paper), title=f"{found.title}: parts at 1:1")
    if found.layers:
        files["stack.pdf"] = pdf(stack_pages(found, mockup, paper), title=f"{found.title}: stack of rings")
    return files


def part_pages(found: FlatGauge, paper: Paper) -> list[Page]:
    """Every part at 1:1: one page where the paper takes it, upright or on its side, else tiles of that part alone."""
    pages: list[Page] = []
    alike: dict[str, str] = {}
    for part in found.patterns:
        drawing = part_drawing(part, found.sheet)
        said = f"{part.number} {part.name}"
        if repr(drawing) in alike:
            continue
        alike[repr(drawing)] = said
        pages += whole_or_tiled(drawing, paper=paper, title=said)
    return pages


def stack_pages(found: FlatGauge, mockup: MockUp, paper: Paper) -> list[Page]:
    """The stack in section over the tire that it stands for, and the words that go with it."""
    drawn = centred(
        stack_sheet(found, mockup).led_by(mockup.units), paper=paper, title=f"{found.title}: stack of rings, section"
    )
    rows = [led_by(row, mockup.units) for row in stack_words(found, paper.width_mm - 2 * MARGIN_MM)]
    return [drawn, *_word_pages(rows, paper)]


def _word_pages(rows: Sequence[str], paper: Paper) -> list[Page]:
    room = int((paper.height_mm - 2 * MARGIN_MM) / 4.6)
    return [
        Page(drawing=words_drawing(rows[k : k + room], paper.height_mm - MARGIN_MM, MARGIN_MM), paper=paper)
        for k in range(0, len(rows), room)
    ]


def bill_csv(gauge: Gauge) -> bytes:
    """What to print and what to buy, as rows."""

    rows: list[tuple[object, ...]] = [("count", "what", "where")]
    rows += [(p.count, f"print: {p.number} {p.name}", p.size) for p in gauge.pieces]
    rows += [(b.count, b.what, b.where) for b in gauge.bill]
    return "".join(map(csv_row, rows)).encode("utf-8")
