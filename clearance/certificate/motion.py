"""A wheel's motion as numbers: centre, axis and far move as Chebyshev sums, straight from their coefficients.

Their sums are allowed an error of `_SUM` of the sizes of the coefficients, for the order of a sum is the library's
(N. J. Higham, Accuracy and Stability of Numerical Algorithms, SIAM 2002, section 3.1: n u sum|x y|).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clearance.certificate.interval import Array, Interval, exactly, up, within

_SUM = 1e-13


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Motion:
    """Centre, axis and far move over a box of settings, as numbers and nothing else."""

    box: Array
    """(k, 2)"""
    table: Array
    """(size, ..., 9): coefficients; or (size, ..., 27), then nine more for each of the last two numbers of the box."""
    slide: Array
    """(0, 9) or (2, 9): what one of each of the last two numbers adds, where that is the same at every setting."""
    error_mm: float
    """How far this may be from the wheel, at `reach_mm` from the centre."""
    reach_mm: float
    limits: tuple[tuple[int, int, float], ...] = ()
    """Numbers i and j that may not differ by more than so much."""


def motion_at(motion: Motion, settings: Array) -> tuple[Interval, Interval]:
    """Values (n, 9) and slopes (n, k, 9) at settings (n, k)."""
    sizes = motion.table.shape[:-1]
    fitted, numbers = len(sizes), len(motion.box)
    flat = motion.table.reshape(-1, motion.table.shape[-1])
    basis = _basis(motion, settings, sizes)
    value = within(basis @ flat, _SUM * np.abs(flat).sum(axis=0))
    slopes = []
    for number in range(fitted):
        table = _differentiated(motion, number).reshape(flat.shape)
        slopes.append(within(basis @ table, _SUM * np.abs(table).sum(axis=0)))
    if numbers == fitted:
        return value, _beside(slopes, len(settings))
    pushed = [exactly(settings[:, i, None]) for i in range(fitted, numbers)]
    if len(motion.slide):
        ways = [exactly(np.broadcast_to(row, (len(settings), 9))) for row in motion.slide]
        own, own_slopes = value, slopes
    else:
        ways = [value[:, 9 * (i + 1) : 9 * (i + 2)] for i in range(2)]
        own, own_slopes = value[:, :9], []
        for slope in slopes:
            total = slope[:, :9]
            for i, push in enumerate(pushed):
                total = total + push * slope[:, 9 * (i + 1) : 9 * (i + 2)]
            own_slopes.append(total)
    for push, way in zip(pushed, ways, strict=True):
        own = own + push * way
    return own, _beside([*own_slopes, *ways], len(settings))


def _beside(slopes: Sequence[Interval], count: int) -> Interval:
    if not slopes:
        return exactly(np.zeros((count, 0, 9)))
    return Interval(np.stack([s.low for s in slopes], axis=1), np.stack([s.high for s in slopes], axis=1))


def _basis(motion: Motion, settings: Array, sizes: tuple[int, ...]) -> Array:
    basis = np.ones((len(settings), 1))
    for i, size in enumerate(sizes):
        low, high = motion.box[i]
        x = np.clip((2.0 * settings[:, i] - (low + high)) / (high - low), -1.0, 1.0)
        terms = np.cos(np.arange(size) * np.arccos(x)[:, None])
        basis = (basis[:, :, None] * terms[:, None, :]).reshape(len(settings), -1)
    return basis


def _differentiated(motion: Motion, number: int) -> Array:
    """Coefficients of the derivative by one number: c'_(j-1) = c'_(j+1) + 2 j c_j, the first halved."""
    low, high = motion.box[number]
    table = np.moveaxis(motion.table, number, 0)
    slope = np.zeros_like(table)
    for j in range(len(table) - 1, 0, -1):
        slope[j - 1] = (slope[j + 1] if j + 1 < len(table) else 0.0) + 2.0 * j * table[j]
    slope[0] /= 2.0
    return np.moveaxis(slope * (2.0 / (high - low)), 0, number)


def bends_of(motion: Motion) -> list[Array]:
    """(k, k) bounds of every second derivative of centre, axis and far move."""
    fitted, numbers = motion.table.ndim - 1, len(motion.box)
    bends = np.zeros((3, numbers, numbers))
    turning = motion.table.shape[-1] == 27
    furthest = np.abs(motion.box[fitted:]).max(axis=1) if numbers > fitted else np.zeros(0)
    for i in range(fitted):
        first = _differentiated(motion, i)
        if turning:
            sums = _sizes(first)
            for j in range(2):
                bends[:, i, fitted + j] = bends[:, fitted + j, i] = sums[1 + j]
        for j in range(fitted):
            sums = _sizes(_differentiated(_with(motion, first), j))
            bends[:, i, j] = sums[0] + (furthest @ sums[1:] if turning else 0.0)
    return [bend * (1 + 1e-12) for bend in bends]


def _with(motion: Motion, table: Array) -> Motion:
    return Motion(box=motion.box, table=table, slide=motion.slide, error_mm=0.0, reach_mm=motion.reach_mm)


def _sizes(table: Array) -> Array:
    """(1 or 3, 3): sums of the lengths of all coefficients: none of the polynomials exceeds 1."""
    flat = table.reshape(int(np.prod(table.shape[:-1])), -1, 3, 3)
    return np.asarray(np.sqrt((flat**2).sum(axis=3)).sum(axis=0))


def pairs_up(bend: Array, half: Array) -> Array:
    """(n,): h.B h."""
    total = np.zeros(len(half))
    for i in range(half.shape[1]):
        for j in range(half.shape[1]):
            total = up(total + up(up(bend[i, j] * half[:, i]) * half[:, j]))
    return total
