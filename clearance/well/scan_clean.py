"""Cleaning a scan, none of it silent: every step counts what it did, and nothing it does opens a gap unstated.

* merged      - vertices at exactly the same place made one; exporters split them along texture seams
* degenerate  - a triangle without area; left out where other triangles still touch all of its corners
* duplicated  - the same three corners again, either way round
* piece       - triangles that hang together through shared vertices
* stray piece - a piece whose box is smaller than a stated diagonal; left out only when asked
* rim         - a closed line of open edges, edges with a triangle on one side only; a sheet has one round its outside
* hole        - a rim that is not the longest of its piece
* shared edge - an edge with more than two triangles, where sheets meet

Points in a cloud are only merged. Lengths are the file's own unit, except where a name ends in _mm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from clearance.pose import Array
from clearance.well.blocks import in_blocks
from clearance.well.scan_read import Faces, RawMesh

Mask = npt.NDArray[np.bool_]
Labels = npt.NDArray[np.int64]

FLAT = 1e-9
"""A triangle is without area where its height is under this share of its longest side: the rounding of its corners."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cleaned:
    """What cleaning found and left out."""

    vertices: int
    """In the file."""
    triangles: int
    """In the file."""
    merged: int
    degenerate: int
    duplicated: int

    @property
    def notes(self) -> tuple[str, ...]:
        """One sentence, or none where there was nothing to clean."""
        parts = []
        if self.merged:
            parts.append(f"{self.merged:,} of {self.vertices:,} vertices merged by position")
        if self.degenerate:
            parts.append(f"{self.degenerate:,} triangles without area left out")
        if self.duplicated:
            parts.append(f"{self.duplicated:,} triangles given twice left out")
        return (f"cleaned: {', '.join(parts)}, of {self.triangles:,} triangles",) if parts else ()


def cleaned(raw: RawMesh) -> tuple[RawMesh, Cleaned]:
    """The same surface with each vertex and each triangle once, and what that took."""
    first, where = same_places(raw.vertices)
    vertices = raw.vertices[first]
    colours = None if raw.colours is None else raw.colours[first]
    faces = where[raw.faces]
    flat = without_area(vertices, faces)
    # a triangle without area may be all that is left of a thin thing: it goes only where others hold its corners
    held = np.zeros(len(vertices), dtype=bool)
    held[faces[~flat]] = True
    degenerate = flat & held[faces].all(axis=1)
    faces = faces[~degenerate]
    once = _first_of_each(faces)
    mesh = replace(raw, vertices=vertices, faces=faces[once], colours=colours)
    counts = Cleaned(
        vertices=len(raw.vertices),
        triangles=len(raw.faces),
        merged=len(raw.vertices) - len(first),
        degenerate=int(degenerate.sum()),
        duplicated=len(faces) - int(once.sum()),
    )
    return mesh, counts


