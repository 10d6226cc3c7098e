"""Triangle meshes by whole arrays: their edges, whether they close, and how to cut them finer.

* edge - two vertices, the lower number first
* side - the i-th edge of a face runs from its corner i to corner i + 1

Faces are (t, 3) whole numbers, turned outward.
"""

from __future__ import annotations

import numpy as np


def edges_of(faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The edges (e, 2), lower vertex first and sorted, and for each face (t, 3) its sides."""
    one = np.concatenate([faces[:, 0], faces[:, 1], faces[:, 2]])
    other = np.concatenate([faces[:, 1], faces[:, 2], faces[:, 0]])
    pairs = np.column_stack([np.minimum(one, other), np.maximum(one, other)])
    key = pairs[:, 0].astype(np.int64) * (int(faces.max()) + 1) + pairs[:, 1]
    # the two sides of an edge are alike here, whichever comes first
    order = np.argsort(key)
    lined = key[order]
    new = np.empty(len(key), dtype=bool)
    new[:1] = True
    np.not_equal(lined[1:], lined[:-1], out=new[1:])
    inverse = np.empty(len(key), dtype=np.intp)
    inverse[order] = np.cumsum(new) - 1
    return pairs[order[new]], inverse.reshape(3, -1).T


def is_closed(faces: np.ndarray) -> bool:
    """Is every edge shared by exactly two faces that run along it in opposite directions?"""
    half = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]).astype(np.int64)
    top = int(faces.max()) + 1
    forth, back = half[:, 0] * top + half[:, 1], half[:, 1] * top + half[:, 0]
    forth.sort()
    back.sort()
    return bool(np.all(forth[1:] != forth[:-1]) and np.array_equal(forth, back))


def pieces(count: int, one: np.ndarray, other: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The first (p,) of each piece, rising, and which piece each of so many (count,) belongs to, where these pairs hang
    together.
    """
    lowest = np.arange(count)
    while True:
        ends = lowest[one], lowest[other]
        apart = ends[0] != ends[1]
        if not apart.any():
            break
        one, other = one[apart], other[apart]
        low, high = np.minimum(*ends)[apart], np.maximum(*ends)[apart]
        np.minimum.at(lowest, high, low)
        # each looks up the lowest of the one that it hangs on, until that is lowest itself
        while not np.array_equal(lowest, further := lowest[lowest]):
            lowest = further
    first = np.flatnonzero(lowest == np.arange(count))
    number = np.zeros(count, dtype=np.intp)
    number[first] = np.arange(len(first))
    return first, number[lowest]


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
