"""Holes of a scan, and what each of them could hide.

A scan ends where it was not measured. Its longest rim is its outside; every other is a hole: of the car, or of the
scan. Until someone who looked says what it is, anything may be in it.

* rim        - the closed line of open edges round a hole
* cap        - triangles between the points of a rim, that close it
* width      - of the largest circle that goes into a hole: what a crack has little of, however long it is
* stands out - how far off its cap what it hides may be: half the width. What stood out further than half the width of
               the hole that hides it would show at the rim; nothing in a well stands out of its sheet by more than
               `MOST_OUT_MM` unseen (our own rules)
* open       - the car is really open there, because the person said so; or because the wheel goes on through it
* closed     - the sheet goes on across it and nothing stands out of it, because somebody looked or felt

A piece missing from the outside in has no rim of its own: see `scan_bays`. Lengths are millimetres.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from clearance.errors import MeshError
from clearance.pose import Array, read_only
from clearance.well.part import Hole
from clearance.well.scan_clean import Labels, Rim, pieces, rims_of
from clearance.well.scan_read import Faces

if TYPE_CHECKING:
    from shapely import Polygon

ALL = "all"
"""The word for "every hole"."""
Places = str | Sequence[Array]
"""Which holes are meant: "all", or a place at or in each."""
MOST_OUT_MM = 100.0
_NEAR_MM = 50.0
"""How far beyond half a hole's length a place may be from its middle and still name it."""
_LEAST_AREA_MM2 = 1.0
"""A hole smaller than this is a rounding of the file."""


def holes_of(vertices_mm: Array, faces: Faces, *, larger_than_mm: float = 0.0) -> tuple[Hole, ...]:
    """Every hole of a surface but the wheel's own opening, the longest first.

    Those of pieces whose box is smaller than `larger_than_mm` across are left out with their pieces.
    """
    if not len(faces):
        return ()
    _, labels = pieces(faces, len(vertices_mm))
    rims = [rim for rim in rims_of(vertices_mm, faces, labels) if not rim.outside]
    if larger_than_mm > 0.0:
        rims = [rim for rim in rims if _piece_mm(rim, labels, vertices_mm, faces) >= larger_than_mm]
    holes = [hole for rim in rims for hole in _holes(vertices_mm, faces, rim) if not _lets_the_wheel_on(hole)]
    return tuple(sorted(holes, key=lambda hole: -hole.across_mm[0]))


def _piece_mm(rim: Rim, labels: Labels, vertices_mm: Array, faces: Faces) -> float:
    own = vertices_mm[faces[labels == rim.piece]].reshape(-1, 3)
    return float(np.linalg.norm(np.ptp(own, axis=0)))


def _lets_the_wheel_on(hole: Hole) -> bool:
    """Does the axle's line go through it, outboard of the hub's face? The wheel was put on through it."""
    from shapely.geometry import MultiPoint, Point

    flat = hole.triangles_mm.reshape(-1, 3)[:, [0, 2]]
    return float(hole.middle_mm[1]) > 0.0 and MultiPoint(flat).convex_hull.contains(Point(0.0, 0.0))


def _holes(vertices_mm: Array, faces: Faces, rim: Rim) -> list[Hole]:
    """What a rim goes round: as seen square to it one hole, or several that touch; a crack, many narrow ones.

    It is laid flat in the plane that its points lie in best, or in that of the sheet around it, as a crack along an
    arch must be: whichever shows more of it.
    """
    points = vertices_mm[rim.vertices]
    middle = points.mean(axis=0)
    number = np.full(len(vertices_mm), -1)
    number[rim.vertices] = np.arange(len(points))
    edges = number[rim.edges]
    a, b, c = (vertices_mm[faces[rim.faces, i]] for i in range(3))
    normals = np.cross(b - a, c - a)
    best: list[Hole] = []
    for ways in (np.linalg.svd(points - middle, full_matrices=False)[2], np.linalg.svd(normals.T @ normals)[2][::-1]):
        flat = (points - middle) @ ways.T
        found = [_capped(ring, flat, middle, ways) for ring in _rings(flat[edges][:, :, :2])]
        if sum(hole.area_mm2 for hole in found) > 1.01 * sum(hole.area_mm2 for hole in best):
            best = found
    return best or [_wrapped(points, middle, np.linalg.svd(points - middle, full_matrices=False)[2])]


