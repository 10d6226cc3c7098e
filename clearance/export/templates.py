"""The envelope and its templates as files for printers, CAD and the shop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from clearance.errors import ShapeError
from clearance.export.dxf import dxf
from clearance.export.pdf import Page, Paper, centred, pdf, tile_room, tiled
from clearance.export.solid_glb import solid_glb
from clearance.export.stl import Body, real_side, stl
from clearance.export.three_mf import Mesh, three_mf
from clearance.gauge.nest import nested
from clearance.gauge.templates import Template
from clearance.geom.drawing import Drawing
from clearance.mockup.mockup import MockUp


def solid_files(mockup: MockUp, bodies: Mapping[str, Body]) -> dict[str, bytes]:
    """The envelope and the grown envelope for printers, CAD and viewers."""

    files: dict[str, bytes] = {}
    for name, body in bodies.items():
        vertices, faces = real_side(*body, right_hand=mockup.right_hand)
        files[f"{name}.stl"] = stl([body], name=name, right_hand=mockup.right_hand)
        files[f"{name}.3mf"] = three_mf([Mesh(name=name, vertices_mm=vertices, faces=faces)], title=mockup.title)
        files[f"{name}.glb"] = solid_glb({name: body}, right_hand=mockup.right_hand)
    return files


def template_files(mockup: MockUp, templates: Sequence[Template], index: Drawing, paper: Paper) -> dict[str, bytes]:
    """A DXF to each template; all of them at 1:1 on pages behind an index."""

    files = {f"{t.name}.dxf": dxf(t.drawing) for t in templates}
    pages = template_pages(mockup, templates, index, paper)
    files["templates.pdf"] = pdf(pages, title=f"{mockup.title}: templates")
    return files


NEST_GAP_MM = 5.0
_BLOCKS = ((1, 1), (1, 2), (2, 1), (2, 2), (3, 2), (2, 3), (3, 3), (4, 3), (4, 4), (6, 4), (6, 6))
"""Columns and rows of pages that templates are laid on together."""


def template_pages(mockup: MockUp, templates: Sequence[Template], index: Drawing, paper: Paper) -> list[Page]:
    """The index, then the templates in the order of use; alone or nested with others, whichever takes fewer pages."""
    alone: list[Page] = []
    for t in templates:
        alone += tiled(t.drawing, paper=paper, title=t.name)
    ways = [w for block in _BLOCKS for way in (paper, paper.turned) if (w := _nested_pages(templates, way, block))]
    best = min([alone, *ways], key=len)
    notes = (
        *(f"{t.number:>3}  {t.kind} {t.at_mm:+.0f} mm" for t in templates[:MOST_LISTED]),
        *((f"and {len(templates) - MOST_LISTED} more",) if len(templates) > MOST_LISTED else ()),
        f"In the order of use, on {len(best)} pages at 1:1. Distances are from the axle, levels above it, uprights from"
        " the hub face.",
    )
    head = centred(index, paper=paper, title=f"{mockup.title}: where each template stands", notes=notes)
    return [head, *best]


MOST_LISTED = 24


def _nested_pages(templates: Sequence[Template], paper: Paper, block: tuple[int, int]) -> list[Page] | None:
    """All the templates nested on blocks of pages; None where one is larger than a block."""
    sheet = tile_room(paper, *block)
    try:
        places = nested([t.shape.convex_hull for t in templates], [t.name for t in templates], sheet, NEST_GAP_MM, 1.0)
    except ShapeError:
        return None
    pages: list[Page] = []
    for number in range(max(p.sheet for p in places) + 1):
        here = [p for p in places if p.sheet == number]
        marks = [m for p in here for m in templates[p.index].drawing.turned(p.turn_deg).moved(*p.shift_mm).marks]
        names = ", ".join(str(templates[p.index].number) for p in here)
        pages += tiled(Drawing(marks=tuple(marks)), paper=paper, title=f"templates {names}", turn=False)
    return pages
