"""A cut line as files: on the scan, as a flat curve at 1:1 with places to mark by tape, and what remains as a mesh.

A flat view is square to one way: the side of the car for a wall, from above for a crown, from ahead for a front or a
rear. Where the metal leans away from that the curve on the metal is longer than on the drawing; both lengths are
written on it. The table's offsets hold whatever way the metal leans.
"""

from __future__ import annotations

import math

import numpy as np
import trimesh

from clearance.answers.cut_line import CutLine, Offset, length_of, offsets_of
from clearance.export.dxf import dxf
from clearance.export.stl import stl
from clearance.geom.drawing import CUT, ENGRAVE, Drawing, Mark, Text, arrow, chain, drawing_of, line, rectangle
from clearance.mockup.mockup import MockUp
from clearance.plain import visible
from clearance.pose import Array, mirrored

EVERY_MM = 50.0
"""From one place that is marked by tape to the next, at most."""
LEAST_LINE_MM = 30.0
"""A line shorter than this is not drawn: the table has it."""
_VIEWS = {
    "side": ((0, 2), ("AHEAD", "UP")),
    "above": ((0, 1), ("AHEAD", "OUTBOARD")),
    "end": ((1, 2), ("OUTBOARD", "UP")),
}


def cut_files(mockup: MockUp, cut: CutLine, name: str) -> dict[str, bytes]:
    """Everything of one cut: GLB on the scan, DXF of the curves, CSV of offsets, STL of what remains."""
    offsets = offsets_of(cut, EVERY_MM)
    files = {f"cut-{name}.glb": _scene(mockup, cut)}
    drawing = cut_drawing(cut, offsets, title=mockup.title)
    if drawing.marks:
        files[f"cut-{name}.dxf"] = dxf(drawing)
    if offsets:
        files[f"cut-{name}.csv"] = _table(offsets)
    for what, triangles in (("remains", cut.remains.triangles_mm), ("goes", cut.goes_mm)):
        if cut.gap is not None or what == "goes":
            faces = np.arange(3 * len(triangles)).reshape(-1, 3)
            body = (triangles.reshape(-1, 3), faces)
            files[f"{what}-{name}.stl"] = stl([body], name=what, right_hand=mockup.right_hand)
    return files


def view_of(points: Array) -> str:
    """The flat view in which a line (n, 3) is longest, so least of it is lost."""
    return max(_VIEWS, key=lambda view: (round(length_of(points[:, list(_VIEWS[view][0])]), 6), view))


def cut_drawing(cut: CutLine, offsets: tuple[Offset, ...], *, title: str) -> Drawing:
    """Every line at 1:1 in its flat view, one beside the other, with the axle's or the hub face's lines through it."""
    whole, at = Drawing(), 0.0
    for number, points in enumerate(cut.lines_mm, start=1):
        if length_of(points) < LEAST_LINE_MM:
            continue
        here = tuple(offset for offset in offsets if offset.line == number)
        drawn = _one(points, here, number, (title, _fair(cut), _said(cut)))
        x0, y0, x1, _ = drawn.bounds
        whole += drawn.moved(at - x0, -y0)
        at += x1 - x0 + 60.0
    return whole


def _fair(cut: CutLine) -> str:
    return f"DRAWN FAIR: UP TO {cut.off_mm:.1f} MM FROM THE RAW LINE OF THE SCAN, ON THE SIDE THAT STAYS"


def _said(cut: CutLine) -> str:
    """What putting what remains back into the check said, as it is written on the drawing."""
    gap = cut.gap
    if gap is None:
        return "NOTHING OF IT REMAINS"
    if not math.isfinite(gap.at_least_mm):
        return f"WHAT REMAINS: {gap.verdict.upper()}, {gap.required_mm:.1f} REQUIRED"
    least = math.floor(gap.at_least_mm * 10.0 + 1e-6) / 10.0
    return f"WHAT REMAINS: {gap.verdict.upper()}, AT LEAST {least:.1f} MM, {gap.required_mm:.1f} REQUIRED"


