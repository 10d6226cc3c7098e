"""Bays: pieces missing from a scanned well from its outside in, which no rim goes round.

Seen from the axle a well is a sky: along every line round the axle, at one distance outboard, the scan stands somewhere
or nowhere. Where a line has the scan ahead and behind but not between, something was not scanned there: a hole has a
rim of its own and is found by it; what reaches the scan's outside has none, and is found here.

* row  - cells side by side round the axle, at one distance outboard of the hub face
* sky  - which cells hold anything of the scan; straight down there is only the road
* bay  - cells that hang together, each with the scan on both sides of it in its row

A mesh that is no well, a bracket or a rail, covers little of its rows and has no bays. Lengths are millimetres, angles
from straight down, positive ahead.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import numpy.typing as npt

from clearance.pose import Array, read_only
from clearance.well.blocks import in_blocks
from clearance.well.part import Hole
from clearance.well.scan_holes import MOST_OUT_MM

Truth = npt.NDArray[np.bool_]

_NEAR_MM, _FAR_MM = 150.0, 700.0
"""A well's sheet is no nearer to the axle, and no further, on anything that rolls on a road."""
_INBOARD_MM, _OUTBOARD_MM = -450.0, 250.0
_CELL_MM, _LARGEST_CELL_MM = 12.0, 40.0
_CELL_EDGES = 1.5
"""A cell is at least this many sides of a triangle across."""
_ABOUT_MM = 400.0
"""The radius at which a cell is as long round the axle as it is wide."""
_LEAST_CELLS = 4
"""A gap in a row of fewer cells is a matter of where the points lie."""
_LEAST_SPAN_DEG = 120.0
_LEAST_COVERED = 0.5
"""A row that is a well's spans this much and holds this share of it."""
_MOST_SAMPLES = 4_000_000


def bays_of(triangles_mm: Array, holes: Sequence[Hole]) -> tuple[Hole, ...]:
    """The bays of a scan in corner axes (n, 3, 3) that none of its holes already stands for."""
    sides = np.empty(len(triangles_mm))
    for some in in_blocks(len(triangles_mm)):
        own = triangles_mm[some]
        sides[some] = np.linalg.norm(np.roll(own, -1, axis=1) - own, axis=2).max(axis=1)
    cell = float(np.clip(_CELL_EDGES * np.median(sides), _CELL_MM, _LARGEST_CELL_MM))
    sky = _Sky(_samples(triangles_mm, sides, cell), cell)
    missing = sky.missing()
    if not missing.any():
        return ()
    from scipy.ndimage import label

    labels, count = label(missing)
    found = [sky.bay(labels == which) for which in range(1, count + 1)]
    return tuple(bay for bay in found if bay is not None and not any(_stands_for(hole, bay) for hole in holes))


def _stands_for(hole: Hole, bay: Hole) -> bool:
    low, high = bay.triangles_mm.min(axis=(0, 1)), bay.triangles_mm.max(axis=(0, 1))
    room = bay.stands_out_mm
    return bool(np.all(hole.middle_mm >= low - room) and np.all(hole.middle_mm <= high + room))


def _samples(triangles_mm: Array, sides: Array, cell: float) -> Iterator[Array]:
    """Points (m, 3) of the surface, no triangle's further apart than half a cell where that can be afforded."""
    for some in in_blocks(len(triangles_mm)):
        yield triangles_mm[some].reshape(-1, 3)
        yield triangles_mm[some].mean(axis=1)
    large = triangles_mm[sides > cell]
    count = min(int(np.ceil(2 * sides.max() / cell)), int(np.sqrt(2 * _MOST_SAMPLES / max(len(large), 1))))
    if len(large) and count > 1:
        i, j = np.meshgrid(np.arange(count + 1), np.arange(count + 1), indexing="ij")
        inside = i + j <= count
        weights = np.stack([i[inside], j[inside], count - i[inside] - j[inside]], axis=1) / count
        yield np.einsum("mk,nkj->nmj", weights, large).reshape(-1, 3)


