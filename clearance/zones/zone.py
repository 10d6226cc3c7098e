"""Zones: the connected patches of a part that come closer than required, somewhere in the cycle.

* patch    - triangles of the part, cut along the line where the gap is exactly the required one, that hang together as
             one sheet (`sheets`)
* first    - where and from what position on it is too close (`touching`)
* deepest  - the point of the patch with the least gap, and the position at which it has it; where the certified gap of
             its part lies on the patch, it is that gap's place, so that both say one (`place`)
* border   - the edge of a patch, found to within `BORDER_MM` along the surface: no crossed side of a triangle is longer

Gaps here are measured at real positions (see `gap.map`); the verdict on a part is `gap.cycle`'s. Points are in corner
axes, where the part rests; lengths are millimetres, areas square millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from clearance.gap.contact import on_faces
from clearance.gap.found import Gap
from clearance.gap.map import MEASURED_MM, over_vertices
from clearance.geom.field import least_over_path
from clearance.geom.mesh import edges_of, split
from clearance.geom.nearest import Nearest
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import Seen, seen_by
from clearance.pose import Array
from clearance.steady import steady
from clearance.suspension.position import Position
from clearance.well.part import Part
from clearance.zones.closest import Closest, closest_about, closest_of
from clearance.zones.place import Place, place_of, place_of_gap
from clearance.zones.sheets import Sheet, sheets_of
from clearance.zones.touching import FirstTouch, first_touch

EDGE_MM = 20.0
"""How finely a part is looked at for zones before their borders are followed."""
BORDER_MM = 3.0
APART_MM = 10.0
"""About how far the tire moves between the positions that ranges are read from."""
_LEAST_AREA_MM2 = 1.0
"""A patch smaller than this is a touch, told by its gap; it makes no body."""
_MOST_FACES = 400_000
_ON_MM = 0.5
"""How far off the straight border of a zone its part's gap may lie and still be of it."""
_LEAST_TRIANGLE_MM2 = 1e-9
_NEAR_MM = 20.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Zone:
    """One patch of one part."""

    part: str
    required_mm: float
    thickness_mm: float
    """Of the part's sheet; 0 where it was not given."""
    vertices_mm: Array
    """(v, 3)"""
    faces: np.ndarray
    """(t, 3), turned away from the tire: the sheet's thickness lies on the side of the normal."""
    gap_mm: Array
    """(v,): least gap of each vertex over the cycle."""
    area_mm2: float
    deepest_mm: Array
    """(3,): the point with the least gap, where the part rests."""
    least_mm: float
    """Its gap."""
    place: Place
    """Where in the cycle it has it, and where it is then."""
    of_gap: bool = False
    """Is that the place of its part's certified gap?"""
    bump_mm: tuple[float, float]
    """Least and greatest bump at which some point of the patch is too close, to the spacing of the positions looked
    at.
    """
    steer_deg: tuple[float, float]
    """The same of steer."""
    other_bump_mm: tuple[float, float]
    """The same of the other wheel's bump."""
    first: FirstTouch

    @property
    def position(self) -> Position:
        """Where in the cycle the deepest point has its gap."""
        return self.place.position

    @property
    def where(self) -> str:
        """The deepest place in words."""
        return self.place.where

    @property
    def text(self) -> str:
        """The zone in one line."""
        state = f"{-self.least_mm:.1f} mm inside" if self.least_mm < 0 else f"{self.least_mm:.1f} mm away"
        return f"{self.part}: {self.area_mm2 / 100:.1f} cm2, {state} at {self.where}"


@steady
def zones_of(mockup: MockUp, parts: Sequence[str] | None = None, *, gaps: Sequence[Gap] = ()) -> tuple[Zone, ...]:
    """Every zone of the parts named (all of them by default), worst first.

    `gaps` are certified ones of its parts: the zone that such a gap lies on has its deepest place there.
    """
    found: list[Zone] = []
    for part in mockup.parts:
        if parts is None or part.name in parts:
            own = _zones(mockup, part)
            for gap in gaps:
                own = _with_gap(mockup, own, gap) if gap.part == part.name else own
            found += own
    return tuple(sorted(found, key=lambda zone: (zone.least_mm - zone.required_mm, zone.part)))


