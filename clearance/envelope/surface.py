"""From a field to a closed surface: narrowing down where it lies, and the mesh dual to a lattice.

* cell   - a cube that may hold a piece of the surface; halved until it is one lattice step wide
* cube   - eight neighbouring lattice points; where their signs differ, the surface passes
* sheet  - one separate piece of the surface within a cube: it becomes one vertex, so that two sheets which pass close
           by each other never share one

Each lattice edge with a change of sign becomes a quadrilateral between the four cubes around it, so the mesh is closed
by construction (G. M. Nielson, Dual Marching Cubes, IEEE Visualization 2004). Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from clearance.envelope.sweep import Chart, Sweep, seen_from_hub
from clearance.pose import Array

_AT_ONCE = 300_000
"""Pairs of cell and station worked on at once."""
_SLOP_MM = 1.5
"""What stations alone may overstate the field by, about."""
_CORNERS = np.array([[i & 1, i >> 1 & 1, i >> 2 & 1] for i in range(8)])
_EDGES = [(a, b) for a in range(8) for b in range(a + 1, 8) if bin(a ^ b).count("1") == 1]
_RING = ((0, 0), (-1, 0), (-1, -1), (0, -1))
"""The four cubes around a lattice edge, anticlockwise about its direction, by the two other coordinates."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lattice:
    """The field at the lattice points near the surface."""

    low_mm: Array
    """(3,): where the lattice point (0, 0, 0) stands."""
    pitch_mm: float
    shape: tuple[int, int, int]
    places: np.ndarray
    """(n, 3) whole numbers: the lattice points that were looked at."""
    field_mm: Array
    """(n,): the field there, by stations alone."""
    station: np.ndarray
    """(n,): the station that came nearest."""


def lattice_near(sweep: Sweep, chart: Chart, at: Array, *, level_mm: float, pitch_mm: float) -> Lattice:
    """The field at every lattice point within a cube's diagonal of the surface at `level_mm`; `at` are the stations."""
    centre, axis = sweep.path.at(at)
    low, high = _bounds(sweep, centre, axis, level_mm + 2 * pitch_mm)
    size = 8 * pitch_mm
    counts = np.ceil((high - low) / size).astype(int)
    cells = np.array(np.meshgrid(*[np.arange(c) for c in counts], indexing="ij")).reshape(3, -1).T
    every = np.arange(len(at), dtype=np.int32)
    lists = [(cells, np.tile(every, len(cells)), np.full(len(cells), len(at)))]
    while True:
        near = np.sqrt(3.0) / 2 * (size - pitch_mm) + np.sqrt(3.0) * pitch_mm + _SLOP_MM
        fine = size <= pitch_mm * 1.0001
        found = [
            _narrowed(chart, centre, axis, low, size, level_mm, near, fine, *piece)
            for whole in lists
            for piece in _in_pieces(*whole)
        ]
        if fine:
            break
        lists = [(_halved(places), *_for_eight(stations, lengths)) for places, _, stations, lengths in found]
        size /= 2
    places = np.concatenate([f[0] for f in found])
    return Lattice(
        low_mm=low + pitch_mm / 2,
        pitch_mm=pitch_mm,
        shape=tuple(int(c) for c in counts * 8),  # type: ignore[arg-type]
        places=places,
        field_mm=np.concatenate([f[1] for f in found]),
        station=np.concatenate([f[2] for f in found]),
    )


def _bounds(sweep: Sweep, centre: Array, axis: Array, beyond_mm: float) -> tuple[Array, Array]:
    """A box around the solid at every station, widened."""
    ring = sweep.solid.profile.outline(1.0)
    flat = np.sqrt(np.maximum(1.0 - axis**2, 0.0))
    reach = ring[:, 0, None, None] * axis[None], ring[:, 1, None, None] * flat[None]
    low = (centre + (reach[0] - reach[1]).min(axis=0)).min(axis=0)
    high = (centre + (reach[0] + reach[1]).max(axis=0)).max(axis=0)
    return low - beyond_mm, high + beyond_mm