def same_places(points: Array) -> tuple[Labels, Labels]:
    """The index of the first point at each place, and for every point (n,) which place it is at. Exact equality."""
    exact = np.ascontiguousarray(points + 0.0)  # a negative zero is a zero
    bits = exact.view(np.uint64).reshape(-1, 3)
    with np.errstate(over="ignore"):
        mixed = bits[:, 0] * np.uint64(0x9E3779B97F4A7C15)
        mixed = (mixed ^ (mixed >> np.uint64(29)) ^ bits[:, 1]) * np.uint64(0xBF58476D1CE4E5B9)
        mixed = (mixed ^ (mixed >> np.uint64(32)) ^ bits[:, 2]) * np.uint64(0x94D049BB133111EB)
    _, first, where = np.unique(mixed, return_index=True, return_inverse=True)
    if not (exact[first][where] == exact).all():  # two places with one mixed number: sort them out the slow way
        _, first, where = np.unique(exact, axis=0, return_index=True, return_inverse=True)
    # in the order of the file, not of the mixed numbers
    order = np.argsort(first, kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    return first[order], rank[where.reshape(-1)]


def without_area(vertices: Array, faces: Faces) -> Mask:
    """Which triangles have no area: two corners in one place, or all three on one line."""
    flat = np.zeros(len(faces), dtype=bool)
    for some in in_blocks(len(faces)):
        a, b, c = (vertices[faces[some, k]] for k in range(3))
        sides = np.stack([((b - a) ** 2).sum(1), ((c - b) ** 2).sum(1), ((a - c) ** 2).sum(1)])
        area = (np.cross(b - a, c - a) ** 2).sum(axis=1)
        flat[some] = area <= (FLAT * sides.max(axis=0)) ** 2
    return flat


def _first_of_each(faces: Faces) -> Mask:
    """Which triangles are the first with their three corners."""
    keep = np.ones(len(faces), dtype=bool)
    if not len(faces):
        return keep
    corners = np.sort(faces, axis=1)
    order = np.lexsort((corners[:, 2], corners[:, 1], corners[:, 0]))
    again = (corners[order][1:] == corners[order][:-1]).all(axis=1)
    keep[order[1:][again]] = False
    return keep


def pieces(faces: Faces, vertices: int) -> tuple[int, Labels]:
    """How many pieces there are and, for every triangle (n,), which one it belongs to; the largest first."""
    if not len(faces):
        return 0, np.zeros(0, dtype=np.int64)
    of_vertex = _connected(np.concatenate([faces[:, :2], faces[:, 1:]]), vertices)
    return _by_size(of_vertex[faces[:, 0]])


def chains(edges: Faces, vertices: int) -> tuple[int, Labels]:
    """How many connected lines edges (n, 2) make and, for every edge, which one it is on; the most edges first."""
    return _by_size(_connected(edges, vertices)[edges[:, 0]])


@dataclass(frozen=True, slots=True, kw_only=True)
class Rims:
    """Where a surface ends. Lengths are in the unit of its vertices."""

    open_edges: int = 0
    shared_edges: int = 0
    rims: int = 0
    holes: int = 0
    longest: float = 0.0
    """Round the longest rim of all."""
    longest_hole: float = 0.0
    """Round the longest rim that counts as a hole."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rim:
    """One rim of a surface."""

    vertices: Labels
    """Numbers of the vertices on it."""
    edges: Faces
    """(n, 2): the vertices of each of its edges."""
    faces: Labels
    """(n,): the triangle that each of its edges belongs to."""
    piece: int
    length: float
    """Round it, in the unit of the vertices."""
    outside: bool
    """Is it the longest of its piece, which is its outside and no hole?"""


def rims(vertices: Array, faces: Faces, piece_of: Labels) -> Rims:
    """The rims and holes of a surface whose triangles (n,) belong to these pieces, counted."""
    if not len(faces):
        return Rims()
    alone, shared = _open_edges(vertices, faces)
    found = _rims_along(alone, vertices, faces, piece_of)
    holes = [rim.length for rim in found if not rim.outside]
    return Rims(
        open_edges=len(alone),
        shared_edges=shared,
        rims=len(found),
        holes=len(holes),
        longest=max((rim.length for rim in found), default=0.0),
        longest_hole=max(holes, default=0.0),
    )


def rims_of(vertices: Array, faces: Faces, piece_of: Labels) -> list[Rim]:
    """Every rim of a surface whose triangles (n,) belong to these pieces; those with the most edges first."""
    if not len(faces):
        return []
    return _rims_along(_open_edges(vertices, faces)[0], vertices, faces, piece_of)


def _rims_along(alone: Labels, vertices: Array, faces: Faces, piece_of: Labels) -> list[Rim]:
    if not len(alone):
        return []
    ends = _edges(faces, alone)
    count, label = chains(ends, len(vertices))
    length = np.bincount(label, np.sqrt(((vertices[ends[:, 0]] - vertices[ends[:, 1]]) ** 2).sum(axis=1)), count)
    piece = np.zeros(count, dtype=np.int64)
    piece[label] = piece_of[alone % len(faces)]
    longest_of = np.zeros(piece_of.max() + 1)
    np.maximum.at(longest_of, piece, length)
    order = np.argsort(label, kind="stable")
    cuts = np.cumsum(np.bincount(label, minlength=count))[:-1]
    each = zip(np.split(ends[order], cuts), np.split((alone % len(faces))[order], cuts), strict=True)
    return [
        Rim(
            vertices=np.unique(edges),
            edges=edges,
            faces=owners,
            piece=int(piece[i]),
            length=float(length[i]),
            outside=bool(length[i] >= longest_of[piece[i]]),
        )
        for i, (edges, owners) in enumerate(each)
    ]


def _edges(faces: Faces, which: Labels) -> Faces:
    """(m, 2): some of the first sides, then all second, then all third, each from its lower to its higher vertex."""
    side, face = np.divmod(which, len(faces))
    return np.sort(np.stack([faces[face, side], faces[face, (side + 1) % 3]], axis=1), axis=1)


def _open_edges(vertices: Array, faces: Faces) -> tuple[Labels, int]:
    """Which of `_edges` have a triangle on one side only, and how many edges have more than two."""
    key = np.empty(3 * len(faces), dtype=np.int64)
    for side, own in enumerate(key.reshape(3, -1)):
        one, other = faces[:, side], faces[:, (side + 1) % 3]
        np.multiply(np.minimum(one, other), len(vertices), out=own)
        own += np.maximum(one, other)
    order = np.argsort(key, kind="stable")
    key = key[order]
    start = np.flatnonzero(np.append(True, key[1:] != key[:-1]))
    times = np.diff(start, append=len(key))
    return order[start[times == 1]], int((times > 2).sum())


def _connected(edges: Faces, vertices: int) -> Labels:
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((np.ones(len(edges), dtype=np.int8), (edges[:, 0], edges[:, 1])), shape=(vertices, vertices))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def _by_size(labels: Labels) -> tuple[int, Labels]:
    """How many labels there are, and the same labels numbered from the commonest."""
    _, label, count = np.unique(labels, return_inverse=True, return_counts=True)
    order = np.argsort(-count, kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    return len(count), rank[label]


def piece_boxes(vertices: Array, faces: Faces, labels: Labels, count: int) -> tuple[Array, Array]:
    """The least and the greatest corner (count, 3) of the box round every piece."""
    low = np.full((count, 3), np.inf)
    high = np.full((count, 3), -np.inf)
    order = np.argsort(labels, kind="stable")
    starts = np.searchsorted(labels[order], np.arange(count))
    for corner in range(3):
        spots = vertices[faces[order, corner]]
        low = np.minimum(low, np.minimum.reduceat(spots, starts))
        high = np.maximum(high, np.maximum.reduceat(spots, starts))
    return low, high


def stray(vertices_mm: Array, faces: Faces, below_mm: float) -> tuple[Mask, int, float]:
    """Which triangles belong to stray pieces, how many such pieces there are, and the largest one's diagonal, mm."""
    count, labels = pieces(faces, len(vertices_mm))
    if not count:
        return np.zeros(0, dtype=bool), 0, 0.0
    low, high = piece_boxes(vertices_mm, faces, labels, count)
    diagonal = np.sqrt(((high - low) ** 2).sum(axis=1))
    small = diagonal < below_mm
    return small[labels], int(small.sum()), float(diagonal[small].max()) if small.any() else 0.0


def used_only(vertices: Array, faces: Faces) -> tuple[Array, Faces, Labels]:
    """Vertices that a triangle uses, the triangles renumbered, and which vertices they were."""
    used = np.zeros(len(vertices), dtype=bool)
    used[faces] = True
    number = np.cumsum(used) - 1
    return vertices[used], number[faces], np.flatnonzero(used)
