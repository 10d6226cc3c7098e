"""A patch's triangles as sheets: each hangs together across its edges, lies one way up all over, and can be closed.

A mesh in the world has triangles twice, three of them on one edge, corners where two flaps meet at a point, and some
turned over. None of that bounds a body. So a patch is cut where it is no sheet:

* joined - two triangles on an edge that has no third
* corner - one corner of one triangle; corners that meet across joined edges are one vertex of a sheet, others are not
* over   - a triangle turned over, so that it runs along each joined edge against its neighbour; where that cannot be,
           as on a band with a twist, the edge is cut

Faces are (t, 3) whole numbers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.geom.mesh import edges_of


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """Triangles that hang together: vertices of the mesh that they came from, and faces of these."""

    vertices: np.ndarray
    """(v,): numbers in the mesh; one that two flaps share stands twice."""
    faces: np.ndarray
    """(t, 3): numbers in `vertices`, turned alike."""

    @property
    def closed(self) -> bool:
        """Whether it has no border."""
        _, sides = edges_of(self.faces)
        return bool(np.all(np.bincount(sides.ravel()) == 2))


def sheets_of(faces: np.ndarray) -> list[Sheet]:
    """Every sheet of a mesh, in the order of their first triangles."""
    if len(faces) == 0:
        return []
    _, first = np.unique(np.sort(faces, axis=1), axis=0, return_index=True)
    faces = faces[np.sort(first)]
    one, other, joins, same_way = _joined(faces)
    over = _turned_over(len(faces), one, other, same_way)
    alike = (over[one] ^ over[other]) == same_way
    piece = _pieces(len(faces), one[alike], other[alike])
    corner = _pieces(3 * len(faces), joins[alike][:, :, 0].ravel(), joins[alike][:, :, 1].ravel()).reshape(-1, 3)
    number = faces.ravel()[np.unique(corner.ravel(), return_index=True)[1]]
    corner[over] = corner[over][:, ::-1]
    found = []
    for rows in _by_label(piece):
        used, local = np.unique(corner[rows], return_inverse=True)
        found.append(Sheet(vertices=number[used], faces=local.reshape(-1, 3)))
    return found


def _joined(faces: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Of every edge of just two triangles: both of them, their corners that meet (e, 2, 2), and whether they run along
    it the same way.
    """
    _, sides = edges_of(faces)
    order = np.argsort(sides.ravel(), kind="stable")
    count = np.bincount(sides.ravel())
    begin = (np.cumsum(count) - count)[count == 2]
    a, b = order[begin], order[begin + 1]
    one, other = a // 3, b // 3
    ends = [(face * 3 + side, face * 3 + (side + 1) % 3) for face, side in ((one, a % 3), (other, b % 3))]
    flat = faces.ravel()
    same_way: np.ndarray = flat[ends[0][0]] == flat[ends[1][0]]
    met = [np.where(same_way, ends[1][k], ends[1][1 - k]) for k in (0, 1)]
    joins = np.stack([np.column_stack([ends[0][k], met[k]]) for k in (0, 1)], axis=1)
    return one, other, joins, same_way


def _turned_over(count: int, one: np.ndarray, other: np.ndarray, same_way: np.ndarray) -> np.ndarray:
    """Which triangles to turn over so that neighbours lie alike, going from each piece's first to its last."""
    over = np.zeros(count, dtype=bool)
    if not same_way.any():
        return over
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order

    kind = np.where(same_way, 2, 1)
    both = np.concatenate([one, other]), np.concatenate([other, one])
    graph = coo_array((np.concatenate([kind, kind]), both), shape=(count, count)).tocsr()
    for rows in _by_label(_pieces(count, one, other)):
        order, before = breadth_first_order(graph, int(rows[0]), directed=False)
        steps = np.asarray(graph[before[order[1:]], order[1:]]).ravel() >= 2
        for face, step in zip(order[1:], steps, strict=True):
            over[face] = over[before[face]] ^ bool(step)
    return over


def _pieces(count: int, one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """(count,): which piece each belongs to, where these pairs hang together."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((np.ones(len(one), dtype=np.int8), (one, other)), shape=(count, count))
    label: np.ndarray = connected_components(graph, directed=False)[1]
    return label


def _by_label(label: np.ndarray) -> list[np.ndarray]:
    order = np.argsort(label, kind="stable")
    return list(np.split(order, np.flatnonzero(np.diff(label[order])) + 1))
