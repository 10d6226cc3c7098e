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

from clearance.geom.mesh import edges_of, pieces
from clearance.geom.places import each_once


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
    faces = faces[np.sort(each_once(np.sort(faces, axis=1))[0])]
    near, far, same_way = _joined(faces)
    over = _turned_over(len(faces), near, far, same_way)
    alike = (over[near // 3] ^ over[far // 3]) == same_way
    near, far, same_way = near[alike], far[alike], same_way[alike]
    _, piece = pieces(len(faces), near // 3, far // 3)
    begun, ended = np.where(same_way, far, _following(far)), np.where(same_way, _following(far), far)
    first, corner = pieces(faces.size, np.concatenate([near, _following(near)]), np.concatenate([begun, ended]))
    number, corner = faces.ravel()[first], corner.reshape(-1, 3)
    corner[over] = corner[over][:, ::-1]
    found = []
    for rows in _by_label(piece):
        used, local = np.unique(corner[rows], return_inverse=True)
        found.append(Sheet(vertices=number[used], faces=local.reshape(-1, 3)))
    return found


def _joined(faces: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of every edge of just two triangles: the corner at which the side of each begins, as a number in `faces.ravel()`,
    and whether they run along it the same way.
    """
    _, sides = edges_of(faces)
    order = np.argsort(sides.ravel(), kind="stable")
    count = np.bincount(sides.ravel())
    begin = (np.cumsum(count) - count)[count == 2]
    near, far = order[begin], order[begin + 1]
    flat = faces.ravel()
    return near, far, flat[near] == flat[far]


def _following(corner: np.ndarray) -> np.ndarray:
    """The next corner of each corner's triangle."""
    following: np.ndarray = corner - corner % 3 + (corner + 1) % 3
    return following


def _turned_over(count: int, near: np.ndarray, far: np.ndarray, same_way: np.ndarray) -> np.ndarray:
    """Which triangles to turn over so that neighbours lie alike, going outward from each piece's first."""
    over = np.zeros(count, dtype=bool)
    if not same_way.any():
        return over
    beside, turns = np.full((count, 3), -1), np.zeros((count, 3), dtype=bool)
    for here, there in ((near, far), (far, near)):
        beside[here // 3, here % 3] = there // 3
        turns[here // 3, here % 3] = same_way
    reached, _ = pieces(count, near // 3, far // 3)
    met = np.zeros(count, dtype=bool)
    met[reached] = True
    while len(reached):
        row, side = np.nonzero((beside[reached] >= 0) & ~met[beside[reached]])
        face, before = beside[reached[row], side], reached[row]
        # two that were reached may have one neighbour: the first of them says how it lies
        face, first = np.unique(face, return_index=True)
        over[face] = over[before[first]] ^ turns[before, side][first]
        met[face] = True
        reached = face
    return over


def _by_label(label: np.ndarray) -> list[np.ndarray]:
    order = np.argsort(label, kind="stable")
    return list(np.split(order, np.flatnonzero(np.diff(label[order])) + 1))