def _zones(mockup: MockUp, part: Part) -> list[Zone]:
    vertices, faces, gap = over_vertices(mockup, part, edge_mm=EDGE_MM, nearer_than_mm=part.required_mm)
    if not np.any(gap < part.required_mm):
        return []
    vertices, faces, gap = _followed(mockup, part, vertices, faces, gap)
    vertices, faces, gap = clipped(vertices, faces, gap, part.required_mm)
    seen = seen_by(mockup, part)
    nearest = Nearest(seen.path, mockup.solid, seen.limits, apart_mm=APART_MM)
    faces = faces[_areas(vertices, faces) > _LEAST_TRIANGLE_MM2]
    return [
        _zone(mockup, part, seen, nearest, vertices[sheet.vertices], gap[sheet.vertices], sheet)
        for sheet in sheets_of(faces)
        if _areas(vertices[sheet.vertices], sheet.faces).sum() >= _LEAST_AREA_MM2
    ]


def _with_gap(mockup: MockUp, zones: list[Zone], gap: Gap) -> list[Zone]:
    """The zones of a part, the one that its certified gap lies on with its deepest place there."""
    if not zones or gap.swallowed:
        return zones
    held = [bool(on_faces(gap.at_rest_mm[None], zone.vertices_mm[zone.faces], _ON_MM)[0]) for zone in zones]
    if not any(held):
        return zones
    which = held.index(True)
    taken = replace(
        zones[which],
        deepest_mm=gap.at_rest_mm,
        least_mm=gap.at_most_mm,
        place=place_of_gap(mockup, gap),
        of_gap=True,
    )
    return [*zones[:which], taken, *zones[which + 1 :]]


def _zone(mockup: MockUp, part: Part, seen: Seen, nearest: Nearest, points: Array, gap: Array, sheet: Sheet) -> Zone:
    """One sheet of a part, with where and when it is deepest and first reached."""
    deepest = _deepest(nearest, points, sheet.faces, gap)
    least_at = _least_at_stations(nearest, points, deepest)
    skin_mm = part.skin_mm + mockup.off_mm(part.rides_on)
    least_mm = min(deepest.distance - skin_mm, float(gap.min()))
    level_mm = 0.0 if least_mm < 0 else part.required_mm
    close, reached = (
        np.concatenate([nearest.stations[least_at < mm + skin_mm], deepest.setting[None]])
        for mm in (part.required_mm, level_mm)
    )
    within = seen.positions(close)
    bump, other, steer = ((float(column.min()), float(column.max())) for column in within.T)
    return Zone(
        part=part.name,
        required_mm=part.required_mm,
        thickness_mm=part.thickness_mm,
        vertices_mm=points,
        faces=_turned_away(points, sheet, deepest),
        gap_mm=gap,
        area_mm2=float(_areas(points, sheet.faces).sum()),
        deepest_mm=deepest.point,
        least_mm=least_mm,
        place=place_of(mockup, part, seen, deepest.point, deepest.setting),
        first=first_touch(
            nearest,
            seen,
            mockup,
            part,
            points[sheet.faces],
            points[gap < level_mm + MEASURED_MM],
            deepest.point,
            reached,
            level_mm=level_mm + skin_mm,
            touches=least_mm < 0,
        ),
        bump_mm=bump,
        other_bump_mm=other,
        steer_deg=steer,
    )


