"""A cut line that a hand can follow: the noise of a scan taken out of it, and never on the side that is too near.

* raw line  - where a value at the corners of a mesh, straight between them, is zero; above zero must go
* fair line - where another value is zero, smoother over the mesh, that is nowhere less than zero where the raw one is
              not: whatever has to go by the raw line goes by the fair one too
* off       - the furthest that a place of the fair line lies from the raw line

The raw line is first seen from afar: each corner's distance to it, signed. That is averaged with its neighbours' over
and over, and lifted each time where it fell below what has to go, so that it is drawn tight over the outermost tips of
the noise and bridges the bays between them. A last few averages take off the kinks at the tips; what they cost there is
given back, smoothly. Lengths are millimetres.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from clearance.pose import Array

FAIR_MM = 30.0
"""Waves of the raw line shorter than about this are taken out: what a saw or a grinder follows is longer."""
_LAST = 0.2
"""Share of the averages that come last, unlifted."""
_MOST_TURNS = 400
_HAIR_MM = 1e-6


def fair_value(vertices: Array, faces: npt.NDArray[np.int64], value: Array, ends: Array) -> Array:
    """(v,): a value that is zero on the fair line, for corners (v, 3) of a mesh with a value (v,) and the straight ends
    (s, 2, 3) of its raw line.

    It is above zero at every corner where the value given is, and nowhere below zero on the raw line.
    """
    from scipy.spatial import cKDTree

    sides = _sides(faces)
    length = np.linalg.norm(vertices[sides[:, 0]] - vertices[sides[:, 1]], axis=1)
    mean = _averaging(len(vertices), sides, length)
    step = float(np.median(length))
    far = cKDTree(_along(ends, step)).query(vertices)[0]
    signed = np.where(value > 0.0, far, -far)
    turns = int(np.clip(round((FAIR_MM / step) ** 2), 5, _MOST_TURNS))
    fair = signed
    for _ in range(turns):
        # an average of distances is never far off near the line, and far from it nothing is asked
        fair = np.where(value > 0.0, np.maximum(mean @ fair, signed), np.maximum(mean @ fair, -far))
    for _ in range(max(1, round(_LAST * turns))):
        fair = mean @ fair
    rings = max(1, round(FAIR_MM / step))
    return np.asarray(fair + _lifted(sides, mean, _lacking(sides, value, fair), rings) + _HAIR_MM)


def off_mm(line: Array, ends: Array) -> float:
    """The furthest that a place of a line (n, 3) lies from the raw line with these straight ends (s, 2, 3)."""
    from scipy.spatial import cKDTree

    return float(cKDTree(_along(ends, 1.0)).query(line)[0].max(initial=0.0))


def _sides(faces: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """(e, 2): every side of the mesh once."""
    both = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    found: npt.NDArray[np.int64] = np.unique(np.sort(both, axis=1), axis=0)
    return found


def _averaging(count: int, sides: npt.NDArray[np.int64], length: Array) -> Any:
    """A sparse matrix: half of a corner's own value and half of its neighbours', the near ones counting more."""
    from scipy.sparse import coo_matrix, diags, identity

    weight = 1.0 / np.maximum(length, 1e-3)
    rows, columns = np.concatenate([sides[:, 0], sides[:, 1]]), np.concatenate([sides[:, 1], sides[:, 0]])
    near = coo_matrix((np.concatenate([weight, weight]), (rows, columns)), shape=(count, count)).tocsr()
    total = np.asarray(near.sum(axis=1)).ravel()
    alone = total <= 0.0
    near = diags(np.where(alone, 0.0, 1.0 / np.where(alone, 1.0, total))) @ near
    return 0.5 * (near + identity(count) + diags(alone.astype(float)))


def _along(ends: Array, step_mm: float) -> Array:
    """Places along straight ends (s, 2, 3), none further apart than a step."""
    start, way = ends[:, 0], ends[:, 1] - ends[:, 0]
    count = np.ceil(np.linalg.norm(way, axis=1) / step_mm).astype(int) + 1
    which = np.repeat(np.arange(len(ends)), count)
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    share = (np.arange(len(which)) - first[which]) / np.maximum(count[which] - 1, 1)
    found: Array = start[which] + share[:, None] * way[which]
    return found


def _lifted(sides: npt.NDArray[np.int64], mean: Any, lacks: Array, rings: int) -> Array:
    """(v,): nowhere less than what is lacking, and smooth: the most within so many sides, averaged so many times."""
    most = lacks
    for _ in range(rings):
        wider = most.copy()
        np.maximum.at(wider, sides[:, 0], most[sides[:, 1]])
        np.maximum.at(wider, sides[:, 1], most[sides[:, 0]])
        most = wider
    for _ in range(rings):
        most = mean @ most
    return most


def _lacking(sides: npt.NDArray[np.int64], value: Array, fair: Array) -> Array:
    """(v,): by how much a value falls below zero where it may not: at corners that must go, and on the raw line, where
    a side of the mesh crosses it. In a triangle both are straight, so between these it falls below by no more.
    """
    lacks = np.where(value > 0.0, np.maximum(-fair, 0.0), 0.0)
    a, b = value[sides[:, 0]], value[sides[:, 1]]
    crossed = sides[(a > 0.0) != (b > 0.0)]
    a, b = value[crossed[:, 0]], value[crossed[:, 1]]
    share = np.clip(a / (a - b), 0.0, 1.0)
    short = np.maximum(-(fair[crossed[:, 0]] * (1.0 - share) + fair[crossed[:, 1]] * share), 0.0)
    for end in (0, 1):
        np.maximum.at(lacks, crossed[:, end], short)
    return lacks
