"""Solids of the gauge: what a printer is given. The door to manifold3d.

A body is closed and oriented by construction. It is drawn in a flat plane (u, v) and stands up along w:

* face plane - u to the right and v up as one looks at the wheel from outboard; w points outboard (hub axes y)
* side plane - u outboard (hub axes y), v away from the axis (r); w points ahead (hub axes x)

Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from clearance.errors import ShapeError
from clearance.gauge.flatwork import Shape, parts_of
from clearance.gauge.making import Bed

Body = Any
"""A manifold3d.Manifold."""
Array = npt.NDArray[np.float64]

FACE = np.array([[-1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]])
"""(u, v, w) of the face plane to hub axes (x, y, z): x = -u, y = w, z = v."""
SIDE = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
"""(u, v, w) of the side plane to hub axes: x = w, y = u, z = v."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """What is taken out of a piece along u: a flat shape in (v, w), from one u to another."""

    shape: Shape
    low_mm: float
    high_mm: float
    words: bool = False
    """Is it engraved writing?"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """One thing to print or cut, and where it goes."""

    number: int
    name: str
    body: Body
    """In its own drawing axes (u, v, w), where it stands when assembled."""
    plane: Array | None
    """(3, 3) from its drawing axes to hub axes; None for what is held in the hand."""
    count: int = 1
    places: tuple[tuple[float, float, float], ...] = ((0.0, 0.0, 0.0),)
    """Shifts along (u, v, w), one for each place that it takes."""
    turns: tuple[float, ...] = ()
    """Quarter turns about w of each place, in degrees; none where it never turns."""
    size: str = ""
    """What is written on it besides its number and name."""
    lie_deg: float = 0.0
    """How far it is turned about w to fit the bed."""
    uncut: Body | None = None
    """It without its `cuts`, every wall of it along w; None where that is the body itself."""
    cuts: tuple[Cut, ...] = ()

    def mesh(self) -> tuple[Array, npt.NDArray[np.intp]]:
        """As it lies on the bed: vertices (v, 3) with the least of each coordinate at 0, and outward faces (t, 3)."""
        vertices, faces = mesh_of(self.lying)
        return vertices - vertices.min(axis=0), faces

    @property
    def lying(self) -> Body:
        """It turned as it lies on the bed."""
        return self.body.rotate((0.0, 0.0, self.lie_deg)) if self.lie_deg else self.body

    @property
    def extent_mm(self) -> tuple[float, float, float]:
        """Its size on the bed."""
        return extent_mm(self.lying)

    @property
    def every_turn(self) -> tuple[float, ...]:
        """A turn to each of its places, deg."""
        return self.turns or (0.0,) * len(self.places)

    def assembled(self) -> list[Body]:
        """It in hub axes, once for each place that it takes; none for what is held in the hand."""
        if self.plane is None:
            return []
        turns = self.every_turn
        frame = np.hstack([self.plane, np.zeros((3, 1))])
        return [
            self.body.rotate((0.0, 0.0, turn)).translate(place).transform(frame)
            for place, turn in zip(self.places, turns, strict=True)
        ]


def extent_mm(body: Body) -> tuple[float, float, float]:
    """Size along its three axes."""
    x0, y0, z0, x1, y1, z1 = body.bounding_box()
    return x1 - x0, y1 - y0, z1 - z0


def lie_deg(body: Body, bed: Bed) -> float | None:
    """The least turn about w at which a body fits the bed; None where none does."""
    for turn in (0.0, 45.0, 15.0, 30.0, 60.0, 75.0):
        if bed.takes(*extent_mm(body.rotate((0.0, 0.0, turn)) if turn else body)):
            return turn
    return None


def risen(shape: Shape, from_mm: float, to_mm: float) -> Body:
    """A flat shape stood up between two heights."""
    import manifold3d as m3  # type: ignore[import-not-found]

    rings = []
    for part in parts_of(shape):
        rings += [np.asarray(ring.coords)[:-1] for ring in (part.exterior, *part.interiors)]
    if not rings:
        return m3.Manifold()
    section = m3.CrossSection(rings, m3.FillRule.EvenOdd)
    return m3.Manifold.extrude(section, to_mm - from_mm).translate((0.0, 0.0, from_mm))


def flat_of(section: Body) -> Shape:
    """A flat cut of a body as polygons with holes."""
    from shapely import MultiPolygon, Polygon

    rings = [Polygon(r) for r in section.to_polygons() if len(r) > 2]
    shape = MultiPolygon()
    # Rings come outer and inner alike: taken by size, each one that lies in the last is a hole in it.
    for ring in sorted(rings, key=lambda r: -r.area):
        shape = shape.symmetric_difference(ring.buffer(0))
    return MultiPolygon(parts_of(shape))


ONE_LEVEL_MM = 2e-3
"""Heights closer than this are one."""


def slabs_of(body: Body) -> list[tuple[Shape, float, float]]:
    """A body whose walls all stand along w as flat shapes, each with the two heights between which it stands.

    The corners of a shape are those of the body: a cut also meets the lines that its walls are split by.
    """
    from scipy.spatial import cKDTree

    vertices, _ = mesh_of(body)
    corners = cKDTree(vertices[:, :2])
    heights = np.sort(vertices[:, 2])
    levels = heights[np.concatenate([[True], np.diff(heights) > ONE_LEVEL_MM])]
    found = ((flat_of(body.slice(float(a + b) / 2)), float(a), float(b)) for a, b in pairwise(levels))
    return [(_with_corners(shape, corners), low, high) for shape, low, high in found if not shape.is_empty]


def _with_corners(shape: Shape, corners: Any) -> Shape:
    """The polygons with those of their points that are corners of a body, given as a tree of them."""
    from shapely import MultiPolygon, Polygon

    def kept(ring: Any) -> Array:
        points = np.asarray(ring.coords)[:-1]
        off, _ = corners.query(points)
        found: Array = points[off < ONE_LEVEL_MM]
        return found

    return MultiPolygon([Polygon(kept(p.exterior), [kept(r) for r in p.interiors]) for p in parts_of(shape)])


def joined(*bodies: Body) -> Body:
    """All of them as one."""
    import manifold3d as m3

    return m3.Manifold.batch_boolean([b for b in bodies if not b.is_empty()], m3.OpType.Add)


def mesh_of(body: Body) -> tuple[Array, npt.NDArray[np.intp]]:
    """Vertices (v, 3) and outward faces (t, 3)."""
    mesh = body.to_mesh64()
    return np.array(mesh.vert_properties, dtype=float)[:, :3], np.array(mesh.tri_verts, dtype=np.intp)


def body_of(vertices: Array, faces: npt.NDArray[np.intp]) -> Body:
    """A closed mesh as a body.

    Raises ShapeError where the mesh is not closed and oriented.
    """
    import manifold3d as m3

    mesh = m3.Mesh64(np.ascontiguousarray(vertices, dtype=np.float64), np.ascontiguousarray(faces, dtype=np.uint64))
    body = m3.Manifold(mesh)
    if body.status() != m3.Error.NoError or body.is_empty():
        raise ShapeError(f"the mesh is not a closed solid ({body.status().name}).")
    return body


ONE_PLACE_MM = 1e-4
"""Corners closer than this are one: less than single precision can tell apart half a metre from the hub."""


def settled(vertices: Array, faces: npt.NDArray[np.intp]) -> tuple[Array, npt.NDArray[np.intp]]:
    """A closed mesh without triangles of no area, so that it is still closed when its numbers are written short.

    No corner moves further than `ONE_PLACE_MM`. Raises ShapeError where the mesh is not closed and oriented.
    """
    return mesh_of(body_of(vertices, faces).simplify(ONE_PLACE_MM))
