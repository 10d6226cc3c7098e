"""STEP (ISO 10303-21, application protocol 214): the wheel and tire with their true surfaces, and what stands around.

What is revolved becomes planes, cylinders, cones and tori, as a maker's own program would have them; flat parts become
flat faces. Millimetres, in corner axes at ride height; a right corner leaves mirrored, as the real car has it.
The kernel is Open CASCADE's, an extra (`cad`) of its own. The date in the file is always the same: same corner, same
bytes.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from typing import Any

import numpy as np

from clearance.errors import OutputError
from clearance.export.near import near_the_wheel
from clearance.gauge.flatwork import marks_of, parts_of
from clearance.geom.drawing import Circle, Mark, Path
from clearance.geom.profile import Arc, Element, Profile
from clearance.mockup.mockup import MockUp
from clearance.plain import ascii_only
from clearance.pose import Array, mirrored, turn_onto
from clearance.well.part import Part

MOST_FACES = 20_000
"""Of one part; a scan is no drawing of surfaces, and its mesh is what to take."""
_POINT_MM = 1e-6
_NO_DATE = b"1970-01-01T00:00:00"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Revolved:
    """A solid of revolution, standing somewhere."""

    name: str
    profile: Profile
    centre_mm: Array
    """(3,)"""
    axis: Array
    """(3,) unit, the way that the profile's y runs."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Faceted:
    """Flat faces, a solid or open sheets."""

    name: str
    triangles_mm: Array
    """(n, 3, 3)"""
    closed: bool = False
    """Is it known to be a closed solid, its corners shared to the last digit and its faces outward?"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Round:
    """A round bar along straight pieces."""

    name: str
    start_mm: Array
    """(n, 3)"""
    end_mm: Array
    """(n, 3)"""
    radius_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prism:
    """A flat outline stood up across the car: its arcs become cylinders, its straight sides planes."""

    name: str
    outline: Any
    """A polygon with holes in (ahead, above)."""
    low_mm: float
    high_mm: float
    """From where to where outboard of the hub face."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slabs:
    """Flat outlines stood up on one another, less what is cut into them from the side: true surfaces all."""

    name: str
    slabs: tuple[tuple[Any, float, float], ...]
    """Each an outline in (u, v) and the two heights w between which it stands."""
    cuts: tuple[tuple[Any, float, float], ...]
    """Each an outline in (v, w) and the two u between which it is taken out."""
    frame: Array
    """(3, 4): from (u, v, w, 1) to where it stands."""


Body = Revolved | Faceted | Round | Prism | Slabs


def corner_step(mockup: MockUp) -> bytes:
    """The corner at ride height: wheel and tire, and every part that is no scan or cloud of points.

    Raises OutputError as `step` does.
    """
    pose = mockup.suspension.pose(np.zeros((1, 3)))
    wheel = Revolved(
        name="wheel and tire", profile=mockup.solid.profile, centre_mm=pose.origin_mm[0], axis=pose.axis[0]
    )
    parts = [body for part in mockup.parts if (body := _body_of(near_the_wheel(mockup, part))) is not None]
    return step([wheel, *parts], title=mockup.title or mockup.corner, right_hand=mockup.right_hand)


def _body_of(part: Part) -> Body | None:
    if part.kind == "mesh" or len(part.triangles_mm) > MOST_FACES:
        return None
    if part.skin_mm <= 0.0:
        return Faceted(name=part.name, triangles_mm=part.triangles_mm)
    corners = part.triangles_mm
    if np.any(_areas_mm2(corners) > 1.0):
        return None
    ends = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 2, 3)
    ends = np.unique(np.where((ends[:, :1] < ends[:, 1:]).any(axis=2, keepdims=True), ends, ends[:, ::-1]), axis=0)
    ends = ends[np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) > _POINT_MM]
    return Round(name=part.name, start_mm=ends[:, 0], end_mm=ends[:, 1], radius_mm=part.skin_mm)


def _areas_mm2(triangles: Array) -> Array:
    across = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    area: Array = np.linalg.norm(across, axis=1) / 2.0
    return area


def can_write() -> bool:
    """Is the kernel there?"""
    return find_spec("OCP") is not None


def step(bodies: Sequence[Body], *, title: str, right_hand: bool = False) -> bytes:
    """One STEP file of several named bodies.

    Raises OutputError where the kernel is not installed, or cannot make a body.
    """
    refuse_missing()
    return _dated(_written(bodies, right_hand), title)


def refuse_missing() -> None:
    """Raises OutputError where the kernel is not installed."""
    if not can_write():
        raise OutputError(
            'a STEP file is made by a CAD kernel, which is not installed. Install the extra "cad":'
            ' pip install "wheelwell-clearance[cad]".'
        )