def _rings(lines: Array) -> list[Polygon]:
    """The rings that lines (n, 2, 2) go round, those of no size left out."""
    from shapely import get_parts, linestrings, multilinestrings, node, polygonize

    noded = node(multilinestrings(linestrings(lines)))
    return [ring for ring in get_parts(polygonize([noded])) if ring.area > _LEAST_AREA_MM2]


def _capped(ring: Polygon, flat: Array, middle: Array, ways: Array) -> Hole:
    """The hole inside one ring of a flattened rim (n, 3)."""
    from scipy.spatial import cKDTree
    from shapely import constrained_delaunay_triangles, get_coordinates, get_parts, maximum_inscribed_circle

    corners = np.array([get_coordinates(one)[:3] for one in get_parts(constrained_delaunay_triangles(ring))])
    # where the rim crosses itself, seen so, a corner is none of its own points: it is as high as the nearest of them
    _, which = cKDTree(flat[:, :2]).query(corners.reshape(-1, 2))
    raised = np.column_stack([corners.reshape(-1, 2), flat[which, 2]])
    radius = float(maximum_inscribed_circle(ring, tolerance=0.5).length)
    return Hole(
        triangles_mm=read_only((middle + raised @ ways).reshape(-1, 3, 3)),
        across_mm=(_length(raised[:, :2]), 2.0 * radius),
        area_mm2=float(ring.area),
        middle_mm=read_only(middle + raised.mean(axis=0) @ ways),
        stands_out_mm=min(radius, MOST_OUT_MM),
        uneven_mm=min(radius, float(np.abs(raised[:, 2] - raised[:, 2].mean()).max())),
    )


def _wrapped(points: Array, middle: Array, ways: Array) -> Hole:
    """A hole whose rim cannot be laid flat: the convex hull of its rim, half of its second measure off."""
    from scipy.spatial import ConvexHull, QhullError

    flat = (points - middle) @ ways.T
    across = np.ptp(flat, axis=0)
    try:
        cap = points[ConvexHull(points).simplices]
    except QhullError:
        ends = points[[int(np.argmin(flat[:, 0])), int(np.argmax(flat[:, 0]))]]
        cap = np.array([[ends[0], ends[1], ends[1]]])
    return Hole(
        triangles_mm=read_only(cap),
        across_mm=(float(across[0]), float(across[1])),
        area_mm2=float(across[0] * across[1]),
        middle_mm=read_only(middle),
        stands_out_mm=min(float(across[1]) / 2, MOST_OUT_MM),
        uneven_mm=0.0,
    )


def _length(flat: Array) -> float:
    """The longest way across points (n, 2)."""
    from scipy.spatial import ConvexHull, QhullError
    from scipy.spatial.distance import pdist

    with contextlib.suppress(QhullError):
        flat = flat[ConvexHull(flat).vertices]
    return float(pdist(flat).max(initial=0.0))


def unknown(holes: Sequence[Hole], *, is_open: Places = (), is_closed: Places = ()) -> tuple[Hole, ...]:
    """The holes that could still hide something: without those that are open, the closed ones as flat as their rims.

    Raises MeshError for a place that is near no hole.
    """
    gone = _named(holes, is_open, "holes_open")
    flat = _named(holes, is_closed, "holes_closed")
    kept = [hole for hole in holes if hole not in gone]
    return tuple(replace(hole, stands_out_mm=hole.uneven_mm, closed=True) if hole in flat else hole for hole in kept)


def _named(holes: Sequence[Hole], places: Places, key: str) -> list[Hole]:
    if isinstance(places, str):
        return list(holes)
    named = []
    for place in places:
        apart = [float(np.linalg.norm(hole.middle_mm - place)) - hole.across_mm[0] / 2 for hole in holes]
        if not apart or min(apart) > _NEAR_MM:
            raise MeshError(f"no hole of the scan is near {_text(place)}; {_nearest_words(holes, apart)}", key=key)
        named.append(holes[int(np.argmin(apart))])
    return named


def _nearest_words(holes: Sequence[Hole], apart: Sequence[float]) -> str:
    if not holes:
        return "it has none. Leave the key out."
    nearest = holes[int(np.argmin(apart))]
    return (
        f"the nearest is at {_text(nearest.middle_mm)} mm [ahead, outboard, above]. Write a place in the hole itself."
    )


def _text(place: Array) -> str:
    return "[" + ", ".join(f"{value:.0f}" for value in place) + "]"
