"""Squares of the half plane (y, r): which of them convex polygons touch, taken and reached ones, and their edge.

* run  - squares side by side in one row
* edge - taken squares beside one that is not

Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.pose import Array

CELL_MM = 0.5
"""The side of a square."""
BLOCK = 10
"""So many squares make the side of a block."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The part of the half plane that matters: along the axis from `low_mm` to `high_mm`, out to `far_mm` from it."""

    low_mm: float
    high_mm: float
    far_mm: float
    margin_mm: float
    """How much further that is than any wheel."""

    @property
    def inner_low_mm(self) -> float:
        """Where the wheels begin."""
        return self.low_mm + self.margin_mm

    @property
    def inner_high_mm(self) -> float:
        """Where the wheels end."""
        return self.high_mm - self.margin_mm

    @property
    def inner_far_mm(self) -> float:
        """The largest wheel's radius."""
        return self.far_mm - self.margin_mm

    def misses(self, reach: Array) -> np.ndarray:
        """Which of some bounds (n, 4: least y, least r, greatest y, greatest r) lie outside."""
        outside: np.ndarray = (reach[:, 2] < self.low_mm) | (reach[:, 0] > self.high_mm) | (reach[:, 1] > self.far_mm)
        return outside


class Squares:
    """Squares of the window, taken or not, a row for each step of r."""

    def __init__(self, window: Window) -> None:
        self.window, self.low = window, window.low_mm
        self.columns = int(np.ceil((window.high_mm - window.low_mm) / CELL_MM)) + 1
        self.rows = int(np.ceil(window.far_mm / CELL_MM)) + 1
        self.taken = np.zeros((self.rows, self.columns), dtype=bool)
        """Held to be reached by some box: these hold the part."""
        self.reached = np.zeros((self.rows, self.columns), dtype=bool)
        """Reached for certain, or nearly: what boxes are compared with. It steers and proves nothing."""
        self._beside = np.zeros_like(self.reached)
        self._bounds = (self.rows, -1, self.columns, -1)
        """Of what is reached: first and last row, first and last column."""
        self._edge: np.ndarray | None = None

    def runs(self, rings: Array, less_mm: Array | float = 0.0) -> Runs:
        """The runs of squares that convex polygons (n, c, 2) touch within the window; (their ends drawn in)."""
        low_r, high_r = rings[:, :, 1].min(axis=1) + less_mm, rings[:, :, 1].max(axis=1) - less_mm
        first = np.clip(np.floor(low_r / CELL_MM).astype(np.int64), 0, self.rows)
        last = np.clip(np.floor(high_r / CELL_MM).astype(np.int64), -1, self.rows - 1)
        count = np.maximum(last - first + 1, 0)
        owner = np.repeat(np.arange(len(rings)), count)
        row = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count) + first[owner]
        low, high = _within_strips(rings, first, last, np.cumsum(count) - count, len(owner))
        less = np.broadcast_to(less_mm, (len(rings),))[owner]
        left = np.floor((low + less - self.low) / CELL_MM)
        right = np.floor((high - less - self.low) / CELL_MM)
        seen = (right >= 0) & (left <= self.columns - 1) & (right >= left)
        left = np.clip(left[seen], 0, self.columns - 1).astype(np.int64)
        right = np.clip(right[seen], 0, self.columns - 1).astype(np.int64)
        return Runs(owner=owner[seen], row=row[seen], left=left, right=right)

    def take(self, runs: Runs) -> None:
        """Take the squares of runs."""
        self._mark(self.taken, runs)

    def reach(self, runs: Runs) -> None:
        """The squares of runs are reached."""
        if len(runs.row):
            self._mark(self.reached, runs)
            self._bound(runs.row.min(), runs.row.max(), runs.left.min(), runs.right.max())

    def _bound(self, *found: int) -> None:
        (top, end, left, right), (a, b, c, d) = self._bounds, found
        self._bounds = (min(top, int(a)), max(end, int(b)), min(left, int(c)), max(right, int(d)))

    def _mark(self, squares: np.ndarray, runs: Runs) -> None:
        if not len(runs.row):
            return
        # the rows and columns that the runs lie in, and no more: most parts lie in few of them
        top, left = runs.row.min(), runs.left.min()
        high, wide = int(runs.row.max() - top + 1), int(runs.right.max() - left + 2)
        begin = (runs.row - top) * wide - left
        steps = np.bincount(begin + runs.left, minlength=high * wide)
        steps -= np.bincount(begin + runs.right + 1, minlength=high * wide)
        covered = np.cumsum(steps.reshape(high, wide), axis=1, dtype=np.int32)[:, :-1] > 0
        squares[top : top + high, left : left + wide - 1] |= covered

    def reach_at(self, places: Array) -> None:
        """The squares of places (n, 2) are reached."""
        row, column, inside = self._of(places)
        row, column = row[inside], column[inside]
        if len(row):
            self.reached[row, column] = True
            self._bound(row.min(), row.max(), column.min(), column.max())

    def holds(self, squares: np.ndarray, places: Array) -> np.ndarray:
        """Which places (..., 2) lie in some squares, or outside of the window."""
        row, column, inside = self._of(places)
        found: np.ndarray = ~inside
        found[inside] = squares[row[inside], column[inside]]
        return found

    def beside(self) -> np.ndarray:
        """Squares that are reached, or lie beside one."""
        top, end, left, right = self._bounds
        some = (slice(max(top - 1, 0), end + 2), slice(max(left - 1, 0), right + 2))
        self._beside[some] = _wider(self.reached[some])
        return self._beside

    def takes(self, places: Array) -> np.ndarray:
        """Which places (n, 2) lie in a taken square."""
        row, column, inside = self._of(places)
        found: np.ndarray = inside.copy()
        found[inside] = self.taken[row[inside], column[inside]]
        return found

    def _of(self, places: Array) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        column = np.floor((places[..., 0] - self.low) / CELL_MM).astype(np.int64)
        row = np.floor(places[..., 1] / CELL_MM).astype(np.int64)
        return row, column, (row >= 0) & (row < self.rows) & (column >= 0) & (column < self.columns)

    def held(self, runs: Runs, count: int, beside: np.ndarray) -> np.ndarray:
        """Which of so many polygons touch no other squares than these."""
        if not len(runs.row):
            return np.ones(count, dtype=bool)
        top, left = runs.row.min(), runs.left.min()
        own = beside[top : runs.row.max() + 1, left : runs.right.max() + 1]
        sums = np.zeros((own.shape[0], own.shape[1] + 1), dtype=np.int32)
        np.cumsum(own, axis=1, out=sums[:, 1:], dtype=np.int32)
        row = runs.row - top
        full = sums[row, runs.right + 1 - left] - sums[row, runs.left - left] == runs.right - runs.left + 1
        held: np.ndarray = np.bincount(runs.owner, weights=~full, minlength=count) == 0
        return held

    def along_edge(self) -> Array:
        """(m, 2): the middles of taken squares that have one beside them that is not."""
        return self._middles(self.edge, CELL_MM)

    @property
    def edge(self) -> np.ndarray:
        """Which squares these are."""
        if self._edge is None:
            full = self.taken.copy()
            full[1:] &= self.taken[:-1]
            full[:-1] &= self.taken[1:]
            full[:, 1:] &= self.taken[:, :-1]
            full[:, :-1] &= self.taken[:, 1:]
            self._edge = np.asarray(self.taken & ~full)
        return self._edge

    def blocks(self) -> Array:
        """(j, 2): middles of blocks of squares that hold every taken one."""
        high, wide = -(-self.rows // BLOCK), -(-self.columns // BLOCK)
        padded = np.zeros((high * BLOCK, wide * BLOCK), dtype=bool)
        padded[: self.rows, : self.columns] = self.taken
        some = np.asarray(padded.reshape(high, BLOCK, wide, BLOCK).any(axis=(1, 3)))
        return self._middles(some, CELL_MM * BLOCK)

    def _middles(self, which: np.ndarray, side: float) -> Array:
        row, column = np.nonzero(which)
        return np.column_stack([self.low + (column + 0.5) * side, (row + 0.5) * side])

    def near_edge(self, places: Array) -> np.ndarray:
        """Which places (n, 2) lie in or beside a square of the edge."""
        wide = _wider(_wider(_wider(self.edge)))
        row, column, inside = self._of(places)
        found: np.ndarray = inside.copy()
        found[inside] = wide[row[inside], column[inside]]
        return found


def _wider(squares: np.ndarray) -> np.ndarray:
    """These squares and the eight about each."""
    wide = squares.copy()
    wide[1:] |= squares[:-1]
    wide[:-1] |= squares[1:]
    rows = wide.copy()
    wide[:, 1:] |= rows[:, :-1]
    wide[:, :-1] |= rows[:, 1:]
    return wide


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Runs:
    """Runs of squares within rows: whose, which row, from which to which column."""

    owner: np.ndarray
    row: np.ndarray
    left: np.ndarray
    right: np.ndarray

    def of(self, which: np.ndarray) -> Runs:
        """Those of some polygons alone."""
        kept = which[self.owner]
        return Runs(owner=self.owner[kept], row=self.row[kept], left=self.left[kept], right=self.right[kept])


def _within_strips(
    rings: Array, first: np.ndarray, last: np.ndarray, begin: np.ndarray, count: int
) -> tuple[Array, Array]:
    """Least and greatest y of convex polygons (n, c, 2) within rows `first` to `last` of squares.

    Those of each polygon stand from `begin` on in what is given.
    """
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    r = rings[:, :, 1]
    least, most = np.minimum(r[:, :-1], r[:, 1:]), np.maximum(r[:, :-1], r[:, 1:])
    # a hair further, so that no side is lost between two rows
    from_row = np.maximum(np.floor(least / CELL_MM - 1e-6).astype(np.int64), first[:, None])
    to_row = np.minimum(np.floor(most / CELL_MM + 1e-6).astype(np.int64), last[:, None])
    each = np.maximum(to_row - from_row + 1, 0).ravel()

    def spread(of_sides: np.ndarray) -> np.ndarray:
        return np.repeat(of_sides.ravel(), each)

    number = np.arange(each.sum())
    row = number + np.repeat(from_row.ravel() - (np.cumsum(each) - each), each)
    at = row + spread(np.broadcast_to((begin - first)[:, None], from_row.shape))
    rise, run = np.diff(r, axis=1), np.diff(rings[:, :, 0], axis=1)
    level = np.abs(rise) < 1e-9
    y0, r0, run, safe = (spread(one) for one in (rings[:, :-1, 0], r[:, :-1], run, np.where(level, 1.0, rise)))
    one, other = ((row * CELL_MM - r0) / safe, ((row + 1) * CELL_MM - r0) / safe)
    flat = spread(level)
    one[flat], other[flat] = 0.0, 1.0
    ya, yb = (y0 + np.minimum(np.maximum(part, 0.0), 1.0) * run for part in (one, other))
    np.minimum.at(low, at, np.minimum(ya, yb))
    np.maximum.at(high, at, np.maximum(ya, yb))
    # a little more, for what is rounded on the way
    return low - 1e-6, high + 1e-6
