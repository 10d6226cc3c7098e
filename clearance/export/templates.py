"""The envelope and its templates as files for printers, CAD and the shop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from clearance.export.dxf import dxf
from clearance.export.nested import Laid, nested_pages
from clearance.export.pdf import Page, Paper, centred, pdf
from clearance.export.solid_glb import solid_glb
from clearance.export.stl import Body, real_side, stl
from clearance.export.three_mf import Mesh, three_mf
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


def template_pages(mockup: MockUp, templates: Sequence[Template], index: Drawing, paper: Paper) -> list[Page]:
    """The index, then the templates in the order of use; alone or nested with others, whichever takes fewer pages."""
    laid = [Laid(name=str(t.number), shape=t.shape, drawing=t.drawing) for t in templates]
    best = nested_pages(laid, paper, of="templates")
    notes = (
        *(f"{t.number:>3}  {t.kind} {t.at_mm:+.0f} mm" for t in templates[:MOST_LISTED]),
        *((f"and {len(templates) - MOST_LISTED} more",) if len(templates) > MOST_LISTED else ()),
        f"In the order of use, on {len(best)} pages at 1:1. Distances are from the axle, levels above it, uprights from"
        " the hub face.",
    )
    head = centred(index, paper=paper, title=f"{mockup.title}: where each template stands", notes=notes)
    return [head, *best]


MOST_LISTED = 24
