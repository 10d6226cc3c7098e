"""Which elements of an outline can be the nearest to a place of the half plane: a table by small squares.

No distance changes faster than the place does. So an element that is further from the middle of a square than the
nearest one by more than the square is across is the nearest to no place in it. In nearly every square one element is
left, or two; only these need to be asked. What is found is what asking all of them finds, to the last digit.

Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from clearance.geom.profile import Array

ENOUGH = 40_000
"""After so many places have been asked a table pays."""
_SIDE_MM = 3.0
_AROUND_MM = 300.0
"""How far about the outline the table goes."""
_MOST = 200_000
"""Squares of one table; a larger outline has larger ones."""
_ROUNDING_MM = 1e-6
_ALONE, _OPEN = -1, -2
"""In place of a second element: there is none; there are more, or the place is off the table."""


class Cells:
    """The squares about an outline, each with the elements that can be nearest in it."""

    def __init__(self, ends: Array, elements: int, distances: Callable[[Array, Array], Array]) -> None:
        """`ends` (m, 2) are places of the outline; `distances` gives (elements, n) for places (n,), (n,)."""
        (low_y, _), (high_y, high_r) = ends.min(axis=0), ends.max(axis=0)
        wide, high = high_y - low_y + 2.0 * _AROUND_MM, high_r + _AROUND_MM
        self._side = max(_SIDE_MM, float(np.sqrt(wide * high / _MOST)))
        self._low_y = float(low_y) - _AROUND_MM
        self._across, self._up = int(wide / self._side), int(high / self._side)
        y, r = np.meshgrid(np.arange(self._across) + 0.5, np.arange(self._up) + 0.5, indexing="ij")
        y, r = self._low_y + self._side * y.ravel(), self._side * r.ravel()
        # the last square is all that lies off the table
        self._first = np.zeros(len(y) + 1, dtype=np.int16)
        self._second = np.full(len(y) + 1, _OPEN, dtype=np.int16)
        step = max(64, 32_000 // max(1, elements))
        for at in range(0, len(y), step):
            rows = slice(at, min(at + step, len(y)))
            self._first[rows], self._second[rows] = self._left(distances(y[rows], r[rows]))

    def _left(self, distance: Array) -> tuple[np.ndarray, np.ndarray]:
        """Of (elements, n): the first that can be nearest, and the second or what stands for it."""
        can = distance <= distance.min(axis=0) + (np.sqrt(2.0) * self._side + _ROUNDING_MM)
        count = can.sum(axis=0)
        first, last = can.argmax(axis=0), len(can) - 1 - can[::-1].argmax(axis=0)
        return first, np.where(count == 1, _ALONE, np.where(count == 2, last, _OPEN))

    def of(self, y: Array, r: Array) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """For places (n,), (n,): the first element, the second (below 0 where there is none), and the rows that are
        open, where all must be asked."""
        across = np.floor((y - self._low_y) / self._side)
        up = np.floor(r / self._side)
        off = ~((across >= 0) & (across < self._across) & (up >= 0) & (up < self._up))
        square = (across * self._up + up).astype(np.intp)
        square[off] = len(self._first) - 1
        second = self._second[square]
        return self._first[square].astype(np.intp), second, np.flatnonzero(second == _OPEN)
