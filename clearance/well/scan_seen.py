"""A scan to be looked at and picked on: a picture of fewer triangles, and the true point behind a click.

Lengths are the scan's own numbers.

* seen  - what is drawn. Where the scan has more triangles than are asked for, its vertices are gathered by cubes and
          each goes to the first one of its own piece in its cube. A triangle goes along with its corners, and one that
          falls together into a line or a point is drawn as that. So what is drawn is the whole surface, moved
* off   - the furthest that a vertex was moved. Inside a triangle no point moves further than its corners do, so nothing
          of the scan is further from what is drawn than this, and nothing drawn is further from the scan
* hit   - where a straight line first meets the scan itself, every triangle of it, not the picture
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from clearance.pose import Array
from clearance.well.scan_clean import Labels, Mask
from clearance.well.scan_raw import Faces, no_faces

MOST_SEEN = 60_000
"""Triangles that a phone turns without a stutter."""
_CHUNK = 200_000
_EDGE = 1e-9
"""How far past its edge a triangle is still met, as a share of it: a line along an edge must not slip through."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """What is drawn of a scan."""

    vertices: Array
    """(v, 3): all are vertices of the scan."""
    faces: Faces
    """(t, 3)"""
    lines: Faces
    """(l, 2): triangles that fell together into a line."""
    points: Labels
    """(p,): those that fell together into a point, and the points of a cloud."""
    piece: Labels
    """(v,): the piece that each vertex belongs to."""
    off: float
    """No point of the scan is further from what is drawn than this, and none that is drawn from the scan."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hit:
    """Where a straight line first meets a scan."""

    point: Array
    """(3,)"""
    piece: int


def seen(vertices: Array, faces: Faces, labels: Labels, most: int = MOST_SEEN) -> Seen:
    """What is drawn of a scan whose triangles (n,) belong to these pieces: at most so many of all kinds."""
    piece = np.zeros(len(vertices), dtype=np.int64)
    piece[faces.reshape(-1)] = np.repeat(labels, 3)
    every = np.arange(len(vertices))
    if not len(faces):
        return _cloud(vertices, piece, most)
    if len(faces) <= most:
        return Seen(
            vertices=vertices, faces=faces, lines=np.zeros((0, 2), np.int64), points=every[:0], piece=piece, off=0.0
        )
    cell = _likely_cell(vertices, faces, most)
    while True:
        first, group = _gathered(vertices, piece, cell)
        moved, lines, points = _fallen(group[faces])
        if len(moved) + len(lines) + len(points) <= most:
            off = _furthest(vertices, first[group], faces)
            return _used(vertices, first[moved], first[lines], first[points], piece, off)
        cell *= 1.2