def _written(bodies: Sequence[Body], right_hand: bool) -> bytes:
    from OCP.Message import Message
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_AsIs
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    # the kernel tells its statistics to standard output, where the answer stands
    messenger = Message.DefaultMessenger_s()
    while messenger.Printers().Size():
        messenger.RemovePrinter(messenger.Printers().First())
    document = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    for body in bodies:
        label = tool.AddShape(_shape(body, right_hand), False)
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(ascii_only(body.name).decode()))
    writer = STEPCAFControl_Writer()
    writer.SetNameMode(True)
    writer.Transfer(document, STEPControl_AsIs)
    stream = io.BytesIO()
    writer.WriteStream(stream)
    return stream.getvalue()


def _shape(body: Body, right_hand: bool) -> Any:
    if isinstance(body, Revolved):
        return _revolved(body, right_hand)
    if isinstance(body, Prism):
        return _prism(body, right_hand)
    if isinstance(body, Slabs):
        return _stacked(body, right_hand)
    return _faceted(body, right_hand) if isinstance(body, Faceted) else _round(body, right_hand)


def _round(body: Round, right_hand: bool) -> Any:
    """A cylinder to each straight piece."""
    from OCP.BRep import BRep_Builder
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.TopoDS import TopoDS_Compound

    ends = np.stack([body.start_mm, body.end_mm])
    starts, finishes = mirrored(ends) if right_hand else ends
    together, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(together)
    for start, along in zip(starts, finishes - starts, strict=True):
        stand = gp_Ax2(gp_Pnt(*(float(v) for v in start)), gp_Dir(*(float(v) for v in along)))
        length = float(np.linalg.norm(along))
        builder.Add(together, BRepPrimAPI_MakeCylinder(stand, body.radius_mm, length).Shape())
    return together


def _revolved(body: Revolved, right_hand: bool) -> Any:
    """The face between profile and axis, turned once round."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

    lines = np.stack([body.centre_mm, body.axis, turn_onto(body.axis)[:, 0]])
    centre, axis, across = mirrored(lines) if right_hand else lines

    def at(place: tuple[float, float]) -> Any:
        return gp_Pnt(*(float(v) for v in centre + place[0] * axis + max(place[1], 0.0) * across))

    wire = BRepBuilderAPI_MakeWire()
    for element in body.profile.elements:
        if element.length_mm <= _POINT_MM:
            continue
        wire.Add(_edge(at, element.start, _halfway(element), element.end))
    if not wire.IsDone():
        raise OutputError(f"the CAD kernel could not close the outline of {body.name}.")
    face = BRepBuilderAPI_MakeFace(wire.Wire()).Face()
    about = gp_Ax1(gp_Pnt(*(float(v) for v in centre)), gp_Dir(*(float(v) for v in axis)))
    return BRepPrimAPI_MakeRevol(face, about).Shape()


def _prism(body: Prism, right_hand: bool) -> Any:
    """Every ring of the outline as lines and arcs, the face between them pushed across the car."""
    axes = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]])
    made = _pushed(body.outline, np.array([0.0, body.low_mm, 0.0]), axes, body.high_mm - body.low_mm, right_hand)
    return made.Shape()


def _pushed(outline: Any, origin: Array, axes: Array, far_mm: float, right_hand: bool) -> Any:
    """An outline drawn from an origin along the first two of three axes (rows), pushed so far along the third."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Vec
    from OCP.TopoDS import TopoDS

    def at(place: tuple[float, float]) -> Any:
        return _point(origin + place[0] * axes[0] + place[1] * axes[1], right_hand)

    outer, *holes = (_ring(mark, at) for mark in marks_of(outline))
    made = BRepBuilderAPI_MakeFace(outer, True)
    for hole in holes:
        made.Add(TopoDS.Wire(hole.Reversed()))
    way = far_mm * (mirrored(axes[2]) if right_hand else axes[2])
    return BRepPrimAPI_MakePrism(made.Face(), gp_Vec(*(float(v) for v in way)))


def _stacked(body: Slabs, right_hand: bool) -> Any:
    """All slabs as one solid, then the cuts taken out of it."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    turn, home = body.frame[:, :3], body.frame[:, 3]
    u, v, w = turn.T
    solids = [
        _pushed(_one_way(part), home + low * w, np.stack([u, v, w]), high - low, right_hand).Shape()
        for outline, low, high in body.slabs
        for part in parts_of(outline)
    ]
    whole = solids[0]
    for solid in solids[1:]:
        whole = BRepAlgoAPI_Fuse(whole, solid).Shape()
    for outline, low, high in body.cuts:
        for part in parts_of(outline):
            tool = _pushed(_one_way(part), home + low * u, np.stack([v, w, u]), high - low, right_hand)
            whole = BRepAlgoAPI_Cut(whole, tool.Shape()).Shape()
    unified = ShapeUpgrade_UnifySameDomain(whole, True, True, False)
    unified.Build()
    return unified.Shape()


def _one_way(part: Any) -> Any:
    """A polygon with its outline and its holes all anticlockwise, as `_pushed` takes them."""
    from shapely import Polygon, orient_polygons

    rings = [orient_polygons(Polygon(ring)).exterior for ring in (part.exterior, *part.interiors)]
    return Polygon(rings[0], rings[1:])


def _ring(mark: Mark, at: Callable[[tuple[float, float]], Any]) -> Any:
    """A closed chain, or a circle in two halves, as a wire."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeWire

    wire = BRepBuilderAPI_MakeWire()
    if isinstance(mark, Circle):
        (x, y), r = mark.centre, mark.radius_mm
        for side in (1.0, -1.0):
            wire.Add(_edge(at, (x + side * r, y), (x, y + side * r), (x - side * r, y)))
    elif isinstance(mark, Path):
        for element in mark.elements:
            if element.length_mm > _POINT_MM:
                wire.Add(_edge(at, element.start, _halfway(element), element.end))
    return wire.Wire()


