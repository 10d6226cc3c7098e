"""The printed gauge and the flat patterns as files."""

from __future__ import annotations

from clearance.export.dxf import dxf
from clearance.export.pdf import MARGIN_MM, Page, Paper, centred, pdf, tiled
from clearance.export.stl import stl
from clearance.export.three_mf import Mesh, three_mf
from clearance.gauge.flat import FlatGauge
from clearance.gauge.mock_gauge import Gauge
from clearance.gauge.sheets import section_sheet, view_sheet, words_drawing, words_sheet
from clearance.mockup.mockup import MockUp
from clearance.plain import csv_row
from clearance.units import led_by


def printed_files(gauge: Gauge, mockup: MockUp, paper: Paper) -> dict[str, bytes]:
    """Every file of the printed gauge by its name."""

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
    files["bill.csv"] = bill_csv(gauge)
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
    room = int((paper.height_mm - 2 * MARGIN_MM) / 4.6)
    for start in range(0, len(rows), room):
        words = words_drawing(rows[start : start + room], paper.height_mm - MARGIN_MM, MARGIN_MM)
        pages.append(Page(drawing=words, paper=paper))
    return pages


def flat_files(found: FlatGauge, paper: Paper) -> dict[str, bytes]:
    """Every file of the flat patterns by its name."""

    files: dict[str, bytes] = {}
    for number, drawing in enumerate(found.sheets, start=1):
        files[f"sheet-{number:02d}.dxf"] = dxf(drawing)
        pages = tiled(drawing, paper=paper, title=f"sheet {number} of {len(found.sheets)}")
        files[f"sheet-{number:02d}.pdf"] = pdf(pages, title=f"{found.title}: sheet {number}")
    return files


def bill_csv(gauge: Gauge) -> bytes:
    """What to print and what to buy, as rows."""

    rows: list[tuple[object, ...]] = [("count", "what", "where")]
    rows += [(p.count, f"print: {p.number} {p.name}", p.size) for p in gauge.pieces]
    rows += [(b.count, b.what, b.where) for b in gauge.bill]
    return "".join(map(csv_row, rows)).encode("utf-8")
