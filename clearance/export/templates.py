"""The envelope and its templates as files for printers, CAD and the shop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from clearance.export.dxf import dxf
from clearance.export.nested import Laid, Takes, nested_pages, taken, taken_of_larger
from clearance.export.papers import Paper
from clearance.export.pdf import Page, centred, pdf
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


def template_files(
    mockup: MockUp, templates: Sequence[Template], index: Drawing, paper: Paper
) -> tuple[dict[str, bytes], tuple[Takes, ...]]:
    """A DXF to each template; all of them at 1:1 on pages behind an index, and how much of it and of larger paper the
    patterns take.
    """
    files = {f"{t.name}.dxf": dxf(t.drawing) for t in templates}
    laid = _laid(templates)
    patterns = nested_pages(laid, paper, of=_OF)
    took = (taken(patterns, paper), *taken_of_larger(laid, paper, of=_OF))
    head = _index_page(mockup, templates, index, paper, took)
    files["templates.pdf"] = pdf([head, *patterns], title=f"{mockup.title}: templates")
    return files, took


def template_pages(mockup: MockUp, templates: Sequence[Template], index: Drawing, paper: Paper) -> list[Page]:
    """The index, then the templates in the order of use; alone or nested with others, whichever takes fewer pages."""
    patterns = nested_pages(_laid(templates), paper, of=_OF)
    return [_index_page(mockup, templates, index, paper, (taken(patterns, paper),)), *patterns]


def _laid(templates: Sequence[Template]) -> list[Laid]:
    return [Laid(name=str(t.number), shape=t.shape, drawing=t.drawing) for t in templates]


def _index_page(
    mockup: MockUp, templates: Sequence[Template], index: Drawing, paper: Paper, took: Sequence[Takes]
) -> Page:
    notes = (
        *(f"{t.number:>3}  {t.kind} {t.at_mm:+.0f} mm" for t in templates[:MOST_LISTED]),
        *((f"and {len(templates) - MOST_LISTED} more",) if len(templates) > MOST_LISTED else ()),
        f"In the order of use, on {took[0].pages} pages at 1:1. Distances are from the axle, levels above it, uprights"
        " from the hub face.",
    )
    return centred(index, paper=paper.desk, title=f"{mockup.title}: where each template stands", notes=notes)


_OF = "templates"
MOST_LISTED = 24