def _likely_cell(vertices: Array, faces: Faces, most: int) -> float:
    """The side of cubes in which about so many triangles are left: some two to a square of the surface."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    area = float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()) / 2.0
    return max(math.sqrt(2.0 * area / most), float(np.ptp(vertices, axis=0).max()) / 4000.0)


def _cloud(vertices: Array, piece: Labels, most: int) -> Seen:
    cell, first = float(np.ptp(vertices, axis=0).max()) / 1000.0, np.arange(len(vertices))
    points = first
    while len(points) > most:
        kept, group = _gathered(vertices, piece, cell)
        first, points, cell = kept[group], kept, cell * 1.26
    none = np.zeros((0, 2), np.int64)
    off = float(np.sqrt(((vertices - vertices[first]) ** 2).sum(axis=1).max()))
    return _used(vertices, no_faces(), none, points, piece, off)


def _gathered(vertices: Array, piece: Labels, cell: float) -> tuple[Labels, Labels]:
    """The first vertex of each piece in each cube, and for every vertex (n,) which of these it goes to."""
    cubes = np.floor((vertices - vertices.min(axis=0)) / cell).astype(np.int64)
    side = int(cubes.max()) + 1
    key = ((cubes[:, 0] * side + cubes[:, 1]) * side + cubes[:, 2]) + piece * np.int64(side) ** 3
    _, first, where = np.unique(key, return_index=True, return_inverse=True)
    return first, where.reshape(-1)


def _fallen(corners: Faces) -> tuple[Faces, Faces, Labels]:
    """Triangles that are still some, lines and points that no triangle (no line) holds already; each once."""
    corners = np.sort(corners, axis=1)
    low, high = corners[:, 0] != corners[:, 1], corners[:, 1] != corners[:, 2]
    triangles, lines = _once(corners[low & high]), _once(corners[low ^ high][:, [0, 2]])
    sides = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [0, 2]]])
    lines = lines[~_among(lines, sides)]
    points = np.unique(corners[~low & ~high][:, 0])
    held = np.concatenate([triangles.reshape(-1), lines.reshape(-1)])
    return triangles, lines, points[~np.isin(points, held)]


def _once(rows: Faces) -> Faces:
    """Each row of numbers once. There are no more groups than make their cube a whole number of 64 bits."""
    side = np.int64(rows.max(initial=0) + 1)
    key = np.zeros(len(rows), dtype=np.int64)
    for column in rows.T:
        key = key * side + column
    _, first = np.unique(key, return_index=True)
    found: Faces = rows[first]
    return found


def _among(pairs: Faces, others: Faces) -> Mask:
    side = np.int64(max(pairs.max(initial=0), others.max(initial=0)) + 1)
    found: Mask = np.isin(pairs[:, 0] * side + pairs[:, 1], others[:, 0] * side + others[:, 1])
    return found


def _furthest(vertices: Array, first: Labels, faces: Faces) -> float:
    used = np.unique(faces)
    return float(np.sqrt(((vertices[used] - vertices[first[used]]) ** 2).sum(axis=1).max()))


def _used(vertices: Array, faces: Faces, lines: Faces, points: Labels, piece: Labels, off: float) -> Seen:
    kept = np.unique(np.concatenate([faces.reshape(-1), lines.reshape(-1), points]))
    number = np.zeros(len(vertices), dtype=np.int64)
    number[kept] = np.arange(len(kept))
    return Seen(
        vertices=vertices[kept],
        faces=number[faces],
        lines=number[lines],
        points=number[points],
        piece=piece[kept],
        off=off,
    )


def hit(vertices: Array, faces: Faces, labels: Labels, start: Array, way: Array, gone: frozenset[int]) -> Hit | None:
    """Where the line from `start` along `way` first meets a triangle of a piece that is not `gone`; None if nowhere."""
    nearest, owner = np.inf, -1
    left = np.isin(labels, list(gone), invert=True) if gone else np.ones(len(faces), dtype=bool)
    for begin in range(0, len(faces), _CHUNK):
        some = faces[begin : begin + _CHUNK]
        ahead = _along(vertices[some], start, way)
        ahead[~left[begin : begin + _CHUNK]] = np.inf
        best = int(np.argmin(ahead))
        if ahead[best] < nearest:
            nearest, owner = float(ahead[best]), begin + best
    if owner < 0:
        return None
    return Hit(point=start + nearest * way, piece=int(labels[owner]))


def _along(triangles: Array, start: Array, way: Array) -> Array:
    """How far along a line each triangle (n, 3, 3) is met, in lengths of `way`; infinity where it is not."""
    a = triangles[:, 0]
    u, v = triangles[:, 1] - a, triangles[:, 2] - a
    across = np.cross(way, v)
    lean = np.einsum("ij,ij->i", u, across)
    with np.errstate(divide="ignore", invalid="ignore"):
        off = start - a
        p = np.einsum("ij,ij->i", off, across) / lean
        square = np.cross(off, u)
        q = square @ way / lean
        ahead = np.einsum("ij,ij->i", v, square) / lean
        met = (p >= -_EDGE) & (q >= -_EDGE) & (p + q <= 1.0 + _EDGE) & (ahead >= 0.0) & np.isfinite(ahead)
    found: Array = np.where(met, ahead, np.inf)
    return found
