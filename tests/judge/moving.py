"""Numbers that carry their rates of change along: with them, a formula written once gives its own slopes.

A `Moving` holds values (n, ...) for n corners at once, and beside each value its rate of change with every one of m
numbers, in a last axis: (n, ..., m). Where nobody asks for rates, m is 0 and they cost nothing. What does not change
has rates of zero, which broadcast.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Moving:
    """Values and their rates."""

    value: Array
    rate: Array

    def __add__(self, other: Moving) -> Moving:
        return Moving(self.value + other.value, self.rate + other.rate)

    def __sub__(self, other: Moving) -> Moving:
        return Moving(self.value - other.value, self.rate - other.rate)

    def __mul__(self, other: Moving) -> Moving:
        return Moving(self.value * other.value, self.value[..., None] * other.rate + other.value[..., None] * self.rate)

    def times(self, factor: npt.ArrayLike) -> Moving:
        """Every value times what does not change."""
        factor = np.asarray(factor, dtype=float)
        return Moving(self.value * factor, self.rate * factor[..., None])

    def over(self, other: Moving) -> Moving:
        """Every value over another."""
        value = self.value / other.value
        return Moving(value, (self.rate - value[..., None] * other.rate) / other.value[..., None])

    def along(self, direction: Array) -> Moving:
        """How far vectors (n, ..., 3) reach along directions (3,), or (n, ..., 3), that do not change."""
        return Moving(np.sum(self.value * direction, axis=-1), np.sum(self.rate * direction[..., None], axis=-2))

    def of_each(self) -> Moving:
        """Numbers (n,) or vectors (n, 3), ready to be taken with k points of each: (n, 1, ...)."""
        return Moving(self.value[:, None], self.rate[:, None])

    def point(self, index: int) -> Moving:
        """One of k points (n, k, 3), or of k numbers (n, k)."""
        return Moving(self.value[:, index], self.rate[:, index if self.rate.shape[1] > 1 else 0])

    def only(self, which: Array) -> Moving:
        """Some of the n."""
        value = self.value[which] if len(self.value) > 1 else self.value
        rate = self.rate[which] if len(self.rate) > 1 else self.rate
        return Moving(value, rate)


def fixed(values: npt.ArrayLike) -> Moving:
    """What does not change, the same for all n."""
    value = np.asarray(values, dtype=float)[None]
    return Moving(value, np.zeros((1,) * value.ndim + (1,)))


def numbers(columns: Array, *, first: int = 0, rates: int = 0) -> list[Moving]:
    """The columns of (n, k) as k numbers that change one by one, as rates `first`, `first` + 1, ... of so many."""
    found = []
    for column in range(columns.shape[1]):
        rate = np.zeros((1, rates))
        if rates:
            rate[0, first + column] = 1.0
        found.append(Moving(columns[:, column], rate))
    return found


def dot(a: Moving, b: Moving) -> Moving:
    """The product of vectors (..., 3) with vectors."""
    rate = np.sum(a.value[..., None] * b.rate + b.value[..., None] * a.rate, axis=-2)
    return Moving(np.sum(a.value * b.value, axis=-1), rate)


def cross(a: Moving, b: Moving) -> Moving:
    """The vector product of vectors (..., 3)."""
    rate = _crossed(a.value[..., None], b.rate, -2) + _crossed(a.rate, b.value[..., None], -2)
    return Moving(_crossed(a.value, b.value, -1), rate)


def _crossed(a: Array, b: Array, axis: int) -> Array:
    # numpy's own is many times slower on short rows
    (ax, ay, az), (bx, by, bz) = _apart(a, axis), _apart(b, axis)
    return np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx], axis=axis)


def _apart(vectors: Array, axis: int) -> tuple[Array, Array, Array]:
    parts = np.moveaxis(vectors, axis, 0)
    return (parts[0], parts[1], parts[2]) if len(parts) == 3 else (parts[0], parts[0], parts[0])


def length(a: Moving) -> Moving:
    """How long vectors (..., 3) are."""
    size = np.linalg.norm(a.value, axis=-1)
    return Moving(size, np.sum((a.value / size[..., None])[..., None] * a.rate, axis=-2))


def sine_cosine(angle_rad: Moving) -> tuple[Moving, Moving]:
    """Of an angle."""
    sine, cosine = np.sin(angle_rad.value), np.cos(angle_rad.value)
    return Moving(sine, cosine[..., None] * angle_rad.rate), Moving(cosine, -sine[..., None] * angle_rad.rate)


def swung(points: Array, through: Array, axis: Array, angle_rad: Moving) -> Moving:
    """Points (k, 3) turned about a line by angles (n,): (n, k, 3)."""
    spoke = points - through
    spoke = spoke - np.outer(spoke @ axis, axis)
    sine, cosine = sine_cosine(angle_rad)
    sine, cosine = (Moving(s.value[:, None, None], s.rate[:, None, None]) for s in (sine, cosine))
    return fixed(points - spoke) + cosine * fixed(spoke) + sine * fixed(np.cross(axis, spoke))


def side_by_side(parts: list[Moving]) -> Moving:
    """Numbers (n,) or (n, k) beside one another: (n, all of them)."""
    count = max(len(part.value) for part in parts)
    rates = max(part.rate.shape[-1] for part in parts)
    wide = [part if part.value.ndim > 1 else Moving(part.value[:, None], part.rate[:, None]) for part in parts]
    return Moving(
        np.concatenate([np.broadcast_to(p.value, (count, p.value.shape[1])) for p in wide], axis=1),
        np.concatenate([np.broadcast_to(p.rate, (count, p.value.shape[1], rates)) for p in wide], axis=1),
    )