def _in_pieces(
    places: np.ndarray, stations: np.ndarray, lengths: np.ndarray
) -> list[tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """The same lists in pieces of a size that memory likes."""
    ends = np.cumsum(lengths)
    if len(ends) == 0 or ends[-1] <= _AT_ONCE:
        return [(places, stations, lengths)] if len(ends) else []
    cuts = np.searchsorted(ends, np.arange(_AT_ONCE, ends[-1], _AT_ONCE))
    bounds = np.unique(np.concatenate([[0], cuts, [len(places)]]))
    starts = np.concatenate([[0], ends])
    return [(places[a:b], stations[starts[a] : starts[b]], lengths[a:b]) for a, b in pairwise(bounds)]


def _narrowed(
    chart: Chart,
    centre: Array,
    axis: Array,
    low: Array,
    size: float,
    level_mm: float,
    near_mm: float,
    fine: bool,
    places: np.ndarray,
    stations: np.ndarray,
    lengths: np.ndarray,
) -> tuple[np.ndarray, ...]:
    """Keep the cells that the surface may pass, with the stations that may matter in each.

    Gives (places, stations, lengths), or at the end (places, field, nearest station).
    """
    cell = np.repeat(np.arange(len(places)), lengths)
    points = (low + (places + 0.5) * size)[cell]
    along, away, out = seen_from_hub(points, centre[stations], axis[stations])
    distance = chart.distance(along, away)
    starts = np.concatenate([[0], np.cumsum(lengths)[:-1]])
    least = np.minimum.reduceat(distance, starts)
    kept = np.abs(least - level_mm) <= near_mm
    first = np.flatnonzero(distance == least[cell])
    best = first[np.unique(cell[first], return_index=True)[1]]
    if fine:
        return places[kept], least[kept], stations[best][kept]
    across, off = chart.gradient(along, away)
    normal = across[:, None] * axis[stations] + off[:, None] * out
    reach = np.sqrt(3.0) / 2 * size
    apart = normal - normal[best][cell]
    turn = np.sqrt(np.einsum("ij,ij->i", apart, apart))
    slop = min(2 * reach, _SLOP_MM + reach * reach / 50.0)
    useful = kept[cell] & (distance - least[cell] <= turn * reach + slop) & (distance <= level_mm + near_mm + reach)
    useful[best] = kept
    counts = np.bincount(cell[useful], minlength=len(places))[kept]
    return places[kept], least[kept], stations[useful], counts


def _halved(places: np.ndarray) -> np.ndarray:
    halves: np.ndarray = (2 * places[:, None, :] + _CORNERS[None]).reshape(-1, 3)
    return halves


def _for_eight(stations: np.ndarray, lengths: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Each cell's list of stations, eight times over, cell by cell."""
    lengths8 = np.repeat(lengths, 8)
    starts = np.repeat(np.concatenate([[0], np.cumsum(lengths)[:-1]]), 8) if len(lengths) else lengths8
    ends = np.cumsum(lengths8)
    total = int(ends[-1]) if len(ends) else 0
    index = np.arange(total) - np.repeat(ends - lengths8, lengths8) + np.repeat(starts, lengths8)
    return stations[index], lengths8


def _sheets() -> tuple[np.ndarray, np.ndarray]:
    """For each pattern of signs: which sheet each of the twelve edges belongs to (-1: none), and how many there are."""
    sheet = np.full((256, 12), -1)
    number = np.zeros(256, dtype=int)
    number_of = {edge: i for i, edge in enumerate(_EDGES)}
    for pattern in range(256):
        inside = [bool(pattern >> c & 1) for c in range(8)]
        owner = {e: e for e, (a, b) in enumerate(_EDGES) if inside[a] != inside[b]}
        for one, other in _joined(inside, number_of):
            keep, drop = owner[one], owner[other]
            owner = {e: keep if o == drop else o for e, o in owner.items()}
        names = {o: i for i, o in enumerate(sorted(set(owner.values())))}
        for e, o in owner.items():
            sheet[pattern, e] = names[o]
        number[pattern] = len(names)
    return sheet, number


def _joined(inside: list[bool], number_of: dict[tuple[int, int], int]) -> list[tuple[int, int]]:
    """Pairs of crossed edges that the surface joins across a face of the cube."""
    pairs: list[tuple[int, int]] = []
    for direction in range(3):
        for side in (0, 1):
            b, c = 1 << (direction + 1) % 3, 1 << (direction + 2) % 3
            base = side << direction
            ring = [base, base | b, base | b | c, base | c]
            edges = [number_of[tuple(sorted((ring[i], ring[(i + 1) % 4])))] for i in range(4)]  # type: ignore[index]
            crossed = [i for i in range(4) if inside[ring[i]] != inside[ring[(i + 1) % 4]]]
            if len(crossed) == 2:
                pairs.append((edges[crossed[0]], edges[crossed[1]]))
            elif len(crossed) == 4:
                # two corners inside, diagonally: each is cut off by itself, on both sides of the face alike
                pairs += [(edges[i - 1], edges[i]) for i in range(4) if inside[ring[i]]]
    return pairs


def dual_mesh(lattice: Lattice, level_mm: float) -> tuple[Array, np.ndarray, np.ndarray]:
    """Vertices (v, 3), outward quadrilaterals (q, 4), and for each vertex the stations of its cube's corners (v, 8)."""
    index = np.full(lattice.shape, -1, dtype=np.int32)
    i, j, k = lattice.places.T
    index[i, j, k] = np.arange(len(lattice.places))
    limit = np.array(lattice.shape) - 1
    corner = np.full((len(lattice.places), 8), -1, dtype=np.int32)
    inner = np.all(lattice.places < limit, axis=1)
    for c, offset in enumerate(_CORNERS):
        p, q, r = (lattice.places[inner] + offset).T
        corner[inner, c] = index[p, q, r]
    whole = np.all(corner >= 0, axis=1)
    below = lattice.field_mm < level_mm
    pattern = (below[np.maximum(corner, 0)] * (1 << np.arange(8))).sum(axis=1)
    passed = whole & (pattern > 0) & (pattern < 255)
    cubes, corner, pattern = lattice.places[passed], corner[passed], pattern[passed]
    sheet, number = _sheets()
    first = np.concatenate([[0], np.cumsum(number[pattern])])
    total = np.zeros((int(first[-1]), 3))
    crossings = np.zeros(int(first[-1]))
    keys: list[np.ndarray] = []
    around: list[np.ndarray] = []
    vertex: list[np.ndarray] = []
    upward: list[np.ndarray] = []
    for e, (a, b) in enumerate(_EDGES):
        mine = np.flatnonzero(sheet[pattern, e] >= 0)
        if len(mine) == 0:
            continue
        fa, fb = lattice.field_mm[corner[mine, a]], lattice.field_mm[corner[mine, b]]
        share = np.clip((level_mm - fa) / (fb - fa), 0.0, 1.0)
        place = cubes[mine] + _CORNERS[a] + share[:, None] * (_CORNERS[b] - _CORNERS[a])
        at = first[mine] + sheet[pattern[mine], e]
        np.add.at(total, at, place)
        np.add.at(crossings, at, 1.0)
        direction = int(np.log2(a ^ b))
        start = cubes[mine] + _CORNERS[a]
        keys.append(np.ravel_multi_index(start.T, lattice.shape) * 3 + direction)
        offset = (-_CORNERS[a][(direction + 1) % 3], -_CORNERS[a][(direction + 2) % 3])
        around.append(np.full(len(mine), _RING.index((int(offset[0]), int(offset[1])))))
        vertex.append(at)
        upward.append(fa < level_mm)
    key = np.concatenate(keys)
    order = np.lexsort((np.concatenate(around), key))
    quads = np.concatenate(vertex)[order].reshape(-1, 4)
    outward = np.concatenate(upward)[order].reshape(-1, 4)[:, 0]
    quads[~outward] = quads[~outward][:, ::-1]
    vertices = lattice.low_mm + lattice.pitch_mm * total / crossings[:, None]
    nearby = np.repeat(lattice.station[corner], number[pattern], axis=0)
    return vertices, quads, nearby


def triangles_of(vertices: Array, quads: np.ndarray) -> np.ndarray:
    """Each quadrilateral cut along its shorter diagonal: faces (2 q, 3)."""
    a, b, c, d = (vertices[quads[:, i]] for i in range(4))
    shorter = np.linalg.norm(a - c, axis=1) <= np.linalg.norm(b - d, axis=1)
    one = np.where(shorter[:, None], quads[:, [0, 1, 2]], quads[:, [0, 1, 3]])
    two = np.where(shorter[:, None], quads[:, [0, 2, 3]], quads[:, [1, 2, 3]])
    return np.stack([one, two], axis=1).reshape(-1, 3)


def edges_of(faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The edges (e, 2), lower vertex first, and for each face (t, 3) its edges, the i-th opposite corner i + 2."""
    pairs = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    key = pairs[:, 0].astype(np.int64) * (int(faces.max()) + 1) + pairs[:, 1]
    _, first, inverse = np.unique(key, return_index=True, return_inverse=True)
    return pairs[first], inverse.reshape(3, -1).T


def is_closed(faces: np.ndarray) -> bool:
    """Is every edge shared by exactly two faces that run along it in opposite directions?"""
    half = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]).astype(np.int64)
    top = int(faces.max()) + 1
    forth, back = half[:, 0] * top + half[:, 1], half[:, 1] * top + half[:, 0]
    forth.sort()
    back.sort()
    return bool(np.all(forth[1:] != forth[:-1]) and np.array_equal(forth, back))


def split(faces: np.ndarray, face_edges: np.ndarray, middle: np.ndarray) -> np.ndarray:
    """Faces with some edges split at their new vertex; `middle` (e,) names it, or is -1.

    Every edge is split for both of its faces, so the mesh stays closed.
    """
    m = middle[face_edges]
    cut = m >= 0
    count = cut.sum(axis=1)
    out = [faces[count == 0]]
    # turn each face so that its pattern of cuts starts alike
    for pattern in (1, 2, 3):
        rows = np.flatnonzero(count == pattern)
        if len(rows) == 0:
            continue
        if pattern == 1:
            turn = np.argmax(cut[rows], axis=1)
        elif pattern == 2:
            turn = (np.argmin(cut[rows], axis=1) + 1) % 3
        else:
            turn = np.zeros(len(rows), dtype=int)
        at = (turn[:, None] + np.arange(3)) % 3
        f, n = faces[rows[:, None], at], m[rows[:, None], at]
        a, b, c = f.T
        ab, bc, ca = n.T
        if pattern == 1:
            new = [(a, ab, c), (ab, b, c)]
        elif pattern == 2:
            new = [(ab, b, bc), (a, ab, c), (ab, bc, c)]
        else:
            new = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
        out += [np.column_stack(corners) for corners in new]
    return np.concatenate(out)