def _followed(
    mockup: MockUp, part: Part, vertices: Array, faces: np.ndarray, gap: Array
) -> tuple[Array, np.ndarray, Array]:
    """Cut the triangles that the border crosses until no crossed side is longer than `BORDER_MM`."""
    if part.far_end is not None:
        return vertices, faces, gap
    seen = seen_by(mockup, part)
    for _ in range(8):
        close = gap < part.required_mm
        crossed = close[faces].any(axis=1) & ~close[faces].all(axis=1)
        edges, face_edges = edges_of(faces)
        length = np.linalg.norm(vertices[edges[:, 0]] - vertices[edges[:, 1]], axis=1)
        chosen = np.zeros(len(edges), dtype=bool)
        chosen[face_edges[crossed].ravel()] = True
        chosen &= length > BORDER_MM
        if not chosen.any() or len(faces) > _MOST_FACES:
            break
        new = vertices[edges[chosen]].mean(axis=1)
        number = np.full(len(edges), -1)
        number[chosen] = len(vertices) + np.arange(len(new))
        faces = split(faces, face_edges, number)
        vertices = np.concatenate([vertices, new])
        gap = np.concatenate([gap, least_over_path(new, seen.path, mockup.solid, limits=seen.limits) - part.skin_mm])
    return vertices, faces, gap


def clipped(vertices: Array, faces: np.ndarray, gap: Array, level: float) -> tuple[Array, np.ndarray, Array]:
    """The part of a mesh whose gap is below `level`, cut along straight lines between crossed sides."""
    below = gap < level
    edges, face_edges = edges_of(faces)
    a, b = edges.T
    cut = below[a] != below[b]
    share = np.where(cut, (level - gap[a]) / np.where(cut, gap[b] - gap[a], 1.0), 0.0)
    number = np.full(len(edges), -1)
    number[cut] = len(vertices) + np.arange(int(cut.sum()))
    new = vertices[a[cut]] + share[cut, None] * (vertices[b[cut]] - vertices[a[cut]])
    vertices = np.concatenate([vertices, new])
    gap = np.concatenate([gap, np.full(len(new), level)])
    count = below[faces].sum(axis=1)
    out = [faces[count == 3]]
    for wanted in (1, 2):
        rows = np.flatnonzero(count == wanted)
        odd = below[faces[rows]] if wanted == 1 else ~below[faces[rows]]
        turn = (np.argmax(odd, axis=1)[:, None] + np.arange(3)) % 3
        f, n = faces[rows[:, None], turn], number[face_edges[rows[:, None], turn]]
        if wanted == 1:
            out.append(np.column_stack([f[:, 0], n[:, 0], n[:, 2]]))
        else:
            out += [np.column_stack([n[:, 0], f[:, 1], f[:, 2]]), np.column_stack([n[:, 0], f[:, 2], n[:, 2]])]
    return vertices, np.concatenate(out), gap


def _areas(vertices: Array, faces: np.ndarray) -> Array:
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    areas: Array = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
    return areas


def _deepest(nearest: Nearest, vertices: Array, faces: np.ndarray, gap: Array) -> Closest:
    """The deepest place of a patch, between its vertices too."""
    start = int(np.argmin(gap))
    point = vertices[[start]]
    found = nearest.settle(point, nearest.among_stations(point))
    return closest_about(vertices[faces], closest_of(point, found, 0), nearest.settle)


def _least_at_stations(nearest: Nearest, points: Array, deepest: Closest) -> Array:
    """(m,): how close some points of a patch come at each setting looked at."""
    sample = points[np.linspace(0, len(points) - 1, min(len(points), 120)).astype(int)]
    sample = np.vstack([sample, deepest.point])
    least: Array = nearest.distances_at(sample, nearest.stations).min(axis=1)
    return least


def _turned_away(vertices: Array, sheet: Sheet, deepest: Closest) -> np.ndarray:
    """Faces whose normals point away from the tire about the deepest place, and the same side of the sheet elsewhere.

    Of a sheet without a border they point into the body that it bounds.
    """
    faces = sheet.faces
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    across = np.cross(b - a, c - a)
    if sheet.closed:
        wrong = float(np.einsum("ij,ij->i", a, across).sum()) > 0
    else:
        apart = np.linalg.norm((a + b + c) / 3 - deepest.point, axis=1)
        near = np.exp(-((apart / (apart.min() + _NEAR_MM)) ** 2))
        wrong = float(near @ (across @ deepest.away)) < 0
    return faces[:, ::-1].copy() if wrong else faces