class _Sky:
    """What of a scan is seen from the axle, cell by cell: rows outboard, columns round the axle."""

    def __init__(self, samples: Iterable[Array], cell: float) -> None:
        self.cell = cell
        self.columns = int(np.ceil(2 * np.pi * _ABOUT_MM / cell))
        self.rows = int(np.ceil((_OUTBOARD_MM - _INBOARD_MM) / cell))
        self.radius = np.full((self.rows, self.columns), np.inf)
        for points in samples:
            self._see(points)
        self.covered: Truth = np.isfinite(self.radius)

    def _see(self, points: Array) -> None:
        """Points (m, 3) put into the cells that they are seen in."""
        radius = np.hypot(points[:, 0], points[:, 2])
        near = (radius > _NEAR_MM) & (radius < _FAR_MM)
        near &= (points[:, 1] > _INBOARD_MM) & (points[:, 1] < _OUTBOARD_MM)
        around = np.arctan2(points[near, 0], -points[near, 2]) % (2 * np.pi)
        column = np.minimum((around / (2 * np.pi) * self.columns).astype(int), self.columns - 1)
        row = np.minimum(((points[near, 1] - _INBOARD_MM) / self.cell).astype(int), self.rows - 1)
        np.minimum.at(self.radius, (row, column), radius[near])

    def missing(self) -> Truth:
        """Cells that hold nothing, with the scan on both sides of them in a row that is a well's."""
        missing = np.zeros_like(self.covered)
        least = _LEAST_SPAN_DEG / 360.0 * self.columns
        for row in np.flatnonzero(self.covered.sum(axis=1) > _LEAST_COVERED * least):
            held = np.flatnonzero(self.covered[row])
            span = held[-1] - held[0] + 1
            if span < least or len(held) < _LEAST_COVERED * span:
                continue
            for start, end in itertools.pairwise(held):
                if end - start - 1 >= _LEAST_CELLS:
                    missing[row, start + 1 : end] = True
        return missing

    def bay(self, cells: Truth) -> Hole | None:
        """The bay that some cells make; None where one row alone does."""
        rows = np.flatnonzero(cells.any(axis=1))
        if len(rows) < 2:
            return None
        edges = [self._across(int(row), cells[row]) for row in rows]
        strips = [np.stack([one, other], axis=1) for one, other in itertools.pairwise(edges)]
        triangles = np.concatenate([_strip(strip) for strip in strips])
        long = max(float(np.linalg.norm(np.diff(edge, axis=0), axis=1).sum()) for edge in edges)
        wide = len(rows) * self.cell
        sizes = np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1)
        return Hole(
            triangles_mm=read_only(triangles),
            across_mm=(max(long, wide), min(long, wide)),
            area_mm2=float(sizes.sum()) / 2,
            middle_mm=read_only(edges[len(edges) // 2][_POINTS // 2]),
            stands_out_mm=min(min(long, wide) / 2, MOST_OUT_MM),
            uneven_mm=self.cell,
            bay=True,
        )

    def _across(self, row: int, cells: Truth) -> Array:
        """Points (n, 3) from the scan on one side of a row's missing cells to the scan on the other."""
        column = np.flatnonzero(cells)
        first, last = int(column[0]) - 1, int(column[-1]) + 1
        around = np.linspace(first + 0.5, last + 0.5, _POINTS) / self.columns * 2 * np.pi
        radius = np.linspace(self.radius[row, first], self.radius[row, last], _POINTS)
        y = _INBOARD_MM + (row + 0.5) * self.cell
        return np.stack([radius * np.sin(around), np.full(_POINTS, y), -radius * np.cos(around)], axis=1)


_POINTS = 13


def _strip(pair: Array) -> Array:
    """The triangles between two rows of points, (n, 2, 3)."""
    a, b, c, d = pair[:-1, 0], pair[1:, 0], pair[1:, 1], pair[:-1, 1]
    return np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
