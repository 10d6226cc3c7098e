"""The envelope and its templates as files for printers, CAD and the shop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from clearance.export.dxf import dxf
from clearance.export.pdf import Page, Paper, pdf, tiled
from clearance.export.solid_glb import solid_glb
from clearance.export.stl import Body, real_side, stl
from clearance.export.three_mf import Mesh, three_mf
from clearance.gauge.templates import Template, Tub
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


def template_files(mockup: MockUp, templates: Sequence[Template], tub: Tub, paper: Paper) -> dict[str, bytes]:
    """A DXF to each template and to the tub; all the templates, and the tub, at 1:1 on pages."""

    files = {f"{t.name}.dxf": dxf(t.drawing) for t in templates}
    pages: list[Page] = []
    for t in templates:
        pages += tiled(t.drawing, paper=paper, title=t.name)
    files["templates.pdf"] = pdf(pages, title=f"{mockup.title}: templates")
    files["tub.dxf"] = dxf(tub.drawing)
    files["tub.pdf"] = pdf(tiled(tub.drawing, paper=paper, title="tub"), title=f"{mockup.title}: tub")
    return files