def _one(points: Array, offsets: tuple[Offset, ...], number: int, said: tuple[str, ...]) -> Drawing:
    view = view_of(points)
    axes, names = _VIEWS[view]
    flat = points[:, list(axes)]
    marks: list[Mark] = [chain(flat, layer=CUT)]
    for offset in offsets:
        x, y = np.array([offset.ahead_mm, offset.outboard_mm, offset.above_mm])[list(axes)]
        marks.append(rectangle(float(x) - 1.0, float(y) - 1.0, 2.0, 2.0, ENGRAVE))
        words = f"{offset.number}: {x:+.0f} / {y:+.0f}"
        marks.append(Text(at=(float(x) + 2.5, float(y) + 1.5), text=words, height_mm=3.0, layer=ENGRAVE))
    x0, y0, x1, y1 = drawing_of(marks).bounds
    marks += _axes((x0, y0, x1, y1), names)
    words = f"LINE {number}, SEEN SQUARE TO {' AND '.join(names)}: {length_of(flat):.0f} MM HERE,"
    rows = [f"{words} {length_of(points):.0f} MM ALONG THE METAL", "OFFSETS FROM HUB CENTRE AT RIDE HEIGHT", *said]
    for k, row in enumerate(rows):
        marks.append(Text(at=(x0, y0 - 14.0 - 8.0 * k), text=row, height_mm=4.5, layer=ENGRAVE))
    low = y0 - 14.0 - 8.0 * len(rows) - 40.0
    marks += arrow((x0, low), (1.0, 0.0), 30.0, names[0], 4.0, ENGRAVE)
    marks += arrow((x0, low), (0.0, 1.0), 30.0, names[1], 4.0, ENGRAVE)
    return drawing_of(marks)


def _axes(bounds: tuple[float, float, float, float], names: tuple[str, str]) -> list[Mark]:
    """Where the axle, or the hub face, runs through the drawing: the line to measure from."""
    x0, y0, x1, y1 = bounds
    words = {"AHEAD": "AXLE", "UP": "AXLE HEIGHT", "OUTBOARD": "HUB FACE"}
    marks: list[Mark] = []
    if x0 - 5.0 < 0.0 < x1 + 5.0:
        marks.append(line((0.0, y0 - 8.0), (0.0, y1 + 8.0), ENGRAVE))
        marks.append(Text(at=(1.5, y1 + 9.0), text=words[names[0]], height_mm=4.0, layer=ENGRAVE))
    if y0 - 5.0 < 0.0 < y1 + 5.0:
        marks.append(line((x0 - 8.0, 0.0), (x1 + 8.0, 0.0), ENGRAVE))
        marks.append(Text(at=(x1 + 9.0, 1.5), text=words[names[1]], height_mm=4.0, layer=ENGRAVE))
    return marks


def _table(offsets: tuple[Offset, ...]) -> bytes:
    rows = ["number,line,ahead_mm,outboard_mm,above_mm,straight_from_hub_centre_mm"]
    for one in offsets:
        place = f"{one.ahead_mm:.1f},{one.outboard_mm:.1f},{one.above_mm:.1f},{one.straight_mm:.1f}"
        rows.append(f"{one.number},{one.line},{place}")
    return ("\n".join(rows) + "\n").encode()


def _scene(mockup: MockUp, cut: CutLine) -> bytes:
    """What remains grey, what goes red, the cut as a black line; metres, y up."""

    def metres(points: Array) -> Array:
        real = mirrored(points) if mockup.right_hand else points
        return np.stack([real[..., 0], real[..., 2], -real[..., 1]], axis=-1) / 1000.0

    scene = trimesh.Scene()
    name = visible(cut.part)
    rows = (
        (
            f"{name}, remains",
            cut.remains.triangles_mm if cut.gap is not None else cut.goes_mm[:0],
            (150, 160, 170, 255),
        ),
        (f"{name}, goes", cut.goes_mm, (213, 94, 0, 255)),
    )
    for title, triangles, colour in rows:
        turned = triangles[:, ::-1] if mockup.right_hand else triangles
        corners = metres(turned).reshape(-1, 3)
        mesh = trimesh.Trimesh(corners, np.arange(len(corners)).reshape(-1, 3), process=False)
        paint = trimesh.visual.material.PBRMaterial(
            name=title, baseColorFactor=colour, metallicFactor=0.0, roughnessFactor=0.8, doubleSided=True
        )
        mesh.visual = trimesh.visual.TextureVisuals(material=paint)
        scene.add_geometry(mesh, node_name=title, geom_name=title)
    for number, points in enumerate(cut.lines_mm, start=1):
        path = trimesh.load_path(metres(points))
        title = f"{name}, cut line {number}"
        scene.add_geometry(path, node_name=title, geom_name=title)
    return bytes(scene.export(file_type="glb"))
