"""Numbers known between two ends, every end rounded outward.

Nothing of the search is used here. Arrays throughout; vectors stand along the last axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Interval:
    """Arrays of lower and upper ends."""

    low: Array
    high: Array

    def __add__(self, other: Interval) -> Interval:
        return Interval(down(self.low + other.low), up(self.high + other.high))

    def __sub__(self, other: Interval) -> Interval:
        return Interval(down(self.low - other.high), up(self.high - other.low))

    def __mul__(self, other: Interval) -> Interval:
        ends = [a * b for a in (self.low, self.high) for b in (other.low, other.high)]
        return Interval(
            down(np.minimum(np.minimum(ends[0], ends[1]), np.minimum(ends[2], ends[3]))),
            up(np.maximum(np.maximum(ends[0], ends[1]), np.maximum(ends[2], ends[3]))),
        )

    def __getitem__(self, key: Any) -> Interval:
        return Interval(self.low[key], self.high[key])

    @property
    def size(self) -> Array:
        """The greatest absolute value."""
        return np.maximum(np.abs(self.low), np.abs(self.high))


def exactly(value: npt.ArrayLike) -> Interval:
    """Numbers that are known to the last digit."""
    array = np.asarray(value, dtype=float)
    return Interval(array, array)


def within(value: Array, off: npt.ArrayLike) -> Interval:
    """Numbers known to within `off`."""
    room = np.asarray(off, dtype=float)
    return Interval(down(value - room), up(value + room))


def dot(one: Interval, other: Interval) -> Interval:
    """The scalar product along the last axis, of three."""
    total = one[..., 0] * other[..., 0]
    for i in (1, 2):
        total = total + one[..., i] * other[..., i]
    return total


def down(value: Array) -> Array:
    """The next number below."""
    return np.nextafter(value, -np.inf)


def up(value: Array) -> Array:
    """The next number above."""
    return np.nextafter(value, np.inf)


def sum_up(values: Array) -> Array:
    """The sum along the last axis of numbers that are not negative, rounded up."""
    total = np.zeros(values.shape[:-1])
    for i in range(values.shape[-1]):
        total = up(total + values[..., i])
    return total


def length_up(vector: Interval) -> Array:
    """No vector (..., 3) is longer than this."""
    return up(np.sqrt(sum_up(up(vector.size**2))))