def _halfway(element: Element) -> tuple[float, float] | None:
    """The middle of an arc; None of a straight line."""
    if not isinstance(element, Arc):
        return None
    turned = element.start_rad + element.sweep_rad / 2
    (x, y), r = element.centre, element.radius_mm
    return x + r * math.cos(turned), y + r * math.sin(turned)


def _edge(
    at: Callable[[tuple[float, float]], Any],
    start: tuple[float, float],
    middle: tuple[float, float] | None,
    end: tuple[float, float],
) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
    from OCP.GC import GC_MakeArcOfCircle

    if middle is None:
        return BRepBuilderAPI_MakeEdge(at(start), at(end)).Edge()
    return BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(at(start), at(middle), at(end)).Value()).Edge()


def _point(place: Array, right_hand: bool) -> Any:
    from OCP.gp import gp_Pnt

    return gp_Pnt(*(float(v) for v in (mirrored(place) if right_hand else place)))


def _faceted(body: Faceted, right_hand: bool) -> Any:
    """Triangles joined where they meet; those of one plane become one face, those that close become a solid."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeSolid
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
    from OCP.TopAbs import TopAbs_SHELL
    from OCP.TopoDS import TopoDS

    if len(body.triangles_mm) > MOST_FACES:
        raise OutputError(f"{body.name} has {len(body.triangles_mm)} faces: a mesh is no drawing. Take its STL.")
    triangles = mirrored(body.triangles_mm) if right_hand else body.triangles_mm
    if body.closed:
        # of the mirror image every face is named the other way round, so that it stays outward
        return _closed_mesh(triangles[:, ::-1] if right_hand else triangles)
    unified = ShapeUpgrade_UnifySameDomain(_sewn(triangles), True, True, False)
    unified.Build()
    shape = unified.Shape()
    if shape.ShapeType() == TopAbs_SHELL and shape.Closed():
        return BRepBuilderAPI_MakeSolid(TopoDS.Shell(shape)).Solid()
    return shape


def _sewn(triangles: Array) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon, BRepBuilderAPI_Sewing
    from OCP.gp import gp_Pnt

    sewing = BRepBuilderAPI_Sewing(_POINT_MM)
    for corners in triangles[_areas_mm2(triangles) > _POINT_MM]:
        outline = BRepBuilderAPI_MakePolygon(*(gp_Pnt(*(float(v) for v in corner)) for corner in corners), True)
        sewing.Add(BRepBuilderAPI_MakeFace(outline.Wire()).Face())
    sewing.Perform()
    return sewing.SewedShape()


def _closed_mesh(triangles: Array) -> Any:
    """A mesh that is known to be closed and outward: its edges are shared by number, far quicker than sewing."""
    from OCP.BRep import BRep_Builder
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeShapeOnMesh
    from OCP.gp import gp_Pnt
    from OCP.Poly import Poly_Triangle, Poly_Triangulation
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS, TopoDS_Shell, TopoDS_Solid

    points, numbers = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)
    mesh = Poly_Triangulation(len(points), len(triangles), False)
    for k, point in enumerate(points, start=1):
        mesh.SetNode(k, gp_Pnt(*(float(v) for v in point)))
    for k, corners in enumerate(numbers.reshape(-1, 3) + 1, start=1):
        mesh.SetTriangle(k, Poly_Triangle(*(int(c) for c in corners)))
    made = BRepBuilderAPI_MakeShapeOnMesh(mesh)
    made.Build()
    builder, shell = BRep_Builder(), TopoDS_Shell()
    builder.MakeShell(shell)
    unified = ShapeUpgrade_UnifySameDomain(made.Shape(), True, True, False)
    unified.Build()
    walk = TopExp_Explorer(unified.Shape(), TopAbs_FACE)
    while walk.More():
        builder.Add(shell, TopoDS.Face(walk.Current()))
        walk.Next()
    shell.Closed(True)
    solid = TopoDS_Solid()
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return solid


def _dated(content: bytes, title: str) -> bytes:
    """The header with our title, and always the same date."""
    name = ascii_only(title)[:60].replace(b"'", b" ")
    head = b"FILE_NAME('" + name + b"','" + _NO_DATE + b"',(''),(''),'Open CASCADE','clearance','');"
    return re.sub(rb"FILE_NAME\(.*?\);", lambda _: head, content, count=1, flags=re.S)
