"""A tub as files: flat patterns to cut, closed solids to look at and to weld to, and STEP where the CAD kernel is."""

from __future__ import annotations

import math

from clearance.envelope.build import envelope_of
from clearance.export.dxf import dxf
from clearance.export.nested import Laid, Takes, nested_pages, taken, taken_of_larger
from clearance.export.papers import Paper
from clearance.export.pdf import pdf
from clearance.export.solid_glb import solid_glb
from clearance.export.step import Body, Faceted, Prism, step
from clearance.export.stl import real_side, stl
from clearance.export.three_mf import Mesh, three_mf
from clearance.gap.found import Gap
from clearance.gauge.tub_sheet import piece_drawings, side_by_side
from clearance.gauge.tub_solid import TubPiece, TubSolid
from clearance.mockup.mockup import MockUp

_OF = "tub:"
STEP_SLACK_MM = 3.0
"""How far outside the truth the envelope of a STEP file may lie: a face to each triangle, so few of them."""


def tub_files(
    mockup: MockUp, solid: TubSolid, gap: Gap | None, paper: Paper, *, step: bool = False
) -> tuple[dict[str, bytes], tuple[Takes, ...]]:
    """The patterns as DXF and 1:1 PDF, and every piece where it stands as STL, 3MF (an object to a piece) and GLB; and
    how much of the paper and of larger ones the patterns take.
    """
    drawn = piece_drawings(solid, title=mockup.title, checked=checked_lines(gap))
    laid = [
        Laid(name=piece.name, shape=piece.flat, drawing=one) for piece, one in zip(solid.pieces, drawn, strict=True)
    ]
    pages = nested_pages(laid, paper, of=_OF)
    meshes = {piece.name: piece.mesh() for piece in solid.pieces}
    right = mockup.right_hand
    real = {name: real_side(*mesh, right_hand=right) for name, mesh in meshes.items()}
    objects = [Mesh(name=name, vertices_mm=vertices, faces=faces) for name, (vertices, faces) in real.items()]
    files = {
        "tub.dxf": dxf(side_by_side(solid, drawn)),
        "tub.pdf": pdf(pages, title=f"{mockup.title}: tub"),
        "tub.stl": stl(meshes.values(), name="tub", right_hand=right),
        "tub.3mf": three_mf(objects, title=mockup.title),
        "tub.glb": solid_glb(meshes, right_hand=right),
    }
    if step:
        files["tub.step"] = tub_step(mockup, solid)
    return files, (taken(pages, paper), *taken_of_larger(laid, paper, of=_OF))


def checked_lines(gap: Gap | None) -> tuple[str, ...]:
    """What the check of the tub found, to stand on its drawing."""
    if gap is None:
        return ("NOT CHECKED: ONLY RIDE HEIGHT IS KNOWN",)
    need = f"{gap.required_mm:.1f} REQUIRED"
    if not math.isfinite(gap.at_least_mm):
        return (f"CHECKED: {gap.verdict.upper()}, {need}",)
    # rounded towards the tire
    least = math.floor(gap.at_least_mm * 10.0 + 1e-6) / 10.0
    return (f"CHECKED: {gap.verdict.upper()}, AT LEAST {least:.1f} MM", need)


def tub_step(mockup: MockUp, solid: TubSolid) -> bytes:
    """Every piece as a solid: flat panels are one face a side, a crown is in the flat strips that it is bent from."""
    return step([_body(piece) for piece in solid.pieces], title=f"{mockup.title}: tub", right_hand=mockup.right_hand)


def _body(piece: TubPiece) -> Body:
    if piece.prism is not None:
        outline, low, high = piece.prism
        return Prism(name=piece.name, outline=outline, low_mm=low, high_mm=high)
    vertices, faces = piece.mesh()
    return Faceted(name=piece.name, triangles_mm=vertices[faces], closed=True)


def envelope_step(mockup: MockUp, grown_mm: float) -> bytes:
    """The envelope and the same grown: curved two ways, so in facets, which hold every position all the same."""
    bodies = []
    for name, grow in (("envelope", 0.0), ("envelope, required gap", grown_mm)):
        found = envelope_of(mockup, grown_mm=grow, slack_mm=STEP_SLACK_MM)
        shape = f"{name}: facets, at most {found.slack_mm:.1f} mm outside the true shape"
        bodies.append(Faceted(name=shape, triangles_mm=found.vertices_mm[found.faces], closed=True))
    return step(bodies, title=f"{mockup.title}: envelope", right_hand=mockup.right_hand)
